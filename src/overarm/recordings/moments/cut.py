"""Pieces of a channel, and crossings of a level with their errors."""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.recording import Channel, Numbers

ROOT_12 = math.sqrt(12.0)  # an even spread of width w has the standard deviation w / sqrt(12)


def cut(channel: Channel, from_s: float, to_s: float) -> tuple[Numbers, Numbers]:
    """Return times and values of a channel within a time [s]."""
    low, high = np.searchsorted(channel.t_s, (from_s, to_s))
    return channel.t_s[low:high], channel.values[low:high]


def crossing(t_s: Numbers, values: Numbers, k: int, level: float) -> float:
    """Return when the straight line between samples k-1 and k meets a level [s]; the time of k for k = 0."""
    if k == 0:
        return float(t_s[0])
    before, after = float(values[k - 1]), float(values[k])
    if before == after:
        return float(t_s[k])
    share = min(1.0, max(0.0, (level - before) / (after - before)))
    return float(t_s[k - 1] + share * (t_s[k] - t_s[k - 1]))


def combined(*errors_s: float) -> float:
    """Return the root of the sum of squares of independent errors [s]."""
    return math.hypot(*errors_s)
