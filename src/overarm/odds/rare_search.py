"""Find where a rare outcome lies among the inputs: the clouds from which it is then drawn.

Nothing here enters the estimate: the launches of the search only say where the clouds go, and are left
out afterwards. A cloud in the wrong place costs launches, no truth.

1. Look round: as they come, one input at a time far out either way, and all inputs widened.
2. Walk back: from launches at or near the outcome to the least that still brings it, input by input.
   What stands apart becomes a cloud of its own, so that each way in which it happens gets launches.
3. Draw closer: fly from the clouds, fit them to the nearest launches, weighted; tighten; again.

Source of step 3: R. Y. Rubinstein & D. P. Kroese (2004), The Cross-Entropy Method, chapter 2 (levels);
the fit of several clouds is that of a mixture by expectation and maximisation. Steps 1 and 2, and that a
centre keeps only inputs beyond 2.5 standard errors, are our own.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from overarm.odds.mixture import Floats, Ints, Proposal, as_it_comes, clouds, log_ratios, log_weights
from overarm.odds.rare_range import Batch, Range

PLAIN_SHARE = 0.25  # of the launches are drawn as they come: no weight passes 4
LOOK_PLAIN = 1000
LOOK_FAR = {3.2: 3, 4.5: 4}  # sd: launches for each input, each way
LOOK_WIDE = 1000
WIDTHS = (1.6, 2.2)
ROUND = 1000
FEWEST_ROUNDS, MOST_ROUNDS = 4, 10  # in which enough launches had the outcome
CALM = 60.0  # relative variance, twice in a row, below which a round costs more launches than it saves
ELITE = 0.2  # share of a round that counts as near
FEWEST_ELITE = 60
WALKED = 6  # launches of each kind
MOST_NEW = 4  # clouds of each kind and walk; the nearest
SHRINK = np.linspace(0.3, 1.0, 15)
ALIKE = 0.6  # cosine above which two ways are one
SURE = 2.5  # standard errors
FEWEST_FOR_FIT = 8.0
LEAST_SHARE, LEAST_TOGETHER = 0.03, 0.3
FIT_STEPS = 6
EVEN = 0.5  # of the shares in a round of the search: a way that few launches show yet must not starve


class Search(NamedTuple):
    """What a search found: where to draw, and what one launch from there is worth."""

    proposal: Proposal | None  # None: it never happened
    relative_variance: float  # of one launch: variance of its weight over the squared mean
    plain_launches: int  # drawn as they come on the way
    plain_events: int
    settled: bool  # the last round had launches enough with it and met no new way; or nothing was found


class _Pool:
    """All launches of the search with the proposals that they came from."""

    def __init__(self) -> None:
        self.parts: list[tuple[Proposal, int]] = []
        self.batches: list[Batch] = []

    def add(self, proposal: Proposal, batch: Batch) -> None:
        self.parts.append((proposal, len(batch.scores)))
        self.batches.append(batch)

    @property
    def scores(self) -> Floats:
        return np.concatenate([batch.scores for batch in self.batches])

    @property
    def numbers(self) -> Ints:
        return np.concatenate([batch.numbers for batch in self.batches])

    @property
    def near(self) -> Floats:
        return np.concatenate([batch.near for batch in self.batches])

    @property
    def kind(self) -> Ints:
        return np.concatenate([batch.kind for batch in self.batches])

    def plain(self) -> tuple[int, int]:
        """Return (launches, events) of what was drawn as it comes: the first cloud, if it is that."""
        launches, events = 0, 0
        for (proposal, _), batch in zip(self.parts, self.batches, strict=True):
            if proposal.widths[0] == 1.0 and not proposal.centres[0].any():
                launches += int(np.sum(batch.cloud == 0))
                events += int(np.sum(batch.cloud[batch.events] == 0))
        return launches, events


def _axes(dimension: int) -> Proposal:
    """Return clouds far out along each input, either way."""
    each = np.concatenate([np.eye(dimension), -np.eye(dimension)])
    centres = np.concatenate([far * each for far in LOOK_FAR])
    shares = np.repeat(np.array(list(LOOK_FAR.values()), dtype=np.float64), len(each))
    return Proposal(centres, np.ones(len(centres)), shares / shares.sum())


def _wide(dimension: int) -> Proposal:
    count = len(WIDTHS)
    return Proposal(np.zeros((count, dimension)), np.array(WIDTHS), np.full(count, 1.0 / count))


def _look_round(field: Range, pool: _Pool) -> None:
    size = field.space.dimension
    looks = (
        (as_it_comes(size), LOOK_PLAIN),
        (_axes(size), 2 * size * sum(LOOK_FAR.values())),
        (_wide(size), LOOK_WIDE),
    )
    for proposal, launches in looks:
        pool.add(proposal, field.draw(proposal, launches))


def nearest(near: Floats, fewest: int) -> float | None:
    """Return the level that the nearest launches keep, minus infinity if enough of them are events.

    None if nothing happened and all launches are equally far: then there is nothing to go by.
    """
    order = np.sort(near)
    level = float(order[min(fewest, len(order)) - 1])
    if np.isneginf(level) or level < float(order[-1]):
        return level
    return -np.inf if np.isneginf(order[0]) else None


def _chosen(weights: Floats) -> Ints:
    """Return some launches to walk back from, from the weightiest to the lightest."""
    order = np.argsort(-weights, kind="stable")
    half, rest = order[: WALKED // 2], order[WALKED // 2 :]
    spread = np.linspace(0, len(rest) - 1, min(len(rest), WALKED - len(half))).round().astype(int)
    return np.concatenate([half, rest[spread]]) if len(rest) else half


def walk_back(field: Range, scores: Floats, numbers: Ints, level: float) -> Floats:
    """Return the least of each launch's inputs that still brings it to the level, shape as scores.

    Each input is left out in turn; then as many together as can be, the unneeded and small ones first;
    then what is left is shrunk. Gusts and noise stay those of the launch's number.
    """
    points, size = scores.shape
    one_out = np.repeat(scores, size, axis=0).reshape(points, size, size)
    one_out[:, np.arange(size), np.arange(size)] = 0.0
    each = np.repeat(numbers, size)
    needed = field.fly(one_out.reshape(-1, size), each)[0].reshape(points, size) > level
    order = np.argsort(np.abs(scores) + 100.0 * needed, axis=1, kind="stable")
    rank = np.argsort(order, axis=1, kind="stable")
    fewer = np.where(rank[:, None, :] < np.arange(size)[None, :, None], 0.0, scores[:, None, :])
    holds = field.fly(fewer.reshape(-1, size), each)[0].reshape(points, size) <= level
    most = size - 1 - np.argmax(holds[:, ::-1], axis=1)
    least = fewer[np.arange(points), most]
    shrunk = least[:, None, :] * SHRINK[None, :, None]
    still = field.fly(shrunk.reshape(-1, size), np.repeat(numbers, len(SHRINK)))[0]
    first = np.argmax(still.reshape(points, -1) <= level, axis=1)
    return np.asarray(shrunk[np.arange(points), first])


def apart(points: Floats, known: Floats) -> Floats:
    """Return the known centres and, of some points, those that lead another way, alike ones averaged."""
    groups: list[list[Floats]] = []
    means: list[Floats] = list(known)
    for point in points[np.argsort(np.linalg.norm(points, axis=1), kind="stable")]:
        size = float(np.linalg.norm(point))
        if size == 0.0:
            continue
        cosines = [float(point @ mean) / (size * float(np.linalg.norm(mean)) + 1e-12) for mean in means]
        best = int(np.argmax(cosines)) if cosines else -1
        if best >= 0 and cosines[best] > ALIKE:
            if best >= len(known):
                groups[best - len(known)].append(point)
                means[best] = np.mean(groups[best - len(known)], axis=0)
        else:
            groups.append([point])
            means.append(point)
    return np.array(means[: len(known) + MOST_NEW]).reshape(-1, points.shape[1])


def fitted(scores: Floats, weights: Floats, centres: Floats, shares: Floats) -> tuple[Floats, Floats]:
    """Return centres and shares of the clouds, fitted to weighted launches.

    A cloud that too few launches speak for stays where it is. Weights are cut at ``mean sqrt(n)``
    (E. L. Ionides (2008), J. Comput. Graph. Stat. 17, 295): the fit wants calm, not truth.
    """
    centres, shares = centres.copy(), shares / shares.sum()
    weights = np.minimum(weights, weights.mean() * np.sqrt(len(weights)))
    for _ in range(FIT_STEPS):
        here = Proposal(centres, np.ones(len(centres)), shares)
        terms = log_ratios(here, scores) + np.log(shares)
        with np.errstate(under="ignore"):
            mine = np.exp(terms - terms.max(axis=1, keepdims=True))
            mine *= (weights / mine.sum(axis=1))[:, None]
            mass = mine.sum(axis=0)
            told = mass**2 / np.maximum((mine**2).sum(axis=0), 1e-300)
            means = np.einsum("ik,ij->kj", mine, scores) / np.maximum(mass, 1e-300)[:, None]
        sure = np.abs(means) > SURE / np.sqrt(np.maximum(told, 1.0))[:, None]
        enough = told >= FEWEST_FOR_FIT
        centres[enough] = np.where(sure, means, 0.0)[enough]
        shares = np.maximum(mass / mass.sum(), min(LEAST_SHARE, LEAST_TOGETHER / len(centres)))
        shares = shares / shares.sum()
    return centres, shares


def _weights(pool: _Pool, rows: Ints) -> Floats:
    logs = log_weights(pool.parts, pool.scores[rows])
    with np.errstate(under="ignore"):
        return np.asarray(np.exp(logs - logs.max()))


def unexplained(scores: Floats, centres: Floats) -> Ints:
    """Return the launches that no cloud leads to.

    A cloud with centre m leads to z if z is likelier from it than as it comes: ``z m > m^2/2``.
    """
    along = np.einsum("ij,kj->ik", scores, centres) - 0.5 * np.einsum("kj,kj->k", centres, centres)
    return np.flatnonzero(along.max(axis=1) < 0.0)


def _walked(field: Range, pool: _Pool, level: float, known: Floats) -> Floats:
    """Return the known centres and the new ways that launches at the level lead to, kind by kind."""
    near, scores, numbers, kinds = pool.near, pool.scores, pool.numbers, pool.kind
    rows = np.flatnonzero(near <= level)
    weights = _weights(pool, rows)
    first, found = not len(known), known
    for kind in np.unique(kinds[rows]):
        mine = kinds[rows] == kind
        part = rows[mine]
        strange = np.arange(len(part)) if first else unexplained(scores[part], known)
        if len(strange):
            chosen = part[strange[_chosen(weights[mine][strange])]]
            found = apart(walk_back(field, scores[chosen], numbers[chosen], level), found)
    return found


def relative_variance(proposal: Proposal, batch: Batch) -> float:
    """Return the variance of one launch's weight over the squared mean; infinite if nothing happened."""
    rows = batch.events
    if not len(rows):
        return float("inf")
    weights = np.exp(log_weights([(proposal, len(batch.scores))], batch.scores[rows]))
    launches = len(batch.scores)
    mean = float(weights.sum()) / launches
    return float((weights**2).sum()) / launches / mean**2 - 1.0


