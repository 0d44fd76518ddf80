"""Which unit a column of numbers seems to be in, by its range and by what it must agree with."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from overarm.recordings.recording import Numbers

G_MPS2 = 9.80665  # standard fall, ISO 80000-3:2019
# Reading of a still accelerometer: the unit, what it reads, and what its numbers are multiplied by.
_STILL = (("g", 1.0), ("m/s2", G_MPS2), ("cm/s2", 100.0 * G_MPS2), ("mg", 1000.0))
_COUNTS = (2048.0, 4096.0, 8192.0, 16384.0)  # counts a g of converters of 16 bits; common practice, no source
_STILL_WITHIN = 0.12
_BLOCKS = 60
_MOST_ROWS = 200_000
SPEEDS = (("m/s", 1.0), ("km/h", 3.6), ("kt", 3600.0 / 1852.0), ("mph", 3600.0 / 1609.344), ("cm/s", 100.0))
HEIGHTS = (("m", 1.0), ("ft", 1.0 / 0.3048), ("cm", 100.0), ("mm", 1000.0))
_AGREES_WITHIN = 0.15
_EARTH_M = 6_371_008.8  # mean radius, IUGG 1980


class Guess(NamedTuple):
    """A unit, with scale and offset before it, why, and how sure (0..1)."""

    unit: str
    why: str
    sure: float
    scale: float = 1.0
    offset: float = 0.0


class Seen(NamedTuple):
    """The columns of numbers by the channel that they seem to be, and the times [s] if they are known."""

    columns: Mapping[str, Numbers]
    t_s: Numbers | None


def guess_unit(channel: str, seen: Seen) -> Guess:
    """Return the unit that a channel's column seems to be in. Pure guessing; a person confirms it."""
    with np.errstate(all="ignore"):  # whatever an unknown table holds
        return _guess_unit(channel, seen)


def _guess_unit(channel: str, seen: Seen) -> Guess:
    numbers = _clean(seen.columns[channel])
    if not numbers.size:
        return Guess(_USUAL.get(channel, ""), "it has no sample; the usual unit", 0.3)
    top = float(np.quantile(np.abs(numbers), 0.999))
    if channel.startswith("force_"):
        return _force(seen)
    if channel.endswith("_rate"):
        return _rate(channel, seen, top)
    if channel in ("bank", "pitch", "heading", "course", "left_surface", "right_surface"):
        return _angle(channel, top)
    if channel in ("latitude", "longitude"):
        return _place(top)
    if channel in ("airspeed", "ground_speed", "climb"):
        return _speed(channel, seen, top)
    if channel in ("satellite_height", "baro_height"):
        return _height(channel, seen, numbers)
    if channel == "throttle":
        return _throttle(numbers)
    return _electric(channel, top)


_USUAL = {"volts": "V", "current": "A", "propeller": "rpm", "throttle": "%", "climb": "m/s"}


