"""Recordings for the tests of the trigger room, put together by hand."""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.physics.trigger import Trigger
from overarm.recordings.recording import Channel, Recording

G_MPS2 = 9.80665
RAW = Trigger(
    level_mps2=8.0, dwell_s=0.10, jerks=1.0, gravity_free=0.0, speed_gate_mps=0.0, speed_window_s=2.0,
    pitch_low_rad=-7.0, pitch_high_rad=7.0, bank_limit_rad=7.0, still_s=0.0,
)  # fmt: skip


def sampled(t_s: NDArray[Any], values: NDArray[Any]) -> Channel:
    return Channel(t_s.astype(np.float64), values.astype(np.float64), "made by hand")


def recorded(
    *,
    name: str = "made.csv",
    gravity_felt: bool = True,
    breaks_s: tuple[float, ...] = (),
    label: Any = "",
    **channels: Channel,
) -> Recording:
    made = hashlib.sha256()
    for key, channel in channels.items():
        made.update(key.encode() + channel.t_s.tobytes() + channel.values.tobytes())
    return Recording(
        name=name, sha256=made.hexdigest(), form="table", channels=channels, breaks_s=breaks_s,
        gravity_felt=gravity_felt, label=label,
    )  # fmt: skip


def _whole(
    t_s: NDArray[Any], forward: NDArray[Any], pitch_rad: NDArray[Any], seed: int, **more: Any
) -> Recording:
    """Return a recording of a model that moves along its body axis, with the noise of an ordinary board."""
    draws = np.random.default_rng(seed).normal(0.0, 0.15, (3, t_s.size))
    return recorded(
        force_x_mps2=sampled(t_s, forward + G_MPS2 * np.sin(pitch_rad) + draws[0]),
        force_y_mps2=sampled(t_s, draws[1]),
        force_z_mps2=sampled(t_s, -G_MPS2 * np.cos(pitch_rad) + draws[2]),
        pitch_rad=sampled(t_s, pitch_rad),
        bank_rad=sampled(t_s, np.zeros(t_s.size)),
        **more,
    )


def walked(
    seconds: float = 120.0, step_mps2: float = 2.0, pitch_deg: float = 8.0, rate_hz: float = 100.0,
    seed: int = 1, **more: Any,
) -> Recording:  # fmt: skip
    """Return a carry: steps at 1.9 Hz of a size that varies, and a pose that nods."""
    t_s = np.arange(round(seconds * rate_hz)) / rate_hz
    size = step_mps2 * (1.0 + 0.25 * np.sin(0.37 * t_s + seed))
    pitch = np.radians(pitch_deg + 3.0 * np.sin(0.23 * t_s))
    return _whole(t_s, size * np.sin(2.0 * np.pi * 1.9 * t_s), pitch, seed, **more)


def shaken(
    times: int = 5,
    reach_m: float = 0.08,
    shake_hz: float = 2.5,
    rate_hz: float = 100.0,
    seed: int = 2,
    **more: Any,
) -> Recording:
    """Return shakes of three swings, 6 s apart; each a little harder than the last."""
    t_s = np.arange(round((6.0 * times + 4.0) * rate_hz)) / rate_hz
    forward = np.zeros(t_s.size)
    for k in range(times):
        since = t_s - (4.0 + 6.0 * k)
        on = (since >= 0.0) & (since < 3.0 / shake_hz)
        turn = 2.0 * np.pi * shake_hz
        forward[on] = -reach_m * (0.9 + 0.06 * k) * turn**2 * np.cos(turn * since[on])
    return _whole(t_s, forward, np.full(t_s.size, np.radians(6.0)), seed, **more)


def thrown(
    times: int = 5, speed_mps: float = 8.4, stroke_m: float = 1.25, rate_hz: float = 100.0, seed: int = 3,
    windup_m: float = 0.4, **more: Any,
) -> Recording:  # fmt: skip
    """Return throws with a draw-back of 0.55 s, 8 s apart; the model is held on to after each."""
    t_s = np.arange(round((8.0 * times + 4.0) * rate_hz)) / rate_hz
    forward = np.zeros(t_s.size)
    for k in range(times):
        speed = speed_mps * (0.94 + 0.03 * k)
        lasts = 2.0 * stroke_m / speed
        since = t_s - (5.0 + 8.0 * k)
        back = (since >= -0.55) & (since < 0.0)
        forward[back] = -0.5 * windup_m * (np.pi / 0.55) ** 2 * np.cos(np.pi * (since[back] + 0.55) / 0.55)
        on = (since >= 0.0) & (since < lasts)
        forward[on] = 0.5 * np.pi * speed / lasts * np.sin(np.pi * since[on] / lasts)
        after = (since >= lasts) & (since < lasts + 0.5)
        forward[after] = -speed / 0.5
    return _whole(t_s, forward, np.full(t_s.size, np.radians(8.0)), seed, **more)
