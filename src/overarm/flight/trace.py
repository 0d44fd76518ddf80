"""Samples of a few chosen launches, one row of columns a sample."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.frames import angles_from_quaternion, body_to_launch
from overarm.jit import scalar

COLUMNS = (
    "t_s",
    "x_m",
    "y_m",
    "height_m",
    "airspeed_mps",
    "groundspeed_mps",
    "pitch_rad",
    "bank_rad",
    "alpha_rad",
    "felt_mps2",
    "throttle",
    "rpm",
    "tip_mps",
    "thrust_n",
    "drag_n",
    "volts_v",
    "current_a",
    "elevator_rad",
    "aileron_rad",
    "speed_ratio",
    "state",
    "hand_gap_m",
    "heading_rad",
    "ahead_mps",  # over the ground, in the launch frame: ahead, right, down
    "right_mps",
    "down_mps",
    "felt_y_mps2",
    "felt_z_mps2",
    "roll_rate_radps",
    "pitch_rate_radps",
    "yaw_rate_radps",
)
MOST_SAMPLES = 16_000
RPM_PER_RADPS = 30.0 / math.pi


def empty_trace() -> NDArray[np.float64]:
    """Return the array that means "keep no samples"."""
    return np.empty((0, len(COLUMNS)))


def blank_trace() -> NDArray[np.float64]:
    """Return room for one launch; the time column is NaN where no sample was written."""
    return np.full((MOST_SAMPLES, len(COLUMNS)), np.nan)


def as_columns(samples: NDArray[np.float64]) -> dict[str, NDArray[np.float64]]:
    """Return the written samples as one array a column."""
    written = samples[np.isfinite(samples[:, 0])]
    return {name: written[:, k].copy() for k, name in enumerate(COLUMNS)}


@scalar
def _note_body(rec: Any, row: Any, t_s: float, body: Any) -> None:
    bank, pitch, heading = angles_from_quaternion(body.e0, body.e1, body.e2, body.e3)
    x, y, z = body_to_launch(body.e0, body.e1, body.e2, body.e3, body.u, body.v, body.w)
    row[0] = t_s
    row[1] = body.x
    row[2] = body.y
    row[3] = -body.z
    row[5] = math.sqrt(x * x + y * y + z * z)
    row[6] = pitch
    row[7] = bank
    row[11] = RPM_PER_RADPS * body.spin
    row[12] = 0.5 * rec.propeller.diameter_m * body.spin
    row[22] = heading
    row[23] = x
    row[24] = y
    row[25] = z
    row[28] = body.p
    row[29] = body.q
    row[30] = body.r


@scalar
def note_held(
    rec: Any,
    trace: Any,
    sample: int,
    moment: Any,
    felt: Any,
    axial_mps: float,
    drive_seen: tuple[float, float],
) -> None:
    """Write a sample of the model in the hand or on the ramp, which carry all loads.

    ``axial_mps``: speed of the air through the disc; ``drive_seen``: thrust [N] and pack volts [V].
    """
    if sample >= trace.shape[0]:
        return
    row = trace[sample]
    _note_body(rec, row, moment.t_s, moment.body)
    row[4] = max(0.0, axial_mps)
    row[9] = felt.forward_mps2
    row[26] = felt.side_mps2
    row[27] = felt.down_mps2
    row[10] = moment.drive.throttle
    row[13] = drive_seen[0]
    row[15] = drive_seen[1]
    row[19] = row[4] / rec.logic.stall_speed_mps
    row[20] = moment.mind.state
    for k in (8, 14, 16, 17, 18):
        row[k] = 0.0
    row[21] = rec.hand.grip_to_disc_m + rec.hand.clear_margin_m


@scalar
def note_flying(
    rec: Any, trace: Any, sample: int, moment: Any, seen: Any, held: Any, hand_gap_m: float
) -> None:
    """Write a sample of the free aeroplane."""
    if sample >= trace.shape[0]:
        return
    row = trace[sample]
    _note_body(rec, row, moment.t_s, moment.body)
    row[4] = seen.airspeed_mps
    row[8] = seen.alpha_rad
    row[9] = seen.force_x_mps2
    row[26] = seen.force_y_mps2
    row[27] = seen.force_z_mps2
    row[10] = held.throttle
    row[13] = seen.thrust_n
    row[14] = seen.drag_n
    row[15] = seen.volts_v
    row[16] = seen.current_a
    row[17] = held.elevator_rad
    row[18] = held.aileron_rad
    row[19] = seen.airspeed_mps / rec.logic.stall_speed_mps
    row[20] = moment.mind.state
    row[21] = hand_gap_m
