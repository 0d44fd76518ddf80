"""Start of the motor: wait, delay, rise and ceiling of the throttle."""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Line, Series, part, straight
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate, Event

WAIT, DELAY = "start_wait_s", "start_delay_s"
RISE, CEILING = "throttle_rise_per_s", "throttle_ceiling"
OFF = 0.015  # throttle up to here is none
NEAR_TOP = 0.97
TAIL_S = 1.0
HELD_TOP_S = 0.3  # a throttle that is at its top has been there for so long
NO_THROTTLE = "The throttle was not recorded."
NOT_OPENED = "The throttle was not opened in this launch."


def launch_throttle(taken: Taken) -> Series | None:
    """Return the throttle from the start of the launch to its handover or end; None if not recorded."""
    throttle = taken.series("throttle")
    if throttle is None:
        return None
    handover = taken.event("handover")
    return part(throttle, taken.launch.from_s, taken.launch.to_s if handover is None else handover.t_s)


def rising(throttle: Series) -> Series:
    """Return the samples of the rise: from the first above nothing to the last below the top."""
    on = np.flatnonzero(throttle.values > OFF)
    if not on.size:
        return Series(throttle.t_s[:0], throttle.values[:0])
    first = int(on[0])
    top = float(np.max(throttle.values[first:]))
    full = np.flatnonzero(throttle.values[first:] >= NEAR_TOP * top)
    last = first + int(full[0])
    return Series(throttle.t_s[first:last], throttle.values[first:last])


def _rise_line(throttle: Series) -> Line | None:
    ramp = rising(throttle)
    return straight(ramp, float(ramp.t_s[0])) if ramp.t_s.size >= 3 else None


def first_throttle_of(taken: Taken) -> Event | None:
    """Return when the throttle first opened, by the line of its rise, which has no lag of sampling."""
    throttle = launch_throttle(taken)
    if throttle is None or throttle.t_s.size < 2:
        return taken.event("first_throttle")
    on = np.flatnonzero(throttle.values > OFF)
    if not on.size or on[0] == 0:
        return taken.event("first_throttle")
    before, first = float(throttle.t_s[on[0] - 1]), float(throttle.t_s[on[0]])
    line = _rise_line(throttle)
    if line is not None and line.slope > 0.0:
        begin = line.at_s - line.value / line.slope
        early = before - throttle.step_s - OFF / line.slope
        if early <= begin <= first:
            error = together(line.value_error / line.slope, 0.08 * throttle.step_s, 0.003)
            return Event(begin, error, "straight line through the rise of the throttle, back to nothing")
    how = "between the last sample without throttle and the first with it"
    return Event(0.5 * (before + first), (first - before) / math.sqrt(12.0), how)


def wait_estimate(taken: Taken, detection: Event | str) -> Estimate:
    """Return the estimate of the start wait."""
    if taken.series("throttle") is None and taken.event("first_throttle") is None:
        return cannot(WAIT, NO_THROTTLE)
    opened = first_throttle_of(taken)
    if opened is None:
        return cannot(WAIT, NOT_OPENED)
    if isinstance(detection, str):
        return cannot(WAIT, detection)
    error = together(opened.error_s, detection.error_s)
    return told(WAIT, opened.t_s - detection.t_s, error, f"{opened.method}, less detection")


def delay_estimate(taken: Taken) -> Estimate:
    """Return the estimate of the delay from the first throttle to the first turn."""
    spin = taken.event("first_spin")
    if taken.series("throttle") is None and taken.event("first_throttle") is None:
        return cannot(DELAY, NO_THROTTLE)
    opened = first_throttle_of(taken)
    if opened is None:
        return cannot(DELAY, NOT_OPENED)
    if spin is None:
        return cannot(DELAY, "No first turn was seen: it takes the propeller's speed, current or vibration.")
    return told(
        DELAY, spin.t_s - opened.t_s, together(spin.error_s, opened.error_s), f"first turn ({spin.method})"
    )


def ceiling_of(throttle: Series) -> Measured | None:
    """Return the highest throttle that lasts, and its error; None if it was never open."""
    on = throttle.values > OFF
    if not np.any(on):
        return None
    top = float(np.max(throttle.values))
    near = throttle.values[throttle.values >= NEAR_TOP * top]
    return Measured(float(np.median(near)), together(0.003, float(np.std(near))))


def still_rising(throttle: Series) -> bool:
    """Return True if the throttle rises to the end of what is recorded, so that it may have gone on."""
    ramp = rising(throttle)
    return bool(ramp.t_s.size) and float(throttle.t_s[-1] - ramp.t_s[-1]) < HELD_TOP_S


def throttle_estimates(taken: Taken) -> dict[str, Estimate]:
    """Return the estimates of rise and ceiling of the throttle."""
    throttle = launch_throttle(taken)
    if throttle is None:
        return {name: cannot(name, NO_THROTTLE) for name in (RISE, CEILING)}
    top = ceiling_of(throttle) if throttle.t_s.size > 1 else None
    if top is None:
        return {name: cannot(name, NOT_OPENED) for name in (RISE, CEILING)}
    how = "median of the samples within 3 % of the highest, to the handover"
    found = {CEILING: told(CEILING, top.value, top.error, how, "at least" if still_rising(throttle) else "")}
    line = _rise_line(throttle)
    if line is None:
        ramp = rising(throttle).t_s.size
        why = f"Only {ramp} samples lie on the rise; it takes three for a slope."
        found[RISE] = cannot(RISE, why)
    else:
        error = together(line.slope_error, 0.01 * line.slope)
        found[RISE] = told(RISE, line.slope, error, "straight line through the samples of the rise")
    return found
