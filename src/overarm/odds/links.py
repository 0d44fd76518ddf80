"""The launch as a chain: the odds of each link, and the weakest one in a sentence.

Each outcome breaks exactly one link. The odds of a link are those of the launches that got that far.
The order is that of judging (people first), save that outcomes which break the same part stand
together: no start with false start, dipped with grounded. Any order makes the product of the odds the
share of clean launches, exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.flight.outcomes import Outcome
from overarm.odds.intervals import Interval, by_world, clustered

Table = NDArray[np.void]

# Name, and the outcomes that break it.
CHAIN: tuple[tuple[str, tuple[Outcome, ...]], ...] = (
    ("computation", (Outcome.FAILED_NUMERICALLY,)),
    ("hand", (Outcome.HAND_AT_RISK,)),
    ("cue", (Outcome.FALSE_START, Outcome.NO_START)),
    ("hook", (Outcome.HOOK_STUCK,)),
    ("power", (Outcome.POWER_LOST,)),
    ("roll", (Outcome.ROLLED_OVER,)),
    ("stall", (Outcome.STALLED,)),
    ("obstacle", (Outcome.STRUCK_OBSTACLE,)),
    ("sink", (Outcome.GROUNDED, Outcome.DIPPED)),
    ("climb", (Outcome.MUSHED,)),
    ("ceiling", (Outcome.OVER_HEIGHT,)),
)
NO_WEAK_LINK = "none"
NEVER_S = 0.0
TELLING_BANK_DEG = 8.0


class Link(NamedTuple):
    """One link: how many launches reached it, how many broke there, and the odds that it holds."""

    name: str
    reached: int
    failed: int
    odds: float | None  # None: no launch reached it


class LaunchFigures(NamedTuple):
    """The figures of a setup that the weakest link and the findings on its launches name."""

    style: str = "throw-started"
    jerk_level_mps2: float = 0.0
    jerk_dwell_s: float = 0.0
    handover_height_m: float = 0.0
    floor_volts_v: float = 0.0
    pusher: bool = True
    start_wait_s: float = 0.0
    start_delay_s: float = 0.0


class WeakestLink(NamedTuple):
    """The link with the lowest odds, and why it breaks."""

    name: str
    odds: float
    sentence: str


def _shown(name: str, failed: int, style: str) -> bool:
    if failed:
        return True
    by_line = style == "line-launched"
    return not (name == "computation" or (name == "hook" and not by_line) or (name == "hand" and by_line))


def chain(table: Table, style: str) -> tuple[Link, ...]:
    """Return the links in order; those that a style does not have are left out.

    Parameters
    ----------
    table : structured array
        Summaries of launches, `overarm.flight.outcomes.SUMMARY`; at least one row.
    style : str
        Launch style of the setup.

    Returns
    -------
    tuple of Link
        Equation: ``odds = 1 - failed/reached``; a link that no launch reached has none.
    """
    counts = np.bincount(table["outcome"], minlength=len(Outcome))
    reached = len(table)
    links = []
    for name, outcomes in CHAIN:
        failed = int(sum(counts[outcome] for outcome in outcomes))
        if _shown(name, failed, style):
            links.append(Link(name, reached, failed, 1.0 - failed / reached if reached else None))
        reached -= failed
    return tuple(links)


def link_interval(table: Table, name: str) -> Interval:
    """Return the odds of a link with their interval, launches in worlds; all of 0 to 1 if none got there."""
    reached = np.ones(len(table), dtype=bool)
    for before, outcomes in CHAIN:
        broken = np.isin(table["outcome"], outcomes)
        if before == name:
            if not reached.any():
                return Interval(1.0, 0.0, 1.0)
            return clustered(by_world(~broken[reached], table["world"][reached]))
        reached &= ~broken
    raise ValueError(f"{name} is no link of the chain")


def _median(rows: Table, name: str) -> float:
    return float(np.median(rows[name]))


def _cue(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    false = broken[broken["outcome"] == Outcome.FALSE_START]
    if 2 * len(false) >= len(broken):
        early = _median(false, "detection_s")
        return (
            f"the cue fired while the model was carried, typically {early:.1f} s after it began to listen "
            f"(level {figures.jerk_level_mps2:.3g} m/s² for {figures.jerk_dwell_s:.2f} s)"
        )
    silent = broken[broken["outcome"] == Outcome.NO_START]
    return (
        f"the cue never fired: it felt {_median(silent, 'peak_jerk_mps2'):.1f} m/s² at most and stayed above "
        f"its level of {figures.jerk_level_mps2:.3g} m/s² for {_median(silent, 'longest_above_s'):.2f} s "
        f"of the {figures.jerk_dwell_s:.2f} s it needs"
    )


def _hand(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    tip = _median(broken, "reach_tip_mps")
    both = broken[(broken["clear_s"] > NEVER_S) & (broken["first_spin_s"] > NEVER_S)]
    late = (
        f"{_median(both, 'clear_s') - _median(both, 'first_spin_s'):.2f} s before the hand was clear"
        if len(both)
        else ""
    )
    when = f" and turned {late}" if late and not late.startswith("-") else ""
    return f"the propeller reached a tip speed of {tip:.0f} m/s beside the hand{when}"


def _left_with(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    """Say how fast they left, how far they banked and when thrust arrived, against the clean ones."""
    parts = [f"they left at {_median(broken, 'release_speed_ratio'):.2f} times the stall speed"]
    if len(clean):
        parts[0] += f" (clean ones at {_median(clean, 'release_speed_ratio'):.2f})"
        bank, usual = (math.degrees(_median(rows, "max_bank_rad")) for rows in (broken, clean))
        if bank - usual > TELLING_BANK_DEG:
            parts.append(f"banked to {bank:.0f}° (clean ones to {usual:.0f}°)")
    late = _thrust_words(broken)
    if late:
        parts.append(late)
    return ", ".join(parts)


def _thrust_words(broken: Table) -> str:
    matched = broken[(broken["thrust_match_s"] > NEVER_S) & (broken["release_s"] > NEVER_S)]
    if 2 * len(matched) < len(broken):
        return "and thrust never covered drag and climb"
    gap_s = float(np.median(matched["thrust_match_s"] - matched["release_s"]))
    return f"and thrust covered drag and climb only {gap_s:.1f} s after release" if gap_s > 0.0 else ""


def _sink(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    low_m = max(0.0, _median(broken, "low_point_m"))
    return f"{_left_with(broken, clean, figures)}; the lowest point was {low_m:.1f} m"


def _roll(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    ratio = _median(broken, "low_speed_ratio")
    return (
        f"{_left_with(broken, clean, figures)}; the slowest moment was at {ratio:.2f} times the stall speed"
    )


def _hook(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    return "the line stayed on the hook after it had gone slack"


def _power(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    volts, amps = _median(broken, "lowest_volts_v"), _median(broken, "peak_current_a")
    floor = f"below the {figures.floor_volts_v:.1f} V that the regulator needs"
    return f"the pack sagged to {volts:.1f} V at {amps:.0f} A, {floor}"


def _obstacle(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    return f"they met it {-_median(broken, 'obstacle_gap_m'):.1f} m below its top"


def _climb(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    top = _median(broken, "top_height_m")
    wanted = figures.handover_height_m
    return f"{_left_with(broken, clean, figures)}; they topped out at {top:.0f} m of {wanted:.0f} m"


def _ceiling(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    return f"they reached {_median(broken, 'top_height_m'):.0f} m, above the height allowed at the site"


def _computation(broken: Table, clean: Table, figures: LaunchFigures) -> str:
    return "the computation broke down, which is a fault of the model, not of the aeroplane"


_WHY: dict[str, Callable[[Table, Table, LaunchFigures], str]] = {
    "computation": _computation,
    "hand": _hand,
    "cue": _cue,
    "hook": _hook,
    "power": _power,
    "roll": _roll,
    "stall": _left_with,
    "obstacle": _obstacle,
    "sink": _sink,
    "climb": _climb,
    "ceiling": _ceiling,
}


def weakest(table: Table, links: tuple[Link, ...], figures: LaunchFigures) -> WeakestLink:
    """Return the link with the lowest odds (the first of equals) with one sentence that says why."""
    worst = min(links, key=lambda link: 1.0 if link.odds is None else link.odds)
    if worst.failed == 0 or worst.odds is None:
        sentence = f"No link broke in {len(table):,} launches."
        return WeakestLink(NO_WEAK_LINK, 1.0, sentence)
    broken = table[np.isin(table["outcome"], dict(CHAIN)[worst.name])]
    clean = table[table["outcome"] == Outcome.CLEAN]
    share = f"{worst.failed:,} of {worst.reached:,} launches that got this far broke here"
    why = _WHY[worst.name](broken, clean, figures)
    return WeakestLink(worst.name, worst.odds, f"The {worst.name} is the weakest link: {share}; {why}.")
