"""Endurance on a pack beside published and outside numbers.

Sources: Peukert's law in the form with a rating time, a worked row (2.2 A h, 10 A, n 1.05: 0.203959 h);
L. W. Traub, Journal of Aircraft 48 (2011) 703, doi 10.2514/1.C031027: his abstract gives 12.5 % less
endurance and 15.1 % less range for n = 1.3 on 1 A h (own recomputation with weight 9.34 N, 0.32 m2,
CD = 0.015 + 0.13 CL^2, 11.1 V, efficiency 0.5, inputs from memory: 12.2 %); cells: Chen and Rincon-Mora,
IEEE Trans. Energy Conversion 21 (2006) 504.
"""

from __future__ import annotations

import pytest

from overarm.air import GRAVITY_MPS2
from overarm.physics.climb import Polar, flattest_lift, speed_at_lift
from overarm.physics.endurance import (
    HOUR_S,
    charge_of_cell,
    level_endurance,
    longest_endurance_speed,
    longest_range_speed,
    peukert_time,
)
from overarm.physics.motor import cell_volts
from tests.agreement import Agrees

PEUKERT = "Peukert's law, worked row"
TRAUB = "Traub, Journal of Aircraft 48 (2011) 703"

POLAR = Polar(9.34 / GRAVITY_MPS2, 0.32, 0.015, 0.13, 1.225)


def hours(exponent: float, capacity_ah: float, airspeed_mps: float | None = None) -> float:
    speed = longest_endurance_speed(POLAR) if airspeed_mps is None else airspeed_mps
    seconds = level_endurance(POLAR, speed, capacity_ah, 11.1, efficiency=0.5, exponent=exponent)
    return seconds / HOUR_S


def test_peukert(agrees: Agrees) -> None:
    agrees(
        "2.2 A h at 10 A, exponent 1.05 [h]",
        PEUKERT,
        peukert_time(2.2, 10.0, 1.05) / HOUR_S,
        0.203959,
        rel=1e-5,
    )
    agrees("2.2 A h at 10 A, exponent 1 [h]", PEUKERT, peukert_time(2.2, 10.0, 1.0) / HOUR_S, 0.22, rel=1e-12)
    # A pack rated over ten hours gives its rating at that rate only.
    agrees(
        "2 A h rated over ten hours at 0.2 A [h]",
        PEUKERT,
        peukert_time(2.0, 0.2, 1.3, rating_h=10.0) / HOUR_S,
        10.0,
        rel=1e-12,
    )


def test_speed_and_endurance_of_two_ampere_hours(agrees: Agrees) -> None:
    agrees("speed of the longest endurance [m/s]", TRAUB, longest_endurance_speed(POLAR), 8.9997, rel=1e-4)
    agrees("endurance on 2 A h, exponent 1.3 [h]", TRAUB, hours(1.3, 2.0), 1.39927, rel=1e-4)
    agrees("endurance on 2 A h, exponent 1 [h]", TRAUB, hours(1.0, 2.0), 1.29489, rel=1e-4)


def test_what_peukert_takes_from_one_ampere_hour_and_gives_to_two(agrees: Agrees) -> None:
    agrees(
        "change of endurance by Peukert's law on 1 A h",
        TRAUB,
        hours(1.3, 1.0) / hours(1.0, 1.0) - 1.0,
        -0.125,
        abs=0.01,
    )
    assert hours(1.3, 2.0) > hours(1.0, 2.0)


def test_what_peukert_takes_from_the_range(agrees: Agrees) -> None:
    def reach(exponent: float) -> float:
        speed = longest_range_speed(POLAR, exponent)
        return speed * hours(exponent, 1.0, speed)

    agrees(
        "change of range by Peukert's law on 1 A h", TRAUB, reach(1.3) / reach(1.0) - 1.0, -0.151, abs=0.01
    )


@pytest.mark.parametrize("exponent", [1.0, 1.1, 1.3])
def test_no_speed_goes_further_or_longer(exponent: float) -> None:
    best = longest_range_speed(POLAR, exponent)
    for other in (0.97 * best, 1.03 * best):
        assert other * hours(exponent, 1.0, other) < best * hours(exponent, 1.0, best)
    longest = longest_endurance_speed(POLAR)
    assert hours(exponent, 1.0, 0.97 * longest) < hours(exponent, 1.0) > hours(exponent, 1.0, 1.03 * longest)


def test_an_ideal_pack_goes_furthest_at_the_flattest_glide() -> None:
    assert longest_range_speed(POLAR, 1.0) == pytest.approx(speed_at_lift(POLAR, flattest_lift(POLAR)))


@pytest.mark.parametrize("charge", [0.02, 0.2, 0.5, 0.8, 1.0])
def test_charge_of_a_resting_cell_is_the_inverse_of_its_volts(charge: float) -> None:
    assert charge_of_cell(cell_volts(charge)) == pytest.approx(charge, abs=1e-9)


def test_charge_from_published_volts(agrees: Agrees) -> None:
    agrees(
        "charge of a cell that rests at 3.803362 V",
        "Chen and Rincon-Mora (2006)",
        charge_of_cell(3.803362),
        0.5,
        abs=1e-4,
    )
    assert charge_of_cell(4.3) == pytest.approx(1.0)
    assert charge_of_cell(2.0) == pytest.approx(0.0)
