"""The launch as it was estimated, flown again: as it was, and with other settings, launch by launch."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.describe.change import changed, written
from overarm.errors import InputError
from overarm.flight.inputs import inputs_of
from overarm.odds.as_flown import at_risk
from overarm.odds.assess import clean_share, is_clean
from overarm.odds.clear import CLEAR_EXTRA_S, clear_time_s
from overarm.odds.format import percent, signed_points
from overarm.odds.gather import gather_facts
from overarm.odds.paired import paired
from overarm.odds.result import count_outcomes
from overarm.odds.what_if import Changed, moved_outcomes
from overarm.review.beside import fly_beside
from overarm.review.day import Given, OneAWorld, launch_of, used_of, with_given
from overarm.review.result import Again, Other
from overarm.review.seen import Seen

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.flight.campaign import Inputs

HIGHEST_RISE = {"throw-started": 3.0, "line-launched": 3.0, "spin-in-hand": 0.5}  # common practice, no source
LOWEST_PITCH_RAD = math.radians(6.0)
SLOW_MPS, OFF_RAD = 0.3, math.radians(5.0)  # a throw this much off is worth another look; own estimates


class Case(NamedTuple):
    """All that a launch is flown again with."""

    setup: Setup
    derived: Derived
    given: tuple[Given, ...]
    flown: Mapping[str, float]  # fields that were flown otherwise than the card says


def shortest_wait_s(setup: Setup, derived: Derived) -> float:
    """Return the shortest start wait that may ever be advised [s].

    Where a disc passes the hand: the time at which 999 of 1000 hands are clear, and 0.10 s. Elsewhere the
    wait of the card: a review never shortens what a person may rely on.
    """
    card = setup.settings.start_wait_s.value
    if setup.style == "throw-started" and setup.power.position == "pusher":
        return clear_time_s(gather_facts(setup, derived)) + CLEAR_EXTRA_S
    return card


def singles_of(setup: Setup, derived: Derived) -> list[dict[str, str]]:
    """Return single changes that are worth trying: level, dwell, wait, rise, ceiling, pitch."""
    card = setup.settings
    level, wait = card.jerk_level_mps2.value, card.start_wait_s.value
    rise, pitch = card.throttle_rise_per_s.value, card.climb_pitch_rad.value
    least = shortest_wait_s(setup, derived)
    waits = sorted({round(w, 2) for w in (max(least, wait - 0.1), max(least, wait - 0.2), wait + 0.1)})
    highest = HIGHEST_RISE[setup.style]
    rises = sorted({min(highest, rise * factor) for factor in (1.5, 2.0, 4.0)} | {0.5 * rise})
    pitches = sorted({max(LOWEST_PITCH_RAD, pitch + math.radians(d)) for d in (-6.0, -3.0)})
    found = [{"settings.jerk_level": f"{level * f:.1f} m/s2"} for f in (0.75, 1.5)]
    found += [{"settings.start_wait": f"{w:.2f} s"} for w in waits if abs(w - wait) > 0.015]
    found += [{"settings.throttle_rise": f"{100.0 * r:.0f} %/s"} for r in rises if abs(r - rise) > 0.01]
    found += [{"settings.climb_pitch": f"{math.degrees(p):.0f} deg"} for p in pitches if p < pitch - 0.01]
    if card.launch_ceiling_share.value < 0.94:
        found.append({"settings.launch_ceiling": "95 %"})
    return found


class Habit(NamedTuple):
    """One thing that a person may do otherwise: the estimate, its other value [SI], and the words."""

    estimate: str
    value: float
    told: Changed
    text: str


def habits_of(seen: Seen) -> list[Habit]:
    """Return what the throw of this launch could have been like: as on the card, wings level."""
    thrower = seen.setup.thrower if seen.setup is not None else None
    if thrower is None:
        return []
    found = []
    speed, path = seen.value("throw_speed_mps"), seen.value("release_path_rad")
    bank, usual = seen.value("release_bank_rad"), thrower.release_speed_mps.value
    if speed is not None and speed < usual - SLOW_MPS:
        told = Changed("thrower.release_speed", f"{speed:.1f} m/s", f"{usual:.1f} m/s")
        found.append(Habit("throw_speed_mps", usual, told, f"Thrown at {usual:.1f} m/s"))
    aim = thrower.release_path_rad.value
    if path is not None and abs(path - aim) > OFF_RAD:
        told = Changed("thrower.release_path", _degrees(path), _degrees(aim))
        found.append(Habit("release_path_rad", aim, told, f"Thrown at {_degrees(aim)} over the horizon"))
    if bank is not None and abs(bank) > OFF_RAD:
        told = Changed("thrower.release_bank", _degrees(bank), "0 deg")
        found.append(Habit("release_bank_rad", 0.0, told, "Thrown with the wings level"))
    return found


def _degrees(angle_rad: float) -> str:
    return f"{math.degrees(angle_rad):.0f} deg"


def _swapped(item: Given, habit: Habit) -> Given:
    """Return what is given with the value of a habit, if it is that of the habit."""
    if item.name != habit.estimate:
        return item
    return item._replace(fields=dict.fromkeys(item.fields, habit.value))


class Try(NamedTuple):
    """A changed setup with its inputs: the same for each launch of a recording."""

    changes: dict[str, str]
    by_hand: bool
    setup: Setup
    inputs: Inputs
    told: tuple[Changed, ...]


def tries_of(setup: Setup, derived: Derived, asked: Mapping[str, str]) -> list[Try]:
    """Return the changed setups that each launch is flown again with, what ``--set`` asks for first.

    Raises InputError if no card takes what is asked for.
    """
    wanted = [(dict(one), False) for one in singles_of(setup, derived)]
    if asked:
        wanted.insert(0, (dict(asked), True))
    found = (_try(setup, derived, changes, by_hand=by_hand) for changes, by_hand in wanted)
    return [item for item in found if item is not None]


def _try(setup: Setup, derived: Derived, changes: dict[str, str], *, by_hand: bool) -> Try | None:
    try:
        other = changed(setup, changes)
    except InputError:
        if by_hand:
            raise
        return None
    if not all(key.startswith("settings.") for key in changes) or "settings.launch_ceiling" in changes:
        from overarm.describe.derived import derive

        derived = derive(other)
    told = tuple(Changed(key, written(setup, key), written(other, key)) for key in changes)
    return Try(changes, by_hand, other, inputs_of(other, derived), told)


def fly_again(
    seen: Seen,
    inputs: Inputs,
    flown: Mapping[str, float],
    tries: Sequence[Try],
    drawn: OneAWorld,
    tell: Callable[[float], None],
) -> Again | None:
    """Return the launch flown again as it was and with other settings; None without throw or setup.

    Parameters: the launch; inputs of its setup; what was flown otherwise than the card says; the changed
    setups; which launches are flown; ``tell`` hears the share that is done, and may raise Cancelled.
    """
    if seen.setup is None or seen.derived is None or seen.release_s is None or seen.launch.kind != "launch":
        return None
    case = Case(seen.setup, seen.derived, tuple(launch_of(seen, inputs)), flown)
    habits = habits_of(seen)
    all_inputs = [with_given(inputs, case.given, dict(flown))]
    all_inputs += [with_given(one.inputs, case.given, _kept(case, one)) for one in tries]
    for habit in habits:
        given = [_swapped(item, habit) for item in case.given]
        all_inputs.append(with_given(inputs, given, dict(flown)))
    before, *after = fly_beside(all_inputs, drawn, tell)
    others = [_other(case, before, table, one) for one, table in zip(tries, after, strict=False)]
    others += [
        _told(before, table, (habit.told,), habit.text, refused="", asked=False)
        for habit, table in zip(habits, after[len(tries) :], strict=True)
    ]
    return Again(len(drawn), used_of(case.given), clean_share(before), count_outcomes(before), tuple(others))


def _kept(case: Case, one: Try) -> dict[str, float]:
    """Return what was flown otherwise than the card says, less what is changed."""
    return {field: value for field, value in case.flown.items() if FIELD_KEYS[field] not in one.changes}


def _other(case: Case, before: NDArray[np.void], after: NDArray[np.void], one: Try) -> Other:
    more = int(np.sum(at_risk(after))) > int(np.sum(at_risk(before)))
    names = (f"{item.key.rpartition('.')[2].replace('_', ' ')} {item.after}" for item in one.told)
    text = f"With {' and '.join(names)}"
    return _told(before, after, one.told, text, refused=_refused(case, one.setup, more), asked=one.by_hand)


def _told(
    before: NDArray[np.void],
    after: NDArray[np.void],
    changes: tuple[Changed, ...],
    text: str,
    *,
    refused: str,
    asked: bool,
) -> Other:
    world = before["world"]
    gap = paired(is_clean(before), is_clean(after), world)
    hand = paired(at_risk(before), at_risk(after), world)
    share = clean_share(after)
    low, high = signed_points(100.0 * gap.low), signed_points(100.0 * gap.high)
    sentence = (
        f"{text} {percent(share)} of such launches are clean, {signed_points(100.0 * gap.share)} points "
        f"({low} to {high}){'; ' + refused if refused else ''}."
    )
    return Other(changes, asked, share, gap, moved_outcomes(before, after), hand, refused, sentence)


FIELD_KEYS = {
    "logic.start_wait_s": "settings.start_wait",
    "logic.throttle_rise_per_s": "settings.throttle_rise",
    "logic.launch_ceiling": "settings.launch_ceiling",
}


def _refused(case: Case, setup: Setup, more_hands: bool) -> str:
    """Return why a change is not to be advised, whatever it gains; "" if it may be."""
    wait, card = setup.settings.start_wait_s.value, case.setup.settings.start_wait_s.value
    least = shortest_wait_s(setup, case.derived)
    if wait < least - 1e-9 and wait < card - 1e-9:
        return (
            f"not advised: hands need {least:.2f} s"
            if least > card
            else "not advised: the wait is for people"
        )
    if more_hands:
        return "not advised: more hands at risk"
    return ""
