"""Parameter groups of the launch record from the cards, at their central values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from overarm.air import site_density
from overarm.flight.record import (
    STYLE_LINE_LAUNCHED,
    STYLE_SPIN_IN_HAND,
    STYLE_THROW_STARTED,
    Logic,
)
from overarm.physics.hand import CLEAR_MARGIN_M, Hand
from overarm.physics.line import Line
from overarm.physics.sensor import Board
from overarm.physics.trigger import Trigger
from overarm.physics.wind import REFERENCE_HEIGHT_M, Air

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

STYLES = {
    "throw-started": STYLE_THROW_STARTED,
    "spin-in-hand": STYLE_SPIN_IN_HAND,
    "line-launched": STYLE_LINE_LAUNCHED,
}
# A pose window that is not given is wider than any pose.
WIDE_OPEN_RAD = math.tau
FLIGHT_STEP_S = 0.01
# A speed gate counts for this long after the jerk.
SPEED_WINDOW_S = 2.0
# The model rests on the ramp for this long before the latch is let go.
RAMP_REST_S = 1.0
# Nobody moves at the very moment at which the still time is over.
STILL_EXTRA_S = 0.5


def trigger_group(setup: Setup) -> Trigger:
    """Return the trigger of the settings card."""
    card = setup.settings
    window = card.pose_window
    return Trigger(
        level_mps2=card.jerk_level_mps2.value,
        dwell_s=card.jerk_dwell_s.value,
        jerks=float(card.jerks),
        gravity_free=1.0 if card.jerk_cue == "tilt-free" else 0.0,
        speed_gate_mps=card.speed_gate_mps.value if card.speed_gate_mps else 0.0,
        speed_window_s=SPEED_WINDOW_S,
        pitch_low_rad=window.pitch_low_rad.value if window else -WIDE_OPEN_RAD,
        pitch_high_rad=window.pitch_high_rad.value if window else WIDE_OPEN_RAD,
        bank_limit_rad=window.bank_rad.value if window else WIDE_OPEN_RAD,
        still_s=card.still_time_s.value if card.still_time_s else 0.0,
    )


def board_group(setup: Setup) -> Board:
    """Return the sensor board; its errors are zero at the central values."""
    card = setup.airframe.board
    return Board(
        tilt_rad=card.tilt_rad.value,
        bias_mps2=card.bias_mps2.value,
        noise_mps2=card.noise_mps2.value,
        range_mps2=card.range_mps2.value,
        filter_hz=card.filter_hz.value,
        rate_hz=card.rate_hz.value,
        offset_x_m=card.offset_forward_m.value,
        offset_z_m=card.offset_down_m.value,
        attitude_time_s=card.attitude_time_s.value,
        level_error_rad=0.0,
        bank_error_rad=0.0,
        speed_delay_s=card.speed_delay_s.value,
        trust_band_mps2=card.trust_band_mps2.value,
        gyro_bias_radps=0.0,
        vibration_mps2=card.vibration_mps2.value,
    )


def _listening(setup: Setup, seconds: float) -> float:
    """Return how long the model listens before the gesture: the person waits out a still time."""
    still = setup.settings.still_time_s
    return seconds if still is None else max(seconds, still.value + STILL_EXTRA_S)


def hand_group(setup: Setup) -> Hand:
    """Return the throw; on a line only the attitude and the carry time mean anything."""
    grip = setup.airframe.grip_to_disc_m.value
    card = setup.thrower
    if card is None:
        return _hand_of_line(setup, grip)
    spin = setup.style == "spin-in-hand"
    return Hand(
        speed_mps=card.release_speed_mps.value,
        path_rad=card.release_path_rad.value,
        pitch_rad=card.release_pitch_rad.value,
        bank_rad=card.release_bank_rad.value,
        heading_rad=card.release_heading_rad.value,
        height_m=card.release_height_m.value,
        stroke_m=card.stroke_m.value,
        windup_m=card.wind_up_m.value,
        windup_s=card.wind_up_time_s.value,
        roll_rate_radps=0.0,
        pitch_rate_radps=0.0,
        yaw_rate_radps=0.0,
        hand_deceleration_mps2=card.hand_deceleration_mps2.value,
        hand_lag_mps=card.hand_lag_mps.value,
        grip_to_disc_m=grip,
        clear_margin_m=CLEAR_MARGIN_M,
        carry_s=_listening(setup, card.carry_time_s.value),
        carry_pitch_rad=card.carry_pitch_rad.value,
        step_mps2=card.sway_mps2.value,
        step_hz=card.sway_rate_hz.value,
        shake_m=card.shake_travel_m.value if spin else 0.0,
        shake_hz=card.shake_rate_hz.value,
        shakes=float(card.shakes) if spin else 0.0,
        hold_s=card.hold_time_s.value if spin else 0.0,
        spin_in_hand=1.0 if spin else 0.0,
    )


def _hand_of_line(setup: Setup, grip_m: float) -> Hand:
    card = setup.line
    assert card is not None  # the setup has a thrower or a line
    return Hand(
        speed_mps=1.0, path_rad=0.0, pitch_rad=0.0, bank_rad=0.0, heading_rad=0.0,
        height_m=card.ramp_height_m.value, stroke_m=1.0, windup_m=0.0, windup_s=0.0,
        roll_rate_radps=0.0, pitch_rate_radps=0.0, yaw_rate_radps=0.0,
        hand_deceleration_mps2=1.0, hand_lag_mps=0.0, grip_to_disc_m=grip_m,
        clear_margin_m=CLEAR_MARGIN_M, carry_s=_listening(setup, RAMP_REST_S),
        carry_pitch_rad=card.ramp_angle_rad.value,
        step_mps2=0.0, step_hz=1.0, shake_m=0.0, shake_hz=1.0, shakes=0.0, hold_s=0.0, spin_in_hand=0.0,
    )  # fmt: skip


def line_group(setup: Setup) -> Line:
    """Return the line; all zero but a unit length when there is none."""
    card = setup.line
    if card is None:
        return Line(0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, math.pi, 0.0, 0.0, 0.0)
    stiffness, hardening = card.stiffness_and_hardening()
    return Line(
        stiffness_npm=stiffness,
        hardening=hardening,
        returned_share=card.returned_share.value,
        stretch_m=card.stretch_m.value,
        natural_m=card.natural_length_m.value,
        line_mass_kg=card.line_mass_kg.value,
        friction=card.friction.value,
        ramp_m=card.ramp_length_m.value,
        ramp_rad=card.ramp_angle_rad.value,
        hook_x_m=card.hook_forward_m.value,
        hook_z_m=card.hook_down_m.value,
        hook_limit_rad=card.hook_limit_rad.value,
        stuck=0.0,
        used=1.0,
        height_m=card.ramp_height_m.value,
    )


def to_ten_metres(setup: Setup) -> float:
    """Return the mean wind at 10 m over that at the height where it was measured, by the log law."""
    roughness = setup.site.roughness_m.value
    return math.log(REFERENCE_HEIGHT_M / roughness) / math.log(setup.day.wind_height_m.value / roughness)


def air_group(setup: Setup) -> Air:
    """Return the air of the day at the site; the wind is brought to 10 m."""
    day, site = setup.day, setup.site
    pressure = day.pressure_pa.value if day.pressure_pa else None
    return Air(
        density_kgpm3=site_density(day.temperature_k.value, site.elevation_m.value, pressure),
        wind_10m_mps=day.wind_mps.value * to_ten_metres(setup),
        wind_angle_rad=day.wind_angle_rad.value,
        roughness_m=site.roughness_m.value,
        gust_scale=day.gust_scale.value,
    )


def logic_group(setup: Setup, stall_speed_mps: float) -> Logic:
    """Return the settings of the launch logic after the cue."""
    card = setup.settings
    pitch, speed = card.early_pitch_rad, card.early_speed_mps
    early = (pitch.value, speed.value) if pitch is not None and speed is not None else (0.0, 0.0)
    return Logic(
        style=STYLES[setup.style],
        start_wait_s=card.start_wait_s.value,
        throttle_rise_per_s=card.throttle_rise_per_s.value,
        launch_ceiling=card.launch_ceiling_share.value,
        climb_pitch_rad=card.climb_pitch_rad.value,
        early_pitch_rad=early[0],
        early_speed_mps=early[1],
        handover_height_m=card.handover_height_m.value,
        give_up_s=card.give_up_time_s.value,
        legal_ceiling_m=setup.site.legal_ceiling_m.value,
        stall_speed_mps=stall_speed_mps,
        step_s=FLIGHT_STEP_S,
    )
