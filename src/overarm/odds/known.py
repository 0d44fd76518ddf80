"""What is known about a setup besides its launches: figures, guesswork, what could be measured."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from overarm.describe.quantity import Amount, Quantity
from overarm.flight.draw import Rules
from overarm.odds.assess import Known
from overarm.odds.bench import COMPUTED_SHARE, HOW
from overarm.odds.findings import findings
from overarm.odds.links import LaunchFigures
from overarm.odds.result import Inputs
from overarm.odds.sensitivity import Measurable

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

# Inputs whose quantity a card computes from others.
COMPUTED = {"power.thrust": "thrust_scale", "power.torque": "torque_scale"}


class Entry(NamedTuple):
    """An uncertain input as its card has it."""

    quantity: Quantity
    measured_spread: float  # what its spread would be, once measured


def _field(card: Any, key: str) -> tuple[Quantity, Amount] | None:
    """Return the quantity of a card under its key in a setup file, and what the field accepts."""
    for name, field in type(card).model_fields.items():
        extra = field.json_schema_extra
        if field.alias == key and isinstance(extra, dict):
            found, accepts = getattr(card, name), extra.get("amount")
            if isinstance(found, Quantity) and isinstance(accepts, Amount):
                return found, accepts
    return None


def entry_of(setup: Setup, name: str) -> Entry | None:
    """Return the entry of an input such as ``airframe.board.tilt``; None if no card asks for it."""
    *rooms, key = name.split(".")
    card: Any = setup
    for room in rooms:
        card = getattr(card, room, None)
        if card is None:
            return None
    if name in COMPUTED:
        computed: Quantity = getattr(card, COMPUTED[name])()
        return Entry(computed, COMPUTED_SHARE[name] * computed.value)
    found = _field(card, key)
    if found is None:
        return None
    quantity, accepts = found
    return Entry(quantity, accepts.parse({"value": quantity.text, "known": "measured"}).spread)


def guesswork(setup: Setup, rules: Rules) -> tuple[Inputs, tuple[Measurable, ...]]:
    """Return how many inputs have a spread and which are guessed, and which of those can be measured.

    What no card asks for (a built-in warp, say) is a guess of the tool and is not counted.
    """
    count = sum(item.spread > 0.0 for _, item in setup.inputs())
    measurable = []
    for item in rules.inputs:
        entry = entry_of(setup, item.name) if item.layer == "unknown" and item.name in HOW else None
        if entry is not None and entry.quantity.known != "measured":
            spread = entry.quantity.spread
            measurable.append(Measurable(item.name, spread, entry.measured_spread, HOW[item.name]))
    return Inputs(count, setup.unknown_inputs()), tuple(measurable)


def figures_of(setup: Setup) -> LaunchFigures:
    """Return the figures that the sentence about the weakest link names."""
    return LaunchFigures(
        style=setup.style,
        jerk_level_mps2=setup.settings.jerk_level_mps2.value,
        jerk_dwell_s=setup.settings.jerk_dwell_s.value,
        handover_height_m=setup.settings.handover_height_m.value,
        floor_volts_v=setup.power.regulator_floor_v.value,
        pusher=setup.power.position == "pusher",
    )


def known_of(setup: Setup, derived: Derived, rules: Rules) -> Known:
    """Return everything that is known about a setup besides its launches."""
    inputs, measurable = guesswork(setup, rules)
    return Known(figures_of(setup), inputs, measurable, findings(setup, derived))
