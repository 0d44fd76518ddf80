"""How far a launch stayed from each limit, and which limit it came nearest to.

A margin has a limit, beyond which it is broken, and a point from which nothing is to be said. Its grade is
0 at the one and 1 at the other, so that margins of different kinds compare. Limits: those of
`overarm.odds.checks`, `overarm.odds.clear` and `overarm.settings.limits`; common practice, no source, unless
they follow from the setup.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.flight.verdict import DIP_M
from overarm.odds.clear import CLEAR_EXTRA_S
from overarm.odds.finding import Word
from overarm.odds.links import CHAIN
from overarm.odds.race import BUDGET_RATIO, CLIMB_BELOW_PITCH_RAD
from overarm.recordings.estimates.say import together
from overarm.review.outcome import clear_at, turns_at
from overarm.review.result import Margin
from overarm.review.seen import Seen
from overarm.settings.limits import (
    LEAST_CELL_V,
    LEAST_OVER_FLOOR_V,
    LEVEL_OVER_CARRY_MPS2,
    MOST_OF_PEAK,
    TIMES_DWELL,
)

GOOD_LOW_M = 1.2  # own estimate: half a metre over the limit
GOOD_RATIO, LEAST_RATIO = 1.15, 1.0
GOOD_BANK_RAD, MOST_BANK_RAD = math.radians(30.0), math.radians(60.0)  # common practice, no source
SPARE_MPS = 1.0  # of the speed budget, about one standard deviation of a throw


def margins_of(seen: Seen) -> tuple[Margin, ...]:
    """Return every margin that the record and the setup tell, people first. Without a setup there is none."""
    if seen.setup is None or seen.derived is None or seen.launch.kind != "launch":
        return ()
    return tuple(found for one in MARGINS if (found := one(seen)) is not None)


def weakest_of(margins: tuple[Margin, ...], outcome: str) -> Margin | None:
    """Return the margin nearest to its limit; of a launch that failed, that of the link that broke."""
    broken = next((name for name, those in CHAIN if outcome in {one.label for one in those}), "")
    for names in CAUSES.get(broken, ((broken,),)):
        own = [item for item in margins if item.link in names and item.grade < 1.0]
        if own:
            return min(own, key=lambda item: item.grade)
    return min(margins, key=lambda item: item.grade, default=None)


# What may have broken a link, before what merely shows it.
CAUSES: dict[str, tuple[tuple[str, ...], ...]] = {
    "cue": (("carry", "cue"),),
    "sink": (("race", "speed"), ("sink",)),
    "stall": (("race", "speed"), ("sink",)),
    "climb": (("race", "speed"), ("climb",)),
    "obstacle": (("climb", "race", "speed"),),
}


def _margin(
    link: str, numbers: tuple[float, float, float, float], unit: str, sentence: str, word: Word | None = None
) -> Margin:
    """Return a margin; ``numbers``: value, its error, the limit, and where it is good (either way)."""
    value, error, limit, good = numbers
    grade = (value - limit) / (good - limit)
    said: Word = "good" if grade >= 1.0 else "watch" if grade >= 0.0 else "stop"
    return Margin(link, word or said, value, error, limit, unit, grade, sentence)


def _hand(seen: Seen) -> Margin | None:
    """From a clear hand to the first turn of the propeller."""
    turns, clear = turns_at(seen), clear_at(seen)
    assert seen.setup is not None
    if turns is None or clear is None or seen.style == "line-launched":
        return None
    if seen.style == "spin-in-hand" and seen.setup.power.position == "tractor":
        return None
    slack, error = turns[0] - clear[0], together(turns[1], clear[1])
    when = f"{abs(slack):.2f} s {'after' if slack >= 0.0 else 'before'} the hand was clear"
    when += f" (one standard error {error:.2f} s)" if abs(slack) < 2.0 * error else ""
    what = "The propeller turned" if turns[2] else "The throttle opened"
    return _margin("hand", (slack, error, 0.0, CLEAR_EXTRA_S), "s", f"{what} {when}.")


def _peak(seen: Seen) -> Margin | None:
    """The peak of the throw over the level, and its time over the dwell, whichever is nearer."""
    assert seen.setup is not None
    card = seen.setup.settings
    peak, above = seen.value("throw_peak_mps2"), seen.value("longest_above_s")
    if seen.style == "spin-in-hand":
        return None
    level, dwell = card.jerk_level_mps2.value, card.jerk_dwell_s.value
    found = []
    if peak is not None:
        error = seen.error("throw_peak_mps2") / level
        words = f"The throw peaked at {peak:.0f} m/s², {peak / level:.1f} times the level."
        found.append(_margin("cue", (peak / level, error, 1.0, 1.0 / MOST_OF_PEAK), "of level", words))
    if above is not None and dwell > 0.0:
        words = f"The throw was over the level for {above:.2f} s, {above / dwell:.1f} times the dwell."
        error = seen.error("longest_above_s") / dwell
        found.append(_margin("cue", (above / dwell, error, 1.0, TIMES_DWELL), "of dwell", words))
    return min(found, key=lambda item: item.grade, default=None)


def _carry(seen: Seen) -> Margin | None:
    """What was felt in the carry against the level; over it counts only if it lasted for the dwell."""
    assert seen.setup is not None
    level, carry = seen.setup.settings.jerk_level_mps2.value, seen.value("carry_peak_mps2")
    if carry is None:
        return None
    words = f"The carry peaked at {carry:.1f} m/s²; the level is {level:.3g} m/s²."
    numbers = (level - carry, seen.error("carry_peak_mps2"), 0.0, LEVEL_OVER_CARRY_MPS2)
    return _margin("carry", numbers, "m/s²", words, "watch" if carry > level else None)


def _speed(seen: Seen) -> Margin | None:
    """The least airspeed over the stall speed."""
    ratio = seen.value("low_speed_ratio")
    if ratio is None:
        return None
    error = seen.error("low_speed_ratio")
    words = f"The least airspeed was {ratio:.2f} times the stall speed."
    word: Word | None = "watch" if ratio < LEAST_RATIO <= ratio + 2.0 * error else None
    return _margin("speed", (ratio, error, LEAST_RATIO, GOOD_RATIO), "of Vs", words, word)


def headwind_mps(seen: Seen) -> tuple[float, float]:
    """Return the headwind at release [m/s] and its error: by the record, else by the day card."""
    found = seen.value("headwind_mps")
    if found is not None:
        return found, seen.error("headwind_mps")
    assert seen.setup is not None
    assert seen.derived is not None
    from overarm.odds.gather import gather_facts

    return gather_facts(seen.setup, seen.derived).throw.headwind_mps, seen.setup.day.wind_mps.spread


def _race(seen: Seen) -> Margin | None:
    """The speed budget of this throw against what was lost until thrust matched.

    Equation: ``B - g (sin(climb) + 1/E) t_gap``, all of the gap without thrust: an upper bound of the loss
    (`overarm.odds.race` has the whole of it).
    """
    speed, gap = seen.value("throw_speed_mps"), seen.value("thrust_match_after_s")
    if speed is None or gap is None or gap <= 0.0 or seen.setup is None or seen.derived is None:
        return None
    wind, wind_error = headwind_mps(seen)
    budget = speed + wind - BUDGET_RATIO * seen.derived.stall_speed_mps
    path = max(0.0, seen.setup.settings.climb_pitch_rad.value - CLIMB_BELOW_PITCH_RAD)
    rate = GRAVITY_MPS2 * (math.sin(path) + 1.0 / seen.derived.best_glide_ratio)
    spare = budget - rate * gap
    error = together(seen.error("throw_speed_mps"), wind_error, rate * seen.error("thrust_match_after_s"))
    side = "left" if spare >= 0.0 else "short"
    words = (
        f"Thrust covered drag and climb {gap:.2f} s after release; of the speed in hand "
        f"({budget:.1f} m/s over 1.05 Vs) {abs(spare):.1f} m/s was {side}."
    )
    return _margin(
        "race", (spare, error, -SPARE_MPS, SPARE_MPS), "m/s", words, None if spare > 0 else "watch"
    )


def _sink(seen: Seen) -> Margin | None:
    """The lowest height after release; a flight that ended on the ground stands at 0."""
    low = seen.value("low_point_m")
    if low is None:
        return None
    words = f"The lowest point was {low:.1f} m."
    word: Word | None = "watch" if seen.event("ground") is None and low < DIP_M else None
    return _margin("sink", (low, seen.error("low_point_m"), DIP_M, GOOD_LOW_M), "m", words, word)


def _volts(seen: Seen) -> Margin | None:
    """The lowest volts against the floor of the regulator, and of a cell."""
    volts = seen.flown("volts_v")
    assert seen.setup is not None
    assert seen.derived is not None
    if volts is None:
        return None
    cells, floor = seen.setup.power.cells, seen.derived.pack.floor_volts
    lowest = float(np.min(volts.values))
    good = max(floor + LEAST_OVER_FLOOR_V, LEAST_CELL_V * cells)
    words = f"The pack sagged to {lowest:.1f} V, {lowest / cells:.2f} V a cell; "
    words += f"the regulator needs {floor:.1f} V."
    return _margin("power", (lowest, 0.05, floor, good), "V", words)


def _roll(seen: Seen) -> Margin | None:
    """The largest bank until the climb is established, or the handover."""
    bank, release = seen.flown("bank_rad"), seen.release_s
    if bank is None or release is None:
        return None
    most = float(np.max(np.abs(bank.values)))
    words = f"The largest bank was {math.degrees(most):.0f} degrees."
    return _margin(
        "roll",
        (math.degrees(most), 2.0, math.degrees(MOST_BANK_RAD), math.degrees(GOOD_BANK_RAD)),
        "deg",
        words,
    )


def _climb(seen: Seen) -> Margin | None:
    """The path of the climb against that asked for."""
    path = seen.value("climb_path_rad")
    if path is None or seen.setup is None:
        return None
    asked = max(math.radians(2.0), seen.setup.settings.climb_pitch_rad.value - CLIMB_BELOW_PITCH_RAD)
    words = f"It climbed at {math.degrees(path):.0f} degrees over the ground."
    numbers = (math.degrees(path), math.degrees(seen.error("climb_path_rad")), 0.0, 0.5 * math.degrees(asked))
    return _margin("climb", numbers, "deg", words)


MARGINS: tuple[Callable[[Seen], Margin | None], ...] = (
    _hand,
    _carry,
    _peak,
    _race,
    _speed,
    _sink,
    _volts,
    _roll,
    _climb,
)
