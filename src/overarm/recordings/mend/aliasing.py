"""Lines in the forces that the propeller makes and a slow record folds down to low frequencies.

A shaking of frequency f shows at |f - k r| in a record of r samples a second (k the nearest whole number):
310 Hz in 50 Hz shows as 10 Hz. Such a line cannot be told from motion, nor taken out without it.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.recordings.channels import FORCES
from overarm.recordings.mend.parts import Mask, changed, counted
from overarm.recordings.recording import Channel, Numbers, Recording, Repair

SAMPLES = 128  # of a window
EVEN = 0.1  # of the usual step, by which steps within a window may differ
LOWEST_BIN = 6
AROUND = 12  # bins on either side that a line is measured against
TOGETHER = 3  # bins that are measured against the same ones
HARMONICS = (1, 2, 3)  # turns, and blades of two and three
LINE_WHERE_TOLD = 12.0  # power of a line where the propeller says it must be, over that around it
LINE_ANYWHERE = 25.0  # noise alone passes this in one of some thousand windows
MOST_OF = 0.5
ABOVE_OFF = 5.0  # times the lines that steps and hands make without the motor
FEWEST = 3
LEAST_MPS2 = 1.0  # a smaller swing changes nothing that is worked out
MOTOR_ON, MOTOR_OFF = 0.15, 0.02  # throttle
NOT_STEERING_HZ = 8.0  # no attitude control swings this fast


class Windows(NamedTuple):
    """Windows of a force: their ends [s] (n,), rate of samples [Hz] (n,), lines over noise (n, bins)."""

    from_s: Numbers
    to_s: Numbers
    rate_hz: Numbers
    lines: Numbers
    swing_mps2: Numbers  # of the largest line


def flag_aliasing(recording: Recording) -> Recording:
    """Tell of forces with lines of the propeller in them that are folded down."""
    repairs = []
    for name in FORCES:
        force = recording.channel(name)
        windows = _windows(force) if force is not None else None
        if windows is None:
            continue
        seen = _where_told(recording, windows)
        if seen is None:
            seen = _with_the_motor(recording, windows)
        if seen is not None and seen.any() and float(np.median(windows.swing_mps2[seen])) >= LEAST_MPS2:
            repairs.append(_told(name, windows, seen))
    return changed(recording, {}, repairs)


def _windows(force: Channel) -> Windows | None:
    count = force.t_s.size // SAMPLES
    if count < FEWEST:
        return None
    t_s = force.t_s[: count * SAMPLES].reshape(count, SAMPLES)
    steps = np.diff(t_s, axis=1)
    usual = (t_s[:, -1] - t_s[:, 0]) / (SAMPLES - 1)
    even = np.abs(steps - usual[:, None]).max(axis=1) <= EVEN * usual
    if even.sum() < FEWEST:
        return None
    values = force.values[: count * SAMPLES].reshape(count, SAMPLES)[even]
    ramp = np.linspace(-1.0, 1.0, SAMPLES)
    values = values - values.mean(axis=1, keepdims=True)
    values -= (values @ ramp)[:, None] / (ramp @ ramp) * ramp
    power = np.abs(np.fft.rfft(values * np.hanning(SAMPLES), axis=1)) ** 2
    swing = 4.0 / SAMPLES * np.sqrt(power[:, LOWEST_BIN:].max(axis=1))  # of a sine through this window
    return Windows(t_s[even, 0], t_s[even, -1], 1.0 / usual[even], _over_noise(power), swing)


def _over_noise(power: Numbers) -> Numbers:
    """Return power over the median of the bins around it, 0 at the edges and the low end."""
    over = np.zeros_like(power)
    last = power.shape[1] - 1
    for at in range(LOWEST_BIN, last, TOGETHER):
        bins = range(max(3, at - AROUND), min(at + AROUND + 1, last))
        around = [k for k in bins if not at - 2 <= k < at + TOGETHER + 2]
        noise = np.maximum(np.median(power[:, around], axis=1), 1e-6)
        stop = min(at + TOGETHER, last)
        over[:, at:stop] = power[:, at:stop] / noise[:, None]
    return over


def _means(channel: Channel, windows: Windows) -> tuple[Numbers, Numbers]:
    """Return the mean of a channel in each window, and how much it changes there."""
    share = np.linspace(0.0, 1.0, 9)
    at_s = windows.from_s[:, None] + share * (windows.to_s - windows.from_s)[:, None]
    values = np.interp(at_s, channel.t_s, channel.values)
    return values.mean(axis=1), np.ptp(values, axis=1)


def _where_told(recording: Recording, windows: Windows) -> Mask | None:
    """Return in which windows a line stands where the propeller's speed folds to; None without that speed."""
    propeller = recording.channel("propeller_radps")
    if propeller is None:
        return None
    mean, change = _means(propeller, windows)
    bin_hz = windows.rate_hz / SAMPLES
    best = np.zeros(mean.size, dtype=np.bool_)
    for harmonic in HARMONICS:
        line_hz = harmonic * mean / math.tau
        folded = np.abs(line_hz - windows.rate_hz * np.round(line_hz / windows.rate_hz))
        at = np.round(folded / bin_hz).astype(np.int64)
        usable = (line_hz > 0.5 * windows.rate_hz) & (harmonic * change / math.tau <= 2.0 * bin_hz)
        usable &= (at >= LOWEST_BIN + 2) & (at <= windows.lines.shape[1] - 4)
        if usable.sum() < FEWEST:
            continue
        near = [windows.lines[np.flatnonzero(usable), at[usable] + k] for k in (-2, -1, 0, 1, 2)]
        strong = np.max(near, axis=0) >= LINE_WHERE_TOLD
        if strong.mean() >= MOST_OF:
            best[np.flatnonzero(usable)[strong]] = True
    return best


