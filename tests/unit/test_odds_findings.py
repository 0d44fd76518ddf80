"""Findings on the five invented setups, and each check on both sides of its limit.

The figures of the setups A to E are the project's own demo data. Limits: common practice, no source.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from overarm.odds.checks import SINGLE, roll_reserve_at, self_start_tilt
from overarm.odds.clear import clear_time_s, draw_back_fires
from overarm.odds.facts import Airframe, Cue, Facts, Plan, Power, Throw, detection_lead_s, felt_still_mps2
from overarm.odds.finding import graded, worst_word
from overarm.odds.findings import findings_of, has_stop
from overarm.odds.race import run_race


def rad(degrees: float) -> float:
    return math.radians(degrees)


def wind_at_hand(wind_10m_mps: float, height_m: float = 1.8) -> float:
    return wind_10m_mps * math.log(height_m / 0.03) / math.log(10.0 / 0.03)


CUE = Cue(5.0, 0.08, True, 10.0, rad(1.0), 0.05, rad(5.0), 1.5, 0.0, 0.0, 0.0)
THROW = Throw(
    9.3,
    0.8,
    1.25,
    0.0,
    0.0,
    0.5,
    1.8,
    wind_at_hand(2.0),
    35.0,
    0.45,
    0.4,
    0.3,
    0.28,
    0.12,
    0.0,
    0.0,
    0.0,
    0.2,
)
E = Facts(
    "throw-started",
    CUE._replace(tilt_rad=rad(7.0)),
    THROW,
    Power(1.01, 1.75, 0.15, 11.88, 5.0, 3.0, True),
    Airframe(7.50, 8.1, (1.5, 3.0, 4.4), 9.0, 0.06, True, True),
    Plan(0.60, 0.25, 0.95, 0.60, rad(15.0), 30.0, 40.0, ((70.0, 8.0),)),
)
B = E._replace(
    cue=CUE._replace(level_mps2=8.0, dwell_s=0.10, tilt_rad=rad(1.5)),
    throw=THROW._replace(
        speed_mps=8.4, stroke_m=1.3, height_m=1.9, headwind_mps=wind_at_hand(4.0, 1.9), grip_to_disc_m=0.36
    ),
    power=E.power._replace(thrust_to_weight=0.98, full_volts_v=15.73, cells=4.0),
    airframe=E.airframe._replace(stall_speed_mps=7.81, glide_ratio=8.6, static_margin=0.08),
    plan=E.plan._replace(
        rise_per_s=2.0, cruise_ceiling=0.65, handover_height_m=35.0, obstacles=((140.0, 15.0),)
    ),
)
C = E._replace(
    style="spin-in-hand",
    cue=CUE._replace(level_mps2=6.0, shake_m=0.1, shake_hz=2.5, shakes=2.0),
    throw=THROW._replace(speed_mps=7.6, hold_s=3.4, headwind_mps=wind_at_hand(3.0)),
    power=E.power._replace(thrust_to_weight=1.04, pusher=False),
    airframe=E.airframe._replace(stall_speed_mps=7.11, glide_ratio=9.9, static_margin=0.13),
    plan=E.plan._replace(start_wait_s=0.2),
)
D = E._replace(
    style="line-launched",
    cue=CUE._replace(level_mps2=12.0, dwell_s=0.15),
    throw=THROW._replace(
        speed_mps=11.3, speed_sd_mps=0.45, headwind_mps=wind_at_hand(4.0), first_pull_mps2=20.0,
        line_time_s=1.0, gate_mps=7.0, height_m=2.0,
    ),
    power=E.power._replace(thrust_to_weight=0.90, full_volts_v=15.93, cells=4.0),
    airframe=E.airframe._replace(stall_speed_mps=8.73, glide_ratio=10.9, static_margin=0.09),
    plan=E.plan._replace(
        start_wait_s=0.6, rise_per_s=1.0, cruise_ceiling=0.65, climb_pitch_rad=rad(12.0),
        handover_height_m=40.0, obstacles=((260.0, 18.0),),
    ),
)  # fmt: skip


def word_of(facts: Facts, name: str) -> str:
    return next(item.word for item in findings_of(facts) if item.name == name)


def test_e_passes_every_single_check_and_loses_the_race() -> None:
    """The trap: each part is usual for some style, the set is not."""
    found = findings_of(E)
    race, *single = found
    assert race.combined
    assert race.word == "stop"
    assert "spin-in-hand" in race.sentence
    assert [item.name for item in single if item.word not in ("good", "watch")] == []
    assert sum(item.word == "good" for item in single) >= len(single) - 3
    assert has_stop(found)


def test_race_of_e_has_the_numbers_worked_by_hand() -> None:
    """Budget 9.3 + 1.4 - 7.9 = 2.8 m/s against a gap of about 2.6 s and a loss of 5 to 6 m/s."""
    race = run_race(E)
    assert race.budget_mps == pytest.approx(2.8, abs=0.1)
    assert race.match_s == pytest.approx(2.6, abs=0.15)
    assert 5.0 < race.loss_mps < 6.5


@pytest.mark.parametrize("facts", [B, C, D], ids=["B", "C", "D"])
def test_the_others_have_no_stop(facts: Facts) -> None:
    assert [item for item in findings_of(facts) if item.word == "stop"] == []
    assert word_of(facts, "the race") == ("watch" if facts is B else "good")


def test_good_needs_more_than_the_budget_may_be_off() -> None:
    """B wins by less than throw and wind scatter, hypot(0.8, 0.5) = 0.94 m/s; more if the mean is unknown."""
    race = run_race(B)
    assert race.unsure_mps == pytest.approx(math.hypot(0.8, 0.5))
    left = race.budget_mps - race.loss_mps
    assert 0.0 < left < race.unsure_mps
    assert f"Only {left:.1f} m/s are left" in findings_of(B)[0].sentence
    surer = 0.99 * math.sqrt(left**2 - 0.5**2)
    assert word_of(change(B, "throw", speed_sd_mps=surer), "the race") == "good"
    assert word_of(change(B, "throw", speed_sd_mps=surer, speed_spread_mps=0.3), "the race") == "watch"


def test_single_changes_cure_e() -> None:
    """A faster rise or more wind wins the race; less pitch or spin-in-hand helps (own simulations)."""
    faster = E._replace(plan=E.plan._replace(rise_per_s=1.5))
    assert word_of(faster, "the race") == "watch"
    assert run_race(faster).loss_mps < run_race(faster).budget_mps
    assert word_of(change(faster, "throw", headwind_mps=wind_at_hand(4.0)), "the race") == "good"
    assert word_of(E._replace(plan=E.plan._replace(climb_pitch_rad=rad(8.0))), "the race") == "watch"
    windy = E._replace(throw=E.throw._replace(headwind_mps=wind_at_hand(6.0)))
    assert word_of(windy, "the race") == "watch"


def test_the_named_rise_wins_exactly() -> None:
    rise = run_race(E).rise_that_wins_per_s
    at_that = run_race(E._replace(plan=E.plan._replace(rise_per_s=rise)))
    assert at_that.loss_mps == pytest.approx(at_that.budget_mps)


def test_race_against_integration() -> None:
    """The closed form against step-by-step integration of ``dV/dt = g (n - T/W)`` below zero."""
    for facts in (E, B, C._replace(throw=C.throw._replace(hold_s=0.7))):
        race = run_race(facts)
        k, rise = facts.power.thrust_exponent, facts.plan.rise_per_s
        step, t, lost = 1e-4, 0.0, 0.0
        while t < race.match_s:
            throttle = max(0.0, rise * (t + 0.5 * step - race.first_thrust_s))
            thrust = facts.power.thrust_to_weight * (throttle / facts.plan.launch_ceiling) ** k
            lost += 9.80665 * (race.need - thrust) * step
            t += step
        assert race.loss_mps == pytest.approx(lost, abs=2e-3)


def test_thrust_that_never_matches() -> None:
    weak = E._replace(power=E.power._replace(thrust_to_weight=0.3))
    race = findings_of(weak)[0]
    assert race.word == "stop"
    assert "never" in race.sentence
    assert all(math.isfinite(value) for value in race.numbers.values())


def test_self_start_tilt() -> None:
    """5 m/s2 is reached at 30.6 degrees nose-up, 8 at 54.7, 15 never: asin(level/g)."""
    level = E._replace(cue=CUE._replace(tilt_rad=0.0, bias_mps2=0.0))
    assert self_start_tilt(level).numbers["tilt_deg"] == pytest.approx(30.65, abs=0.05)
    eight = level._replace(cue=level.cue._replace(level_mps2=8.0))
    assert self_start_tilt(eight).numbers["tilt_deg"] == pytest.approx(54.66, abs=0.05)
    assert self_start_tilt(level._replace(cue=level.cue._replace(level_mps2=15.0))).numbers == {}
    assert self_start_tilt(E).numbers["tilt_deg"] == pytest.approx(24.0, abs=0.8)


def test_walking_with_a_tilted_board_is_a_watch() -> None:
    """E carried 15 degrees nose-up: 9.81 sin(22 deg) = 3.7, and 5.8 with steps, above the level of 5."""
    carried = E._replace(cue=E.cue._replace(carry_pitch_rad=rad(15.0), sway_mps2=2.1))
    assert word_of(carried, "carry margin") == "watch"
    assert felt_still_mps2(carried.cue, carried.cue.carry_pitch_rad) == pytest.approx(3.7, abs=0.06)
    steep = E._replace(cue=E.cue._replace(carry_pitch_rad=rad(25.0)))
    assert word_of(steep, "carry margin") == "stop"
    assert word_of(steep, "self-start tilt") == "stop"


def test_clear_time_grows_as_the_disc_is_farther() -> None:
    """p99.9 of detection to clear: about 0.46, 0.49, 0.51, 0.54 s for 0.20 to 0.45 m (own simulation)."""
    times = [
        clear_time_s(E._replace(throw=E.throw._replace(grip_to_disc_m=grip)))
        for grip in (0.20, 0.28, 0.36, 0.45)
    ]
    assert times == sorted(times)
    for found, expected in zip(times, (0.46, 0.49, 0.51, 0.54), strict=True):
        assert found == pytest.approx(expected, abs=0.03)


def test_clear_time_without_scatter_is_the_worked_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """One hand: 0.5 a t^2 = 0.33 m at 35 m/s2 gives 0.137 s after release."""
    monkeypatch.setattr("overarm.odds.clear.DETECTION_SD_S", 0.0)
    still = E._replace(
        throw=E.throw._replace(
            hand_deceleration_log_sd=0.0, hand_lag_mps=0.0, hand_lag_sd_mps=0.0, speed_sd_mps=0.0
        )
    )
    assert clear_time_s(still) == pytest.approx(
        detection_lead_s(still) + math.sqrt(2.0 * 0.33 / 35.0), abs=1e-9
    )


def test_draw_back_worked_by_hand() -> None:
    """0.4 m in 0.55 s turns round at 0.2 (pi/0.55)^2 = 6.53 m/s2; above 5 for 0.122 s, level board."""
    flat = E._replace(
        cue=E.cue._replace(tilt_rad=0.0, bias_mps2=0.0, carry_pitch_rad=0.0),
        throw=E.throw._replace(windup_m=0.4, windup_s=0.55),
    )
    found = draw_back_fires(flat)
    assert found.word == "watch"
    assert found.numbers["peak_mps2"] == pytest.approx(6.53, abs=0.01)
    assert found.numbers["above_s"] == pytest.approx(0.55 / math.pi * math.acos(5.0 / 6.525), abs=1e-4)
    lead = 2.0 * 1.25 / 9.3 + found.numbers["above_s"] - 0.08 - 1.0 / (20.0 * math.pi)
    assert detection_lead_s(flat) == pytest.approx(lead, abs=1e-9)
    assert detection_lead_s(flat) > detection_lead_s(E)
    assert draw_back_fires(flat._replace(cue=flat.cue._replace(level_mps2=8.0))).word == "good"
    assert draw_back_fires(flat._replace(cue=flat.cue._replace(dwell_s=0.20))).word == "good"


@pytest.mark.parametrize(
    ("level", "dwell", "word"), [(7.5, 0.1, "watch"), (8.2, 0.1, "good"), (7.5, 0.2, "good")]
)
def test_a_draw_back_that_comes_close(level: float, dwell: float, word: str) -> None:
    """Peak 6.53 m/s2: 1.5 below 7.5 it is above for (0.55/pi) acos(6/6.53) = 0.071 s and a filter's worth."""
    near = E._replace(
        cue=E.cue._replace(tilt_rad=0.0, bias_mps2=0.0, carry_pitch_rad=0.0, level_mps2=level, dwell_s=dwell),
        throw=E.throw._replace(windup_m=0.46, windup_s=0.55),
    )
    found = draw_back_fires(near)
    assert found.word == word
    assert ("comes close" in found.sentence) == (word == "watch")


