"""The motor against the first-order model of Drela (2007), numbers worked by hand from its equations.

Source: M. Drela, *First-Order DC Electric Motor Model*, MIT (2007): Omega = (v - i R) Kv,
Q = (i - i0)/Kv, efficiency (1 - i0/i)/(1 + i R Kv/Omega).
"""

from __future__ import annotations

import math

import pytest

from overarm.physics.motor import (
    Motor,
    Pack,
    applied_throttle,
    driving_torque,
    loaded_volts,
    motor_current,
    motor_torque,
    pack_current,
)
from tests.agreement import Agrees

DRELA = "Drela, First-Order DC Electric Motor Model (2007)"

KE_VS = 60.0 / (2.0 * math.pi * 1000.0)  # 1000 rpm per volt
MOTOR = Motor(KE_VS, 0.05, 1.0, 0.05, 0.15, 4.0)
SUPPLY = Pack(11.1, 0.0, 5.0)  # a bench supply: no sag


def radps(rpm: float) -> float:
    return rpm * math.pi / 30.0


def test_published_point(agrees: Agrees) -> None:
    """Kv 1000 rpm/V, R 0.05, i0 1.0, 11.1 V, 15 A: 10 350 rpm, 0.133690 N m, 144.900 W, 0.870270."""
    spin_radps = radps(10350.0)
    amps = motor_current(MOTOR, SUPPLY, 1.0, spin_radps)
    torque_nm = driving_torque(MOTOR, amps)
    agrees("current at 10 350 rpm [A]", DRELA, amps, 15.0, rel=1e-9)
    agrees("torque at 15 A [N m]", DRELA, torque_nm, 0.133690, rel=1e-5)
    agrees("shaft power at 15 A [W]", DRELA, torque_nm * spin_radps, 144.900, rel=1e-5)
    agrees("efficiency at 15 A", DRELA, torque_nm * spin_radps / (11.1 * amps), 0.870270, rel=1e-5)


def test_best_efficiency_and_idle(agrees: Agrees) -> None:
    """Best current sqrt(i0 v/R) = 14.8997 A at 0.870273; idle at 11 050 rpm; most power at 111.5 A."""

    def shaft(rpm: float) -> tuple[float, float, float]:
        amps = motor_current(MOTOR, SUPPLY, 1.0, radps(rpm))
        power_w = driving_torque(MOTOR, amps) * radps(rpm)
        return amps, power_w, power_w / (11.1 * amps)

    points = [shaft(5.0 * step) for step in range(100, 2210)]
    best = max(points, key=lambda point: point[2])
    agrees("current of the best efficiency, in steps of 5 rpm [A]", DRELA, best[0], 14.8997, abs=0.1)
    agrees("best efficiency", DRELA, best[2], 0.870273, abs=1e-5)
    strongest = max(points, key=lambda point: point[1])
    agrees("current of the most power, in steps of 5 rpm [A]", DRELA, strongest[0], 111.5, abs=0.1)
    idle = motor_current(MOTOR, SUPPLY, 1.0, radps(11050.0))
    agrees("torque when idling at 11 050 rpm [N m]", DRELA, driving_torque(MOTOR, idle), 0.0, abs=1e-12)


@pytest.mark.parametrize("throttle", [0.05, 0.3, 0.5, 0.95, 1.0])
def test_chopper_balances(throttle: float) -> None:
    """The law that the closed form solves: s (U_oc - I_b R_b) = I R + Ke w, and power in = power out."""
    pack = Pack(16.2, 0.022, 5.0)
    spin_radps = 0.6 * throttle * pack.open_volts / KE_VS
    amps = motor_current(MOTOR, pack, throttle, spin_radps)
    drawn = pack_current(MOTOR, pack, throttle, spin_radps)
    volts = loaded_volts(pack, drawn)
    assert throttle * volts == pytest.approx(amps * MOTOR.resistance_ohm + KE_VS * spin_radps, rel=1e-12)
    into_motor_w = amps * (amps * MOTOR.resistance_ohm + KE_VS * spin_radps)
    assert volts * drawn == pytest.approx(into_motor_w, rel=1e-12)


def test_no_braking() -> None:
    """A motor that turns faster than its throttle asks draws nothing and gives nothing back."""
    assert motor_current(MOTOR, SUPPLY, 0.2, radps(9000.0)) == 0.0
    assert motor_current(MOTOR, SUPPLY, 0.0, 0.0) == 0.0
    assert motor_torque(MOTOR, 0.0) == 0.0


def test_torque_before_and_after_friction() -> None:
    assert motor_torque(MOTOR, 15.0) - driving_torque(MOTOR, 15.0) == pytest.approx(KE_VS * 1.0, rel=1e-12)


@pytest.mark.parametrize(
    ("asked", "since_s", "applied"),
    [
        (0.04, 1.0, 0.0),  # inside the dead band
        (0.5, 0.10, 0.0),  # not started yet
        (0.5, 0.20, 0.2),  # soft rise of 4 per second for 0.05 s
        (0.5, 0.40, 0.5),  # demand reached
    ],
)
def test_start(agrees: Agrees, asked: float, since_s: float, applied: float) -> None:
    """Dead band, start delay 0.15 s, soft rise 4 per second: worked by hand."""
    agrees(
        f"throttle after {since_s:g} s of {asked:g} asked",
        "worked by hand",
        applied_throttle(MOTOR, asked, since_s),
        applied,
        abs=1e-12,
    )
