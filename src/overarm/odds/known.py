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
from overarm.units import Dimension, from_si

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

# Inputs whose quantity a card computes from others.
COMPUTED = {"power.thrust": "thrust_scale", "power.torque": "torque_scale"}


# Inputs that may be left out of a card and are then computed, which is a guess.
LEFT_OUT = {
    "airframe.lift_max",
    "airframe.drag_zero",
    "airframe.span_efficiency",
    "airframe.roll_inertia",
    "airframe.pitch_inertia",
    "airframe.yaw_inertia",
    "day.pack_volts",
    "line.stiffness",
}


class Entry(NamedTuple):
    """An uncertain input as its card has it."""

    quantity: Quantity
    measured_spread: float  # what its spread would be, once measured
    dimension: Dimension | None  # None: a factor


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
        return Entry(computed, COMPUTED_SHARE[name] * computed.value, None)
    found = _field(card, key)
    if found is None:
        return None
    quantity, accepts = found
    measured = accepts.parse({"value": quantity.text, "known": "measured"})
    return Entry(quantity, measured.spread, accepts.dimension)


def one_sd(setup: Setup, rules: Rules) -> dict[str, str]:
    """Return one standard deviation of the inputs that a card names, as a person writes it: "0.8 m/s"."""
    said = {}
    for item in rules.inputs:
        entry = entry_of(setup, item.name) or entry_of(setup, item.name.removesuffix("_scatter"))
        if entry is None:
            continue
        quantity = entry.quantity
        if item.layer == "varies" or quantity.spread == 0.0:  # what is written is itself one sd
            said[item.name] = quantity.text
        elif quantity.kind == "lognormal":
            said[item.name] = f"{100.0 * quantity.spread / quantity.value:.2g} %"
        elif entry.dimension is not None:
            unit = quantity.text.lstrip("+-.0123456789eE").strip()
            said[item.name] = from_si(quantity.spread, entry.dimension, unit, 2)
    return said


def drawn_inputs(setup: Setup, rules: Rules) -> Inputs:
    """Return how many inputs of the cards are drawn because they are not known exactly, and which of
    them are guessed.

    An input with a spread that moves nothing in this launch (a shake in a throw-started one, the motor's
    figures behind a bench test) is not drawn and not counted; nor is what no card asks for (a built-in
    warp, say).
    """
    count, guessed = 0, []
    for item in rules.inputs:
        if item.layer != "unknown":
            continue
        entry = entry_of(setup, item.name)
        if entry is None and item.name not in LEFT_OUT:
            continue
        count += 1
        if entry is None or entry.quantity.known != "measured":
            guessed.append(item.name)
    return Inputs(count, tuple(guessed), one_sd(setup, rules))


def guesswork(setup: Setup, rules: Rules) -> tuple[Inputs, tuple[Measurable, ...]]:
    """Return how many inputs are drawn and which are guessed, and which of those can be measured."""
    measurable = []
    for item in rules.inputs:
        entry = entry_of(setup, item.name) if item.layer == "unknown" and item.name in HOW else None
        if entry is not None and entry.quantity.known != "measured":
            spread = entry.quantity.spread
            measurable.append(Measurable(item.name, spread, entry.measured_spread, HOW[item.name]))
    return drawn_inputs(setup, rules), tuple(measurable)


def figures_of(setup: Setup) -> LaunchFigures:
    """Return the figures that the weakest link and the findings on its launches name."""
    return LaunchFigures(
        style=setup.style,
        jerk_level_mps2=setup.settings.jerk_level_mps2.value,
        jerk_dwell_s=setup.settings.jerk_dwell_s.value,
        handover_height_m=setup.settings.handover_height_m.value,
        floor_volts_v=setup.power.regulator_floor_v.value,
        pusher=setup.power.position == "pusher",
        start_wait_s=setup.settings.start_wait_s.value,
        start_delay_s=setup.power.start_delay_s.value,
    )


def known_of(setup: Setup, derived: Derived, rules: Rules) -> Known:
    """Return everything that is known about a setup besides its launches."""
    inputs, measurable = guesswork(setup, rules)
    return Known(figures_of(setup), inputs, measurable, findings(setup, derived))
