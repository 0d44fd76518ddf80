"""Every quantity of every card changes something: the launch record, its rules, a finding or the sheet.

An input that changes nothing would be accepted in silence.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from overarm.describe.card import Card
from overarm.describe.cards import PoseWindow, Setup
from overarm.describe.derived import derive
from overarm.describe.quantity import Quantity
from overarm.flight.inputs import inputs_of, uncertain
from overarm.odds.findings import findings
from overarm.odds.known import entry_of
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


OPTIONAL = {
    "settings": {
        "early_pitch": ("early_pitch_rad", 0.1),
        "early_speed": ("early_speed_mps", 9.0),
        "still_time": ("still_time_s", 2.0),
        "speed_gate": ("speed_gate_mps", 5.0),
    },
    "day": {"pressure": ("pressure_pa", 95_000.0)},
    "airframe": {"lift_slope": ("lift_slope", 4.0), "pitch_inertia": ("pitch_inertia_kg_m2", 0.09)},
}


@pytest.mark.parametrize(("card", "keys"), [(card, tuple(keys)) for card, keys in OPTIONAL.items()])
def test_what_may_be_left_out_matters_when_given(card: str, keys: tuple[str, ...]) -> None:
    setup = setup_of("b")
    for key in keys:
        wanted = ONLY_TOGETHER.get(key, (key,))
        update = {
            OPTIONAL[card][name][0]: Quantity(OPTIONAL[card][name][1], 0.0, "normal", "measured", name)
            for name in wanted
        }
        given = setup.model_copy(update={card: getattr(setup, card).model_copy(update=update)})
        assert signature(given) != signature(setup), key


ONLY_TOGETHER = {
    "early_pitch": ("early_pitch", "early_speed"),
    "early_speed": ("early_pitch", "early_speed"),
}


def test_a_pose_window_matters() -> None:
    setup = setup_of("b")
    limits = {"pitch_low": "-10 deg", "pitch_high": "45 deg", "bank": "30 deg"}
    window = PoseWindow.model_validate(limits)
    given = setup.model_copy(update={"settings": setup.settings.model_copy(update={"pose_window": window})})
    assert signature(given) != signature(setup)


@pytest.mark.parametrize("letter", list("bcd"))
def test_every_input_that_is_counted_is_drawn_with_its_spread(letter: str) -> None:
    """Twice the spread of an input that the answer counts changes the rules by which it is drawn."""
    setup = setup_of(letter)
    counted = [name for name in drawn_names(setup) if entry_of(setup, name) is not None]
    assert len(counted) > 10
    for name in counted:
        if name in ("power.thrust", "power.torque"):  # computed from the bench readings
            continue
        wider = changed_spread(setup, name.split("."))
        if wider is not None:
            before, after = uncertain(setup), uncertain(wider)
            assert after.values.tobytes() != before.values.tobytes(), name


def drawn_names(setup: Setup) -> list[str]:
    return [item.name for item in uncertain(setup).inputs if item.layer == "unknown"]


def changed_spread(card: Any, path: list[str]) -> Any:
    """Return the card with the spread of one quantity doubled; None if it has none (a scatter, say)."""
    field = next(name for name, info in type(card).model_fields.items() if (info.alias or name) == path[0])
    now = getattr(card, field)
    if len(path) > 1:
        inner = changed_spread(now, path[1:])
        return None if inner is None else card.model_copy(update={field: inner})
    if now.spread == 0.0:
        return None
    return card.model_copy(update={field: replace(now, spread=2.0 * now.spread)})
