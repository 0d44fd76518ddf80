"""Motor, propeller and pack together: a worked static match, and the five example power trains."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest

from overarm.describe.derived.blade import Speed, blade_table, generic_blade
from overarm.describe.derived.inertia import propeller_inertia
from overarm.describe.derived.propulsion import (
    Drive,
    Match,
    Reading,
    blade_pass,
    calibrated,
    rpm_at_tip,
    settle,
    spool_time,
)
from overarm.physics.motor import Motor, Pack
from overarm.physics.propeller import Propeller
from tests.agreement import Agrees

MATCH = "Drela (2007) with UIUC coefficients, solved by hand"

DENSITY_KGPM3 = 1.225


def flat_table(push: float, power: float) -> np.ndarray:
    """Return a table with the same CT and CP at rest (and the same CT*, CQ* everywhere)."""
    factor = 8.0 / (math.pi * (0.7 * math.pi) ** 2)
    return np.array([[push * factor] * 65, [power / (2.0 * math.pi) * factor] * 65])


def test_static_match(agrees: Agrees) -> None:
    """Kv 1000 rpm/V, R 0.05, i0 1.0, 11.1 V on CT 0.1169, CP 0.0516, D 0.2286: 10115.36 rpm,
    19.6929 A, 11.1151 N, 189.085 W at the shaft, 218.591 W in. Source: Drela, *First-Order DC Electric
    Motor Model*, MIT (2007), coefficients of Brandt and Selig, AIAA 2011-1255; solved by hand."""
    propeller = Propeller(0.2286, 7e-5, 1.0, 1.0, 1.0, 0.0, 0.0, 1.0)
    motor = Motor(60.0 / (2.0 * math.pi * 1000.0), 0.05, 1.0, 0.0, 0.15, 5.0)
    drive = Drive(propeller, flat_table(0.1169, 0.0516), motor, Pack(11.1, 0.0, 5.0), DENSITY_KGPM3)
    match = settle(drive, 1.0)
    agrees("speed of rotation of a static match [rpm]", MATCH, match.rpm, 10115.36, rel=1e-4)
    agrees("its current [A]", MATCH, match.current_a, 19.6929, rel=1e-4)
    agrees("its thrust [N]", MATCH, match.thrust_n, 11.1151, rel=1e-4)
    agrees("its shaft power [W]", MATCH, match.torque_nm * match.rpm * math.pi / 30.0, 189.085, rel=1e-4)
    agrees("its electric power [W]", MATCH, match.current_a * match.volts, 218.591, rel=1e-4)


class Train(NamedTuple):
    """One example power train and what its bench card says."""

    diameter_m: float
    pitch_m: float
    propeller_kg: float
    kv: float
    motor_ohm: float
    idle_a: float
    motor_kg: float
    rotor_m: float
    open_v: float
    pack_ohm: float
    full: Match
    half: tuple[float, float, float]  # rpm, N, A
    spool_s: float


INCH_M = 0.0254
TRAINS = {
    "A": Train(
        6 * INCH_M, 4.5 * INCH_M, 0.0045, 1850, 0.070, 1.1, 0.031, 0.0135, 12.2, 0.028,
        Match(0.95, 18650, 7.1, 0.073, 14.4, 11.80, 149, 21), (10460, 2.23, 2.8), 0.033,
    ),
    "B": Train(
        9 * INCH_M, 6 * INCH_M, 0.016, 900, 0.040, 1.3, 0.085, 0.0175, 16.2, 0.022,
        Match(0.95, 12550, 15.4, 0.227, 21.6, 15.73, 150, 67), (6940, 4.70, 3.9), 0.038,
    ),
    "C": Train(
        10 * INCH_M, 5 * INCH_M, 0.016, 920, 0.065, 0.9, 0.056, 0.014, 12.2, 0.022,
        Match(0.95, 9270, 11.3, 0.167, 16.2, 11.84, 123, 39), (5200, 3.55, 3.0), 0.055,
    ),
    "D": Train(
        12 * INCH_M, 6 * INCH_M, 0.026, 680, 0.030, 1.5, 0.140, 0.020, 16.3, 0.012,
        Match(0.95, 9530, 24.7, 0.440, 31.2, 15.93, 152, 106), (5260, 7.53, 5.5), 0.041,
    ),
    "E": Train(
        8 * INCH_M, 4.5 * INCH_M, 0.008, 1300, 0.075, 1.0, 0.048, 0.014, 12.3, 0.026,
        Match(0.95, 12940, 9.4, 0.117, 16.1, 11.88, 138, 28), (7320, 3.02, 3.0), 0.044,
    ),
}  # fmt: skip
CONTROLLER_OHM = 0.004


def plain(train: Train) -> Drive:
    """Return the power train as the blade model gives it, nothing scaled."""
    diameter = train.diameter_m
    speed = Speed(diameter, 0.7 * math.pi * train.full.rpm / 60.0 * diameter)
    inertia = propeller_inertia(train.propeller_kg, diameter, train.motor_kg, train.rotor_m)
    return Drive(
        Propeller(diameter, inertia, 1.0, 1.0, 1.0, 0.0, 0.0, 1.0),
        blade_table(generic_blade(diameter, train.pitch_m), speed),
        Motor(
            60.0 / (2.0 * math.pi * train.kv), train.motor_ohm + CONTROLLER_OHM, train.idle_a, 0.0, 0.15, 5.0
        ),
        Pack(train.open_v, train.pack_ohm, 5.0),
        DENSITY_KGPM3,
    )


@pytest.mark.parametrize("train", TRAINS.values(), ids=TRAINS.keys())
def test_examples_unscaled(train: Train) -> None:
    """Without any bench reading, invented examples: pull within 10 %, speed within 5 %, current 25 %."""
    match = settle(plain(train), 0.95)
    assert match.thrust_n == pytest.approx(train.full.thrust_n, rel=0.10)
    assert match.rpm == pytest.approx(train.full.rpm, rel=0.05)
    assert match.current_a == pytest.approx(train.full.current_a, rel=0.25)


@pytest.mark.parametrize("train", TRAINS.values(), ids=TRAINS.keys())
def test_examples_scaled_to_the_bench(train: Train) -> None:
    """Scaled to the full-throttle reading, the half-throttle one follows: all within 3 %."""
    full, half = train.full, train.half
    bench = plain(train)
    propeller, notes = calibrated(
        bench,
        (
            Reading(0.95, full.thrust_n, full.current_a, full.volts, full.rpm),
            Reading(0.50, half[1], half[2], None, half[0]),
        ),
    )
    assert len(notes) == 1, notes  # the scales, and nothing left over above 3 %
    drive = bench._replace(propeller=propeller)
    match = settle(drive, 0.95)
    assert match[1:7] == pytest.approx(full[1:7], rel=0.03)
    assert match.energy_j == pytest.approx(full.energy_j, rel=0.04)
    low = settle(drive, 0.5)
    assert (low.rpm, low.thrust_n, low.current_a) == pytest.approx(half, rel=0.03)
    assert spool_time(drive, match) == pytest.approx(train.spool_s, rel=0.06)


@pytest.mark.parametrize(
    ("label", "tip_25", "tip_60", "pass_full"),
    [
        ("A", 3130, 7520, 622),
        ("B", 2090, 5010, 418),
        ("C", 1880, 4510, 309),
        ("D", 1570, 3760, 318),
        ("E", 2350, 5640, 431),
    ],
)
def test_tip_and_sound(label: str, tip_25: float, tip_60: float, pass_full: float) -> None:
    train = TRAINS[label]
    assert rpm_at_tip(train.diameter_m, 25.0) == pytest.approx(tip_25, abs=6.0)
    assert rpm_at_tip(train.diameter_m, 60.0) == pytest.approx(tip_60, abs=6.0)
    assert blade_pass(2, train.full.rpm) == pytest.approx(pass_full, abs=0.7)


def test_current_alone_scales_as_well() -> None:
    """With pull and current but no rpm, pull and current are met; without volts the pack is assumed."""
    bench = plain(TRAINS["B"])
    propeller, notes = calibrated(bench, (Reading(0.95, 15.4, 21.6, None, None),))
    match = settle(bench._replace(propeller=propeller), 0.95)
    assert (match.thrust_n, match.current_a) == pytest.approx((15.4, 21.6), rel=1e-3)
    assert "assumed" in notes[0]


def test_bench_pack_is_not_the_day_pack() -> None:
    """A reading taken on a fuller pack is used at its own voltage: the day's pull is then lower."""
    train = TRAINS["B"]
    day = plain(train)
    fuller = 16.8 - 21.6 * train.pack_ohm
    propeller, _ = calibrated(day, (Reading(0.95, 15.4, 21.6, fuller, None),))
    assert settle(day._replace(propeller=propeller), 0.95).thrust_n < 15.0


