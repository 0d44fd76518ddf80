"""Where the evidence and the cards disagree, and which card is off.

Each reading is compared with what the card said it would be, the doubt of the card, the scatter and the
error of the reading all allowed for. Readings of one input share the doubt of the card, so they are
looked at together: one part for their mean, the rest for how they scatter about it.

Source: G. E. P. Box (1980), J. R. Stat. Soc. A 143, 383 (prior predictive checks); the split of the
quadratic form: C. R. Rao (1973), *Linear Statistical Inference*, 2nd ed., section 3b.4; several tests at
once: S. Holm (1979), Scand. J. Stat. 6, 65.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.learn.evidence import Evidence
from overarm.learn.scale import covariance, log_errors
from overarm.learn.targets import Target, scale_prior, scatter_prior
from overarm.learn.update import readings_of
from overarm.odds.finding import Word

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

Floats = NDArray[np.float64]
OFF = 0.05  # a probability below this is a disagreement
LEANS = 0.32  # about one standard deviation


class Check(NamedTuple):
    """The evidence on one input against its card.

    ``z``: how many standard deviations the mean of the readings lies from the card (positive: above);
    ``p``: how likely that or worse is, if the card is right; ``p_held``: the same with all inputs looked
    at together (Holm). ``spread_p``: how likely the readings would scatter this much or more, None for
    one reading. ``each``: z of each reading on its own.
    """

    input: str
    expected: float
    seen: float
    z: float
    p: float
    p_held: float
    spread_p: float | None
    each: tuple[float, ...]
    word: Word
    sentence: str


class Verdict(NamedTuple):
    """All inputs together: chi-square of the means, how likely it is, and which input is most off."""

    checks: tuple[Check, ...]
    chi2: float
    degrees: int
    p: float
    most: str  # empty if nothing disagrees
    share: float  # of the chi-square that is due to it
    sentence: str


class Gap(NamedTuple):
    """Readings less what the card expects, and the covariance that the card and the errors give them."""

    gaps: Floats
    card_variance: float  # shared by all: the doubt of the card
    covariance: Floats  # of the rest


def gap_of(setup: Setup, derived: Derived, target: Target, evidence: Sequence[Evidence]) -> Gap:
    """Return how readings lie to the card; on logarithms for what is positive."""
    values = np.array([item.value for item in evidence])
    errors = np.array([item.error for item in evidence])
    if target.model == "scale":
        prior = scale_prior(setup, derived, target.input)
        shared = np.array([target.common_share if item.kind == "launch" else 0.0 for item in evidence])
        rest = covariance(log_errors(values, errors), shared)
        return Gap(np.log(values) - math.log(prior.median), prior.log_sd**2, rest)
    card, readings = scatter_prior(setup, target), readings_of(target, evidence)
    own = readings.errors
    if target.model == "positive":
        positive = np.maximum(values, 0.5 * errors)
        own, values = np.minimum(own / positive, 1.0), np.log(positive)
    rest = np.diag(card.scatter**2 + own**2) + readings.common**2
    return Gap(values - card.mean, card.spread**2, rest)


class Split(NamedTuple):
    """A quadratic form in two parts: z of the mean, and the rest with its degrees of freedom."""

    mean: float
    z: float
    rest: float
    degrees: int


def split(gap: Gap) -> Split:
    """Return how far the mean of the readings is off, and how much they scatter about it.

    Equation: mean ``m = 1'C^-1 g/(1'C^-1 1)`` with variance ``s^2 + 1/(1'C^-1 1)``, ``z = m/sd``; rest
    ``g'C^-1 g - m^2 1'C^-1 1``, chi-square with n - 1 degrees of freedom.
    """
    ones = np.ones(len(gap.gaps))
    solved = np.linalg.solve(gap.covariance, np.column_stack([ones, gap.gaps]))
    told = float(ones @ solved[:, 0])
    mean = float(ones @ solved[:, 1]) / told
    rest = float(gap.gaps @ solved[:, 1]) - mean * mean * told
    return Split(mean, mean / math.sqrt(gap.card_variance + 1.0 / told), max(0.0, rest), len(gap.gaps) - 1)


def held(ps: Sequence[float]) -> tuple[float, ...]:
    """Return probabilities that allow for how many were looked at, in the order given.

    Equation: the k-th smallest of m becomes ``max over j <= k of (m - j + 1) p_(j)``, at most 1.
    Source: S. Holm (1979), Scand. J. Stat. 6, 65.
    """
    order = sorted(range(len(ps)), key=lambda k: ps[k])
    found, most = [0.0] * len(ps), 0.0
    for rank, k in enumerate(order):
        most = max(most, min(1.0, (len(ps) - rank) * ps[k]))
        found[k] = most
    return tuple(found)


def two_sided(z: float) -> float:
    """Return how likely a standard normal number lies this far out or further, on either side."""
    from scipy.special import ndtr

    return 2.0 * float(ndtr(-abs(min(max(z, -37.0), 37.0))))


def above_chi2(value: float, degrees: int) -> float:
    """Return how likely a chi-square variable is this large or larger."""
    from scipy.special import chdtrc

    return float(chdtrc(float(degrees), value))


def each_z(gap: Gap) -> tuple[float, ...]:
    """Return each reading's own distance from the card, in standard deviations."""
    sds = np.sqrt(np.diag(gap.covariance) + gap.card_variance)
    return tuple(float(z) for z in gap.gaps / sds)
