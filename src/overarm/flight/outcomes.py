"""What a launch can come to, and the columns that sum it up.

The numbers of the outcomes are their priority: of all that apply to a launch the lowest number above
zero is its outcome, people first; a launch to which none applies is clean.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np


class Outcome(IntEnum):
    """The single outcome of a launch; its number is its place in the order of judging."""

    CLEAN = 0
    FAILED_NUMERICALLY = 1
    HAND_AT_RISK = 2
    FALSE_START = 3
    HOOK_STUCK = 4
    NO_START = 5
    POWER_LOST = 6
    ROLLED_OVER = 7
    STALLED = 8
    STRUCK_OBSTACLE = 9
    GROUNDED = 10
    MUSHED = 11
    DIPPED = 12
    OVER_HEIGHT = 13

    @property
    def label(self) -> str:
        """Return the name that a person reads."""
        return self.name.lower().replace("_", " ")

    @property
    def reason(self) -> str:
        """Return one sentence that says when a launch has this outcome."""
        return _REASONS[self]


_REASONS: dict[Outcome, str] = {
    Outcome.CLEAN: "It reached the handover height, stayed above 0.7 m and met nothing.",
    Outcome.FAILED_NUMERICALLY: "The computation broke down; the launch counts as not clean.",
    Outcome.HAND_AT_RISK: "The motor turned the propeller while a hand was within its reach.",
    Outcome.FALSE_START: "The cue fired before the person began to throw.",
    Outcome.HOOK_STUCK: "The line stayed on the hook after it had gone slack.",
    Outcome.NO_START: "The cue never fired, so the motor never started.",
    Outcome.POWER_LOST: "The pack sagged below the floor of the regulator.",
    Outcome.ROLLED_OVER: "It banked past 100 degrees.",
    Outcome.STALLED: "It was beyond the stall for a quarter of a second or more and did not climb away.",
    Outcome.STRUCK_OBSTACLE: "Its path met an obstacle.",
    Outcome.GROUNDED: "It touched the ground before the handover height.",
    Outcome.MUSHED: "It flew on but never reached the handover height.",
    Outcome.DIPPED: "It sank below 0.7 m after release and then climbed away.",
    Outcome.OVER_HEIGHT: "It climbed above the height that is allowed at the site.",
}

# One row a launch; the fields leave no gaps, so that equal rows are equal bytes. Times count from the
# start of the launch; -1 where the event did not happen.
# name, type, what it holds
COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("outcome", "i4", "number of the outcome"),
    ("world", "i4", "which draw of what we do not know this launch belongs to"),
    ("detection_s", "f8", "time at which the cue fired [s]; -1: never"),
    ("windup_s", "f8", "time at which the wind-up began, or the line was let go [s]"),
    ("release_s", "f8", "time at which it left the hand or the line [s]; -1: never"),
    ("first_spin_s", "f8", "time at which the propeller first turned [s]; -1: never"),
    ("clear_s", "f8", "time at which the disc was past the hand [s]; -1: never"),
    ("thrust_match_s", "f8", "time at which thrust first covered drag and climb [s]; -1: never"),
    ("low_point_s", "f8", "time of the lowest point after release [s]"),
    ("handover_s", "f8", "time at which it reached the handover height [s]; -1: never"),
    ("release_speed_mps", "f8", "speed over ground at release [m/s]"),
    ("release_airspeed_mps", "f8", "airspeed at release, gusts included [m/s]"),
    ("release_speed_ratio", "f8", "airspeed at release over the stall speed at the central inputs"),
    ("headwind_mps", "f8", "mean headwind at the height of release [m/s]; negative: from behind"),
    ("release_path_rad", "f8", "angle of the path over the horizon at release [rad]"),
    ("low_point_m", "f8", "lowest height after release [m]"),
    ("low_speed_ratio", "f8", "lowest airspeed after release over the stall speed; 1000: never flew"),
    ("max_bank_rad", "f8", "largest bank, either way [rad]"),
    ("max_alpha_rad", "f8", "largest angle of attack [rad]"),
    ("stall_s", "f8", "time spent beyond the stall [s]"),
    ("live_s", "f8", "time with a tip speed above 25 m/s within reach of a hand [s]"),
    ("reach_tip_mps", "f8", "highest tip speed within reach of a hand [m/s]"),
    ("peak_jerk_mps2", "f8", "largest value of the filtered cue before it fired or the launch ended [m/s2]"),
    ("longest_above_s", "f8", "longest unbroken time of the cue above its level [s]"),
    ("lowest_volts_v", "f8", "lowest volts of the pack [V]; 1000: never flew"),
    ("peak_current_a", "f8", "largest current [A]"),
    ("obstacle_gap_m", "f8", "least height over an obstacle when passing it [m]; 1000: none"),
    ("top_height_m", "f8", "greatest height [m]"),
    ("end_s", "f8", "time at which the launch was judged [s]"),
    ("distance_m", "f8", "distance over ground at the end [m]"),
    ("budget_mps", "f8", "speed budget: airspeed at release less 1.05 times the stall speed [m/s]"),
)

SUMMARY: np.dtype[np.void] = np.dtype([(name, kind) for name, kind, _ in COLUMNS], align=True)