def test_spool_time_is_the_first_order_answer() -> None:
    """A small step in throttle closes 1 - 1/e of its way in tau: integrated here, no linearisation."""
    drive = plain(TRAINS["B"])
    start, end = settle(drive, 0.93), settle(drive, 0.95)
    from overarm.physics.motor import driving_torque, motor_current
    from overarm.physics.propeller import shaft_torque

    spin = start.rpm * math.pi / 30.0
    target = spin + (1.0 - math.exp(-1.0)) * (end.rpm - start.rpm) * math.pi / 30.0
    time_s, step_s = 0.0, 1e-5
    while spin < target:
        torque = driving_torque(drive.motor, motor_current(drive.motor, drive.pack, 0.95, spin))
        load = shaft_torque(drive.propeller, DENSITY_KGPM3, 0.0, spin / (2.0 * math.pi), drive.table)
        spin += step_s * (torque - load) / drive.propeller.inertia_kg_m2
        time_s += step_s
    assert time_s == pytest.approx(spool_time(drive, end), rel=0.03)


def test_standing_below_friction() -> None:
    """A throttle that cannot overcome the idle current leaves the propeller standing."""
    match = settle(plain(TRAINS["B"]), 0.002)
    assert (match.rpm, match.thrust_n) == (0.0, 0.0)
