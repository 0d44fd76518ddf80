"""Recordings for the tests of the trigger room, put together by hand."""

from __future__ import annotations

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
    return Recording(
        name=name, sha256="0" * 64, form="table", channels=channels, breaks_s=breaks_s,
        gravity_felt=gravity_felt, label=label,
    )  # fmt: skip
