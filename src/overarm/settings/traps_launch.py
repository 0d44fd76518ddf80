"""Traps in the launch: values that are good one by one and lose the launch together.

A *trap* is a smallest set of values that takes 10 points or more off the odds of the usual settings in the
same conditions, and that one change gets out of with as clear a gain.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from overarm.describe.change import written
from overarm.odds.findings import findings
from overarm.odds.gather import gather_facts
from overarm.odds.paired import Difference
from overarm.settings import traps_parts as parts_
from overarm.settings.choices import CHOICES, Choice, value_in
from overarm.settings.limits import wait_needed_s
from overarm.settings.minimal import minimal_failing
from overarm.settings.traps_bench import Bench, Changes
from overarm.settings.traps_carry import step_fires
from overarm.settings.traps_parts import Part, together
from overarm.settings.traps_people import hands_as_clear, less_clear
from overarm.settings.traps_result import Cure, Member, Trap
from overarm.settings.usual import usual_settings

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

ROUGH_POINTS = 0.05  # a change that gains less in the first launches is not flown to the end
MOST_CURES = 8
ROUND_NUMBERS = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0)
STEPS = 4  # from end to end of a range that is not one of ratios
NOT_A_CURE = ("handover_height", "speed_gate")  # a lower goal is no better launch


class Search(NamedTuple):
    """What one layer is searched in."""

    bench: Bench
    base: dict[str, str]  # cures of the layers before, and conditions of the context
    usual: dict[str, str]  # changes to the usual settings, and what a check has named already
    parts: tuple[Part, ...]

    def odds_with(self, parts: tuple[Part, ...]) -> dict[str, str]:
        """Return the usual setup with some parts put into it."""
        return self.base | self.usual | together(parts)


def loses(gap: Difference) -> bool:
    """Return True for a loss that is clear and large."""
    return gap.share <= -parts_.CLEAR_POINTS and gap.high < 0.0


def wins(gap: Difference) -> bool:
    """Return True for a gain that is clear and large."""
    return gap.share >= parts_.CLEAR_POINTS and gap.low > 0.0


def fails(search: Search, some: tuple[Part, ...]) -> bool:
    """Return True if some parts, put into the usual setup, lose against it in the same conditions."""
    weather = tuple(part for part in some if part.condition)
    if len(weather) == len(some):
        return False
    return loses(search.bench.gain(search.odds_with(weather), search.odds_with(some)))


def contexts(setup: Setup, derived: Derived) -> tuple[tuple[Part, ...], ...]:
    """Return the conditions in which a setup is tried: as written, in calm, on a part-used cold pack."""
    wind = setup.day.wind_mps.value
    ahead = wind > 0.5 and math.cos(setup.day.wind_angle_rad.value) > 0.0
    light = ahead and wind < parts_.PLAIN_WIND_MPS
    now = (parts_.wind_part(setup.day.wind_mps.text),) if light else ()
    pack = (parts_.pack_part(setup, derived),)
    calm = ((parts_.wind_part(parts_.CALM),),) if ahead else ()
    return (now, *calm, now + pack)


def find_launch_trap(bench: Bench, base: Changes, after: tuple[str, ...]) -> Trap | None:
    """Return the first trap of the launch with earlier cures in place; None if there is none."""
    setup, derived = bench.made(base)
    settings, usual = parts_.setting_parts(setup, derived)
    named = parts_.stopped(findings(setup, derived))
    settings = tuple(part for part in settings if part.key not in named)
    for weather in contexts(setup, derived):
        plain = {parts_.WIND: parts_.PLAIN_WIND} if any(p.key == parts_.WIND for p in weather) else {}
        search = Search(bench, dict(base), usual | plain, settings + weather)
        if not settings or not fails(search, search.parts):
            continue
        found = minimal_failing(search.parts, lambda some, where=search: fails(where, some))  # type: ignore[misc]
        trap = _told(search, setup, found, weather, after)
        if trap is not None:
            return trap
    return None


def _told(
    search: Search, setup: Setup, found: tuple[Part, ...], weather: tuple[Part, ...], after: tuple[str, ...]
) -> Trap | None:
    """Return the trap with its cures; None if no single change gets out of it."""
    bench = search.bench
    here = search.base | together(weather)
    cures = launch_cures(bench, here)
    if not cures:
        return None
    relief = {part.key: part.usual for part in found if not part.condition}
    calm = here | {parts_.WIND: parts_.CALM}
    asks = any(part.key == parts_.WIND and part.value != parts_.CALM for part in weather)
    cures = tuple(
        cure._replace(calm=bench.odds(calm | {cure.key: cure.after}).share if asks else None)
        for cure in cures
    )
    members = tuple(Member(part.key, part.words, part.value, part.usual, part.meaning) for part in found)
    trap = Trap(
        kind="launch",
        members=members,
        odds=bench.odds(here),
        without=bench.odds(here | relief),
        calm=bench.odds(calm).share if asks else None,
        cures=cures,
        after=after,
        sentence="",
    )
    breezy = None
    if any(part.key == parts_.WIND for part in found):
        breezy = bench.odds(here | {parts_.WIND: parts_.PLAIN_WIND})
    from overarm.settings.traps_words import launch_sentence

    return _with(trap, launch_sentence(trap, setup.style, breezy))


def _with(trap: Trap, sentence: str) -> Trap:
    from dataclasses import replace

    return replace(trap, sentence=sentence)


def candidates(choice: Choice, setup: Setup, derived: Derived) -> list[float]:
    """Return the values of one setting that are tried as a cure, SI.

    Round numbers over the range of the style and the usual value. A start wait is never shorter than what
    the hand needs, nor than it is.
    """
    low, high = choice.range_of(setup.style)
    if choice.ratio:
        steps = [low, high, *(10.0**k * n for k in range(-2, 3) for n in ROUND_NUMBERS)]
    else:
        steps = [low + k * (high - low) / STEPS for k in range(STEPS + 1)]
    values = {choice.rounded(value) for value in steps if low <= value <= high}
    common = usual_settings(setup, derived).get(choice.key)
    if common is not None:
        values.add(common)
    now = value_in(setup, choice)
    least = -math.inf
    if choice.key == "start_wait":
        needed = wait_needed_s(gather_facts(setup, derived)) if setup.style == "throw-started" else 0.0
        least = max(needed, now or 0.0)
    return sorted(value for value in values if value >= least and (now is None or abs(value - now) > 1e-9))


def allowed(bench: Bench, before: Changes, after: Changes) -> bool:
    """Return True if a change makes no check say stop that did not, and leaves hands as clear on paper.

    Nor may it let a step of a walk fire the cue where none did.
    """
    old, new = bench.made(before), bench.made(after)
    stops = {item.name for item in findings(*old) if item.word == "stop"}
    if any(item.word == "stop" and item.name not in stops for item in findings(*new)):
        return False
    if less_clear(old, new):
        return False
    return step_fires(old[0]) or not step_fires(new[0])


def launch_cures(bench: Bench, here: dict[str, str]) -> tuple[Cure, ...]:
    """Return the single changes that clearly gain odds, the largest gain first; of equals the usual value.

    Each is flown: none that puts more hands at risk, or enough of them for a stop.
    """
    setup, derived = bench.made(here)
    wishes = [
        (f"settings.{choice.key}", choice.words, choice.text(value))
        for choice in CHOICES
        if choice.key not in NOT_A_CURE and value_in(setup, choice) is not None
        for value in candidates(choice, setup, derived)
    ]
    if setup.airframe.board.tilt_rad.value != 0.0:
        wishes.append((parts_.TILT, "board tilt", parts_.LEVEL_BOARD))
    found = []
    for key, words, value in wishes:
        after = here | {key: value}
        if not allowed(bench, here, after) or bench.rough_gain(here, after) < ROUGH_POINTS:
            continue
        gain = bench.gain(here, after)
        if wins(gain) and hands_as_clear(setup, bench.fly(here), bench.fly(after)):
            now = written(setup, key)
            found.append(Cure(key, words, now, value, gain, bench.odds(after), None))
    common = parts_.setting_parts(setup, derived)[1]
    found.sort(key=lambda cure: (-round(cure.gain.share, 2), common.get(cure.key) != cure.after))
    return tuple(found[:MOST_CURES])
