"""From the card and the evidence on one input to what is known of it now."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from overarm.learn.bench.propagate import Figure
from overarm.learn.bench.tilt import JigReading, jig
from overarm.learn.evidence import Evidence
from overarm.learn.scale import Scale, learn_scale
from overarm.learn.scatter import Posterior, Prior, Readings, Slip, learn_normal, learn_positive
from overarm.learn.targets import TARGETS, Target, learning_prior, quantity_of, scale_prior, scatter_prior

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

Z90 = 1.6448536
LEAST_SPREAD = 1e-9
TILT, BIAS = "airframe.board.tilt", "airframe.board.bias"


class Scatter(NamedTuple):
    """How much something scatters from throw to throw: the median, its 90 % interval, one sd of it."""

    value: float
    low: float
    high: float
    spread: float


class State(NamedTuple):
    """What is known of an input, SI: value (a mean or a median), one sd, 90 % interval, scatter if any."""

    value: float
    spread: float
    low: float
    high: float
    scatter: Scatter | None


class Update(NamedTuple):
    """One input before and after."""

    target: Target
    before: State
    after: State
    launches: int
    bench: int
    evidence: tuple[Evidence, ...]

    @property
    def moved(self) -> float:
        """Return by how much the value moved, SI."""
        return self.after.value - self.before.value

    @property
    def narrowed(self) -> float:
        """Return one sd now over one sd before; 1 if nothing was learned."""
        return self.after.spread / self.before.spread if self.before.spread > 0.0 else 1.0


def readings_of(target: Target, evidence: Sequence[Evidence]) -> Readings:
    """Return the readings of an input: each with its own error, and the error that launches share.

    For something positive the shared error is of the logarithm.
    """
    values = np.array([item.value for item in evidence])
    errors = np.array([item.error for item in evidence])
    launch = np.array([item.kind == "launch" for item in evidence], dtype=bool)
    own = errors * np.sqrt(np.where(launch, 1.0 - target.common_share, 1.0))
    common = 0.0
    if launch.any():
        size = errors[launch]
        if target.model == "positive":
            size = size / np.maximum(values[launch], size)
        common = math.sqrt(target.common_share * float(np.mean(size**2)) * float(launch.mean()))
    bounds = np.array([item.lower_bound for item in evidence], dtype=bool)
    return Readings(values, own, common, bounds)


def slip_of(setup: Setup, target: Target) -> Slip | None:
    """Return how a grip slips, for the speed of a throw."""
    if target.input != "thrower.release_speed" or setup.thrower is None:
        return None
    card = setup.thrower
    return Slip(card.slip_share.value, 1.0 - card.slip_loss_share.value)


def posterior_of(setup: Setup, target: Target, evidence: Sequence[Evidence]) -> Posterior:
    """Return the posterior of mean and scatter, for an input that scatters."""
    prior, readings = learning_prior(setup, target), readings_of(target, evidence)
    if target.model == "positive":
        return learn_positive(prior, readings)
    return learn_normal(prior, readings, slip_of(setup, target))


def update_scatter(setup: Setup, target: Target, evidence: Sequence[Evidence]) -> Update:
    """Return what is known of an input that scatters from throw to throw."""
    prior = scatter_prior(setup, target)
    before = _scatter_state(posterior_of(setup, target, ()), target, prior)
    after = _scatter_state(posterior_of(setup, target, evidence), target, None)
    return _update(target, before, after, evidence)


def _scatter_state(found: Posterior, target: Target, card: Prior | None) -> State:
    """Return a posterior in words of the card; before any evidence value and spread are the card's own."""
    log_sd = found.scatter_log_sd
    scatter = Scatter(
        found.scatter if card is None else card.scatter,
        found.scatter_at(0.05),
        found.scatter_at(0.95),
        found.scatter * math.sqrt(math.expm1(log_sd**2)),
    )
    middle, spread = (found.mean, found.spread) if card is None else (card.mean, card.spread)
    low, high = found.mean_at(0.05), found.mean_at(0.95)
    if target.model == "positive":
        value = math.exp(middle)
        return State(value, Scale(value, spread).spread, math.exp(low), math.exp(high), scatter)
    return State(middle, spread, low, high, scatter)


def update_scale(setup: Setup, derived: Derived, target: Target, evidence: Sequence[Evidence]) -> Update:
    """Return what is known of a positive figure that does not scatter."""
    prior = scale_prior(setup, derived, target.input)
    shared = np.array([target.common_share if item.kind == "launch" else 0.0 for item in evidence])
    values = np.array([item.value for item in evidence])
    errors = np.array([item.error for item in evidence])
    after = learn_scale(prior, values, errors, shared)
    return _update(target, _scale_state(prior), _scale_state(after), evidence)


def _scale_state(scale: Scale) -> State:
    return State(scale.median, scale.spread, scale.at(-Z90), scale.at(Z90), None)


def update_jig(
    setup: Setup, readings: Sequence[JigReading], evidence: Sequence[Evidence]
) -> tuple[Update, ...]:
    """Return what is known of tilt and bias of the board after the jig.

    ``evidence`` says where the readings come from; its values are those that the readings alone give.
    """
    before = [
        Figure(card.value, card.spread) for card in (quantity_of(setup, TILT), quantity_of(setup, BIAS))
    ]
    found = jig(before[0], before[1], readings)
    parts = ((TILT, before[0], found.tilt_rad), (BIAS, before[1], found.bias_mps2))
    return tuple(
        _update(
            TARGETS[key],
            _normal_state(old),
            _normal_state(new),
            [item for item in evidence if item.input == key],
        )
        for key, old, new in parts
    )


def update_part(setup: Setup, target: Target, evidence: Sequence[Evidence]) -> Update:
    """Return what is known of tilt or bias from what jigs said of it alone, their readings being gone.

    Equation: weights ``1/s^2``, card and evidence alike. Source: Gelman et al. (2013), section 2.5.
    """
    card = quantity_of(setup, target.input)
    figures = [Figure(item.value, item.error) for item in evidence]
    figures.append(Figure(card.value, max(card.spread, LEAST_SPREAD)))
    weights = [1.0 / item.error**2 for item in figures]
    mean = sum(w * item.value for w, item in zip(weights, figures, strict=True)) / sum(weights)
    before = _normal_state(Figure(card.value, card.spread))
    return _update(target, before, _normal_state(Figure(mean, sum(weights) ** -0.5)), evidence)


def _normal_state(figure: Figure) -> State:
    half = Z90 * figure.error
    return State(figure.value, figure.error, figure.value - half, figure.value + half, None)


def _update(target: Target, before: State, after: State, evidence: Sequence[Evidence]) -> Update:
    launches = sum(item.kind == "launch" for item in evidence)
    return Update(target, before, after, launches, len(evidence) - launches, tuple(evidence))
