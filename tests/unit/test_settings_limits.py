"""Choices, usual settings, false starts while carried, and the hard limits on paper and as flown."""

from __future__ import annotations

import math

import numpy as np
import pytest

from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.flight.campaign import blank_summary
from overarm.flight.outcomes import Outcome
from overarm.odds.clear import CLEAR_EXTRA_S, clear_time_s
from overarm.odds.gather import gather_facts
from overarm.physics.trigger import time_above
from overarm.settings import limits
from overarm.settings.carry import CARRY_S, Carry, carry_of, false_start_share, time_above_s
from overarm.settings.choices import BY_KEY, CHOICES, STYLES, chosen_in, written
from overarm.settings.limits import Rank
from overarm.settings.usual import usual_settings
from tests.examples import derived_of, setup_of

# Handheld walking, common practice, no source: 2 Hz steps of 1.5 to 2.5 m/s2.
WALK = Carry(
    level_mps2=5.0, dwell_s=0.08, raw=True, filter_hz=10.0, pitch_rad=math.radians(15.0), pitch_sd_rad=0.0,
    pitch_high_rad=math.tau, step_mps2=2.5, step_hz=1.9, tilt_rad=0.0, tilt_sd_rad=0.0, bias_mps2=0.0,
    bias_sd_mps2=0.0,
)  # fmt: skip


@pytest.mark.parametrize("choice", CHOICES, ids=lambda choice: choice.key)
def test_every_choice_is_written_as_its_card_reads_it(choice):
    setup = setup_of("d" if choice.key == "speed_gate" else "b")
    low, high = choice.range_of(setup.style)
    for value in (low, high):
        changes = written({choice.key: value})
        if choice.key.startswith("early"):
            changes = written({"early_pitch": 0.1, "early_speed": 8.0}) | changes
        if choice.key.startswith("pose"):
            changes = {
                "settings.pose_window.pitch_low": "-10 deg",
                **written({"pose_window.pitch_high": 1.0, "pose_window.bank": 1.0}),
                **changes,
            }
        found = chosen_in(changed(setup, changes))[choice.key]
        assert found == pytest.approx(value, abs=1e-3 * choice.step)


def test_ranges_of_a_throttle_rise_do_not_overlap_between_throw_and_hand():
    """25 %/s belongs to spin-in-hand and 150 %/s to a throw; common practice, no source."""
    rise = BY_KEY["throttle_rise"]
    assert rise.range_of("spin-in-hand").holds(0.25)
    assert not rise.range_of("throw-started").holds(0.25)
    assert rise.range_of("throw-started").holds(1.5)
    assert not rise.range_of("spin-in-hand").holds(1.5)


@pytest.mark.parametrize("letter", "abcde")
def test_usual_settings_lie_in_their_ranges_and_on_their_steps(letter):
    setup = setup_of(letter)
    for key, value in usual_settings(setup, derived_of(letter)).items():
        choice = BY_KEY[key]
        assert choice.range_of(setup.style).holds(value)
        assert choice.rounded(value) == value
    assert setup.style in STYLES


def test_time_above_the_level_is_that_of_a_sine():
    """The same closed form as for a shake: t = acos(L'/A)/(pi f)."""
    still = 9.80665 * math.sin(WALK.pitch_rad)
    size = WALK.step_mps2 / math.hypot(1.0, WALK.step_hz / WALK.filter_hz)
    expected = time_above(size, WALK.step_hz, WALK.level_mps2 - still)
    assert float(time_above_s(WALK, still, WALK.step_mps2)) == pytest.approx(expected, rel=1e-12)
    t = np.linspace(0.0, 1.0 / WALK.step_hz, 200_001)
    sampled = np.mean(still + size * np.sin(2 * math.pi * WALK.step_hz * t) > WALK.level_mps2) / WALK.step_hz
    assert expected == pytest.approx(sampled, abs=1e-4)


def test_a_nose_up_walk_fires_level_five_and_not_level_eight():
    """Held 15 degrees up with steps of 2.5 m/s2 the cue peaks at 5.4; 25 degrees up it passes 5 for long
    (walking table, common practice, no source)."""
    assert false_start_share(WALK) > 0.5
    assert false_start_share(WALK._replace(level_mps2=8.0)) < 0.02
    level = WALK._replace(pitch_rad=0.0, step_mps2=1.5)
    assert false_start_share(level) == 0.0


def test_a_pose_that_is_over_the_level_by_itself_always_fires():
    """g sin 45 deg = 6.93 m/s2 > 5, with no motion at all."""
    assert false_start_share(WALK._replace(pitch_rad=math.radians(45.0), step_mps2=0.0)) == 1.0


def test_tilt_free_cue_does_not_feel_the_pose():
    assert false_start_share(WALK._replace(raw=False)) == 0.0


def test_a_pose_window_stops_a_start_above_it():
    assert false_start_share(WALK._replace(pitch_rad=0.8, pitch_high_rad=0.5)) == 0.0


def test_dwell_longer_than_half_a_step_stops_a_walk():
    """A sine is above any level above its mean for less than half its period."""
    assert false_start_share(WALK._replace(pitch_rad=math.radians(10.0), dwell_s=0.5 / 1.9)) == 0.0
    assert CARRY_S == 120.0