def change(facts: Facts, group: str, **values: Any) -> Facts:
    return facts._replace(**{group: getattr(facts, group)._replace(**values)})


CASES = [
    ("trigger margin", "cue", {"level_mps2": 60.0}, "stop"),
    ("trigger margin", "cue", {"level_mps2": 30.0}, "watch"),
    ("carry margin", "cue", {"level_mps2": 4.0}, "watch"),
    ("dwell", "cue", {"dwell_s": 0.03}, "stop"),
    ("clear slack", "plan", {"start_wait_s": 0.35}, "stop"),
    ("clear slack", "plan", {"start_wait_s": 0.54}, "watch"),
    ("release speed", "throw", {"headwind_mps": -2.0}, "stop"),
    ("release speed", "throw", {"headwind_mps": -1.0}, "watch"),
    ("wind", "throw", {"headwind_mps": -0.5}, "stop"),
    ("wind", "throw", {"headwind_mps": 0.0}, "watch"),
    ("thrust", "power", {"thrust_to_weight": 0.3}, "stop"),
    ("thrust", "power", {"thrust_to_weight": 0.45}, "watch"),
    ("throttle rise", "plan", {"rise_per_s": 4.0}, "watch"),
    ("roll reserve", "airframe", {"roll_reserve": (0.1, 0.4, 0.7)}, "stop"),
    ("roll reserve", "airframe", {"roll_reserve": (0.5, 1.0, 1.4)}, "watch"),
    ("pitch reserve", "airframe", {"pitch_reserve": 1.4}, "watch"),
    ("static margin", "airframe", {"static_margin": -0.01}, "stop"),
    ("static margin", "airframe", {"static_margin": 0.02}, "watch"),
    ("static margin", "airframe", {"static_margin": 0.25}, "watch"),
    ("throttle ceiling", "plan", {"launch_ceiling": 0.60}, "watch"),
    ("climb pitch", "plan", {"climb_pitch_rad": rad(26.0)}, "stop"),
    ("battery", "power", {"full_volts_v": 9.3}, "watch"),
    ("battery", "power", {"full_volts_v": 4.5}, "stop"),
    ("obstacles", "plan", {"obstacles": ((70.0, 25.0),)}, "watch"),
    ("obstacles", "plan", {"home_height_m": 7.0}, "stop"),
    ("obstacles", "plan", {"obstacles": ()}, "not known"),
    ("mass and balance", "airframe", {"mass_known": False}, "not known"),
]


