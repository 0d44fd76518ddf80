"""The tilt jig: tilt of the board and error of its accelerometer, told apart by several known angles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.learn.bench.propagate import Figure

STEPS = 50
SMALL = 1e-12


class JigReading(NamedTuple):
    """What the forward accelerometer reads [m/s2] with the model nose-up by an angle [rad]."""

    angle: Figure
    force_mps2: Figure


class Jig(NamedTuple):
    """Tilt [rad] and bias [m/s2] of the board, and the correlation of their errors."""

    tilt_rad: Figure
    bias_mps2: Figure
    correlation: float

    def level_reading(self) -> Figure:
        """Return what the board reads [m/s2] on a level model: ``bias + g sin(tilt)``, with its error.

        It is known far better than either part, because their errors are opposite.
        """
        slope = GRAVITY_MPS2 * math.cos(self.tilt_rad.value)
        tilt, bias = slope * self.tilt_rad.error, self.bias_mps2.error
        variance = tilt * tilt + bias * bias + 2.0 * self.correlation * tilt * bias
        value = self.bias_mps2.value + GRAVITY_MPS2 * math.sin(self.tilt_rad.value)
        return Figure(value, math.sqrt(max(0.0, variance)))


def from_two(level_mps2: float, raised_mps2: float, angle_rad: float) -> tuple[float, float]:
    """Return tilt [rad] and bias [m/s2] from a level reading and one nose-up by an angle, without errors.

    Equations, from ``f = b + g sin(angle + tilt)``: ``f1 - f0 = 2 g sin(angle/2) cos(tilt + angle/2)``,
    so ``tilt = arccos((f1 - f0)/(2 g sin(angle/2))) - angle/2`` and ``b = f0 - g sin(tilt)``.
    Source: trigonometry; design formula of this project. Raises ValueError if no tilt explains them.
    """
    share = (raised_mps2 - level_mps2) / (2.0 * GRAVITY_MPS2 * math.sin(0.5 * angle_rad))
    if not -1.0 <= share <= 1.0:
        raise ValueError("the two readings differ by more than gravity can")
    tilt = math.acos(share) - 0.5 * angle_rad
    return tilt, level_mps2 - GRAVITY_MPS2 * math.sin(tilt)


def jig(tilt: Figure, bias: Figure, readings: Sequence[JigReading]) -> Jig:
    """Return tilt and bias after the readings, from what was known before.

    Both at once, by Gauss-Newton steps; the errors are those of a normal fitted at the top (Laplace). With
    level and 30 deg alone the two can hardly be told apart: one degree of tilt changes the *difference* of
    the readings by 0.02 m/s2 only. Inverted (180 deg) it changes by 0.34.
    Equations: ``f_i = b + g sin(angle_i + tilt)``, weight ``1/(e_f^2 + (g cos(angle_i + tilt) e_angle)^2)``.
    Source: A. Gelman et al., *Bayesian Data Analysis*, 3rd ed. (2013), section 4.1.
    """
    state = np.array([tilt.value, bias.value])
    before = np.diag([1.0 / max(tilt.error, SMALL) ** 2, 1.0 / max(bias.error, SMALL) ** 2])
    start = state.copy()
    information = before
    for _ in range(STEPS):
        information, push = before.copy(), before @ (start - state)
        for item in readings:
            along = item.angle.value + state[0]
            slope = GRAVITY_MPS2 * math.cos(along)
            weight = 1.0 / (item.force_mps2.error**2 + (slope * item.angle.error) ** 2)
            row = np.array([slope, 1.0])
            gap = item.force_mps2.value - state[1] - GRAVITY_MPS2 * math.sin(along)
            information += weight * np.outer(row, row)
            push += weight * gap * row
        step = np.linalg.solve(information, push)
        state = state + step
        if float(np.abs(step).max()) < SMALL:
            break
    spread = np.linalg.inv(information)
    errors = np.sqrt(np.diag(spread))
    return Jig(
        Figure(float(state[0]), float(errors[0])),
        Figure(float(state[1]), float(errors[1])),
        float(spread[0, 1] / (errors[0] * errors[1])),
    )
