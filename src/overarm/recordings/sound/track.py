"""The speed of the propeller over time: the best path through the comb scores."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.jit import over_samples
from overarm.recordings.sound.comb import HARMONICS, HOP_S, RATIO, TOP_HZ, Pieces, comb

Floats = NDArray[np.float64]

SILENT_DB = 12.0  # score that a turning propeller must beat in every piece
SWITCH_DB = 25.0  # price of starting or stopping
FASTEST_PER_S = 12.0  # relative change of speed that is followed: an e-fold in 83 ms
STEP_DB = 0.35  # price of a step of the grid
MODEL_SHARE = 0.0015  # error of the speed of a piece in which it changes; seen on synthetic sweeps
NEAR = 0.012  # of a line, within which its top is looked for


class Track(NamedTuple):
    """Speed of the propeller by sound; NaN does not occur, a silent piece is just not there."""

    t_s: Floats  # (k,) middles of the pieces in which it turns
    turns_hz: Floats  # (k,) [rev/s]
    error_hz: Floats  # (k,) one standard error
    snr_db: Floats  # (k,) mean height of the blade lines over the floor
    starts_s: tuple[float, ...]  # where it begins to sound
    until_s: tuple[float, ...]  # and where it ends, or the recording does


@over_samples
def _best_path(scores: Floats, most_steps: int, step_db: float, silent: tuple[float, float]) -> Floats:
    """Return the best row of the grid for each piece, -1 for silent (dynamic programming, Viterbi 1967)."""
    silent_db, switch_db = silent
    pieces, count = scores.shape
    value = np.zeros(count + 1)
    before = np.zeros((pieces, count + 1), np.int32)
    for k in range(pieces):
        new = np.empty(count + 1)
        loud = 0
        for g in range(1, count):
            if value[g] > value[loud]:
                loud = g
        quiet, start = value[count], value[count] - switch_db
        stop = value[loud] - switch_db
        new[count] = silent_db + max(quiet, stop)
        before[k, count] = count if quiet >= stop else loud
        for g in range(count):
            best, came = start, count
            for other in range(max(0, g - most_steps), min(count, g + most_steps + 1)):
                there = value[other] - step_db * abs(other - g)
                if there > best:
                    best, came = there, other
            new[g] = best + scores[k, g]
            before[k, g] = came
        value = new
    path = np.empty(pieces)
    at = int(np.argmax(value))
    for k in range(pieces - 1, -1, -1):
        path[k] = -1.0 if at == count else float(at)
        at = before[k, at]
    return path


def _refined(level_db: Floats, line_hz: float, turns_hz: float, blades: int) -> tuple[float, float, float]:
    """Return (speed, its standard error [rev/s], mean height of the lines [dB]) in one piece.

    The tops of the blade lines, by a parabola through three rows, are weighted by height and harmonic:
    ``n = sum(w m f_m/B)/sum(w m^2)``. The error is what the lines disagree by, not less than a hundredth
    of a row of the spectrum for each.
    """
    found, order, weight = [], [], []
    for m in range(1, HARMONICS + 1):
        centre = m * blades * turns_hz
        if centre > min(TOP_HZ, (level_db.size - 3) * line_hz):
            break
        reach = max(2, int(NEAR * centre / line_hz))
        low = max(1, round(centre / line_hz) - reach)
        window = level_db[low : min(level_db.size - 1, low + 2 * reach + 1)]
        top = low + int(np.argmax(window))
        left, height, right = level_db[top - 1], level_db[top], level_db[min(top + 1, level_db.size - 1)]
        bend = left - 2.0 * height + right
        shift = 0.5 * (left - right) / bend if bend < 0.0 else 0.0
        found.append((top + float(np.clip(shift, -0.5, 0.5))) * line_hz)
        order.append(float(m * blades))
        weight.append(max(0.1, float(height)))
    f, k, w = np.array(found), np.array(order), np.array(weight)
    speed = float(np.sum(w * k * f) / np.sum(w * k * k))
    free = max(1, f.size - 1)
    spread = float(np.sqrt(np.sum(w * (f - k * speed) ** 2) / np.sum(w) / free))
    error = max(spread, 0.01 * line_hz) * float(np.sqrt(np.sum(w) / np.sum(w * k * k)))
    return speed, error, float(np.mean(w))


def track_of(samples: Floats, rate_hz: float, blades: int) -> Track:
    """Return the speed of a propeller over time from its sound.

    Parameters: samples (n,); their rate [Hz]; number of blades. A rise faster than an e-fold in 83 ms is not
    followed. Source of the search: Viterbi (1967); how it is held: ``tests/verification/test_sound.py``.
    """
    pieces = comb(samples, rate_hz, blades)
    most = int(FASTEST_PER_S * HOP_S / np.log(RATIO))
    path = _best_path(pieces.scores, most, STEP_DB, (SILENT_DB, SWITCH_DB))
    turning = path >= 0.0
    return _track(pieces, path.astype(np.intp), turning, blades)


def _track(pieces: Pieces, path: NDArray[np.intp], turning: NDArray[np.bool_], blades: int) -> Track:
    rows = np.nonzero(turning)[0]
    told = [
        _refined(pieces.level_db[row], pieces.line_hz, float(pieces.turns_hz[path[row]]), blades)
        for row in rows
    ]
    speed, error, height = np.array(told).reshape(-1, 3).T
    rough = pieces.turns_hz[path[rows]]
    off = np.abs(speed / rough - 1.0) > 2.0 * NEAR  # a fast rise blurs the lines: then the comb itself
    speed, error = np.where(off, rough, speed), np.where(off, rough * 2.0 * (RATIO - 1.0), error)
    error = np.hypot(error, MODEL_SHARE * speed)
    edges = np.diff(np.concatenate([[0], turning.astype(np.int8), [0]]))
    half = 0.5 * HOP_S
    starts = tuple(float(pieces.t_s[k]) - half for k in np.nonzero(edges == 1)[0])
    ends = tuple(float(pieces.t_s[k - 1]) + half for k in np.nonzero(edges == -1)[0])
    return Track(pieces.t_s[rows], speed, error, height, starts, ends)