@pytest.mark.parametrize(
    ("name", "group", "values", "word"), CASES, ids=[f"{c[0]}-{c[3]}-{n}" for n, c in enumerate(CASES)]
)
def test_each_check_beyond_its_limit(name: str, group: str, values: dict[str, float], word: str) -> None:
    assert word_of(change(E, group, **values), name) == word


def test_spin_in_hand() -> None:
    """A shake of 2.5 Hz cannot be above a level for more than 0.20 s; a pusher is refused."""
    assert word_of(C, "trigger margin") == "good"
    assert word_of(change(C, "cue", dwell_s=0.16), "dwell") == "watch"
    assert word_of(change(C, "cue", dwell_s=0.21), "dwell") == "stop"
    assert word_of(change(C, "power", pusher=True), "clear slack") == "stop"
    assert word_of(C, "clear slack") == "watch"
    assert word_of(change(C, "plan", rise_per_s=0.6), "throttle rise") == "watch"
    assert word_of(change(C, "throw", hold_s=0.2, headwind_mps=0.0), "the race") == "watch"


def test_line_without_enough_wait_starts_on_the_line() -> None:
    assert word_of(change(D, "plan", start_wait_s=0.2), "clear slack") == "stop"


@pytest.mark.parametrize("facts", [B, C, D, E], ids="BCDE")
@pytest.mark.parametrize(
    "values", [{"filter_hz": 0.0}, {"dwell_s": 0.0}, {"filter_hz": 0.0, "dwell_s": 0.0}], ids=str
)
def test_no_filter_and_no_dwell(facts: Facts, values: dict[str, float]) -> None:
    """A filter of 0 Hz is none: it delays nothing. A dwell of 0 s is always met, and lets a knock fire."""
    odd = change(facts, "cue", **values)
    for item in findings_of(odd):
        assert all(math.isfinite(value) for value in item.numbers.values()), item
    if "dwell_s" in values:
        assert word_of(odd, "dwell") == "stop"
    if not facts.in_hand and values == {"filter_hz": 0.0}:
        assert detection_lead_s(odd) == pytest.approx(detection_lead_s(facts) + 1.0 / (20.0 * math.pi))


def test_every_sentence_is_plain() -> None:
    for facts in (B, C, D, E):
        found = findings_of(facts)
        assert len(found) == len(SINGLE) + 1
        for item in found:
            assert item.sentence.endswith(".")
            assert "nan" not in item.sentence.lower()
            assert "safe" not in item.sentence.lower()


def test_roll_reserve_between_and_beyond_the_given_speeds() -> None:
    given = (1.0, 2.0, 3.0)
    assert [roll_reserve_at(given, ratio) for ratio in (0.7, 1.0, 1.1, 1.2)] == pytest.approx(
        [1.0, 2.0, 2.5, 3.0]
    )
    assert roll_reserve_at(given, 2.4) == pytest.approx(12.0)
    assert roll_reserve_at(given, 0.35) == pytest.approx(0.25)


def test_words() -> None:
    assert graded(2.0, 2.0, 1.0) == "good"
    assert graded(1.0, 2.0, 1.0) == "watch"
    assert graded(0.9, 2.0, 1.0) == "stop"
    assert worst_word("good", "not known") == "not known"
    assert worst_word("not known", "watch") == "watch"