def test_hands_need_their_clear_time_and_a_tenth_of_a_second():
    facts = gather_facts(setup_of("b"), derived_of("b"))
    assert limits.wait_needed_s(facts) == pytest.approx(clear_time_s(facts) + CLEAR_EXTRA_S, abs=1e-12)


def test_a_draw_back_that_fires_or_nearly_does_is_a_broken_limit():
    """(L/2)(pi/T)^2 at the end of a smooth draw-back: 0.40 m in 0.55 s gives 6.5 m/s2 above the pose."""
    facts = gather_facts(setup_of("b"), derived_of("b"))
    carry = carry_of(setup_of("b"))
    turn = 0.5 * facts.throw.windup_m * (math.pi / facts.throw.windup_s) ** 2
    still = 9.80665 * math.sin(facts.cue.carry_pitch_rad + facts.cue.tilt_rad) + facts.cue.bias_mps2
    for level, kept in ((turn + still - 1.0, False), (turn + still + 0.9, False), (turn + still + 1.6, True)):
        cue = facts.cue._replace(level_mps2=level, dwell_s=0.04)
        found = {item.name: item for item in limits.on_paper(facts._replace(cue=cue), carry)}
        assert found["draw-back"].kept is kept, level
        assert found["draw-back"].rank is Rank.PEOPLE


def margins_of(letter, **plan):
    setup, derived = setup_of(letter), derived_of(letter)
    facts = gather_facts(setup, derived)
    facts = facts._replace(plan=facts.plan._replace(**plan))
    return {item.name: item for item in limits.on_paper(facts, carry_of(setup))}


def test_the_trap_breaks_its_people_limits_on_paper():
    """E: level 5 with a board tilted by 7 degrees, and a draw-back that fires it."""
    found = margins_of("e")
    for name in ("draw-back", "carry margin"):
        assert found[name].rank is Rank.PEOPLE
        assert not found[name].kept
    assert margins_of("e")["hand clear"].kept
    assert not margins_of("e", start_wait_s=0.5)["hand clear"].kept


def test_steep_climb_is_broken_only_with_little_thrust():
    facts = gather_facts(setup_of("b"), derived_of("b"))
    steep = facts._replace(plan=facts.plan._replace(climb_pitch_rad=math.radians(20.0)))
    weak = steep._replace(power=steep.power._replace(thrust_to_weight=0.6))
    carry = carry_of(setup_of("b"))
    assert all(item.kept for item in limits.on_paper(steep, carry) if item.name == "climb pitch")
    assert [item.kept for item in limits.on_paper(weak, carry) if item.name == "climb pitch"] == [False]


def table_of(outcomes, slack_s=0.3):
    table = blank_summary(len(outcomes), 0)
    table["outcome"] = outcomes
    table["clear_s"], table["first_spin_s"] = 1.0, 1.0 + slack_s
    return table


def flown(table, letter="b", over_m=None):
    facts = gather_facts(setup_of(letter), derived_of(letter))
    return {item.name: item for item in limits.as_flown(table, facts, over_m)}


def test_missed_starts_are_kept_up_to_two_of_a_hundred():
    outcomes = np.zeros(1000, dtype=int)
    outcomes[:20] = Outcome.NO_START
    assert flown(table_of(outcomes))["missed starts"].kept
    outcomes[20] = Outcome.NO_START
    assert not flown(table_of(outcomes))["missed starts"].kept


def test_hands_at_risk_are_kept_up_to_one_of_a_thousand():
    outcomes = np.zeros(1000, dtype=int)
    outcomes[0] = Outcome.HAND_AT_RISK
    assert flown(table_of(outcomes))["hand at risk"].kept
    outcomes[1] = Outcome.FALSE_START
    broken = flown(table_of(outcomes))["hand at risk"]
    assert not broken.kept
    assert "2 of 1,000" in broken.words


def test_slack_as_flown_wants_a_tenth_of_a_second():
    outcomes = np.zeros(500, dtype=int)
    assert flown(table_of(outcomes, 0.11))["clear as flown"].kept
    assert not flown(table_of(outcomes, 0.09))["clear as flown"].kept
    assert "clear as flown" not in flown(table_of(outcomes), "c")


def test_obstacles_are_judged_at_the_fifth_percentile():
    over = np.linspace(-1.0, 19.0, 101)  # its 5th percentile is 0
    assert flown(table_of(np.zeros(101, dtype=int)), over_m=over)["obstacles"].kept
    lower = flown(table_of(np.zeros(101, dtype=int)), over_m=over - 0.5)["obstacles"]
    assert not lower.kept
    assert "0.5 m too low" in lower.words


def test_a_lower_ceiling_takes_torque_and_thrust():
    """The figures at another launch ceiling are derived, not scaled by hand."""
    setup = setup_of("b")
    low = derive(changed(setup, {"settings.launch_ceiling": "70 %"}))
    assert low.thrust_to_weight < 0.75 * derived_of("b").thrust_to_weight
    assert low.roll_reserve[1.0] > derived_of("b").roll_reserve[1.0]
