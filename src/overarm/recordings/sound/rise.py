"""From the speed of a propeller over time to its start, its rise and its top speed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.sound.comb import HOP_S
from overarm.recordings.sound.track import Track

Floats = NDArray[np.float64]

SHORTEST_RUN_S = 0.3  # shorter sounds are knocks or a blip that says nothing
TOP_SHARE = 0.97  # of the highest speed: from here on it has reached the top
FEWEST_RISING = 5
RISE_FROM, RISE_TO = 0.25, 0.9  # of the top speed; below, the lines are few and soft
SMOOTH_PIECES = 5


class Run(NamedTuple):
    """One run of the motor, as it sounds. Times from the start of the sound [s]."""

    from_s: float
    to_s: float
    top_turns_hz: float  # median of what is within 3 % of the highest speed [rev/s]
    top_error_hz: float
    first_sound_s: float
    first_sound_error_s: float
    top_s: float  # when the top was reached
    snr_db: float  # median height of the blade lines over the floor
    t_s: Floats
    turns_hz: Floats
    error_hz: Floats


class Rise(NamedTuple):
    """The straight part of a rise of the throttle, as the power card turns speed into throttle."""

    per_s: float  # throttle a second
    per_s_error: float
    zero_s: float  # where the line meets no throttle: when the throttle began to rise
    zero_error_s: float


def runs_of(track: Track) -> tuple[Run, ...]:
    """Return the runs of the motor of 0.3 s and more, in their order."""
    found = []
    for start, end in zip(track.starts_s, track.until_s, strict=True):
        inside = (track.t_s >= start) & (track.t_s <= end)
        if end - start >= SHORTEST_RUN_S and np.count_nonzero(inside) >= FEWEST_RISING:
            found.append(_run(track, inside, start, end))
    return tuple(found)


def _run(track: Track, inside: NDArray[np.bool_], start: float, end: float) -> Run:
    t, n, error = track.t_s[inside], track.turns_hz[inside], track.error_hz[inside]
    smooth = _running_median(n)
    highest = float(np.max(smooth))
    top = smooth >= TOP_SHARE * highest
    values = n[top]
    spread = float(np.std(values)) / np.sqrt(max(1, values.size))
    return Run(
        from_s=start,
        to_s=end,
        top_turns_hz=float(np.median(values)),
        top_error_hz=float(np.hypot(np.median(error[top]), 1.2533 * spread)),  # of a median of normal values
        first_sound_s=start,
        first_sound_error_s=HOP_S,
        top_s=float(t[top][0]),
        snr_db=float(np.median(track.snr_db[inside])),
        t_s=t,
        turns_hz=n,
        error_hz=error,
    )


def _running_median(values: Floats) -> Floats:
    """Return the median of five neighbours, fewer at the ends."""
    half = SMOOTH_PIECES // 2
    padded = np.concatenate([np.repeat(values[0], half), values, np.repeat(values[-1], half)])
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, SMOOTH_PIECES), axis=1))


def rise_of(run: Run, throttle: Floats) -> Rise | None:
    """Return the line through throttle over time between a quarter and nine tenths of the top speed.

    ``throttle``: what the power card gives for each speed of the run (k,). None where fewer than five
    pieces rise: then the rise is too fast to be told. Errors are those of a least-squares line (any text on
    statistics), with the scatter about it, not less than a piece's share of the hop.
    """
    before = run.t_s <= run.top_s
    between = (run.turns_hz >= RISE_FROM * run.top_turns_hz) & (run.turns_hz <= RISE_TO * run.top_turns_hz)
    use = before & between
    if np.count_nonzero(use) < FEWEST_RISING:
        return None
    t, s = run.t_s[use], throttle[use]
    (slope, offset), covariance = np.polyfit(t, s, 1, cov="unscaled")
    if slope <= 0.0:
        return None
    scatter = float(np.std(s - (slope * t + offset), ddof=2))
    scatter = max(scatter, slope * HOP_S / np.sqrt(12.0))
    covariance = covariance * scatter**2
    zero = -offset / slope
    # Error of a ratio: var(b/a) = (var b + z^2 var a + 2 z cov)/a^2.
    spread = covariance[1, 1] + zero**2 * covariance[0, 0] + 2.0 * zero * covariance[0, 1]
    return Rise(
        float(slope), float(np.sqrt(covariance[0, 0])), float(zero), float(np.sqrt(max(0.0, spread)) / slope)
    )