def search(field: Range, at_most: int) -> Search:
    """Look for a rare outcome, with about so many launches at most, and return where to draw it.

    Raises
    ------
    Cancelled
        If somebody asked for it.
    """
    pool = _Pool()
    _look_round(field, pool)
    level = nearest(pool.near, FEWEST_ELITE)
    if level is None:
        return Search(None, float("inf"), *pool.plain(), settled=True)
    centres = _walked(field, pool, level, np.zeros((0, field.space.dimension)))
    shares, variances, at_event, known = np.ones(len(centres)), [float("inf")], 0, -1
    while len(centres) and at_event < MOST_ROUNDS and field.flown + ROUND <= at_most:
        if at_event >= FEWEST_ROUNDS and known == len(centres) and max(variances[-2:]) < CALM:
            break
        even = EVEN / len(centres) + (1.0 - EVEN) * shares / shares.sum()
        proposal = clouds(centres, even, PLAIN_SHARE)
        batch = field.draw(proposal, ROUND)
        pool.add(proposal, batch)
        variances.append(relative_variance(proposal, batch))
        closer = nearest(batch.near, round(ELITE * ROUND))
        if len(batch.events) >= FEWEST_ELITE:
            level = -np.inf
        elif closer is not None:
            level = min(level, closer)
        if np.isneginf(level):
            at_event, known = at_event + 1, len(centres)
            centres = _walked(field, pool, level, centres)
            shares = np.concatenate([shares, np.full(len(centres) - len(shares), shares.mean())])
        rows = np.flatnonzero(pool.near <= level)
        centres, shares = fitted(pool.scores[rows], _weights(pool, rows), centres, shares)
    happened = bool(np.isneginf(pool.near).any()) and len(centres) > 0
    if not happened:
        return Search(None, float("inf"), *pool.plain(), settled=True)
    found = clouds(centres, shares, PLAIN_SHARE)
    return Search(found, variances[-1], *pool.plain(), settled=known == len(centres))
