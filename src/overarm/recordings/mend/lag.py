"""Speed and place by satellite that come late: how late is told by the forces of the throw.

The forward force, less gravity and summed up over time, is the speed that the throw gives. The lag is the
shift in time at which the speed by satellite fits it best, straight line and all: its level is free, and
its scale, for the path of the throw is not level.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from overarm.recordings.mend.parts import changed, counted, listed
from overarm.recordings.mend.still import LONGEST_STEP_S, lobes
from overarm.recordings.recording import Channel, Numbers, Recording, Repair

BY_SATELLITE = ("ground_speed_mps", "course_rad", "latitude_rad", "longitude_rad", "satellite_height_m")
G_MPS2 = 9.80665
LONGEST_LAG_S = 1.2
LEAST_LAG_S = 0.08  # below, it is not told from the rounding of ten samples a second
TRIED_S = 0.01
BEFORE_S = 0.5  # of the throw, from which the speed by satellite is compared
AFTER_S = 1.2
FEWEST = 5
AT_REST_MPS = 0.7
SCALE = (0.6, 1.6)  # speed by satellite over speed by force
FITS = 0.15  # of the speed gained: a fit with larger residuals tells nothing
BETTER = 0.5  # of the squares that are left without a shift


class Fit(NamedTuple):
    """The lag that fits one throw [s], and when the throw began and ended [s]."""

    lag_s: float
    from_s: float
    to_s: float


def take_out_lag(recording: Recording) -> Recording:
    """Move what comes by satellite to when it was, if at least one throw tells how late it is."""
    speed, force = recording.channel("ground_speed_mps"), recording.channel("force_x_mps2")
    if speed is None or force is None or listed(recording, "satellite lag", "ground_speed_mps"):
        return recording
    if speed.t_s.size < FEWEST or force.t_s.size < FEWEST:
        return recording
    ahead = _ahead(recording, force)
    fits = []
    for lobe in lobes(force.t_s, ahead[:, None]):
        if lobe.gained_mps[0] > 0.0:
            fit = _fit(speed, force.t_s, ahead, (lobe.from_s, lobe.to_s))
            fits += [fit] if fit is not None else []
    lag_s = float(np.median([fit.lag_s for fit in fits])) if fits else 0.0
    return _moved(recording, speed, fits, lag_s) if lag_s >= LEAST_LAG_S else recording


def _ahead(recording: Recording, force: Channel) -> Numbers:
    """Return the forward force without gravity [m/s2], at the times of the force."""
    pitch = recording.channel("pitch_rad")
    if recording.gravity_felt and pitch is not None:
        return force.values - G_MPS2 * np.sin(np.interp(force.t_s, pitch.t_s, pitch.values))
    return force.values - float(np.median(force.values)) if recording.gravity_felt else force.values


def _fit(speed: Channel, t_s: Numbers, ahead: Numbers, throw_s: tuple[float, float]) -> Fit | None:
    window = (t_s >= throw_s[0] - BEFORE_S - LONGEST_LAG_S) & (t_s <= throw_s[1] + AFTER_S)
    compared = (speed.t_s >= throw_s[0] - BEFORE_S) & (speed.t_s <= throw_s[1] + AFTER_S)
    if compared.sum() < FEWEST or window.sum() < FEWEST:
        return None
    at_s, seen = speed.t_s[compared], speed.values[compared]
    times, felt = t_s[window], ahead[window]
    steps = np.diff(times)
    if steps.max() > LONGEST_STEP_S or times[0] > at_s[0] or float(np.ptp(seen)) == 0.0:
        return None
    gained = np.concatenate(([0.0], np.cumsum(0.5 * (felt[1:] + felt[:-1]) * steps)))
    if np.interp(times[0], speed.t_s, speed.values) < AT_REST_MPS:
        gained = np.abs(gained)  # a speed has no sign, and the arm draws back first
    lags_s = np.arange(0.0, LONGEST_LAG_S + TRIED_S, TRIED_S)
    tried = [_line(np.interp(at_s - lag_s, times, gained), seen) for lag_s in lags_s]
    left = np.array([squares for squares, _ in tried])
    best = int(np.argmin(left))
    rms = float(np.sqrt(left[best] / at_s.size))
    scale = tried[best][1]
    fits = SCALE[0] <= scale <= SCALE[1] and rms <= FITS * float(np.ptp(seen))
    if not fits or best == lags_s.size - 1:
        return None
    told = best > 0 and left[best] <= BETTER * left[0]
    return Fit(_refined(lags_s, left, best) if told else 0.0, *throw_s)


def _line(gained: Numbers, seen: Numbers) -> tuple[float, float]:
    """Return the sum of squares that a straight line leaves, and its slope."""
    x, y = gained - gained.mean(), seen - seen.mean()
    size = float((x * x).sum())
    slope = float((x * y).sum()) / size if size > 1e-12 else 0.0
    return float(((y - slope * x) ** 2).sum()), slope


def _refined(lags_s: Numbers, left: Numbers, best: int) -> float:
    """Return the lowest point of the parabola through the best lag and its neighbours [s]."""
    before, here, after = left[best - 1 : best + 2]
    bend = before - 2.0 * here + after
    off = 0.5 * (before - after) / bend if bend > 0.0 else 0.0
    return float(lags_s[best] + TRIED_S * off)


def _moved(recording: Recording, speed: Channel, fits: list[Fit], lag_s: float) -> Recording:
    channels: dict[str, Channel] = {}
    across = 0
    for name in (*BY_SATELLITE, "climb_mps"):
        channel = recording.channel(name)
        if channel is None or (name == "climb_mps" and channel.t_s.size > 1.5 * speed.t_s.size):
            continue  # a fast rate of climb does not come by satellite
        t_s = channel.t_s - lag_s
        joins = np.array(recording.breaks_s)
        stays = np.searchsorted(joins, t_s) == np.searchsorted(joins, channel.t_s)
        across += int((~stays).sum())
        done = f"{channel.source}; moved {lag_s:.3f} s back"
        channels[name] = Channel(t_s[stays], channel.values[stays], done)
    spread = f", between {min(f.lag_s for f in fits):.2f} and {max(f.lag_s for f in fits):.2f} s"
    sentence = (
        f"What comes by satellite is {lag_s:.2f} s late, by {counted(len(fits), 'throw')}"
        f"{spread if len(fits) > 1 else ''}. Moved back by that: {', '.join(channels)}."
    )
    if across:
        sentence += f" {counted(across, 'sample')} that would have crossed a break left out."
    ends = fits[0].from_s, fits[-1].to_s
    repair = Repair("satellite lag", "ground_speed_mps", len(fits), sentence, "watch", *ends)
    return changed(replace(recording), channels, [repair])
