"""The five examples: they load, and every number of the invented aeroplanes' table stands in them.

The table is the project's own invention; its numbers tie together (weight, wing load, stall speed).
"""

from __future__ import annotations

import math

import pytest

from overarm.describe.cards import Setup
from tests.examples import FILES, setup_of

INCH_M = 0.0254
# mass kg, span m, area m2, root and tip chord m, sweep deg, neutral point m, balance point m, lift_max,
# drag_zero, span efficiency
SHAPE = {
    "a": (0.60, 0.95, 0.210, 0.280, 0.162, 28, 0.172, 0.1535, 0.95, 0.040, 0.78),
    "b": (1.60, 1.35, 0.420, 0.400, 0.222, 26, 0.229, 0.203, 1.00, 0.036, 0.78),
    "c": (1.10, 1.40, 0.290, 0.207, 0.207, 0, 0.100, 0.0725, 1.20, 0.042, 0.78),
    "d": (2.80, 1.90, 0.560, 0.380, 0.210, 24, 0.267, 0.240, 1.05, 0.034, 0.80),
    "e": (0.95, 1.10, 0.285, 0.340, 0.178, 27, 0.192, 0.176, 0.95, 0.040, 0.78),
}
# propeller in x in, kv rpm/V, motor ohm, no-load A, motor g, cells, Ah, pack ohm, pack V at rest
DRIVE = {
    "a": (6, 4.5, 1850, 0.070, 1.1, 31, 3, 1.5, 0.028, 12.2),
    "b": (9, 6, 900, 0.040, 1.3, 85, 4, 4.0, 0.022, 16.2),
    "c": (10, 5, 920, 0.065, 0.9, 56, 3, 2.2, 0.022, 12.2),
    "d": (12, 6, 680, 0.030, 1.5, 140, 4, 10.0, 0.012, 16.3),
    "e": (8, 4.5, 1300, 0.075, 1.0, 48, 3, 2.2, 0.026, 12.3),
}
# full: rpm, N, A, V; half: rpm, N, A
BENCH = {
    "a": (18650, 7.1, 14.4, 11.80, 10460, 2.23, 2.8),
    "b": (12550, 15.4, 21.6, 15.73, 6940, 4.70, 3.9),
    "c": (9270, 11.3, 16.2, 11.84, 5200, 3.55, 3.0),
    "d": (9530, 24.7, 31.2, 15.93, 5260, 7.53, 5.5),
    "e": (12940, 9.4, 16.1, 11.88, 7320, 3.02, 3.0),
}
# level m/s2, dwell s, wait s, rise 1/s, ceiling, cruise, climb pitch deg, handover m, board tilt deg,
# grip to disc m, wind m/s, roll inertia kg m2
LAUNCH = {
    "a": (5, 0.08, 0.50, 1.50, 0.95, 0.65, 15, 30, 1.0, 0.24, 3, 0.020),
    "b": (8, 0.10, 0.60, 2.00, 0.95, 0.65, 15, 35, 1.5, 0.36, 4, 0.100),
    "c": (6, 0.08, 0.20, 0.25, 0.95, 0.60, 15, 30, 1.0, 0.30, 3, 0.055),
    "d": (12, 0.15, 0.60, 1.00, 0.95, 0.65, 12, 40, 1.0, 0.40, 4, 0.42),
    "e": (5, 0.08, 0.60, 0.25, 0.95, 0.60, 15, 30, 7.0, 0.28, 2, 0.042),
}
# speed and its scatter m/s, path and pitch deg with scatter 4 deg, height m
THROW = {
    "a": (9.6, 0.9, 8, 10, 1.8),
    "b": (8.4, 0.8, 9, 12, 1.9),
    "c": (7.6, 0.8, 6, 7, 1.8),
    "e": (9.3, 0.8, 8, 10, 1.8),
}
STALL_MPS = {"a": 6.94, "b": 7.81, "c": 7.11, "d": 8.73, "e": 7.50}
LETTERS = sorted(FILES)

per_example = pytest.mark.parametrize("letter", LETTERS)


def close(found: float, wanted: float) -> None:
    assert found == pytest.approx(wanted, rel=1e-12)


@per_example
def test_shape(letter: str) -> None:
    card = setup_of(letter).airframe
    assert card.neutral_point_m is not None
    assert card.lift_max is not None
    assert card.drag_zero is not None
    assert card.span_efficiency is not None
    found = (
        card.mass_kg, card.span_m, card.area_m2, card.root_chord_m, card.tip_chord_m, card.sweep_rad,
        card.neutral_point_m, card.balance_point_m, card.lift_max, card.drag_zero, card.span_efficiency,
    )  # fmt: skip
    for place, (item, wanted) in enumerate(zip(found, SHAPE[letter], strict=True)):
        close(item.value, math.radians(wanted) if place == 5 else wanted)


