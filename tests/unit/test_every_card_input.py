"""Every quantity of every card changes something: the launch record, its rules, a finding or the sheet.

An input that changes nothing would be accepted in silence.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from overarm.describe.card import Card
from overarm.describe.cards import Setup
from overarm.describe.derived import derive
from overarm.describe.quantity import Quantity
from overarm.flight.inputs import inputs_of
from overarm.odds.findings import findings
from tests.examples import setup_of

# Printed on the sheet only: the way home is not flown yet.
PRINTED_ONLY = {"settings.home_circle_radius", "power.capacity"}
# Steps that keep a setup possible, or that pass a threshold; 1.1 for all others.
FACTORS = {
    "airframe.area": 1.02,
    "airframe.span": 1.02,
    "airframe.root_chord": 1.02,
    "airframe.grip_gap": 3.0,
    "power.bench.0.rpm": 1.02,
    "settings.cruise_ceiling": 1.5,
    "settings.home_height": 0.4,
}


def changed(card: Any, path: list[str], factor: float) -> Any:
    """Return the card with one quantity scaled (or moved, if it is zero)."""
    if path[0].isdigit():
        k = int(path[0])
        return (*card[:k], changed(card[k], path[1:], factor), *card[k + 1 :])
    field = next(name for name, info in type(card).model_fields.items() if (info.alias or name) == path[0])
    now = getattr(card, field)
    if len(path) > 1:
        return card.model_copy(update={field: changed(now, path[1:], factor)})
    assert isinstance(now, Quantity)
    value = now.value * factor if now.value else 0.01
    return card.model_copy(update={field: replace(now, value=value)})


def signature(setup: Setup) -> tuple[Any, ...]:
    derived = derive(setup)
    inputs = inputs_of(setup, derived)
    rules = inputs.rules
    said = tuple((item.word, item.sentence) for item in findings(setup, derived))
    return (
        inputs.base.tobytes(), inputs.table.tobytes(), inputs.obstacles.tobytes(), rules.inputs,
        rules.table.tobytes(), rules.values.tobytes(), said, derived.notes,
    )  # fmt: skip


def cases() -> list[tuple[str, str]]:
    found: dict[str, str] = {}
    for letter in "bcd":
        for path, _ in setup_of(letter).inputs():
            found.setdefault(path, letter)
    return [(letter, path) for path, letter in found.items() if path not in PRINTED_ONLY]


@pytest.mark.parametrize(("letter", "path"), cases(), ids=str)
def test_every_quantity_changes_something(letter: str, path: str) -> None:
    # Only a launch that spins in the hand has a shake and a hold.
    setup = setup_of("c" if path.startswith(("thrower.shake", "thrower.hold")) else letter)
    factor = FACTORS.get(path, 1.1)
    assert signature(changed(setup, path.split("."), factor)) != signature(setup)


def test_every_card_is_reached() -> None:
    assert {path.split(".")[0] for _, path in cases()} == {
        "airframe", "power", "thrower", "line", "settings", "site", "day",
    }  # fmt: skip
    assert issubclass(type(setup_of("b").airframe), Card)
