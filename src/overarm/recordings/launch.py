"""What a recording is divided into: phases, events with their errors, and estimates with theirs."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Literal, NamedTuple


class Phase(StrEnum):
    """The phases of a launch, in the order in which they can follow each other; any may be missing."""

    CARRIED = "carried"
    HELD = "held"
    SHAKEN = "shaken"
    STROKE = "stroke"
    FREE = "free flight"
    POWERED = "powered"
    CLIMB = "climb"
    HANDED_OVER = "handed over"
    DOWN = "down"


class Span(NamedTuple):
    """One phase: from when to when [s], and how sure that is (posterior probability, 0..1)."""

    phase: Phase
    from_s: float
    to_s: float
    sure: float


class Event(NamedTuple):
    """Something that happened: when [s], one standard error of that [s], and how it was found."""

    t_s: float
    error_s: float
    method: str


EVENTS = (
    "shake",
    "wind_up",
    "stroke",
    "detection",
    "release",
    "clear",
    "first_throttle",
    "first_spin",
    "thrust_match",
    "low_point",
    "climb",
    "handover",
    "ground",
)

Kind = Literal["launch", "aborted throw", "already in the air"]
Ended = Literal["handed over", "ground", "in the hand", "log ends", "log breaks"]


class LaunchRecord(NamedTuple):
    """One launch, or one attempt at it, within a recording. Events that were not seen are not there."""

    number: int  # from 1, in the order of the recording
    kind: Kind
    from_s: float
    to_s: float
    spans: tuple[Span, ...]
    events: Mapping[str, Event]
    ended: Ended
    remarks: tuple[str, ...]  # what a reader should know, in sentences


class Phases(NamedTuple):
    """A whole recording, divided: the launches, and every span including those between launches."""

    launches: tuple[LaunchRecord, ...]
    spans: tuple[Span, ...]
    remarks: tuple[str, ...]


class Estimate(NamedTuple):
    """A figure taken from a recording, in SI units, or the reason why it cannot be told.

    ``error``: one standard deviation. ``value`` is None exactly where ``why_not`` says why.
    """

    name: str
    value: float | None
    error: float
    method: str
    why_not: str = ""
    bound: Literal["", "at least", "at most"] = ""


# The names of the estimates; the units stand in the names.
ESTIMATES: dict[str, str] = {
    "board_tilt_rad": "tilt of the board, nose-up, from rest",
    "force_bias_mps2": "what the forward accelerometer reads too much, from rest",
    "carry_peak_mps2": "highest filtered cue before the throw",
    "stroke_time_s": "how long the stroke took",
    "stroke_length_m": "how long the stroke was",
    "throw_speed_mps": "speed over the ground at release",
    "release_path_rad": "path above the horizon at release",
    "release_pitch_rad": "pitch at release",
    "release_bank_rad": "bank at release",
    "throw_peak_mps2": "highest filtered cue of the throw",
    "longest_above_s": "longest unbroken time of the cue above its level in the throw",
    "detection_to_release_s": "from detection to release",
    "start_wait_s": "from detection to the first throttle",
    "start_delay_s": "from the first throttle to the first turn of the propeller",
    "throttle_rise_per_s": "rise of the throttle",
    "throttle_ceiling": "highest throttle in the launch",
    "static_thrust_n": "thrust at full throttle, brought to no airspeed",
    "thrust_match_after_s": "from release until thrust covers drag and climb",
    "low_point_m": "lowest height after release",
    "sink_m": "height lost after release",
    "low_speed_ratio": "least airspeed after release over the stall speed",
    "climb_mps": "rate of climb",
    "climb_path_rad": "path above the horizon in the climb",
    "handover_after_s": "from release to the handover height",
    "glide_ratio": "distance over height without power",
    "drag_zero": "zero-lift drag coefficient from parts without power",
    "satellite_lag_s": "how late the satellite speed is",
    "headwind_mps": "headwind at the launch",
}
