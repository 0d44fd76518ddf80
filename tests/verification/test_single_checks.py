"""The single checks beside motions that are sampled and counted, and a hair to either side of each limit.

The motions are those of docs/theory/throw.md and docs/theory/line.md, written down here again and counted
sample by sample. The limits are common practice, no source: docs/theory/checks.md has them all.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from overarm.odds.checks import SINGLE, trigger_margin
from overarm.odds.facts import Facts, detection_lead_s, gate_time_s
from tests.agreement import Agrees
from tests.unit.test_odds_findings import C, D, E, change, rad, word_of

STEP_S = 1e-5
COUNTED = "the motion, sampled each 0.01 ms and counted"
HAIR = 1e-6


def test_a_weak_throw_over_the_level(agrees: Agrees) -> None:
    """A push ``a = A sin(pi t/Ts)`` that reaches v after l, one throw of twenty (normal, 5th percentile)."""
    speed = E.throw.speed_mps - 1.6449 * E.throw.speed_sd_mps
    time_s = 2.0 * E.throw.stroke_m / speed
    t = np.arange(0.0, time_s, STEP_S)
    push = np.sin(math.pi * t / time_s)
    push *= speed / (push.sum() * STEP_S)  # the push that reaches the speed
    assert np.cumsum(push).sum() * STEP_S**2 == pytest.approx(E.throw.stroke_m, rel=1e-4)
    numbers = trigger_margin(E).numbers
    agrees("peak of a weak throw [m/s2]", COUNTED, numbers["peak_mps2"], float(push.max()), rel=1e-4)
    above = float(np.sum(push > E.cue.level_mps2)) * STEP_S
    agrees("weak throw over the level [s]", COUNTED, numbers["above_s"], above, abs=3.0 * STEP_S)


def test_a_throw_from_detection_to_release(agrees: Agrees) -> None:
    """Without a filter: the first sample over the level, the dwell, and what is then left of the push."""
    facts = change(E, "cue", filter_hz=0.0)
    time_s = 2.0 * facts.throw.stroke_m / facts.throw.speed_mps
    t = np.arange(0.0, time_s, STEP_S)
    push = facts.throw.speed_mps * math.pi / (2.0 * time_s) * np.sin(math.pi * t / time_s)
    passed = t[int(np.argmax(push > facts.cue.level_mps2))]
    left = time_s - passed - facts.cue.dwell_s
    agrees("detection to release [s]", COUNTED, detection_lead_s(facts), left, abs=3.0 * STEP_S)


def test_a_line_over_the_level_and_through_the_gate(agrees: Agrees) -> None:
    """A pull ``A cos(pi t/(2 T))``, a speed ``v sin(pi t/(2 T))``: a mass on a spring, a quarter period."""
    throw = D.throw
    t = np.arange(0.0, throw.line_time_s, STEP_S)
    phase = math.pi * t / (2.0 * throw.line_time_s)
    above = float(np.sum(throw.first_pull_mps2 * np.cos(phase) > D.cue.level_mps2)) * STEP_S
    agrees(
        "pull of a line over the level [s]",
        COUNTED,
        trigger_margin(D).numbers["above_s"],
        above,
        abs=3.0 * STEP_S,
    )
    met = t[int(np.argmax(throw.speed_mps * np.sin(phase) >= throw.gate_mps))]
    ours = gate_time_s(D) + D.cue.dwell_s - throw.speed_delay_s
    agrees("speed gate met on the line [s]", COUNTED, ours, met, abs=3.0 * STEP_S)


# Check, setup, group and field; from where it is good, and below what it is a stop (None: never).
LIMITS: list[tuple[str, Facts, str, str, float, float | None]] = [
    ("grip", E, "throw", "grip_gap_m", 0.10, None),
    ("wind", E, "throw", "headwind_mps", 0.05, -0.05),
    ("thrust", E, "power", "thrust_to_weight", 0.5, 0.35),
    ("thrust", C, "power", "thrust_to_weight", 0.4, 0.35),
    ("pitch reserve", E, "airframe", "pitch_reserve", 2.0, 1.0),
    ("static margin", E, "airframe", "static_margin", 0.03, 0.0),
    ("throttle ceiling", E, "plan", "launch_ceiling", 0.65, None),
    ("battery", E, "power", "full_volts_v", 9.6, 5.0),
    ("obstacles", E, "plan", "handover_height_m", 12.0, None),
    ("obstacles", E, "plan", "home_height_m", 33.0, 18.0),
    ("speed gate", D, "throw", "speed_mps", 9.0, 7.0),
    ("release speed", E, "throw", "headwind_mps", 1.15 * 7.5 - 9.3, 7.5 - 9.3),
    ("carry margin", E, "cue", "level_mps2", 0.05 + 9.80665 * math.sin(rad(12.0)) + 3.0, None),
    ("dwell", E, "cue", "dwell_s", 0.04, 0.04),
    ("clear slack", C, "throw", "grip_gap_m", math.inf, None),
]
MORE_IS_WORSE: list[tuple[str, Facts, str, str, float, str]] = [
    ("throttle rise", E, "plan", "rise_per_s", 3.0, "watch"),
    ("throttle rise", C, "plan", "rise_per_s", 0.5, "watch"),
    ("climb pitch", E, "plan", "climb_pitch_rad", rad(25.0), "stop"),
    ("climb pitch", change(E, "power", thrust_to_weight=0.69), "plan", "climb_pitch_rad", rad(15.0), "watch"),
    ("static margin", E, "airframe", "static_margin", 0.20, "watch"),
    ("dwell", C, "cue", "dwell_s", 0.14, "watch"),
]


def at(facts: Facts, name: str, group: str, field: str, value: float) -> str:
    changed: dict[str, Any] = {field: value}
    return word_of(change(facts, group, **changed), name)


@pytest.mark.parametrize(
    ("name", "facts", "group", "field", "good", "stop"), LIMITS, ids=[f"{x[0]}-{x[3]}" for x in LIMITS]
)
def test_a_hair_to_either_side(
    name: str, facts: Facts, group: str, field: str, good: float, stop: float | None
) -> None:
    if math.isfinite(good):
        assert at(facts, name, group, field, good + HAIR) == "good"
        assert at(facts, name, group, field, good - HAIR) in ("watch", "stop")
    else:
        assert at(facts, name, group, field, 1.0) == "watch"
    if stop is not None:
        assert at(facts, name, group, field, stop + HAIR) != "stop"
        assert at(facts, name, group, field, stop - HAIR) == "stop"


@pytest.mark.parametrize(
    ("name", "facts", "group", "field", "limit", "word"),
    MORE_IS_WORSE,
    ids=[f"{x[0]}-{x[5]}-{n}" for n, x in enumerate(MORE_IS_WORSE)],
)
def test_a_hair_over_a_highest_value(
    name: str, facts: Facts, group: str, field: str, limit: float, word: str
) -> None:
    assert at(facts, name, group, field, limit - HAIR) == "good"
    assert at(facts, name, group, field, limit + HAIR) == word


def test_a_pusher_in_the_hand_needs_its_gap() -> None:
    pusher = change(C, "power", pusher=True)
    assert at(pusher, "clear slack", "throw", "grip_gap_m", 0.15 + HAIR) == "watch"
    assert at(pusher, "clear slack", "throw", "grip_gap_m", 0.15 - HAIR) == "stop"


def test_a_line_that_is_gone_before_the_propeller_turns() -> None:
    """Wait and delay less the time from detection to the hook: good from 0.10 s, a stop below nothing."""
    lead = detection_lead_s(D)
    for slack, word in ((0.10 + HAIR, "good"), (0.10 - HAIR, "watch"), (HAIR, "watch"), (-HAIR, "stop")):
        assert at(D, "clear slack", "plan", "start_wait_s", lead - D.power.start_delay_s + slack) == word


def test_held_still_it_starts_ten_degrees_beyond_the_pose() -> None:
    """``asin((L - b)/g) - tilt`` less the pose, worked out here."""
    free = math.asin((E.cue.level_mps2 - E.cue.bias_mps2) / 9.80665) - E.cue.tilt_rad
    for spare, word in ((10.01, "good"), (9.99, "watch"), (0.01, "watch"), (-0.01, "stop")):
        pose = {"carry_pitch_rad": free - rad(spare)}
        assert word_of(change(E, "cue", **pose), "self-start tilt") == word


def test_the_page_has_a_row_for_each_check(project: Path) -> None:
    page = (project / "docs/theory/checks.md").read_text("utf-8")
    assert not [name for name in (check(E).name for check in SINGLE) if f"| {name}" not in page]
