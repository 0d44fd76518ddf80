"""Traps while it is carried: values that are good one by one and start the motor in somebody's hand.

Nothing is flown here. Who walks with the model nose-up feels gravity along the body and a push with every
step; the cue fires if one step keeps it above its level for the dwell.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from overarm.describe.change import changed, written
from overarm.describe.derived import derive
from overarm.odds.checks import trigger_margin
from overarm.odds.finding import Finding, worst_word
from overarm.odds.findings import findings
from overarm.odds.gather import gather_facts
from overarm.odds.intervals import Interval, wilson
from overarm.odds.paired import Difference
from overarm.settings import traps_parts as parts_
from overarm.settings.carry import CARRIES, carry_of, even_step, false_start_share
from overarm.settings.choices import BY_KEY
from overarm.settings.limits import MOST_FALSE_STARTS
from overarm.settings.minimal import minimal_failing
from overarm.settings.traps_parts import Part, together
from overarm.settings.traps_people import less_clear
from overarm.settings.traps_result import Cure, Member, Trap
from overarm.settings.usual import usual_settings

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

# A walk with the nose up; between the 1.5 and 2.5 m/s2 of careful and of quick steps. Own estimates.
NOSE_UP_RAD = math.radians(15.0)
WALK = (("thrower.carry_pitch", "15 deg"), ("thrower.sway", "2 m/s2"), ("thrower.sway_rate", "1.9 Hz"))
HIGHEST_LEVEL_MPS2 = 12.0
LEVELS_MPS2 = (4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0)
DWELLS_S = (0.10, 0.12, 0.15, 0.20)
CUE = "settings.jerk_cue"


def walked(setup: Setup) -> Setup:
    """Return a setup whose model is carried nose-up by somebody who walks; as it is if it is not carried."""
    if setup.thrower is None:
        return setup
    walk = dict(WALK)
    if setup.thrower.carry_pitch_rad.value >= NOSE_UP_RAD:
        del walk["thrower.carry_pitch"]
    return changed(setup, walk)


def _fires(setup: Setup) -> bool:
    return bool(even_step(carry_of(setup)).fires)


def step_fires(setup: Setup) -> bool:
    """Return True if a step of a nose-up walk starts the motor."""
    return setup.thrower is not None and _fires(walked(setup))


def _pose_part(setup: Setup) -> Part:
    card = setup.thrower
    assert card is not None
    meaning = "nobody holds the nose down all the way from the bag to the launch point"
    nose_up = "15 deg nose-up, walking"
    return Part(
        "thrower.carry_pitch", "carry", nose_up, card.carry_pitch_rad.text, meaning, WALK, condition=True
    )


def find_carry_trap(setup: Setup, derived: Derived, after: tuple[str, ...]) -> Trap | None:
    """Return the values of a setup that fire the cue together while it is carried; None if none do."""
    if not step_fires(setup):
        return None
    settings, usual = parts_.setting_parts(setup, derived)
    named = parts_.stopped(findings(setup, derived))
    about = {"settings.jerk_level", "settings.jerk_dwell", parts_.TILT}
    parts = tuple(part for part in settings if part.key in about and part.key not in named)
    usual = {key: value for key, value in usual.items() if key in about}

    def fails(some: tuple[Part, ...]) -> bool:
        mine = any(not part.condition for part in some)
        return mine and _fires(changed(setup, usual | dict(together(some))))

    everything = (*parts, _pose_part(setup))
    if not fails(everything):
        return None
    found = minimal_failing(everything, fails)
    cures = carry_cures(setup, derived)
    if not cures:
        return None
    relief = {part.key: part.usual for part in found if not part.condition}
    there, best = walked(setup), suggested(cures, setup, derived)
    from overarm.settings.traps_words import carry_sentence

    return Trap(
        kind="carry",
        members=tuple(Member(part.key, part.words, part.value, part.usual, part.meaning) for part in found),
        odds=_carries(there),
        without=_carries(changed(there, relief)),
        calm=None,
        cures=cures,
        after=after,
        sentence=carry_sentence(found, _feels(there), best, _spare(setup, best))
        + _left(cures, best, setup, derived),
    )


def _carries(setup: Setup) -> Interval:
    """Return the share of two-minute carries without a start, in the pose of the setup."""
    return wilson(round((1.0 - false_start_share(carry_of(setup))) * CARRIES), CARRIES)


def suggested(cures: tuple[Cure, ...], setup: Setup, derived: Derived) -> Cure:
    """Return the cure that is advised: of those that leave one false start in 50 carries at most, the usual
    value of the trade, or the lowest jerk level, or the one that gains most; else the one that gains most.
    """
    enough = [cure for cure in cures if cure.odds.share >= 1.0 - MOST_FALSE_STARTS]
    usual = parts_.setting_parts(setup, derived)[1]
    levels = sorted(
        (cure for cure in enough if cure.key == "settings.jerk_level"),
        key=lambda cure: BY_KEY["jerk_level"].value(cure.after),
    )
    best = [*(cure for cure in enough if usual.get(cure.key) == cure.after), *levels, *enough, *cures]
    return best[0]


def _left(cures: tuple[Cure, ...], best: Cure, setup: Setup, derived: Derived) -> str:
    """Say what the usual value would leave, where it is another than the one that is advised."""
    usual = parts_.setting_parts(setup, derived)[1].get(best.key)
    there = next((cure for cure in cures if cure.key == best.key and cure.after == usual), None)
    if there is None or there is best:
        return ""
    share = 100.0 * (1.0 - there.odds.share)
    said = f"The usual {there.words}, {there.after}, would still start it in {share:.0f} of 100 such"
    return f" {said} carries."


def _spare(setup: Setup, cure: Cure) -> str:
    """Say how far the gesture still reaches above the level that cures."""
    numbers = _reach(changed(setup, {cure.key: cure.after})).numbers
    if cure.key != "settings.jerk_level" or not numbers:
        return ""
    return (
        f"; the throw or shake still peaks at {numbers['peak_mps2'] / numbers['level_mps2']:.1f} times that"
    )


def _feels(there: Setup) -> str:
    step = even_step(carry_of(there))
    return (
        f"it reads up to {float(step.peak_mps2):.1f} m/s2 and stays above the level of "
        f"{written(there, 'settings.jerk_level')} for {float(step.above_s):.2f} s, the dwell is "
        f"{there.settings.jerk_dwell_s.value:.2f} s"
    )


def _wishes(setup: Setup, derived: Derived) -> list[tuple[str, str, str]]:
    """Return the changes that are tried, as (key, words, value)."""
    level, dwell = setup.settings.jerk_level_mps2.value, setup.settings.jerk_dwell_s.value
    usual = usual_settings(setup, derived)
    levels = {*LEVELS_MPS2, usual["jerk_level"]}
    dwells = {*DWELLS_S, usual["jerk_dwell"]}
    wishes = [
        ("settings.jerk_level", "jerk level", BY_KEY["jerk_level"].text(value))
        for value in sorted(levels)
        if level < value <= HIGHEST_LEVEL_MPS2
    ]
    wishes += [
        ("settings.jerk_dwell", "jerk dwell", BY_KEY["jerk_dwell"].text(value))
        for value in sorted(dwells)
        if value > dwell
    ]
    if setup.settings.jerk_cue == "raw":
        wishes.append((CUE, "jerk cue", "tilt-free"))
    if setup.airframe.board.tilt_rad.value != 0.0:
        wishes.append((parts_.TILT, "board tilt", parts_.LEVEL_BOARD))
    card = setup.thrower
    if card is not None and card.carry_pitch_rad.value < NOSE_UP_RAD:
        wishes.append(("thrower.carry_pitch", "carry", card.carry_pitch_rad.text))
    return wishes


def carry_cures(setup: Setup, derived: Derived) -> tuple[Cure, ...]:
    """Return the single changes after which no even step fires the cue and clearly fewer carries do.

    None that makes a weak throw, the shake or the line reach the level less well than a check accepts, and
    none that leaves hands less clear on paper.
    """
    before = walked(setup)
    fired = round(false_start_share(carry_of(before)) * CARRIES)
    margin, now = trigger_margin(gather_facts(setup, derived)).word, (before, derive(before))
    found = []
    for key, words, value in _wishes(setup, derived):
        after = changed(before, {key: value})
        then = (after, derive(after))
        reach = trigger_margin(gather_facts(*then)).word
        if _fires(after) or worst_word(reach, margin) != margin or less_clear(now, then):
            continue
        fires = round(false_start_share(carry_of(after)) * CARRIES)
        won = wilson(max(0, fired - fires), CARRIES)
        if won.share >= parts_.CLEAR_POINTS:
            gain = Difference(won.share, won.low, won.high, max(0, fired - fires), 0)
            was = "15 deg nose-up" if key == "thrower.carry_pitch" else written(setup, key)
            found.append(Cure(key, words, was, value, gain, wilson(CARRIES - fires, CARRIES), None))
    return tuple(sorted(found, key=lambda cure: -cure.gain.share))


def _reach(setup: Setup) -> Finding:
    return trigger_margin(gather_facts(setup, derive(setup)))
