"""The pack: open-circuit curve of a lithium-polymer cell, and resistance in the cold.

Sources: Chen and Rincon-Mora, IEEE Trans. Energy Conversion 21 (2006) 504, coefficients of their
equation 2. Cold: one measured pack (common practice, no source): x1.7 at 10 C, x2.6 at 0 C.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from overarm.physics.motor import Pack, cell_volts, cold_factor, loaded_volts
from tests.agreement import Agrees

CELL = "Chen and Rincon-Mora (2006), equation 2"


@pytest.mark.parametrize(
    ("charge", "volts"),
    [(1.0, 4.102900), (0.8, 3.945979), (0.5, 3.803362), (0.2, 3.725029), (0.1, 3.674569)],
)
def test_open_circuit_curve(agrees: Agrees, charge: float, volts: float) -> None:
    agrees(
        f"volts of a resting cell at {charge:g} of its charge [V]", CELL, cell_volts(charge), volts, abs=1e-5
    )


def test_open_circuit_curve_rises_and_is_held_at_its_ends() -> None:
    values = [cell_volts(step / 50.0) for step in range(51)]
    assert all(low < high for low, high in pairwise(values))
    assert cell_volts(1.2) == cell_volts(1.0)
    assert cell_volts(-0.1) == cell_volts(0.0)


@pytest.mark.parametrize(("temperature_c", "factor"), [(25.0, 1.0), (10.0, 1.7), (0.0, 2.6)])
def test_cold_pack(agrees: Agrees, temperature_c: float, factor: float) -> None:
    agrees(
        f"resistance at {temperature_c:g} degC over that at 25",
        "one measured pack; common practice, no source",
        cold_factor(temperature_c),
        factor,
        rel=1e-9,
    )


def test_cold_only_adds_resistance() -> None:
    values = [cold_factor(float(temperature_c)) for temperature_c in range(-25, 46)]
    assert all(warm <= cold for cold, warm in pairwise(values))
    assert values[-1] == 0.8


def test_sag(agrees: Agrees) -> None:
    """Scenario B of the examples: 16.2 V, 22 milliohm, 21.6 A leaves 15.73 V (worked by hand)."""
    agrees(
        "volts of a pack at 21.6 A [V]",
        "worked by hand",
        loaded_volts(Pack(16.2, 0.022, 5.0), 21.6),
        15.725,
        abs=0.001,
    )
