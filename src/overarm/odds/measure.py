"""What to measure next: minutes of work against points of the band of the odds.

Sobol' indices say how much of the doubt each input makes. The band itself is flown again with the
spread of an input reduced to what it would be once measured, its centre left where the card has it; the
tornado is flown with an input held one standard deviation below and above.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

import overarm
from overarm.flight.campaign import Inputs
from overarm.odds.bench import HOW, WORKS
from overarm.odds.intervals import Interval, Worlds, clustered
from overarm.odds.measured import (
    Bar,
    Guess,
    InputDoubt,
    MeasureResult,
    WorkGain,
    said_reason,
    work_sentence,
)
from overarm.odds.names import plain_name
from overarm.odds.rerun import (
    Clean,
    Gain,
    RerunWorlds,
    band_gain,
    fly_given,
    fly_worlds,
    rerun_worlds,
    shift_of,
    spread_of,
)
from overarm.odds.sobol import Indices, design, indices, normal_scores

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

Progress = Callable[[str, float], None]

DEFAULT_LAUNCHES = 120_000
FEWEST_LAUNCHES, MOST_LAUNCHES = 10_000, 2_000_000
LARGEST_SEED = 2**63 - 1
MOST_RERUNS = 7
MOST_BARS = 10
BAND_THROWS, BAR_THROWS = 10, 5
FEWEST_THROWS = 4
FEWEST_POINTS = 16


@dataclass(frozen=True, slots=True)
class Budget:
    """How the launches are shared out."""

    points: int  # base points of the design, a power of two
    throws: int  # throws of each base point
    worlds: int  # worlds of a band
    bar_worlds: int  # worlds of a tornado bar


def budget_of(launches: int, unknown: int) -> Budget:
    """Share launches out: half to the indices, a quarter each to bands and tornado.

    Parameters: launches in all, inputs that we do not know.
    """
    rows = launches // (2 * (unknown + 2))
    points = FEWEST_POINTS
    while 2 * points * FEWEST_THROWS <= rows:
        points *= 2
    worlds = launches // (4 * (MOST_RERUNS + 1) * BAND_THROWS)
    bars = launches // (4 * 2 * MOST_BARS * BAR_THROWS)
    return Budget(points, max(2, rows // points), worlds, bars)


class _Tally:
    """Counts launches and tells how far it is."""

    def __init__(self, planned: int, progress: Progress | None) -> None:
        self.done = 0
        self.what = ""
        self._planned = planned
        self._progress = progress

    def __call__(self, launches: int) -> None:
        self.done += launches
        if self._progress is not None:
            self._progress(self.what, min(1.0, self.done / self._planned))


def check_asked(launches: int, seed: int) -> None:
    """Raise InputError if launches or seed cannot be."""
    from overarm.errors import InputError, Problem

    problems = []
    if not FEWEST_LAUNCHES <= launches <= MOST_LAUNCHES:
        cure = f"Give a number from {FEWEST_LAUNCHES:,} to {MOST_LAUNCHES:,}."
        problems.append(
            Problem("is outside what tells anything", cure, key="launches", value=f"{launches:,}")
        )
    if not 0 <= seed <= LARGEST_SEED:
        cure = "Give a whole number from 0 to 2^63 - 1."
        problems.append(Problem("is no seed", cure, key="seed", value=str(seed)))
    if problems:
        raise InputError(problems)


def guesses_of(setup: Setup, inputs: Inputs) -> dict[str, Guess]:
    """Return the guessed inputs, and for those that can be measured how much of the spread is left."""
    from overarm.odds.known import drawn_inputs, entry_of
    from overarm.rng import log_spread

    found = {}
    for name in drawn_inputs(setup, inputs.rules).guessed:
        entry = entry_of(setup, name)
        left = 1.0
        if entry is not None and name in HOW and entry.measured_spread < entry.quantity.spread:
            value, now, then = entry.quantity.value, entry.quantity.spread, entry.measured_spread
            if entry.quantity.kind == "lognormal" and value > 0.0:
                now, then = log_spread(value, now), log_spread(value, then)
            left = then / now
        found[name] = Guess(name, left)
    return found


def _fly_indices(
    inputs: Inputs, names: tuple[str, ...], budget: Budget, seed: int, tally: _Tally
) -> Indices | None:
    scores = normal_scores(design(names, budget.points, seed))
    rows = len(names) + 2
    point = np.repeat(np.arange(budget.points), rows)
    numbers = (budget.throws * point[:, None] + np.arange(budget.throws)).reshape(-1)
    clean = fly_given(inputs, np.repeat(scores, budget.throws, axis=0), numbers, seed, tally)
    return indices(clean.reshape(-1, budget.throws).astype(np.float64), names, seed)


def _saved(found: Indices, guesses: dict[str, Guess], members: tuple[str, ...]) -> float:
    """Return about which share of the variance measuring some inputs saves: ``sum T (1 - r^2)``."""
    total = {item.name: item.total for item in found.inputs}
    return sum(total[name] * (1.0 - guesses[name].left ** 2) for name in members)


def _candidates(found: Indices, guesses: dict[str, Guess]) -> list[tuple[str, ...]]:
    """Return the inputs of each piece of work, and single ones of those that measure several.

    The most promising first, all pieces of work before any single input; `MOST_RERUNS` at most.
    """
    pieces = [
        tuple(name for name in work.inputs if name in guesses and guesses[name].left < 1.0) for work in WORKS
    ]
    pieces = [members for members in pieces if members]
    singles: list[tuple[str, ...]] = [(name,) for members in pieces if len(members) > 1 for name in members]

    def ranked(sets: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
        return sorted(sets, key=lambda members: -_saved(found, guesses, members))

    return [*ranked(pieces), *ranked(singles)][:MOST_RERUNS]


def _fly_gains(
    rerun: RerunWorlds, names: tuple[str, ...], now: Clean, wanted: list[tuple[str, ...]],
    guesses: dict[str, Guess], tally: _Tally,
) -> dict[tuple[str, ...], Gain]:  # fmt: skip
    """Fly the worlds again with the spread of some inputs reduced, one set of inputs after another."""
    gains = {}
    for members in wanted:
        scores = rerun.scores.copy()
        for name in members:
            scores[:, names.index(name)] *= guesses[name].left
        gains[members] = band_gain(now, fly_worlds(rerun, scores, BAND_THROWS, tally))
    return gains


def _fly_bars(
    rerun: RerunWorlds, now: Clean, found: Indices, worlds: int, one_sd: dict[str, str], tally: _Tally
) -> tuple[Bar, ...]:
    """Hold each of the most influential inputs one standard deviation below and above."""
    before = now[:worlds, :BAR_THROWS]
    names = [item.name for item in found.inputs]
    bars = []
    for item in sorted(found.inputs, key=lambda each: -each.total)[:MOST_BARS]:
        ends = []
        for side in (-1.0, 1.0):
            scores = rerun.scores[:worlds].copy()
            scores[:, names.index(item.name)] = side
            ends.append(shift_of(before, fly_worlds(rerun, scores, BAR_THROWS, tally)))
        low, high = ends
        bars.append(Bar(item.name, plain_name(item.name), one_sd.get(item.name, ""), *low, *high))
    return tuple(sorted(bars, key=lambda bar: -max(abs(bar.low_points), abs(bar.high_points))))


def _doubts(
    found: Indices, guesses: dict[str, Guess], gains: dict[tuple[str, ...], Gain], one_sd: dict[str, str]
) -> tuple[InputDoubt, ...]:
    rows = []
    for item in sorted(found.inputs, key=lambda each: -each.total):
        guess = guesses.get(item.name)
        can = guess is not None and guess.left < 1.0
        rows.append(
            InputDoubt(
                item, plain_name(item.name), one_sd.get(item.name, ""), guess is not None,
                HOW[item.name] if can else None, gains.get((item.name,)),
            )
        )  # fmt: skip
    return tuple(rows)


def _works(
    gains: dict[tuple[str, ...], Gain], guesses: dict[str, Guess], now_points: float
) -> tuple[WorkGain, ...]:
    """Return what each piece of work gains: first those that clearly do, by points a minute."""
    rows = []
    for work in WORKS:
        members = tuple(name for name in work.inputs if name in guesses and guesses[name].left < 1.0)
        if not members:
            continue
        how = HOW[members[0]] if len(members) == 1 else work.how
        gain = gains.get(members)
        row = WorkGain(how, work.minutes, members, now_points, gain)
        rows.append(row._replace(sentence=work_sentence(row)))
    return tuple(sorted(rows, key=lambda row: (not row.clear, -row.points_per_minute)))


def measure(
    setup: Setup,
    launches: int = DEFAULT_LAUNCHES,
    seed: int = 1,
    *,
    progress: Progress | None = None,
) -> MeasureResult:
    """Return what to measure next on a setup.

    Parameters
    ----------
    setup : Setup
        From `overarm.load`.
    launches : int
        About how many to fly in all, 10 000 to 2 000 000.
    seed : int
        The same seed and setup give the same answer, on any number of cores.
    progress : callable, optional
        Told what is being flown and which share of all is done. What it raises ends the flying.

    Returns
    -------
    MeasureResult

    Raises
    ------
    InputError
        If launches or seed cannot be, or the setup cannot be derived.
    """
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of
    from overarm.odds.known import drawn_inputs

    check_asked(launches, seed)
    inputs = inputs_of(setup, derive(setup))
    names = tuple(item.name for item in inputs.rules.inputs if item.layer == "unknown")
    guesses, one_sd = guesses_of(setup, inputs), drawn_inputs(setup, inputs.rules).one_sd
    budget = budget_of(launches, len(names))
    tally = _Tally(launches, progress)
    tally.what = "the odds"
    rerun = rerun_worlds(inputs, budget.worlds, seed)
    now = fly_worlds(rerun, rerun.scores, BAND_THROWS, tally)
    tally.what = "what makes the doubt"
    found = _fly_indices(inputs, names, budget, seed, tally)
    gains: dict[tuple[str, ...], Gain] = {}
    bars: tuple[Bar, ...] = ()
    if found is not None:
        tally.what = "the most influential inputs"
        bars = _fly_bars(rerun, now, found, budget.bar_worlds, one_sd, tally)
        if found.clear:
            tally.what = "with less doubt"
            gains = _fly_gains(rerun, names, now, _candidates(found, guesses), guesses, tally)
    over, clean = spread_of(now), _share(now)
    works = _works(gains, guesses, 100.0 * (over.p95 - over.p5)) if gains else ()
    return MeasureResult(
        setup_name=setup.name,
        setup_hash=setup.hash(),
        version=overarm.__version__,
        seed=seed,
        launches=tally.done,
        clean=clean,
        over_worlds=over,
        guessed=len(guesses),
        measurable=sum(guess.left < 1.0 for guess in guesses.values()),
        indices=found,
        inputs=() if found is None else _doubts(found, guesses, gains, one_sd),
        works=works,
        bars=bars,
        reason=said_reason(found, guesses, clean, works),
    )


def _share(now: Clean) -> Interval:
    throws = np.full(len(now), float(now.shape[1]))
    return clustered(Worlds(now.sum(axis=1).astype(np.float64), throws))