def _clean(numbers: Numbers) -> Numbers:
    kept = numbers[np.isfinite(numbers)]
    return kept[:: max(1, kept.size // _MOST_ROWS)]


def still_force(seen: Seen) -> float | None:
    """Return the median of the total force in the quietest fifth of a recording; None without three axes."""
    axes = [seen.columns.get(f"force_{axis}") for axis in "xyz"]
    if any(axis is None for axis in axes):
        return None
    together = np.stack([axis for axis in axes if axis is not None])
    together = together[:, np.isfinite(together).all(axis=0)]
    if together.shape[1] < 5:
        return None
    with np.errstate(all="ignore"):
        total = np.sqrt((together**2).sum(axis=0))
        blocks = np.array_split(total, min(_BLOCKS, max(1, total.size // 5)))
        spread = np.array([float(block.std()) for block in blocks])
        quiet = np.argsort(spread)[: max(1, len(blocks) // 5)]
        return float(np.median(np.concatenate([blocks[k] for k in quiet])))


def gravity_of(seen: Seen) -> str:
    """Return why the forces seem to have no gravity in them; "" if they have, or if that is not known."""
    still = still_force(seen)
    if still is None:
        return ""
    axes = [_clean(seen.columns[f"force_{axis}"]) for axis in "xyz"]
    most = max(float(np.abs(axis).max()) for axis in axes)
    if still < 0.08 * most and still < 0.5:
        return f"still, the total force is {still:.2g}, where gravity would be felt"
    return ""


def _force(seen: Seen) -> Guess:
    still = still_force(seen)
    if still is None:
        return Guess("m/s2", "the usual unit; without all three axes gravity cannot tell", 0.4)
    said = f"still, the total force is {still:.3g}"
    near = sorted((abs(math.log(still / reads)), unit) for unit, reads in _STILL) if still > 0.0 else []
    if near and near[0][0] <= _STILL_WITHIN:
        unit, other = near[0][1], near[1]
        if other[0] <= _STILL_WITHIN:  # mg and cm/s2 are two hundredths apart
            return Guess(unit, f"{said}, as gravity is in {unit}, but it could be {other[1]}", 0.7)
        return Guess(unit, f"{said}, as gravity is in {unit}", 0.95)
    for counts in _COUNTS:
        if abs(still / counts - 1.0) <= _STILL_WITHIN:
            return Guess("g", f"{said}, as gravity is with {counts:g} counts a g", 0.7, 1.0 / counts)
    if gravity_of(seen):
        return Guess("m/s2", f"{said}: gravity seems to be taken off, so the unit cannot be told", 0.4)
    return Guess("m/s2", f"{said}, which is gravity in no unit", 0.2)


def _rate(channel: str, seen: Seen, top: float) -> Guess:
    angle = {"roll_rate": "bank", "pitch_rate": "pitch", "yaw_rate": "heading"}[channel]
    if angle in seen.columns and seen.t_s is not None:
        ratio = _ratio(seen.columns[channel], _slope(seen.t_s, seen.columns[angle]))
        degrees = _angle(angle, float(np.quantile(np.abs(_clean(seen.columns[angle])), 0.999))).unit == "deg"
        if ratio is not None:
            per_rad = ratio * (math.degrees(1.0) if degrees else 1.0)
            for unit, one in (("rad/s", 1.0), ("deg/s", math.degrees(1.0))):
                if abs(per_rad / one - 1.0) <= 2.0 * _AGREES_WITHIN:
                    return Guess(unit, f"in {unit} it is how fast {angle} changes", 0.9)
    if top > 70.0:
        return Guess("deg/s", f"it reaches {top:.3g}, which no aeroplane turns in rad/s", 0.9)
    unit = "deg/s" if top > 12.0 else "rad/s"
    return Guess(unit, f"it reaches {top:.3g}; check the unit", 0.5)


def _angle(channel: str, top: float) -> Guess:
    limit = 1.6 if channel == "pitch" else 6.3 if channel in ("heading", "course") else 3.2
    if top > 370.0:
        return Guess("deg", f"it reaches {top:.4g}, as hundredths of a degree do", 0.7, 0.01)
    if top > limit:
        return Guess("deg", f"it reaches {top:.3g}, more than an angle in rad can", 0.95)
    return Guess("rad", f"it stays below {limit:g}, as an angle in rad does; check it", 0.6)


def _place(top: float) -> Guess:
    if top > 1800.0:
        return Guess("deg", f"it reaches {top:.4g}, as ten-millionths of a degree do", 0.8, 1e-7)
    return Guess("deg", f"it stays within {top:.4g} degrees", 0.9 if top > 3.2 else 0.5)


def _speed(channel: str, seen: Seen, top: float) -> Guess:
    other = None
    if channel == "ground_speed":
        other, said = _speed_over_ground(seen), "how fast its position moves"
    elif channel == "climb":
        other, said = _climb(seen), "how fast its height in m changes"
    else:
        said = ""
    ratio = _ratio(seen.columns[channel], other) if other is not None else None
    if ratio is not None:
        for unit, one in SPEEDS:
            if abs(abs(ratio) / one - 1.0) <= _AGREES_WITHIN:
                down = "; its sign is turned" if ratio < 0.0 else ""
                return Guess(unit, f"in {unit} it is {said}{down}", 0.9, -1.0 if ratio < 0.0 else 1.0)
    if top > 300.0:
        return Guess("cm/s", f"it reaches {top:.3g}, too much for m/s or km/h", 0.7)
    if top > 45.0:
        return Guess("km/h", f"it reaches {top:.3g}, much for m/s", 0.5)
    return Guess("m/s", f"it reaches {top:.3g}; it could be another unit", 0.5)


def _height(channel: str, seen: Seen, numbers: Numbers) -> Guess:
    other = "baro_height" if channel == "satellite_height" else "satellite_height"
    span = float(numbers.max() - numbers.min())
    if channel == "baro_height" and other in seen.columns:
        there = _clean(seen.columns[other])
        spans = float(there.max() - there.min()) if there.size else 0.0
        if spans > 5.0:
            for unit, one in HEIGHTS:
                if abs(span / spans / one - 1.0) <= 0.25:
                    return Guess(unit, f"in {unit} it changes like {other} in m", 0.7)
    if span > 2000.0:
        return Guess("cm", f"it changes by {span:.4g}, too much for m", 0.7)
    return Guess("m", f"it changes by {span:.3g}; it could be ft", 0.6)


def _throttle(numbers: Numbers) -> Guess:
    low, high = float(numbers.min()), float(numbers.max())
    said = f"it runs from {low:.4g} to {high:.4g}"
    if low >= -1.05 and high <= 1.05:
        return Guess("", f"{said}, as a share does", 0.9 if high > 0.2 else 0.6)
    if low >= -5.0 and high <= 105.0:
        return Guess("%", f"{said}, as percent do", 0.9)
    if low >= 700.0 and high <= 2300.0:
        return Guess("%", f"{said}, as pulses of 1000 to 2000 us do", 0.85, 0.1, -100.0)
    return Guess("%", f"{said}, which is no range that is known", 0.2)


def _electric(channel: str, top: float) -> Guess:
    said = f"it reaches {top:.4g}"
    if channel == "volts":
        return Guess("mV", f"{said}, as mV do", 0.9) if top > 120.0 else Guess("V", f"{said}, as V do", 0.9)
    if channel == "current":
        return Guess("mA", f"{said}, as mA do", 0.8) if top > 400.0 else Guess("A", f"{said}, as A do", 0.8)
    if channel == "propeller":
        fast = top > 700.0
        return Guess("rpm" if fast else "Hz", f"{said}, as {'rpm' if fast else 'turns a second'} do", 0.8)
    return Guess("", said, 0.7)


def guess_time(numbers: Numbers) -> Guess:
    """Return the unit in which a column of times makes a recording of a usual rate and length."""
    with np.errstate(all="ignore"):
        steps = np.diff(_raw(numbers))
    steps = steps[np.isfinite(steps) & (steps > 0.0)]
    if steps.size < 1:
        return Guess("s", "it does not rise", 0.1)
    with np.errstate(all="ignore"):
        step, length = float(np.median(steps)), float(steps.sum())
    best = None
    for unit, one in (("s", 1.0), ("ms", 1e-3), ("us", 1e-6)):
        rate, lasts = 1.0 / max(step * one, 1e-300), length * one
        if not (0.5 <= rate <= 4000.0 and lasts <= 6 * 3600.0):
            continue
        off = abs(math.log(rate / 50.0))
        if best is None or off < best[0]:
            best = off, Guess(unit, f"in {unit} it has {rate:.3g} rows a second for {lasts:.4g} s", 0.9)
    return best[1] if best is not None else Guess("s", f"its usual step is {step:.3g}", 0.2)


def _raw(numbers: Numbers) -> Numbers:
    return numbers[np.isfinite(numbers)]


def _slope(t_s: Numbers, numbers: Numbers) -> Numbers:
    """Return how fast a column changes, at its own samples, NaN elsewhere; shape (n,)."""
    found = np.full(numbers.shape, np.nan)
    rows = np.flatnonzero(np.isfinite(numbers) & np.isfinite(t_s))
    if rows.size > 4:
        far = 2 if rows.size > 40 else 1
        step = t_s[rows[2 * far :]] - t_s[rows[: -2 * far]]
        change = numbers[rows[2 * far :]] - numbers[rows[: -2 * far]]
        good = step > 0.0
        found[rows[far:-far][good]] = change[good] / step[good]
    return found


def _ratio(numbers: Numbers, other: Numbers) -> float | None:
    """Return what a column is of another, by least squares; None if they do not go together."""
    both = np.isfinite(numbers) & np.isfinite(other)
    if np.count_nonzero(both) < 10:
        return None
    x, y = other[both], numbers[both]
    with np.errstate(all="ignore"):
        kept = np.abs(x) <= np.quantile(np.abs(x), 0.98)  # steps round the circle, outliers
        x, y = x[kept], y[kept]
        power = float(x @ x)
        if power <= 0.0 or float(y @ y) <= 0.0:
            return None
        together = float(x @ y) / math.sqrt(power * float(y @ y))
        return float(x @ y) / power if abs(together) > 0.8 else None


def _speed_over_ground(seen: Seen) -> Numbers | None:
    """Return the speed [m/s] of the positions, shape (n,); None without them."""
    latitude, longitude = seen.columns.get("latitude"), seen.columns.get("longitude")
    if latitude is None or longitude is None or seen.t_s is None or not _clean(latitude).size:
        return None
    scale = _place(float(np.abs(_clean(latitude)).max())).scale
    radians = math.radians(1.0) * scale
    middle = math.cos(float(np.median(_clean(latitude))) * radians)
    north = _slope(seen.t_s, latitude) * radians * _EARTH_M
    east = _slope(seen.t_s, longitude) * radians * _EARTH_M * middle
    return np.hypot(north, east)


def _climb(seen: Seen) -> Numbers | None:
    """Return how fast a height changes in the unit that it seems to be in, as m/s; None without one."""
    for name in ("baro_height", "satellite_height"):
        if name in seen.columns and seen.t_s is not None and _clean(seen.columns[name]).size:
            guess = _height(name, seen, _clean(seen.columns[name]))
            return _slope(seen.t_s, seen.columns[name]) / dict(HEIGHTS)[guess.unit]
    return None
