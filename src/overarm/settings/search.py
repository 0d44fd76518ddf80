"""Search for settings: evolution on the builder's own steps, then the middle of the flat top.

The first part finds the best score, limits included, with CMA-ES on a grid. The second looks along each
setting for the stretch that keeps all limits and loses less than two points, and moves to its middle.
All trials use the same random numbers, so two settings differ by what they do and not by luck.

Source: R. Hamano, S. Saito, M. Nomura & S. Shirakawa (2022), CMA-ES with margin, GECCO '22,
doi 10.1145/3512290.3528827, in the package cmaes; the flat optimum: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Sequence
from typing import NamedTuple

import numpy as np

from overarm.settings.choices import Choice
from overarm.settings.desk import Desk, Trial
from overarm.settings.limits import Margin, Rank

NEAR_BEST = 0.02  # two points: the band of a setting
ON_TOP = 0.003  # as good as the best: where its value is looked for
LOOKS = 7  # values along a setting
SWEEPS = 2
STAND_OFF_COST = 0.005
STAND_OFF = ("start_wait", "jerk_level")  # more of them is further from people at risk
FIRST_SIGMA = 0.25  # of the range
MOST_STARTS = 8
Tell = Callable[[str, float], None]


class Effort(NamedTuple):
    """How hard it is tried."""

    launches: int = 1000  # of a trial
    generations: int = 12
    population: int = 10
    fine_launches: int = 1500  # of a trial of the last sweep


class Edge(NamedTuple):
    """Why a setting goes no further on one side."""

    reason: str  # "limit", "odds" or "range"
    words: str
    limit: str = ""  # name of the limit that binds


class Band(NamedTuple):
    """Values of one setting that work with all others as chosen; both ends were flown."""

    key: str
    value: float
    low: float
    high: float
    below: Edge
    above: Edge


FoundEdge = tuple[float, Edge]
LookForEdge = Generator[dict[str, float], Trial, FoundEdge]


class Found(NamedTuple):
    """What the search came to."""

    best_share: float  # of the evolution; the best of many, so it looks a little better than it is
    chosen: Trial  # in the middle of the flat top; flown with more launches
    bands: tuple[Band, ...]  # empty if no settings keep all limits
    trials: int
    instead: Trial | None = None  # where the chosen one breaks a limit: the best that keeps that one


def evolve(desk: Desk, starts: list[dict[str, float]], effort: Effort, tell: Tell) -> list[Trial]:
    """Return all trials of CMA-ES from the best of some starts, and of the starts. Raises Cancelled."""
    from cmaes import CMAwM

    trials = desk.try_all([desk.start(values) for values in starts], effort.launches)
    best = max(trials, key=lambda trial: trial.score)
    spans = [_span(desk, choice) for choice in desk.choices]
    bounds = np.array([[0.0, float(max(1, steps))] for _, steps in spans])
    places = np.array([_place(desk, choice, best.values[choice.key]) for choice in desk.choices])
    mean = np.clip(places, bounds[:, 0], bounds[:, 1])
    optimiser = CMAwM(
        mean=mean,
        sigma=1.0,
        bounds=bounds,
        steps=np.ones(len(spans)),
        cov=np.diag((FIRST_SIGMA * bounds[:, 1]) ** 2),
        seed=desk.seed % 2**32,
        population_size=effort.population,
    )
    for generation in range(effort.generations):
        tell("searching", generation / effort.generations)
        asked = [optimiser.ask() for _ in range(effort.population)]
        flown = desk.try_all([_values(desk, entered) for entered, _ in asked], effort.launches)
        optimiser.tell([(kept, -trial.score) for (_, kept), trial in zip(asked, flown, strict=True)])
        trials += flown
        if optimiser.should_stop():
            break
    return trials


def heart(desk: Desk, trials: list[Trial]) -> list[Trial]:
    """Return the trials to begin the middle from: those near the best, the most central first.

    Central: nearest to the mean of all that keep the limits and lose less than two points to the best, in
    units of each range. If none keeps the limits, the best score alone.
    """
    best = max(trials, key=lambda trial: trial.score)
    good = [trial for trial in trials if not trial.broken and trial.share >= best.share - NEAR_BEST]
    if not good:
        return [best]
    widths = np.array([max(1, _span(desk, choice)[1]) for choice in desk.choices])
    places = np.array([[_place(desk, c, t.values[c.key]) for c in desk.choices] for t in good]) / widths
    away = np.linalg.norm(places - places.mean(axis=0), axis=1)
    return [good[k] for k in np.argsort(away, kind="stable")]


def careful(desk: Desk, values: dict[str, float]) -> dict[str, float]:
    """Return settings with jerk level and start wait raised until they keep the limits on paper for people.

    As far as the ranges go: where more of them does not help, they stay where they are.
    """
    now = desk.start(values)
    for key in ("jerk_level", "start_wait"):
        choice, begun = next(item for item in desk.choices if item.key == key), now[key]
        while (broken := _people_broken(desk, now)) and now[key] < desk.ranges[key].high - 1e-9:
            now = {**now, key: choice.rounded(now[key] + choice.step)}
        if len(broken) >= len(_people_broken(desk, {**now, key: begun})):
            now = {**now, key: begun}
    return now


def _people_broken(desk: Desk, values: dict[str, float]) -> list[str]:
    paper = desk.on_paper(values)
    return [item.name for item in paper if item.rank == Rank.PEOPLE and not item.kept]


def _span(desk: Desk, choice: Choice) -> tuple[float, int]:
    """Return the lowest value of a choice and its number of steps above it."""
    low, high = desk.ranges[choice.key]
    return low, max(0, round((high - low) / choice.step))


def _place(desk: Desk, choice: Choice, value: float) -> float:
    return (value - desk.ranges[choice.key].low) / choice.step


def _values(desk: Desk, places: np.ndarray) -> dict[str, float]:
    out = {}
    for choice, place in zip(desk.choices, places, strict=True):
        low, steps = _span(desk, choice)
        out[choice.key] = choice.rounded(low + choice.step * min(max(round(float(place)), 0), steps))
    return out


def middle(desk: Desk, trials: list[Trial], effort: Effort, tell: Tell) -> Found:
    """Return the settings in the middle of the flat top that some trials have found. Raises Cancelled."""
    best = max(trials, key=lambda trial: trial.score)
    starts = heart(desk, trials)
    now = starts[0]
    parts = SWEEPS + 1
    for sweep in range(SWEEPS):
        launches = effort.fine_launches if sweep + 1 == SWEEPS else effort.launches
        now = _first_that_works(desk, [now, *starts[:MOST_STARTS], best], launches)
        if now.broken:
            return Found(best.share, now, (), desk.tried, _instead(trials, now))
        crown = now.share
        for k, choice in enumerate(desk.choices):
            tell("finding the middle", (sweep + k / len(desk.choices)) / parts)
            now, crown = _centred(desk, now, choice, crown, launches)
    now = _stood_off(desk, now, effort.fine_launches)

    def tell_bands(share: float) -> None:
        tell("finding the middle", (SWEEPS + share) / parts)

    return around(desk, now, best.share, effort, tell_bands)


def around(desk: Desk, now: Trial, best_share: float, effort: Effort, tell: Callable[[float], None]) -> Found:
    """Return settings as they are, with the band of each; ``tell`` hears the share done. Raises Cancelled."""
    least = now.share - NEAR_BEST
    ends = [_edge(desk, now, choice, (sign, least)) for choice in desk.choices for sign in (-1, +1)]
    edges = _side_by_side(desk, ends, effort.fine_launches, tell)
    bands = [
        Band(choice.key, now.values[choice.key], low, high, below, above)
        for choice, (low, below), (high, above) in zip(desk.choices, edges[::2], edges[1::2], strict=True)
    ]
    return Found(best_share, now, tuple(bands), desk.tried)


def _side_by_side(
    desk: Desk, ends: Sequence[LookForEdge], launches: int, tell: Callable[[float], None]
) -> list[FoundEdge]:
    """Return what several searches for an edge come to; what they ask for at one time is flown together."""
    found: dict[int, FoundEdge] = {}
    answers: dict[int, Trial | None] = dict.fromkeys(range(len(ends)))
    while answers:
        tell(len(found) / len(ends))
        asked: dict[int, dict[str, float]] = {}
        for k, answer in answers.items():
            try:
                asked[k] = next(ends[k]) if answer is None else ends[k].send(answer)
            except StopIteration as ended:
                found[k] = ended.value
        answers = dict(zip(asked, desk.try_all(list(asked.values()), launches, strict=True), strict=True))
    return [found[k] for k in range(len(ends))]


def _centred(desk: Desk, now: Trial, choice: Choice, crown: float, launches: int) -> tuple[Trial, float]:
    """Return the trial with one setting in the middle of its flat top, and the best share so far.

    Looks at values spread over its range; those next to each other that keep the limits and are within 0.3
    points of the best share seen in this sweep (``crown``) make the flat top.
    """
    own = now.values[choice.key]
    low, high = desk.ranges[choice.key]
    spread = np.geomspace(low, high, LOOKS) if choice.ratio else np.linspace(low, high, LOOKS)
    places = sorted({choice.rounded(float(value)) for value in spread} | {own})
    looks = [_with(now, choice.key, value) for value in places if value != own]
    flown = iter(desk.try_all(looks, launches, strict=True))
    line = [now if value == own else next(flown) for value in places]
    shares = [-1.0 if trial.broken else trial.share for trial in line]
    top = max(range(len(line)), key=lambda k: (shares[k], -abs(k - places.index(own))))
    crown = max(crown, shares[top])
    first = last = top
    while first > 0 and shares[first - 1] >= crown - ON_TOP:
        first -= 1
    while last + 1 < len(line) and shares[last + 1] >= crown - ON_TOP:
        last += 1
    ends = places[first], places[last]
    centre = choice.rounded(math.sqrt(ends[0] * ends[1]) if choice.ratio else 0.5 * (ends[0] + ends[1]))
    if centre in places:
        trial = line[places.index(centre)]
    else:
        trial = desk.try_out(_with(now, choice.key, centre), launches, strict=True)
    fits = not trial.broken and trial.share >= crown - ON_TOP
    return (trial if fits else line[top]), crown


def _stood_off(desk: Desk, now: Trial, launches: int) -> Trial:
    """Return the trial with start wait and jerk level one step away from where people would be at risk.

    Not where that breaks a limit or loses more than half a point.
    """
    least = now.share - STAND_OFF_COST
    for choice in (choice for choice in desk.choices if choice.key in STAND_OFF):
        value = now.values[choice.key]
        low, high = desk.ranges[choice.key]
        nearer, further = choice.rounded(value - choice.step), choice.rounded(value + choice.step)
        if nearer < low - 1e-9 or further > high + 1e-9:
            continue
        risky = desk.on_paper(_with(now, choice.key, nearer))
        if all(item.kept for item in risky if item.rank == Rank.PEOPLE):
            continue
        trial = desk.try_out(_with(now, choice.key, further), launches, strict=True)
        if _works(trial, least):
            now = trial
    return now


def _instead(trials: list[Trial], now: Trial) -> Trial | None:
    """Return the best trial that keeps the first limit that a trial breaks; None if none does."""
    name = now.broken[0].name
    kept = [trial for trial in trials if all(item.name != name for item in trial.broken)]
    return max(kept, key=lambda trial: trial.score, default=None)


def _first_that_works(desk: Desk, starts: list[Trial], launches: int) -> Trial:
    """Return the first trial that keeps the limits with so many launches; else the best score of them."""
    flown: list[Trial] = []
    for start in starts:
        trial = desk.try_out(start.values, launches)
        if not trial.broken:
            return trial
        flown.append(trial)
    return max(flown, key=lambda trial: trial.score)


def _works(trial: Trial, least: float) -> bool:
    return not trial.broken and trial.share >= least


def _with(now: Trial, key: str, value: float) -> dict[str, float]:
    return {**now.values, key: value}


def _edge(desk: Desk, now: Trial, choice: Choice, way: tuple[int, float]) -> LookForEdge:
    """Return the furthest value on one side that works, by bisection on the steps, and what ends it.

    Yields the settings that it wants tried, and is sent their trial.
    """
    sign, least = way
    bound = desk.ranges[choice.key]
    end = bound.high if sign > 0 else bound.low
    value = now.values[choice.key]
    steps = max(0, round(sign * (end - value) / choice.step))
    good, bad, failed = 0, steps + 1, None
    probe = steps
    while bad - good > 1:
        at = choice.rounded(value + sign * probe * choice.step)
        trial = yield _with(now, choice.key, at)
        if _works(trial, least):
            good = probe
        else:
            bad, failed = probe, trial
        probe = (good + bad) // 2
    edge = choice.rounded(value + sign * good * choice.step)
    return edge, _why(desk, choice, failed, now, sign)


def _why(desk: Desk, choice: Choice, failed: Trial | None, now: Trial, sign: int) -> Edge:
    if failed is None:
        side = "higher" if sign > 0 else "lower"
        return Edge("range", f"nothing {side} is usual for this style of launch")
    if failed.broken:
        first = _binding(failed.broken)
        return Edge("limit", first.words, first.name)
    lost = 100.0 * (now.share - failed.share)
    return Edge("odds", f"at {choice.text(failed.values[choice.key])} the odds are {lost:.1f} points lower")


def _binding(broken: tuple[Margin, ...]) -> Margin:
    return min(broken, key=lambda item: (item.rank, item.spare))
