"""Every field of every card: its range is held, its default is good, its name ends in its unit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import pytest
from pydantic import ValidationError

from overarm import units
from overarm.describe.card import Card, amount_of, card_of, keys_of
from overarm.describe.cards import Setup
from overarm.describe.quantity import Amount
from overarm.units import Dimension, UnitError, from_si

SUFFIXES: dict[Dimension, tuple[str, ...]] = {
    units.MASS: ("_kg",), units.LENGTH: ("_m",), units.AREA: ("_m2",), units.ANGLE: ("_rad",),
    units.TIME: ("_s",), units.SPEED: ("_mps",), units.ACCELERATION: ("_mps2",), units.TURN_RATE: ("_radps",),
    units.FREQUENCY: ("_hz",), units.PER_TIME: ("_per_s",), units.SHARE: ("_share", "_scatter"),
    units.RESISTANCE: ("_ohm",), units.CURRENT: ("_a",), units.VOLTAGE: ("_v",), units.CHARGE: ("_ah",),
    units.KV: ("_radps_per_v",), units.ROTATION: ("rpm",), units.FORCE: ("_n",), units.STIFFNESS: ("_npm",),
    units.INERTIA: ("_kg_m2",), units.TEMPERATURE: ("_k",), units.PRESSURE: ("_pa",), units.NOTHING: ("",),
}  # fmt: skip


class Case(NamedTuple):
    """A quantity of a card."""

    path: str
    name: str
    key: str
    card: type[Card]
    rule: Amount
    required: bool


def walk(card: type[Card], path: str) -> Iterator[Case]:
    for key, info in keys_of(card).items():
        name = next(name for name, item in card.model_fields.items() if item is info)
        rule, inside = amount_of(info), card_of(info.annotation)
        if rule is not None:
            yield Case(f"{path}{key}", name, key, card, rule, info.is_required())
        elif inside is not None:
            yield from walk(inside, f"{path}{key}.")


CASES = list(walk(Setup, ""))
every_quantity = pytest.mark.parametrize("case", CASES, ids=lambda case: case.path)


def written(value: float, dimension: Dimension) -> str:
    """Return a value as a builder writes it, with all digits."""
    unit = dimension.example.partition(" ")[2]
    return from_si(value, dimension, unit, 15)


def told(case: Case, text: str) -> list[str]:
    """Return what the card says about one key."""
    try:
        case.card.model_validate({case.key: text})
    except ValidationError as error:
        return [item["msg"] for item in error.errors() if item["loc"] == (case.key,)]
    return []


def test_there_are_many() -> None:
    assert len(CASES) > 130
    assert len({case.path for case in CASES}) == len(CASES)


@every_quantity
def test_outside_the_range_is_refused(case: Case) -> None:
    rule = case.rule
    step = 0.01 * (rule.high - rule.low)
    for value in (rule.low - step, rule.high + step, -1e3 * abs(rule.high) - 1.0):
        (said,) = told(case, written(value, rule.dimension))
        assert "outside" in said or "above zero" in said
        assert "; " in said, "no cure"


@every_quantity
def test_inside_the_range_is_taken(case: Case) -> None:
    rule = case.rule
    for part in (0.001, 0.5, 0.999):
        value = rule.low + part * (rule.high - rule.low)
        assert told(case, written(value, rule.dimension)) == []


@every_quantity
def test_not_finite_is_refused(case: Case) -> None:
    unit = case.rule.dimension.example.partition(" ")[2]
    for number in ("nan", "inf", "-inf", "1e999"):
        assert told(case, f"{number} {unit}".strip())
    for number in (math.nan, math.inf):
        assert told(case, number)  # type: ignore[arg-type]


@every_quantity
def test_a_bare_number_is_refused_where_there_is_a_unit(case: Case) -> None:
    said = told(case, "0.5")
    assert bool(case.rule.dimension.si) == any("has no unit" in text for text in said)


@every_quantity
def test_the_name_ends_in_the_unit(case: Case) -> None:
    assert case.name.endswith(SUFFIXES[case.rule.dimension])


@every_quantity
def test_it_says_what_it_is(case: Case) -> None:
    assert case.rule.help.endswith(".")
    assert case.rule.help[0].isupper()


@every_quantity
def test_the_example_is_one_that_the_field_takes(case: Case) -> None:
    assert told(case, case.rule.example) == []
    (said,) = told(case, "x")
    assert case.rule.example in said


@every_quantity
def test_the_default_spreads_can_be_read(case: Case) -> None:
    rule = case.rule
    middle = written(0.5 * (rule.low + rule.high), rule.dimension)
    measured, guessed = (rule.parse(f"{middle} {flag}").spread for flag in ("measured", "guessed"))
    assert 0.0 <= measured <= guessed


@every_quantity
def test_a_default_has_a_source(case: Case) -> None:
    info = keys_of(case.card)[case.key]
    if info.default is not None and not info.is_required():
        assert case.rule.source
        assert case.rule.parse(info.default).known == "default"


# Spreads measured / guessed: common practice and estimates, no source. Mass 1 / 8 %, wing area 2 / 5 %, and
# so on; a change of one of these changes every answer, so they are held here.
@pytest.mark.parametrize(
    ("path", "text", "measured", "guessed"),
    [
        ("airframe.mass", "1 kg", 0.01, 0.08),
        ("airframe.area", "1 m2", 0.02, 0.05),
        ("airframe.balance_point", "0.2 m", 0.002, 0.008),
        ("airframe.drag_zero", "0.1", 0.008, 0.02),
        ("airframe.board.tilt", "0 deg", math.radians(0.5), math.radians(3.0)),
        ("airframe.board.bias", "0 m/s2", 0.1, 0.3),
        ("power.pack_resistance", "100 mohm", 0.015, 0.05),
        ("power.bench.pull", "10 N", 0.4, 0.8),
        ("thrower.release_speed", "10 m/s", 0.3, 1.5),
        ("thrower.release_pitch", "10 deg", math.radians(2.0), math.radians(5.0)),
        ("thrower.hand_deceleration", "100 m/s2", 20.0, 45.0),
        ("day.wind", "4 m/s", 0.5, 1.5),
        ("day.wind_angle", "0 deg", math.radians(10.0), math.radians(25.0)),
    ],
)
def test_spreads_of_practice(path: str, text: str, measured: float, guessed: float) -> None:
    rule = next(case.rule for case in CASES if case.path == path)
    assert rule.parse(f"{text} measured").spread == pytest.approx(measured)
    assert rule.parse(f"{text} guessed").spread == pytest.approx(guessed)


def test_a_card_cannot_be_changed() -> None:
    board = (
        Setup.model_fields["airframe"]
        .annotation.model_fields["board"]
        .get_default(  # type: ignore[union-attr]
            call_default_factory=True, validated_data={}
        )
    )
    with pytest.raises(ValidationError):
        board.tilt_rad = None


def test_ranges_are_ranges() -> None:
    for case in CASES:
        assert case.rule.low < case.rule.high, case.path
        assert math.isfinite(case.rule.low + case.rule.high), case.path


def test_a_rule_refuses_what_is_no_amount() -> None:
    for case in CASES[:3]:
        for raw in (None, [], {}, True, object()):
            with pytest.raises(UnitError):
                case.rule.parse(raw)