@per_example
def test_drive(letter: str) -> None:
    setup = setup_of(letter)
    card, (size, pitch, kv, ohm, idle, grams, cells, charge, pack, volts) = setup.power, DRIVE[letter]
    close(card.propeller.diameter_m.value, size * INCH_M)
    close(card.propeller.pitch_m.value, pitch * INCH_M)
    close(card.kv_radps_per_v.value, kv * math.pi / 30.0)
    close(card.motor_resistance_ohm.value, ohm)
    close(card.no_load_current_a.value, idle)
    close(card.motor_mass_kg.value, grams / 1000.0)
    close(card.capacity_ah.value, charge)
    close(card.pack_resistance_ohm.value, pack)
    assert card.cells == cells
    assert setup.day.pack_volts_v is not None
    close(setup.day.pack_volts_v.value, volts)


@per_example
def test_bench(letter: str) -> None:
    full, half = setup_of(letter).power.bench
    found = [full.rpm, full.pull_n, full.current_a, full.volts_v, half.rpm, half.pull_n, half.current_a]
    for item, wanted in zip(found, BENCH[letter], strict=True):
        assert item is not None
        close(item.value, wanted)


@per_example
def test_settings(letter: str) -> None:
    setup = setup_of(letter)
    card, inertia = setup.settings, setup.airframe.roll_inertia_kg_m2
    assert inertia is not None
    found = (
        card.jerk_level_mps2, card.jerk_dwell_s, card.start_wait_s, card.throttle_rise_per_s,
        card.launch_ceiling_share, card.cruise_ceiling_share, card.climb_pitch_rad, card.handover_height_m,
        setup.airframe.board.tilt_rad, setup.airframe.grip_to_disc_m, setup.day.wind_mps, inertia,
    )  # fmt: skip
    for place, (item, wanted) in enumerate(zip(found, LAUNCH[letter], strict=True)):
        close(item.value, math.radians(wanted) if place in (6, 8) else wanted)


@pytest.mark.parametrize("letter", sorted(THROW))
def test_throw(letter: str) -> None:
    card = setup_of(letter).thrower
    assert card is not None
    speed, scatter, path, pitch, height = THROW[letter]
    close(card.release_speed_mps.value, speed)
    close(card.release_speed_scatter_mps.value, scatter)
    close(card.release_path_rad.value, math.radians(path))
    close(card.release_pitch_rad.value, math.radians(pitch))
    close(card.release_path_scatter_rad.value, math.radians(4.0))
    close(card.release_pitch_scatter_rad.value, math.radians(4.0))
    close(card.release_height_m.value, height)


def test_line() -> None:
    setup = setup_of("d")
    card = setup.line
    assert card is not None
    assert card.stiffness_npm is not None
    assert setup.settings.speed_gate_mps is not None
    found = (card.stiffness_npm, card.stretch_m, card.returned_share, card.friction, card.ramp_length_m)
    for item, wanted in zip(found, (9.5, 8.0, 0.80, 0.15, 1.5), strict=True):
        close(item.value, wanted)
    close(card.ramp_angle_rad.value, math.radians(14.0))
    close(setup.settings.speed_gate_mps.value, 7.0)
    # What the table says of the line follows: half k x^2 and k x.
    close(0.5 * card.stiffness_npm.value * card.stretch_m.value**2, 304.0)
    close(card.stiffness_npm.value * card.stretch_m.value, 76.0)


def only_obstacle(setup: Setup) -> tuple[float, float]:
    (item,) = setup.site.obstacles
    return item.height_m.value, item.distance_m.value


@pytest.mark.parametrize(
    ("letter", "wanted"), [("a", (6, 80)), ("b", (15, 140)), ("d", (18, 260)), ("e", (8, 70))]
)
def test_obstacles(letter: str, wanted: tuple[float, float]) -> None:
    assert only_obstacle(setup_of(letter)) == wanted


@per_example
def test_the_numbers_tie_together(letter: str) -> None:
    card = setup_of(letter).airframe
    assert card.lift_max is not None
    stall = math.sqrt(2.0 * 9.80665 * card.mass_kg.value / (1.225 * card.area_m2.value * card.lift_max.value))
    assert stall == pytest.approx(STALL_MPS[letter], abs=0.006)
    head = FILES[letter].read_text("utf-8").split("overarm: 1")[0]
    assert f"stall speed {STALL_MPS[letter]:.2f} m/s" in head


@per_example
def test_most_is_measured_and_something_is_guessed(letter: str) -> None:
    setup = setup_of(letter)
    known = [item.known for _, item in setup.inputs() if item.spread > 0.0]
    assert known.count("measured") >= 8
    assert set(known) != {"measured"}


@per_example
def test_hashes_differ_and_hold(letter: str) -> None:
    assert len({setup_of(other).hash() for other in LETTERS}) == len(LETTERS)
    setup = setup_of(letter)
    assert Setup.model_validate(setup.model_copy()).hash() == setup.hash()
