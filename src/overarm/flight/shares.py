"""Shares of the lags in one sample and in one step: worked out when the step changes, not in each one."""

from __future__ import annotations

from typing import Any, NamedTuple

from overarm.jit import scalar
from overarm.physics.sensor import lag_share, low_pass_share
from overarm.physics.surfaces import servo_share


class Shares(NamedTuple):
    """How far each first-order lag goes towards its input [0..1]."""

    attitude: float  # in a sample of the autopilot
    speed: float  # the receiver's report, in a sample
    filter: float  # of the forward reading, in a sample
    servo: float  # in a step of the rigid body
    half_servo: float  # in half of one


@scalar
def shares_of(rec: Any, sample_s: float, step_s: float) -> Shares:
    """Return the shares for a sample time and a step [s]."""
    return Shares(
        lag_share(rec.board.attitude_time_s, sample_s),
        lag_share(rec.board.speed_delay_s, sample_s),
        low_pass_share(rec.board.filter_hz, sample_s),
        servo_share(rec.surfaces, step_s),
        servo_share(rec.surfaces, 0.5 * step_s),
    )
