"""The launch of a synthetic recording: flown by the simulator, told in the columns of a motion."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import Inputs, fly_one
from overarm.flight.draw import draw
from overarm.flight.record import GROUPS
from overarm.flight.trace import RPM_PER_RADPS, as_columns, blank_trace
from overarm.physics.sensor import Board
from overarm.rng import STREAM_SENSOR, normal
from overarm.specimens.motion import ANGLES, FORCES, PLACE, RATES, SPEED, Motion, Numbers, levers

# No force of a launch comes near: what the board of the file clips is clipped when it is written.
UNCLIPPED_MPS2 = 1e4
WAITING, RISING, GIVEN_UP = 2.0, 3.0, 6.0


@dataclass(frozen=True, slots=True, eq=False)
class Flown:
    """One launch as it was: its record, its summary, and its motion; times from the start of listening."""

    record: Any  # groups of named values, as in `overarm.flight.record`
    summary: dict[str, float]
    motion: Motion
    trace: dict[str, Numbers]


def record_of(row: NDArray[np.void]) -> Any:
    """Return one launch record as named tuples of plain numbers: ``record.hand.speed_mps``."""
    groups = {name: kind(*(float(v) for v in row[name])) for name, kind in GROUPS.items()}
    return SimpleNamespace(**groups)


def flown(inputs: Inputs, seed: int, launch: int) -> Flown:
    """Fly one launch of a campaign again.

    Parameters
    ----------
    inputs : Inputs
    seed, launch : int
        As in `overarm.flight.campaign.run`.

    Returns
    -------
    Flown
        Its motion holds forces without tilt, bias, noise and clipping.
    """
    rows, _ = draw(inputs.base, inputs.rules, 1, seed, launch)
    rows["board"]["range_mps2"] = UNCLIPPED_MPS2
    samples = blank_trace()
    out = fly_one(inputs, rows, seed, launch, samples)[0]
    summary = {name: float(out[name]) for name in out.dtype.names}
    record = record_of(rows[0])
    trace = as_columns(samples)
    return Flown(record, summary, _motion(record, summary, trace, (seed, launch)), trace)


def _motion(
    record: Any, summary: dict[str, float], trace: dict[str, Numbers], who: tuple[int, int]
) -> Motion:
    t_s = trace["t_s"]
    held = t_s < summary["release_s"] - 1e-9 if summary["release_s"] >= 0.0 else np.ones(t_s.size, bool)
    on_line = record.logic.style == 2.0
    free = ~held if not on_line else trace["drag_n"] > 0.0
    motion: Motion = {name: trace[name] for name in ("t_s", *SPEED, *ANGLES, *RATES)}
    motion.update(zip(PLACE, (trace["x_m"], trace["y_m"], trace["height_m"]), strict=True))
    motion["heading_rad"] = np.unwrap(trace["heading_rad"])
    motion.update(zip(FORCES, _forces(record, motion, trace, free, who), strict=True))
    motion["throttle"] = asked_throttle(record, summary, trace)
    motion["spin_radps"] = trace["rpm"] / RPM_PER_RADPS
    motion["volts_v"] = np.where(trace["volts_v"] > 0.0, trace["volts_v"], record.pack.open_volts)
    drawn = (record.pack.open_volts - motion["volts_v"]) / record.pack.resistance_ohm
    motion["current_a"] = np.where(free, trace["current_a"], np.maximum(0.0, drawn))
    motion["airspeed_mps"] = trace["airspeed_mps"]
    motion["state"] = trace["state"]
    elevator, aileron = trace["elevator_rad"], trace["aileron_rad"]
    mixed = record.surfaces.mixed > 0.5
    motion["left_surface_rad"] = elevator + aileron if mixed else aileron
    motion["right_surface_rad"] = elevator - aileron if mixed else -aileron
    return motion


def _forces(
    record: Any, motion: Motion, trace: dict[str, Numbers], free: NDArray[np.bool_], who: tuple[int, int]
) -> tuple[Numbers, Numbers, Numbers]:
    """Return the felt forces at the sensor without its errors.

    In the hand the trace has the reading of the forward sensor, with tilt, bias and the noise of a known
    number; in flight the bare force at the balance point.
    """
    board: Board = record.board
    x, y, z = (trace[name].copy() for name in ("felt_mps2", "felt_y_mps2", "felt_z_mps2"))
    noise = np.array([normal(k, who[1], STREAM_SENSOR, who[0]) for k in range(x.size)])
    shaking = board.vibration_mps2 * trace["throttle"]
    sigma = np.sqrt(board.noise_mps2**2 + shaking**2)
    level = x - board.bias_mps2 - sigma * noise + z * math.sin(board.tilt_rad)
    turning = levers(motion, board)
    x = np.where(free, x + turning[0], level / math.cos(board.tilt_rad))
    return x, np.where(free, y + turning[1], y), np.where(free, z + turning[2], z)


def asked_throttle(record: Any, summary: dict[str, float], trace: dict[str, Numbers]) -> Numbers:
    """Return the throttle that the autopilot asks for [0..1]: it rises after the start wait.

    Equation: ``min(ceiling, rise (t - detection - wait))``; nothing once the launch is given up.
    """
    if summary["detection_s"] < 0.0:
        return np.zeros_like(trace["t_s"])
    since = trace["t_s"] - summary["detection_s"] - record.logic.start_wait_s
    rising = np.clip(record.logic.throttle_rise_per_s * since, 0.0, record.logic.launch_ceiling)
    return np.where(trace["state"] == GIVEN_UP, 0.0, rising)
