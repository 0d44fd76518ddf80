"""The inputs that can be learned, and what the cards say of them before."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal, NamedTuple

from overarm.describe.card import amount_of, field_at, keys_of
from overarm.describe.power import Reading
from overarm.describe.quantity import Amount, Quantity
from overarm.describe.setup import Setup
from overarm.flight.inputs import COMPUTED_DRAG_ZERO_SD, COMPUTED_INERTIA_SD, COMPUTED_LIFT_MAX_SD
from overarm.learn.scale import Scale
from overarm.learn.scatter import PRIOR_THROWS, Prior, throws_of
from overarm.odds.known import entry_of
from overarm.rng import log_spread
from overarm.units import Dimension, unit_of

if TYPE_CHECKING:
    from overarm.describe.derived import Derived

Model = Literal["normal", "positive", "scale", "jig"]
PULL = keys_of(Reading)["pull"]
LEAST_LOG_SD = 1e-4
# Which share of the variance of a launch's error all launches have in common (the same board, the same
# method, the same guess of the drag): more launches do not make it smaller. Own estimates.
COMMON_SHARE = 0.5
COMMON_SHARE_SPEED = 0.25


class Target(NamedTuple):
    """One input: how it is learned, what it is called, and which key holds its scatter."""

    input: str
    model: Model
    words: str
    scatter: str = ""
    common_share: float = COMMON_SHARE
    more: str = "more"  # what a larger value is called
    less: str = "less"
    counted: str = "launch"  # what one piece of evidence is


def _thrown(key: str, words: str, more: str, less: str, share: float = COMMON_SHARE) -> Target:
    name = f"thrower.{key}"
    return Target(name, "normal", words, f"{name}_scatter", share, more, less, "throw")


TARGETS: dict[str, Target] = {
    item.input: item
    for item in (
        _thrown("release_speed", "throw speed", "faster", "slower", COMMON_SHARE_SPEED),
        _thrown("release_path", "path at release", "steeper", "flatter"),
        _thrown("release_pitch", "pitch at release", "higher", "lower"),
        _thrown("release_bank", "bank at release", "further right", "further left"),
        Target(
            "thrower.hand_deceleration", "positive", "deceleration of the hand",
            "thrower.hand_deceleration_scatter", COMMON_SHARE, "stronger", "weaker", "throw",
        ),
        Target(
            "power.start_delay", "positive", "start delay of the motor",
            "power.start_delay_scatter", COMMON_SHARE, "longer", "shorter", "start",
        ),
        Target("power.thrust", "scale", "thrust", more="more", less="less"),
        Target("power.pack_resistance", "scale", "pack resistance", more="higher", less="lower"),
        Target("airframe.drag_zero", "scale", "drag at zero lift", more="higher", less="lower"),
        Target("airframe.lift_max", "scale", "largest lift coefficient", more="higher", less="lower"),
        Target("airframe.roll_inertia", "scale", "moment of inertia in roll"),
        Target("airframe.pitch_inertia", "scale", "moment of inertia in pitch"),
        Target("airframe.yaw_inertia", "scale", "moment of inertia in yaw"),
        Target("airframe.board.tilt", "jig", "tilt of the board"),
        Target("airframe.board.bias", "jig", "bias of the forward accelerometer"),
    )
}  # fmt: skip


def unit_for(setup: Setup, key: str) -> str:
    """Return the unit in which a person wrote an input, or would; "" for a plain number."""
    if key == "power.thrust":
        readings = setup.power.bench
        return (unit_of(readings[0].pull_n.text) if readings else "") or "N"
    entry = entry_of(setup, key)
    unit = unit_of(entry.quantity.text) if entry is not None else ""
    return unit or dimension_of(key).example.partition(" ")[2]


def amount_at(key: str) -> Amount:
    """Return what a card takes for an input; for the thrust what a bench reading takes for its pull."""
    info = PULL if key == "power.thrust" else field_at(Setup, tuple(key.split(".")))
    accepts = amount_of(info) if info is not None else None
    assert accepts is not None, key
    return accepts


def dimension_of(key: str) -> Dimension:
    """Return the kind of quantity that an input is."""
    return amount_at(key).dimension


def limits_of(key: str) -> tuple[float, float]:
    """Return the least and the largest value that a card takes, SI."""
    accepts = amount_at(key)
    return accepts.low, accepts.high


def reachable(setup: Setup, key: str) -> bool:
    """Return True if the setup has the card of an input."""
    return not key.startswith("thrower.") or setup.thrower is not None


def quantity_of(setup: Setup, key: str) -> Quantity:
    """Return an input as the card has it, with its spread."""
    entry = entry_of(setup, key)
    assert entry is not None, key
    return entry.quantity


def scatter_prior(setup: Setup, target: Target) -> Prior:
    """Return what the card claims of a mean and its scatter; of the logarithm for something positive.

    A scatter whose spread the card does not give counts as four throws; one with a spread, as learning
    writes it, as many as that spread stands for. A scatter of zero is taken as the usual one.
    """
    card, scatter = quantity_of(setup, target.input), quantity_of(setup, target.scatter)
    size = scatter.value
    if size <= 0.0:
        accepts = amount_at(target.scatter)
        size = accepts.parse(accepts.usual).value
    throws = PRIOR_THROWS
    if scatter.spread > 0.0:
        throws = max(PRIOR_THROWS, throws_of(log_spread(size, scatter.spread)))
    if target.model == "positive":
        return Prior(math.log(card.value), log_spread(card.value, card.spread), size, throws)
    return Prior(card.value, card.spread, size, throws)


def learning_prior(setup: Setup, target: Target) -> Prior:
    """Return the card as a prior for learning: its mean counts as four throws at most.

    A mean that was learned before, whose scatter has a spread of its own, counts as many as it says.
    """
    prior = scatter_prior(setup, target)
    if quantity_of(setup, target.scatter).spread > 0.0 or prior.mean_throws <= PRIOR_THROWS:
        return prior
    return prior._replace(spread=prior.scatter / math.sqrt(PRIOR_THROWS))


def scale_prior(setup: Setup, derived: Derived, key: str) -> Scale:
    """Return what is known of a figure that does not scatter: from its card, or as computed without one."""
    if key == "power.thrust":
        factor = setup.power.thrust_scale()
        return Scale(derived.full.thrust_n, _log_sd(factor))
    entry = entry_of(setup, key)
    if entry is not None:
        return Scale(entry.quantity.value, _log_sd(entry.quantity))
    median, log_sd = _computed(derived)[key]
    return Scale(median, log_sd)


def _log_sd(quantity: Quantity) -> float:
    return max(LEAST_LOG_SD, log_spread(quantity.value, quantity.spread))


def _computed(derived: Derived) -> dict[str, tuple[float, float]]:
    return {
        "airframe.drag_zero": (derived.wing.drag_zero, COMPUTED_DRAG_ZERO_SD),
        "airframe.lift_max": (derived.lift_max, COMPUTED_LIFT_MAX_SD),
        "airframe.roll_inertia": (derived.mass.ixx_kg_m2, COMPUTED_INERTIA_SD),
        "airframe.pitch_inertia": (derived.mass.iyy_kg_m2, COMPUTED_INERTIA_SD),
        "airframe.yaw_inertia": (derived.mass.izz_kg_m2, COMPUTED_INERTIA_SD),
    }
