"""What it would take when no settings are good enough, and what an unused option would give."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from overarm.errors import InputError
from overarm.flight.draw import WORLD_SIZE
from overarm.odds.paired import Difference, paired
from overarm.settings.choices import BY_KEY, chosen_in, written
from overarm.settings.desk import Desk, Trial
from overarm.settings.limits import wait_needed_s
from overarm.settings.result import Need
from overarm.settings.usual import usual_settings
from overarm.units import LENGTH, MASS, SPEED, from_si

if TYPE_CHECKING:
    from collections.abc import Callable

    from overarm.describe.cards import Setup

GOOD_ENOUGH = 0.75  # below it nothing is advised; common practice, no source
HARDER, LIGHTER, STEADIER = 1.10, 0.90, 0.5
MORE_WIND_MPS = (1.0, 2.0)
FASTER = 1.5
FURTHER_M = 1.0
EARLY_PITCH, EARLY_OVER_STALL = "5 deg", 1.25


class Idea(NamedTuple):
    """One change that might help."""

    words: str
    changes: dict[str, str]


def ideas(setup: Setup, values: Mapping[str, float]) -> list[Idea]:
    """Return what somebody could change besides the settings, the least trouble first."""
    day, mass = setup.day, setup.airframe.mass_kg.value
    found = [
        Idea(
            f"{more:.0f} m/s more wind",
            {"day.wind": from_si(day.wind_mps.value + more, SPEED, "m/s", 4)},
        )
        for more in MORE_WIND_MPS
    ]
    rise = BY_KEY["throttle_rise"]
    faster = rise.rounded(FASTER * values["throttle_rise"])
    found.append(Idea(f"a throttle rise of {rise.text(faster)}", written({"throttle_rise": faster})))
    if setup.thrower is not None:
        speed, scatter = setup.thrower.release_speed_mps, setup.thrower.release_speed_scatter_mps
        found += [
            Idea(
                "a throw 10 % harder",
                {"thrower.release_speed": from_si(HARDER * speed.value, SPEED, "m/s", 4)},
            ),
            Idea(
                "a rehearsed throw, half as scattered",
                {"thrower.release_speed_scatter": from_si(STEADIER * scatter.value, SPEED, "m/s", 4)},
            ),
        ]
    if setup.line is not None:
        stretch = setup.line.stretch_m.value + FURTHER_M
        found.append(
            Idea("the line stretched 1 m further", {"line.stretch": from_si(stretch, LENGTH, "m", 4)})
        )
    found.append(Idea("10 % less mass", {"airframe.mass": from_si(LIGHTER * mass, MASS, "kg", 5)}))
    if setup.site.obstacles or setup.site.obstacle_file:
        gone = {"site.obstacles": "none", "site.obstacle_file": "none"}
        found.append(Idea("a launch line without the obstacles", gone))
    return found + _other_style(setup)


def _other_style(setup: Setup) -> list[Idea]:
    if setup.style == "throw-started":
        return [Idea("the other style, spin-in-hand", {"style": "spin-in-hand"})]
    if setup.style == "spin-in-hand":
        return [Idea("the other style, throw-started", {"style": "throw-started"})]
    return []


def options(setup: Setup, stall_speed_mps: float) -> list[Idea]:
    """Return optional settings that the setup does not use and that might help."""
    if "early_pitch" in chosen_in(setup):
        return []
    speed = BY_KEY["early_speed"].rounded(EARLY_OVER_STALL * stall_speed_mps)
    text = BY_KEY["early_speed"].text(speed)
    return [
        Idea(
            f"an early pitch of {EARLY_PITCH} until {text}",
            {"settings.early_pitch": EARLY_PITCH, "settings.early_speed": text},
        )
    ]


def tried(
    desk: Desk, best: Trial, found: list[Idea], launches: int, cancelled: Callable[[], bool]
) -> tuple[Need, ...]:
    """Return what each change gives at the best settings of a desk, the largest gain first. Raises Cancelled.

    A change that alters when hands are clear has the start wait follow it.
    """
    needs = [_tried(desk, best, idea, launches, cancelled) for idea in found]
    return tuple(sorted(needs, key=lambda need: (bool(need.refused), -need.gain.share)))


def _tried(old: Desk, best: Trial, idea: Idea, launches: int, cancelled: Callable[[], bool]) -> Need:
    from overarm.describe.change import changed
    from overarm.describe.derived import derive

    nothing = Difference(0.0, 0.0, 0.0, 0, 0)
    try:
        other = changed(old.setup, idea.changes)
        derived = derive(other)
    except InputError as error:
        return Need(idea.words, idea.changes, 0.0, nothing, False, refused=error.problems[0].message)
    desk = Desk(other, derived, old.seed, cancelled, old.flyers)
    values = usual_settings(other, derived) if "style" in idea.changes else dict(best.values)
    values = desk.start(
        values | {k: v for k, v in chosen_in(other).items() if f"settings.{k}" in idea.changes}
    )
    if "settings.throttle_rise" in idea.changes:
        values["throttle_rise"] = chosen_in(other)["throttle_rise"]
    facts = desk.facts(values)
    if facts.style == "throw-started" and facts.power.pusher:
        step = BY_KEY["start_wait"].step
        least = step * math.ceil(wait_needed_s(facts) / step - 1e-9)
        values["start_wait"] = max(values["start_wait"], round(least, 12))
    trial = desk.fly_out(values, launches)
    world = np.arange(launches) // WORLD_SIZE
    gain = paired(best.clean, trial.clean, world)
    opens = not trial.broken and trial.share >= GOOD_ENOUGH
    broken = tuple(item.name for item in trial.broken)
    return Need(idea.words, idea.changes, trial.share, gain, opens, broken)
