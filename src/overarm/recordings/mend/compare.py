"""How much larger a channel is than another one says it must be: by this, units are told."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.mend.parts import usual_step
from overarm.recordings.mend.still import together
from overarm.recordings.recording import Channel, Numbers, Recording

Places = NDArray[np.intp]

EARTH_M = 6_371_008.8  # mean radius, IUGG
OVER_S = 1.0  # slopes are taken over this time
TURN_OVER_S = 0.2
STARTS = 5  # stretches begin so many times within one
MOST_GAP_S = 3.0
FEWEST = 8
MOVES_MPS = 2.0
FLIES_MPS = 5.0
CLIMBS_MPS = 0.5
TIED = 0.8  # correlation, below which nothing is told
TIED_TURNS = 0.6  # slopes of angles are noisy


def _over(t_s: Numbers, over_s: float = OVER_S) -> tuple[Places, Places]:
    """Return first and last sample of stretches of about that time [s] without a long gap in them."""
    step_s = usual_step(t_s)
    apart = max(1, int(over_s / (STARTS * step_s))) if step_s > 0.0 else 1
    first = np.arange(0, t_s.size, apart)
    last = np.searchsorted(t_s, t_s[first] + over_s)
    first, last = first[last < t_s.size], last[last < t_s.size]
    near = t_s[last] - t_s[first] <= MOST_GAP_S
    return first[near], last[near]


def speed_scale(recording: Recording) -> float | None:
    """Return the speed over the ground over the speed by the positions; None if they do not tell."""
    found = together(recording, ("ground_speed_mps", "latitude_rad", "longitude_rad"))
    if found is None or found[0].size < FEWEST:
        return None
    t_s, values = found
    speed, latitude, longitude = values.T
    a, b = _over(t_s)
    north = EARTH_M * (latitude[b] - latitude[a])
    east = EARTH_M * (longitude[b] - longitude[a]) * np.cos(latitude[a])
    by_place = np.hypot(north, east) / (t_s[b] - t_s[a])
    total = np.concatenate(([0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(t_s))))
    told = (total[b] - total[a]) / (t_s[b] - t_s[a])
    moves = (by_place > MOVES_MPS) & (by_place < 120.0)
    if moves.sum() < FEWEST:
        return None
    return float(np.median(told[moves] / by_place[moves]))


def air_over_ground(recording: Recording) -> float | None:
    """Return by how much the airspeed exceeds the speed over the ground in flight [m/s]; None without one."""
    air, ground = recording.channel("airspeed_mps"), recording.channel("ground_speed_mps")
    if air is None or ground is None:
        return None
    flies = ground.values > FLIES_MPS
    if flies.sum() < FEWEST:
        return None
    return float(np.median(np.interp(ground.t_s[flies], air.t_s, air.values) - ground.values[flies]))


def height_scale(recording: Recording, name: str, reference: str) -> float | None:
    """Return a rate of climb, or the change of a height, over the change of another; None if untold."""
    channel, other = recording.channel(name), recording.channel(reference)
    if channel is None or other is None or other.t_s.size < FEWEST or channel.t_s.size < FEWEST:
        return None
    a, b = _over(other.t_s)
    from_s, to_s = other.t_s[a], other.t_s[b]
    inside = (from_s >= channel.t_s[0]) & (to_s <= channel.t_s[-1])
    a, b, from_s, to_s = a[inside], b[inside], from_s[inside], to_s[inside]
    told = _change(channel, from_s, to_s, summed=name == "climb_mps")
    return _slope((other.values[b] - other.values[a]) / (to_s - from_s), told / (to_s - from_s), CLIMBS_MPS)


def _change(channel: Channel, from_s: Numbers, to_s: Numbers, *, summed: bool) -> Numbers:
    values = channel.values
    if summed:
        mean = 0.5 * (values[1:] + values[:-1]) * np.diff(channel.t_s)
        values = np.concatenate(([0.0], np.cumsum(mean)))
    return np.asarray(np.interp(to_s, channel.t_s, values) - np.interp(from_s, channel.t_s, values))


def rate_scale(recording: Recording, rate: str, angle: str) -> float | None:
    """Return a turn rate over the slope of its angle, near level and small bank; None if it is untold."""
    turning, turned = recording.channel(rate), recording.channel(angle)
    if turning is None or turned is None or turned.t_s.size < FEWEST or turning.t_s.size < FEWEST:
        return None
    if float(np.abs(turned.values).max()) > math.pi:
        return None
    a, b = _over(turned.t_s, TURN_OVER_S)
    step_s = turned.t_s[b] - turned.t_s[a]
    inside = (turned.t_s[a] >= turning.t_s[0]) & (turned.t_s[b] <= turning.t_s[-1]) & (step_s <= 0.5)
    a, b, step_s = a[inside], b[inside], step_s[inside]
    told = _change(turning, turned.t_s[a], turned.t_s[b], summed=True)
    return _slope((turned.values[b] - turned.values[a]) / step_s, told / step_s, 0.0, TIED_TURNS)


def _slope(reference: Numbers, told: Numbers, least: float, tied: float = TIED) -> float | None:
    """Return by how much ``told`` is larger than ``reference`` where that is at least ``least``."""
    moves = np.abs(reference) > least
    if moves.sum() < FEWEST:
        return None
    x, y = reference[moves], told[moves]
    xx, yy, xy = float((x * x).sum()), float((y * y).sum()), float((x * y).sum())
    if yy == 0.0 or abs(xy) < tied * math.sqrt(xx * yy):
        return None
    return yy / xy if xy > 0.0 else xy / xx
