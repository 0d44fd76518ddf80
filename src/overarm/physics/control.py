"""Attitude control of the autopilot: hold a pitch, hold wings level.

An angle error asks for a body rate; a rate error moves the surface; an integral takes up trim and
can wind up in the hand. Gains fall with the square of the reported speed above the design speed.
"""

from __future__ import annotations

from typing import NamedTuple

from overarm.jit import scalar
from overarm.physics.surfaces import limited


class Control(NamedTuple):
    """Gains of the two loops.

    Response [1/s]: body rate asked per angle error. Gain [s]: surface angle per rate error.
    Integral [1/s]: surface angle per rate error and second, as a share of the gain.
    """

    pitch_response_per_s: float
    pitch_gain_s: float
    pitch_integral_per_s: float
    roll_response_per_s: float
    roll_gain_s: float
    roll_integral_per_s: float
    integral_limit_rad: float
    rate_limit_radps: float
    design_speed_mps: float
    winds_up: float  # 1 if the integrals run while the model is held
    speed_aided: float  # 1 if the attitude estimate allows for the change of ground speed


class ControlState(NamedTuple):
    """Integrals of the two loops [rad of surface]."""

    pitch_rad: float
    roll_rad: float


@scalar
def control_step(
    control: Control,
    state: ControlState,
    errors_rad: tuple[float, float],
    rates_radps: tuple[float, float],
    speed_mps: float,
    step_s: float,
) -> tuple[ControlState, float, float]:
    """Return (new state, elevator demand, aileron demand) [rad], before trim and limits.

    ``errors_rad``: pitch and bank wanted less estimated; ``rates_radps``: pitch and roll rate.
    A nose-up demand needs the trailing edge up, hence the minus sign of the elevator.
    """
    pitch_rate = limited(control.pitch_response_per_s * errors_rad[0], control.rate_limit_radps)
    roll_rate = limited(control.roll_response_per_s * errors_rad[1], control.rate_limit_radps)
    ratio = max(1.0, speed_mps / control.design_speed_mps)
    scale = 1.0 / (ratio * ratio)
    pitch_error = (pitch_rate - rates_radps[0]) * control.pitch_gain_s * scale
    roll_error = (roll_rate - rates_radps[1]) * control.roll_gain_s * scale
    limit = control.integral_limit_rad
    new = ControlState(
        limited(state.pitch_rad + control.pitch_integral_per_s * pitch_error * step_s, limit),
        limited(state.roll_rad + control.roll_integral_per_s * roll_error * step_s, limit),
    )
    return new, -(pitch_error + new.pitch_rad), roll_error + new.roll_rad
