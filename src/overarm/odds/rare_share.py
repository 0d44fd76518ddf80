"""From weighted launches to the probability of a rare outcome, with its error and interval."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.odds.intervals import Interval, exact
from overarm.odds.mixture import Floats, Ints, Proposal, counts_of, log_ratios, log_sum
from overarm.odds.rare_range import CHUNK, Batch

ONE_SIDED = 0.90  # two-sided level of a one-sided bound of 95 %
FEWEST_EFFECTIVE = 15.0
MOST_SHARE = 0.25
# So far out in the tails of guessed inputs a figure says nothing more.
LEAST_TOLD = 1e-6


class Share(NamedTuple):
    """How often something happens, and what the figure rests on."""

    probability: float
    standard_error: float
    launches: int
    events: int
    effective_events: float  # (sum w)^2/sum w^2 over the events
    largest_share: float  # of the estimate, from one launch
    plain_launches: int  # drawn as they come, those of the search too
    plain_events: int
    settled: bool = True  # the search met no new way to it when it ended

    @property
    def relative_error(self) -> float:
        """Return the standard error over the probability; infinite if nothing happened."""
        return self.standard_error / self.probability if self.probability > 0.0 else math.inf

    @property
    def rests_on_few(self) -> bool:
        """Return True if too few launches carry the figure for it to be told."""
        return self.effective_events < FEWEST_EFFECTIVE or self.largest_share > MOST_SHARE

    @property
    def told(self) -> bool:
        """Return True if the launches carry the figure, and it is one that a model can be believed."""
        return not self.rests_on_few and self.probability >= LEAST_TOLD

    @property
    def plain_at_most(self) -> float:
        """Return what the launches drawn as they come allow at most, one-sided 95 %, exact.

        It rests on no search: it holds whatever the search has missed.
        """
        return exact(self.plain_events, self.plain_launches, ONE_SIDED).high

    @property
    def at_most(self) -> float:
        """Return what the probability is at most.

        That is the end of the interval. Without a figure it is what the plain launches allow; and not less
        than that if the search did not settle, as there may be more ways to it.
        """
        if not self.told:
            return self.plain_at_most
        high = self.interval().high
        return high if self.settled else max(high, self.plain_at_most)

    def interval(self) -> Interval:
        """Return the 95 % interval; from zero to the bound of the plain launches if it never happened.

        Equation: ``p exp(-+ t s/p)``, s the standard error, Student's t with one degree of freedom fewer than
        effective events: the logarithm of the estimate is nearer to normal than the estimate.
        """
        from scipy.special import stdtrit

        if self.probability == 0.0:
            return Interval(0.0, 0.0, self.plain_at_most)
        t = float(stdtrit(max(2.0, self.effective_events - 1.0), 0.975))
        half = min(t * self.relative_error, 50.0)
        high = min(1.0, self.probability * math.exp(half))
        return Interval(self.probability, self.probability * math.exp(-half), high)


def in_whole_launches(proposal: Proposal) -> Proposal:
    """Return a proposal with the shares that a chunk of launches really has; the weights are exact then."""
    counts = counts_of(proposal.shares, CHUNK)
    kept = counts > 0
    return Proposal(proposal.centres[kept], proposal.widths[kept], counts[kept] / CHUNK)


class Tally:
    """Adds up the launches from one frozen proposal, chunk by chunk; its first cloud is the plain one.

    Each cloud is a stratum with a fixed share a of the n launches. With ``y = w`` where it happened and 0
    elsewhere: ``p = sum y/n``, ``s^2 = sum_j a_j var_j(y)/n``.
    Source: A. Owen & Y. Zhou (2000), J. Am. Stat. Assoc. 95, 135 (mixture sampling with the standard
    density in it); W. G. Cochran (1977), Sampling Techniques, 3rd ed., chapter 5 (strata).
    """

    def __init__(self, proposal: Proposal, plain: tuple[int, int] = (0, 0), settled: bool = True) -> None:
        """Start with (launches, events) drawn as they come elsewhere; only the bound counts them."""
        self.proposal = proposal
        self._settled = settled
        self.launches = 0
        self._plain = plain
        self._weights: list[Floats] = []
        self._clouds: list[Ints] = []
        self._scores: list[Floats] = []

    def add(self, batch: Batch) -> None:
        """Add a chunk of launches from the proposal."""
        rows = batch.events
        terms = log_ratios(self.proposal, batch.scores[rows]) + np.log(self.proposal.shares)
        with np.errstate(under="ignore"):
            self._weights.append(np.exp(-log_sum(terms)) if len(rows) else np.zeros(0))
        self._clouds.append(batch.cloud[rows])
        self._scores.append(batch.scores[rows])
        self.launches += len(batch.scores)

    @property
    def weights(self) -> Floats:
        """Return the weights of the launches in which it happened."""
        return np.concatenate(self._weights)

    @property
    def scores(self) -> Floats:
        """Return their scores, shape (events, inputs)."""
        return np.concatenate(self._scores)

    def add_plain(self, batch: Batch) -> None:
        """Add launches drawn as they come, for the bound alone."""
        launches, events = self._plain
        self._plain = (launches + len(batch.scores), events + len(batch.events))

    def share(self) -> Share:
        """Return what the launches so far say."""
        weights, cloud, n = self.weights, np.concatenate(self._clouds), self.launches
        count = np.round(self.proposal.shares * n)
        squares = np.bincount(cloud, weights=weights**2, minlength=len(count))
        means = np.bincount(cloud, weights=weights, minlength=len(count)) / count
        spread = (squares - count * means**2) / np.maximum(count - 1.0, 1.0)
        variance = float((count * np.maximum(spread, 0.0)).sum()) / n**2
        total, square = float(weights.sum()), float(squares.sum())
        return Share(
            probability=min(1.0, total / n),
            standard_error=math.sqrt(variance),
            launches=n,
            events=len(weights),
            effective_events=total**2 / square if square > 0.0 else 0.0,
            largest_share=float(weights.max()) / total if total > 0.0 else 0.0,
            plain_launches=self._plain[0] + int(count[0]),
            plain_events=self._plain[1] + int(np.sum(cloud == 0)),
            settled=self._settled,
        )