def _with_the_motor(recording: Recording, windows: Windows) -> Mask | None:
    """Return in which windows a line stands that is there only with the motor, and moves or is fast."""
    throttle = recording.channel("throttle")
    if throttle is None:
        return None
    mean, change = _means(throttle, windows)
    on, off = (mean > MOTOR_ON) & (change < 0.1), mean + change < MOTOR_OFF
    if on.sum() < FEWEST or off.sum() < FEWEST:
        return None
    heights = windows.lines.max(axis=1)
    strong = heights >= max(LINE_ANYWHERE, ABOVE_OFF * float(np.percentile(heights[off], 90.0)))
    if strong[on].mean() < MOST_OF:
        return None
    lines_hz = windows.lines.argmax(axis=1) * windows.rate_hz / SAMPLES
    seen: Mask = strong & on
    levels = np.round(mean[seen], 1)
    by_level = [float(np.median(lines_hz[seen][levels == level])) for level in np.unique(levels)]
    moves = max(by_level) - min(by_level) > 2.0 * float(np.median(windows.rate_hz)) / SAMPLES
    return seen if moves or float(np.median(lines_hz[seen])) > NOT_STEERING_HZ else None


def _told(name: str, windows: Windows, seen: Mask) -> Repair:
    lines_hz = windows.lines[seen].argmax(axis=1) * windows.rate_hz[seen] / SAMPLES
    low, high = float(lines_hz.min()), float(lines_hz.max())
    from_s, to_s = float(windows.from_s[seen].min()), float(windows.to_s[seen].max())
    held = counted(int(seen.sum()), "window")
    sentence = (
        f"{name} holds lines of the propeller, {low:.1f} to {high:.1f} Hz in {held}"
        f" from {from_s:.1f} to {to_s:.1f} s: it is recorded too slowly for them. It is not to be summed up "
        f"to speed after the motor starts; record faster, or filter before recording."
    )
    return Repair("aliasing", name, int(seen.sum()), sentence, "watch", from_s, to_s)
