"""From a setup and its derived figures to all that a campaign needs."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from overarm.describe.outlines import outlines, walls
from overarm.flight.campaign import Inputs
from overarm.flight.draw import Rules
from overarm.flight.gains import tuned_control
from overarm.flight.groups import (
    air_group,
    board_group,
    hand_group,
    line_group,
    logic_group,
    to_ten_metres,
    trigger_group,
)
from overarm.flight.record import LAUNCH, field_index
from overarm.flight.rules import Computed, RuleBook

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

INERTIAS = ("mass.ixx_kg_m2", "mass.iyy_kg_m2", "mass.izz_kg_m2", "mass.ixz_kg_m2")
# Own estimates of what no card asks for: effect of the surfaces, built-in warp, twist at the stall.
SURFACE_EFFECT_LOG_SD = 0.15
WARP_SD = 0.002
STALL_TWIST_SD_RAD = math.radians(0.5)
GYRO_BIAS_SD_RADPS = math.radians(0.3)
LEAST_SPEED_MPS = 1.0
# How far off a figure is that was computed because the card leaves it out.
COMPUTED_LIFT_MAX_SD = 0.08
COMPUTED_DRAG_ZERO_SD = 0.20
COMPUTED_EFFICIENCY_SD = 0.08
COMPUTED_INERTIA_SD = 0.20
COMPUTED_VOLTS_SD = 0.02
# Pull read off a spring scale at a few points.
PULL_POINTS_LOG_SD = 0.05


def inputs_of(setup: Setup, derived: Derived) -> Inputs:
    """Return the central launch record, its rules, the propeller table and the obstacles."""
    air = air_group(setup)
    board = setup.airframe.board
    groups: dict[str, Any] = {
        "wing": derived.wing,
        "mass": derived.mass,
        "surfaces": derived.surfaces,
        "propeller": derived.propeller,
        "motor": derived.motor,
        "pack": derived.pack,
        "trigger": trigger_group(setup),
        "board": board_group(setup),
        "control": tuned_control(
            derived.wing,
            derived.mass,
            derived.surfaces,
            derived.stall_speed_mps,
            air.density_kgpm3,
            (board.pitch_response_per_s.value, board.roll_response_per_s.value),
            board.integral_share.value,
            (board.winds_up_in_hand, board.speed_aided),
        ),
        "hand": hand_group(setup),
        "line": line_group(setup),
        "air": air,
        "logic": logic_group(setup, derived.stall_speed_mps),
    }
    base = np.zeros(1, LAUNCH)
    for name, group in groups.items():
        base[name] = tuple(float(value) for value in group)
    return Inputs(
        base,
        uncertain(setup),
        np.ascontiguousarray(derived.propeller_table, dtype=np.float64),
        walls(outlines(setup)),
    )


def uncertain(setup: Setup) -> Rules:
    """Return every uncertain input of the setup and how it moves the launch record."""
    book = RuleBook()
    _airframe(book, setup)
    _power(book, setup)
    if setup.thrower is not None:
        _thrower(book, setup)
    if setup.line is not None:
        _line(book, setup)
    _day(book, setup)
    return book.rules()


def _airframe(book: RuleBook, setup: Setup) -> None:
    card = setup.airframe
    book.quantity("airframe.mass", card.mass_kg, "mass.mass_kg", *INERTIAS)
    book.quantity("airframe.area", card.area_m2, "wing.area_m2")
    book.quantity("airframe.balance_point", card.balance_point_m, "wing.balance_point_m")
    for name, given, field, guess in (
        ("lift_max", card.lift_max, "wing.lift_max", COMPUTED_LIFT_MAX_SD),
        ("drag_zero", card.drag_zero, "wing.drag_zero", COMPUTED_DRAG_ZERO_SD),
        ("roll_inertia", card.roll_inertia_kg_m2, "mass.ixx_kg_m2", COMPUTED_INERTIA_SD),
        ("pitch_inertia", card.pitch_inertia_kg_m2, "mass.iyy_kg_m2", COMPUTED_INERTIA_SD),
        ("yaw_inertia", card.yaw_inertia_kg_m2, "mass.izz_kg_m2", COMPUTED_INERTIA_SD),
    ):
        book.quantity(f"airframe.{name}", given or Computed(guess), field)
    efficiency = card.span_efficiency or Computed(COMPUTED_EFFICIENCY_SD)
    book.inverse_factor("airframe.span_efficiency", efficiency, "wing.drag_induced")
    book.quantity("airframe.grip_to_disc", card.grip_to_disc_m, "hand.grip_to_disc_m")
    book.quantity("airframe.board.tilt", card.board.tilt_rad, "board.tilt_rad")
    book.quantity("airframe.board.bias", card.board.bias_mps2, "board.bias_mps2")
    book.offset(
        "airframe.board.level_error", "unknown", "board.level_error_rad", card.board.level_error_rad.value
    )
    book.offset(
        "airframe.board.bank_error", "unknown", "board.bank_error_rad", card.board.bank_error_rad.value
    )
    book.offset("airframe.board.gyro_bias", "unknown", "board.gyro_bias_radps", GYRO_BIAS_SD_RADPS)
    for name, field in (("pitch", "wing.moment_elevator"), ("roll", "wing.roll_aileron")):
        book.factor(f"airframe.surfaces.{name}_effect", "unknown", field, SURFACE_EFFECT_LOG_SD)
    book.offset("airframe.warp", "unknown", "wing.roll_zero", WARP_SD)
    book.offset("airframe.stall_twist", "unknown", "wing.stall_twist_rad", STALL_TWIST_SD_RAD)


def _power(book: RuleBook, setup: Setup) -> None:
    card = setup.power
    book.quantity("power.thrust", card.thrust_scale(), "propeller.thrust_scale")
    book.quantity("power.torque", card.torque_scale(), "propeller.torque_scale")
    if not card.bench:  # a bench test takes up what the motor's figures leave open
        book.inverse_factor("power.kv", card.kv_radps_per_v, "motor.ke_vs")
        book.quantity("power.motor_resistance", card.motor_resistance_ohm, "motor.resistance_ohm")
        book.quantity("power.no_load_current", card.no_load_current_a, "motor.idle_current_a")
    book.quantity("power.pack_resistance", card.pack_resistance_ohm, "pack.resistance_ohm")
    book.quantity("power.thrust_line_height", card.thrust_line_height_m, "propeller.height_m")
    book.quantity("power.start_delay", card.start_delay_s, "motor.start_delay_s")
    book.factor("power.start_delay_scatter", "varies", "motor.start_delay_s", card.start_delay_scatter.value)


def _thrower(book: RuleBook, setup: Setup) -> None:
    card = setup.thrower
    assert card is not None
    book.quantity("thrower.release_speed", card.release_speed_mps, "hand.speed_mps")
    book.quantity("thrower.release_path", card.release_path_rad, "hand.path_rad")
    book.quantity("thrower.release_pitch", card.release_pitch_rad, "hand.pitch_rad")
    book.quantity("thrower.release_bank", card.release_bank_rad, "hand.bank_rad")
    book.quantity("thrower.hand_deceleration", card.hand_deceleration_mps2, "hand.hand_deceleration_mps2")
    book.quantity("thrower.hand_lag", card.hand_lag_mps, "hand.hand_lag_mps")
    book.quantity("thrower.release_height", card.release_height_m, "hand.height_m")
    book.quantity("thrower.carry_pitch", card.carry_pitch_rad, "hand.carry_pitch_rad")
    book.quantity("thrower.stroke", card.stroke_m, "hand.stroke_m")
    book.quantity("thrower.wind_up", card.wind_up_m, "hand.windup_m")
    book.pair(
        ("thrower.release_speed_scatter", "thrower.release_path_scatter"),
        ("hand.speed_mps", "hand.path_rad"),
        (card.release_speed_scatter_mps.value, card.release_path_scatter_rad.value),
        card.speed_path_correlation.value,
    )
    scatters = (
        ("release_pitch", "hand.pitch_rad", card.release_pitch_scatter_rad.value),
        ("release_bank", "hand.bank_rad", card.release_bank_scatter_rad.value),
        ("release_heading", "hand.heading_rad", card.release_heading_scatter_rad.value),
        ("release_height", "hand.height_m", card.release_height_scatter_m.value),
        ("tumble_roll", "hand.roll_rate_radps", card.tumble_roll_radps.value),
        ("tumble_pitch", "hand.pitch_rate_radps", card.tumble_pitch_radps.value),
        ("tumble_yaw", "hand.yaw_rate_radps", card.tumble_yaw_radps.value),
        ("carry_pitch", "hand.carry_pitch_rad", card.carry_pitch_scatter_rad.value),
        ("hand_lag", "hand.hand_lag_mps", card.hand_lag_scatter_mps.value),
    )
    for name, field, spread in scatters:
        book.offset(f"thrower.{name}_scatter", "varies", field, spread)
    book.factor(
        "thrower.hand_deceleration_scatter",
        "varies",
        "hand.hand_deceleration_mps2",
        card.hand_deceleration_scatter.value,
    )
    if setup.style == "spin-in-hand":
        book.offset("thrower.hold_time_scatter", "varies", "hand.hold_s", card.hold_time_scatter_s.value)
        book.quantity("thrower.shake_travel", card.shake_travel_m, "hand.shake_m")
        book.quantity("thrower.shake_rate", card.shake_rate_hz, "hand.shake_hz")
    book.rarely(
        "thrower.slip", "hand.speed_mps", card.slip_share.value, 1.0 - card.slip_loss_share.value, scale=True
    )
    book.at_least("hand.speed_mps", LEAST_SPEED_MPS)
    book.at_least("hand.hand_lag_mps", 0.0)
    book.at_least("hand.hold_s", 0.0)


def _line(book: RuleBook, setup: Setup) -> None:
    card = setup.line
    assert card is not None
    stiffness = card.stiffness_npm
    if stiffness is not None:
        book.quantity("line.stiffness", stiffness, "line.stiffness_npm")
    else:
        book.factor("line.stiffness", "unknown", "line.stiffness_npm", PULL_POINTS_LOG_SD)
    book.quantity("line.stretch", card.stretch_m, "line.stretch_m")
    book.quantity("line.returned_share", card.returned_share, "line.returned_share")
    book.quantity("line.friction", card.friction, "line.friction")
    book.offset("line.stretch_scatter", "varies", "line.stretch_m", card.stretch_scatter_m.value)
    book.factor(
        "line.returned_share_scatter", "varies", "line.returned_share", card.returned_share_scatter.value
    )
    book.offset("line.pitch_scatter", "varies", "hand.pitch_rad", card.pitch_scatter_rad.value)
    book.offset("line.bank_scatter", "varies", "hand.bank_rad", card.bank_scatter_rad.value)
    book.rarely("line.stuck", "line.stuck", card.stuck_share.value, 1.0, scale=False)


def _day(book: RuleBook, setup: Setup) -> None:
    card = setup.day
    wind_spread = card.wind_mps.spread * to_ten_metres(setup)
    book.offset("day.wind", "unknown", "air.wind_10m_mps", wind_spread)
    book.quantity("day.wind_angle", card.wind_angle_rad, "air.wind_angle_rad")
    book.quantity("day.gust_scale", card.gust_scale, "air.gust_scale")
    if card.pack_volts_v is not None:
        book.quantity("day.pack_volts", card.pack_volts_v, "pack.open_volts")
    else:
        book.factor("day.pack_volts", "unknown", "pack.open_volts", COMPUTED_VOLTS_SD)


def overridden(inputs: Inputs, changes: dict[str, float]) -> Inputs:
    """Return the inputs with some fields (``group.field``, SI) set to other central values."""
    base: NDArray[np.void] = inputs.base.copy()
    for path, value in changes.items():
        group, field = path.split(".")
        base[group][field] = value
    return Inputs(base, inputs.rules, inputs.table, inputs.obstacles)


def without_rules(inputs: Inputs, fields: tuple[str, ...]) -> Inputs:
    """Return inputs in which the named fields ("hand.speed_mps") keep their central values."""
    held = [field_index(path) for path in fields]
    keep = ~np.isin(inputs.rules.table[:, 1], held)
    rules = dataclasses.replace(
        inputs.rules, table=inputs.rules.table[keep], values=inputs.rules.values[keep]
    )
    return dataclasses.replace(inputs, rules=rules)
