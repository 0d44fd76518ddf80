"""Launches with given unknown inputs: the same throws and gusts whatever the unknown inputs are."""

from __future__ import annotations

import numpy as np
import pytest

from overarm.flight.campaign import fly_numbered, fly_records
from overarm.flight.draw import draw, draw_given
from overarm.flight.outcomes import SUMMARY
from tests.examples import inputs_of

SEED = 7


@pytest.mark.parametrize("letter", list("abcde"))
def test_given_what_draw_draws_it_draws_the_same(letter: str) -> None:
    """The scores of `draw`, given back, give its records byte for byte."""
    inputs = inputs_of(letter)
    records, scores = draw(inputs.base, inputs.rules, 60, SEED, 40)
    given = scores[:, inputs.rules.layer == 0]
    again = draw_given(inputs.base, inputs.rules, given, SEED, np.arange(40, 100))
    assert again.tobytes() == records.tobytes()


def test_the_same_number_has_the_same_throw_and_gusts() -> None:
    """Of two worlds only what the unknown inputs move differs; flown twice, twice the same."""
    inputs = inputs_of("b")
    unknown = int(np.sum(inputs.rules.layer == 0))
    numbers = np.array([5, 9, 5, 9])
    given = np.repeat(np.array([0.0, 1.0]), 2)[:, None] * np.ones(unknown)
    rows = draw_given(inputs.base, inputs.rules, given, SEED, numbers)
    still, other = rows[:2], rows[2:]
    assert np.array_equal(still["hand"]["heading_rad"], other["hand"]["heading_rad"])
    assert not np.any(still["mass"]["mass_kg"] == other["mass"]["mass_kg"])
    table = fly_numbered(inputs, np.concatenate([still, still]), SEED, numbers)
    assert table[:2].tobytes() == table[2:].tobytes()
    assert table["low_point_m"][0] != table["low_point_m"][1]


def test_numbers_in_a_row_fly_as_ever() -> None:
    inputs = inputs_of("b")
    records, _ = draw(inputs.base, inputs.rules, 30, SEED, 100)
    flown = fly_records(inputs, records, SEED, 100)
    numbered = fly_numbered(inputs, records[::-1].copy(), SEED, np.arange(129, 99, -1))[::-1]
    assert all(flown[name].tobytes() == numbered[name].tobytes() for name in SUMMARY.names)
    assert np.array_equal(flown["world"], np.arange(100, 130) // 25)


def test_no_unknown_inputs_at_the_central_values() -> None:
    """Scores of zero leave every field that only unknown inputs move at its central value."""
    inputs = inputs_of("d")
    unknown = int(np.sum(inputs.rules.layer == 0))
    row = draw_given(inputs.base, inputs.rules, np.zeros((1, unknown)), SEED, np.array([3]))
    for field in ("mass", "wing", "air", "pack"):
        assert row[field].tobytes() == inputs.base[field].tobytes()
