"""What is known about a setup besides its launches: figures, guesswork, what could be measured."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

from overarm.flight.draw import Rules
from overarm.odds.assess import Known
from overarm.odds.bench import MEASUREMENTS
from overarm.odds.findings import findings
from overarm.odds.links import LaunchFigures
from overarm.odds.result import Inputs
from overarm.odds.sensitivity import Measurable

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

# Inputs whose quantity a card computes from others.
COMPUTED = {"power.thrust": "thrust_scale", "power.torque": "torque_scale"}


def quantity_of(setup: Setup, name: str) -> Any | None:
    """Return the quantity of an input such as ``airframe.board.tilt``, or None if no card asks for it.

    An attribute of a card is the name of the input with its unit behind it.
    """
    *rooms, last = name.split(".")
    card: Any = setup
    for room in rooms:
        card = getattr(card, room, None)
    if card is None:
        return None
    if name in COMPUTED:
        return getattr(card, COMPUTED[name])()
    for field in type(card).model_fields:
        if field == last or (field.startswith(last + "_") and field.removeprefix(last + "_") in UNITS):
            return getattr(card, field)
    return None


UNITS = frozenset(
    {
        "m", "m2", "kg", "rad", "s", "mps", "mps2", "hz", "per_s", "share", "ohm", "a", "v", "rpm_per_v", "n",
        "npm", "kg_m2", "k", "pa", "ah", "radps_per_v",
    }
)  # fmt: skip


def _uncertain(setup: Setup, rules: Rules) -> dict[str, Any]:
    """Return the quantity of each unknown input that a card asks for."""
    found = {}
    for item in rules.inputs:
        quantity = quantity_of(setup, item.name) if item.layer == "unknown" else None
        if quantity is not None:
            found[item.name] = quantity
    return found


def guesswork(setup: Setup, rules: Rules) -> tuple[Inputs, tuple[Measurable, ...]]:
    """Return how many inputs there are and which are guessed, and which of those can be measured."""
    quantities = _uncertain(setup, rules)
    guessed = tuple(name for name, item in quantities.items() if item.known != "measured")
    measurable = tuple(
        Measurable(name, quantities[name].spread, bench.spread(quantities[name].value), bench.how)
        for name, bench in MEASUREMENTS.items()
        if name in guessed
    )
    return Inputs(len(quantities), guessed), measurable


def setup_hash(setup: Setup) -> str:
    """Return the SHA-256 of the setup with all its defaults, as 64 hexadecimal digits."""
    return hashlib.sha256(setup.model_dump_json().encode()).hexdigest()


def figures_of(setup: Setup) -> LaunchFigures:
    """Return the figures that the sentence about the weakest link names."""
    return LaunchFigures(
        style=setup.style,
        jerk_level_mps2=setup.settings.jerk_level_mps2.value,
        jerk_dwell_s=setup.settings.jerk_dwell_s.value,
        handover_height_m=setup.settings.handover_height_m.value,
        floor_volts_v=setup.power.regulator_floor_v.value,
    )


def known_of(setup: Setup, derived: Derived, rules: Rules) -> Known:
    """Return everything that is known about a setup besides its launches."""
    inputs, measurable = guesswork(setup, rules)
    return Known(figures_of(setup), inputs, measurable, findings(setup, derived))
