"""An airspeed that is not nothing while the aeroplane is still, and that wind does not explain.

A zero shift is one of pressure: 5 Pa are 2.9 m/s at rest, 0.9 m/s at 4 m/s, 0.5 m/s at 8 m/s. So it is
taken off as pressure. Wind is told from it by its swing, and by the difference of airspeed and speed over
the ground in flight, which is the wind and not the shift.
"""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.mend.parts import changed, listed, runs
from overarm.recordings.mend.still import BLOCK_S, blocks_of, force_blocks
from overarm.recordings.recording import Channel, Numbers, Recording, Repair

LEAST_MPS = 1.0
MOST_MPS = 6.0  # 22 Pa: more than any zero of such a probe wanders
LONG_S = 5.0  # wind swings within this time
SWINGS = 0.08  # share of the pressure: wind at hand height swings by 0.3 and more
STILL_MPS2 = 1.0
STILL_MPS = 1.0
FLIES_MPS = 5.0
SETTLED_S, COMPARED_S = 0.4, 1.6  # after it flies: low, where the wind is that at the hand
EXCESS_MPS, EXCESS_SHARE = 1.2, 0.3  # of still over flight: gusts differ by less, and wind grows with height
ROUNDS = 6
HALF_RHO = 0.5 * 1.225  # ISO 2533, sea level


def zero_airspeed(recording: Recording) -> Recording:
    """Take the pressure of the first still part off the airspeed, if it is steady and no wind explains it."""
    speed = recording.channel("airspeed_mps")
    if speed is None or listed(recording, "airspeed zero", "airspeed_mps"):
        return recording
    part = _first_still(recording, speed)
    if part is None:
        return recording
    pressure = HALF_RHO * speed.values * np.abs(speed.values)
    inside = (speed.t_s >= part[0]) & (speed.t_s < part[1])
    if inside.sum() < 2 * LONG_S / BLOCK_S:
        return recording
    still_pa = float(np.median(pressure[inside]))
    shown_mps = _as_speed(still_pa)
    if not LEAST_MPS <= abs(shown_mps) <= MOST_MPS:
        return recording
    wind_mps = _wind_in_flight(recording, pressure, still_pa)
    if wind_mps is None or shown_mps < 0.0:
        means = blocks_of(speed.t_s[inside], pressure[inside][:, None]).mean_mps2[:, 0]
        if means.size < LONG_S / BLOCK_S or _swing(means) > SWINGS * abs(still_pa):
            return recording
        zero_pa, why = still_pa, "steadier than any wind"
    elif shown_mps - wind_mps > max(EXCESS_MPS, EXCESS_SHARE * shown_mps):
        zero_pa = still_pa - HALF_RHO * max(0.0, wind_mps) ** 2
        why = f"and the wind in flight is {wind_mps:.1f} m/s by the speed over the ground"
    else:
        return recording
    rest = pressure - zero_pa
    mended = np.sign(rest) * np.sqrt(np.abs(rest) / HALF_RHO)
    sentence = (
        f"The airspeed stands at {shown_mps:.1f} m/s while the aeroplane is still, from {part[0]:.1f} to "
        f"{part[1]:.1f} s, {why}. {zero_pa:.1f} Pa were taken off as pressure: little at "
        f"speed, much at low speed. Cover the probe and set its zero again before the next launch."
    )
    done = f"{speed.source}; {zero_pa:.2f} Pa taken off"
    repair = Repair("airspeed zero", "airspeed_mps", int(speed.t_s.size), sentence, "watch", *part)
    return changed(recording, {"airspeed_mps": Channel(speed.t_s, mended, done)}, [repair])


def _first_still(recording: Recording, speed: Channel) -> tuple[float, float] | None:
    """Return the first part of five seconds or more without motion [s]."""
    blocks = force_blocks(recording)
    ground = recording.channel("ground_speed_mps")
    if blocks is not None:
        starts_s, still = blocks.t_s, blocks.spread_mps2 <= STILL_MPS2
        if ground is not None:
            still &= np.interp(starts_s, ground.t_s, ground.values) <= STILL_MPS
    elif ground is not None:
        starts_s, still = ground.t_s, ground.values <= STILL_MPS
    else:
        return None
    for start, stop in zip(*runs(still), strict=True):
        from_s, to_s = float(starts_s[start]), float(starts_s[stop - 1])
        if to_s - from_s >= LONG_S:
            return max(from_s, float(speed.t_s[0])), to_s
    return None


def _wind_in_flight(recording: Recording, pressure_pa: Numbers, still_pa: float) -> float | None:
    """Return the headwind of the first seconds of flight [m/s], the zero of the probe taken off; None untold.

    The zero is what the still part shows beyond this wind, and the wind is the airspeed without the zero less
    the speed over the ground; a few rounds of both agree.
    """
    speed, ground = recording.channels["airspeed_mps"], recording.channel("ground_speed_mps")
    flies = np.flatnonzero(ground.values > FLIES_MPS) if ground is not None else np.empty(0, np.intp)
    if ground is None or not flies.size:
        return None
    from_s = float(ground.t_s[flies[0]]) + SETTLED_S
    inside = (ground.t_s >= from_s) & (ground.t_s <= from_s + COMPARED_S)
    if not inside.any():
        return None
    at_s, over_mps = ground.t_s[inside], ground.values[inside]
    climb = recording.channel("climb_mps")
    if climb is not None:  # the airspeed is along the path, the speed over the ground is level
        over_mps = np.hypot(over_mps, np.interp(at_s, climb.t_s, climb.values))
    flight_pa = np.interp(at_s, speed.t_s, pressure_pa)
    wind_mps, zero_pa = 0.0, 0.0
    for _ in range(ROUNDS):
        air_mps = np.sqrt(np.maximum(flight_pa - zero_pa, 0.0) / HALF_RHO)
        wind_mps = float(np.median(air_mps - over_mps))
        zero_pa = still_pa - HALF_RHO * max(0.0, wind_mps) ** 2
    return wind_mps


def _swing(means_pa: Numbers) -> float:
    """Return the standard deviation by the middle eight tenths: a first jerk in the hand does not count."""
    low, high = np.percentile(means_pa, (10.0, 90.0))
    return float(high - low) / (2.0 * 1.2816)


def _as_speed(pressure_pa: float) -> float:
    return math.copysign(math.sqrt(abs(pressure_pa) / HALF_RHO), pressure_pa)
