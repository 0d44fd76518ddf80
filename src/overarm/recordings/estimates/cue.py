"""The cue of the trigger in carry and throw, and when it fired, by replaying the settings' trigger."""

from __future__ import annotations

import dataclasses
import math
from typing import NamedTuple

import numpy as np

from overarm.flight.groups import board_group, trigger_group
from overarm.physics.trigger import Trigger
from overarm.recordings.cue import USUAL_BOARD
from overarm.recordings.estimates.motor import first_throttle_of
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, at, noise_of, part
from overarm.recordings.estimates.strapdown import stroke_clipped
from overarm.recordings.estimates.taken import Taken, cut
from overarm.recordings.launch import Estimate, Event
from overarm.recordings.recording import Channel
from overarm.recordings.replay import Replay, replay

CARRY, THROW, LONGEST = "carry_peak_mps2", "throw_peak_mps2", "longest_above_s"
DETECTION_TO_RELEASE = "detection_to_release_s"
USUAL_FILTER_HZ = 10.0
COARSE_HZ = 25.0
# A throw may be detected until this long after release: the filter is late.
LATE_S = 0.3
DIP_S = 0.08
HELD_S = 1.0
NOISE_S = 0.009  # the noise of the board moves the crossing of a level so far, by synthetic recordings
BEFORE_S = 10.0  # the filter and the attitude need this long to settle
GATE_ERROR_S = 0.15  # how late the speed came to the trigger itself is not known better
AFTER_RELEASE_S = 0.1
CLOSE_LEVEL_MPS2 = 0.3
CLOSE_SHARE = 0.15  # of the level: a dip between draw-back and stroke may cut a run in two or not
CARRY_S = 120.0
SWING_S = 3.0
STOPS_S = 0.5  # an arm that broke off a throw before, or a hand that picked the model up, is still by then
SCALE_ERROR = 0.01
SHORT_OF_LEVEL = Trigger(8.0, 0.1, 1.0, 0.0, 0.0, 2.0, -math.tau, math.tau, math.tau, 0.0)


class Asked(NamedTuple):
    """The trigger to replay: that of the settings, or none but a filter."""

    trigger: Trigger
    filter_hz: float
    board_hz: float  # samples a second of the board itself; 0: not known
    known: bool


def asked_of(taken: Taken) -> Asked:
    """Return the trigger of the setup; without one a usual filter, for the peaks alone."""
    if taken.setup is None:
        return Asked(SHORT_OF_LEVEL, USUAL_FILTER_HZ, 0.0, False)
    board = taken.setup.airframe.board
    return Asked(trigger_group(taken.setup), board.filter_hz.value, board.rate_hz.value, True)


def replayed(taken: Taken, asked: Asked, from_s: float, to_s: float) -> Replay:
    """Return what the trigger would have done with a part of the recording.

    A speed gate is given the speed straight between the satellite's samples: on average it is passed there.
    """
    recording = cut(taken.recording, from_s - BEFORE_S, to_s + 1.0)
    forward, speed = taken.series("force_x_mps2"), taken.series("ground_speed_mps")
    if asked.trigger.speed_gate_mps > 0.0 and forward is not None and speed is not None:
        fine = Channel(forward.t_s, at(speed, forward.t_s), "straight between the samples")
        recording = dataclasses.replace(recording, channels={**recording.channels, "ground_speed_mps": fine})
    board = USUAL_BOARD if taken.setup is None else board_group(taken.setup)
    return replay(recording, asked.trigger, filter_hz=asked.filter_hz, from_s=from_s, to_s=to_s, board=board)


def steps_late_s(dwell_s: float, rate_hz: float) -> float:
    """Return how long after the cue has passed its level a trigger fires, on average [s].

    Equation: ``dt/2 + (ceil(dwell/dt) - 1) dt``: the first sample over the level comes half a step late and
    counts a whole one.
    """
    step = 1.0 / rate_hz
    return 0.5 * step + max(0, math.ceil(dwell_s / step - 1e-6) - 1) * step


def detection_of(taken: Taken) -> Event | str:
    """Return when the trigger of the settings fired, or why it cannot be told."""
    asked = asked_of(taken)
    if not asked.known:
        return "Without a settings card there is no trigger to replay."
    if taken.series("force_x_mps2") is None:
        return "There is no forward force to replay the trigger on."
    until = _until(taken)
    if until is None:
        return "Neither a throttle nor a release was seen, so there is no launch to tie a detection to."
    seen = replayed(taken, asked, taken.launch.from_s, until)
    if seen.tells == "cannot tell":
        return f"Cannot tell: {seen.why}."
    if not seen.fired_s:
        return f"The trigger of the settings would not have fired: its cue reached {seen.peak_mps2:.1f} m/s2."
    early = until - seen.fired_s[-1] - _longest_wait(taken)
    if early > 0.0:
        return (
            f"The trigger of the settings last fired {until - seen.fired_s[-1]:.1f} s before, too early for "
            "this launch, and did not listen again: its cue stayed over the level."
        )
    step = 1.0 / seen.rate_hz
    board_hz = max(asked.board_hz, 1.0)
    dwell = asked.trigger.dwell_s
    close = _close_call(taken, asked, seen, until)
    late = steps_late_s(dwell, seen.rate_hz) - steps_late_s(dwell, board_hz)
    error = together(step / math.sqrt(12.0), 1.0 / board_hz / math.sqrt(12.0), NOISE_S, close)
    if asked.trigger.speed_gate_mps > 0.0:
        error = together(error, GATE_ERROR_S)
    how = "the trigger of the settings replayed on the forward force"
    if seen.tells == "coarse":
        how += f"; coarse: {seen.rate_hz:.0f} samples a second"
    return Event(seen.fired_s[-1] - late, error, how)


def _longest_wait(taken: Taken) -> float:
    """Return how long before the first throttle, or the release, a detection still belongs to a launch [s].

    The first throttle comes a start wait after it; the release, where no throttle was seen, within a swing.
    """
    if first_throttle_of(taken) is None or taken.setup is None:
        return SWING_S
    return taken.setup.settings.start_wait_s.value + SWING_S


def _close_call(taken: Taken, asked: Asked, seen: Replay, until: float) -> float:
    """Return the scatter of the detection [s] over slightly other levels and dwells.

    A cue that stays over the level for just the dwell, or just reaches it, fires or not by chance.
    """
    noise = max(CLOSE_LEVEL_MPS2, noise_of(seen.metric.values))
    step = 1.0 / seen.rate_hz
    times = [seen.fired_s[-1]]
    for level, dwell in ((noise, 0.0), (-noise, 0.0), (0.0, step), (0.0, -step)):
        other = asked.trigger._replace(
            level_mps2=asked.trigger.level_mps2 + level, dwell_s=max(0.0, asked.trigger.dwell_s + dwell)
        )
        fired = replayed(taken, asked._replace(trigger=other), taken.launch.from_s, until).fired_s
        if fired:
            times.append(fired[-1] - dwell)
    scatter = float(np.std(times))
    return scatter if scatter > 2.0 * step else 0.0


def _until(taken: Taken) -> float | None:
    """Return the latest time at which the trigger can have fired."""
    throttle, release = first_throttle_of(taken), taken.event("release")
    if throttle is not None:
        return throttle.t_s + 0.02
    return None if release is None else release.t_s + LATE_S


def _peak_error(metric: Series, at_s: float) -> float:
    """Return the error of a peak of sampled values: their noise, and what lies between samples."""
    near = part(metric, at_s - 2.5 * metric.step_s, at_s + 2.5 * metric.step_s)
    bend = float(np.max(np.abs(np.diff(near.values, 2)))) / 8.0 if near.values.size > 2 else 0.0
    return together(noise_of(metric.values), bend)


def _peak(name: str, found: Replay, how: str) -> Estimate:
    metric = Series(found.metric.t_s, found.metric.values)
    if not metric.t_s.size:
        return cannot(name, "There is no forward force there.")
    place = int(np.argmax(metric.values))
    value = float(metric.values[place])
    error = together(_peak_error(metric, float(metric.t_s[place])), SCALE_ERROR * abs(value))
    if found.rate_hz < COARSE_HZ:
        return told(name, value, max(error, 0.2 * abs(value)), f"{how}; few samples", "at least")
    return told(name, value, error, how)


def cue_estimates(taken: Taken, begin_s: float | None, detection: Event | str) -> dict[str, Estimate]:
    """Return the estimates of the cue; ``begin_s``: when the arm began to move."""
    asked = asked_of(taken)
    release = taken.event("release")
    found: dict[str, Estimate] = {}
    if taken.series("force_x_mps2") is None:
        why = "There is no forward force in it."
        return {name: cannot(name, why) for name in (CARRY, THROW, LONGEST, DETECTION_TO_RELEASE)}
    filtered = f"forward force behind the {asked.filter_hz:g} Hz low pass of the cue, highest sample"
    shake = taken.event("shake")
    until = min(
        [t for t in (begin_s, None if shake is None else shake.t_s - 0.1) if t is not None], default=None
    )
    if until is None:
        found[CARRY] = cannot(CARRY, "No throw was seen, so there is no time before it.")
    else:
        before = replayed(taken, asked, max(taken.launch.from_s + STOPS_S, until - CARRY_S), until)
        found[CARRY] = _peak(CARRY, before, f"{filtered} before the throw")
    if begin_s is None or release is None:
        why = "No stroke and release were seen."
        found.update({name: cannot(name, why) for name in (THROW, LONGEST)})
    else:
        thrown = replayed(taken, asked, begin_s, release.t_s + LATE_S)
        found[THROW] = _thrown_peak(taken, thrown, f"{filtered} of the throw", (begin_s, release.t_s))
        found[LONGEST] = _longest(taken, asked, thrown, (begin_s, release.t_s))
    found[DETECTION_TO_RELEASE] = _to_release(taken, detection)
    return found


def bridged(metric: Series, level_mps2: float) -> float:
    """Return the longest time over a level [s] if short dips under it did not count."""
    over = np.flatnonzero(metric.values > level_mps2)
    if not over.size:
        return 0.0
    gap = max(2.5 * metric.step_s, DIP_S)
    ends = np.flatnonzero(np.append(np.diff(metric.t_s[over]) > gap, True))
    begins = np.concatenate([[0], ends[:-1] + 1])
    return float(np.max(metric.t_s[over[ends]] - metric.t_s[over[begins]])) + metric.step_s


def _thrown_peak(taken: Taken, thrown: Replay, how: str, ends: tuple[float, float]) -> Estimate:
    """Return the estimate of the peak of the throw: its error has the shaking of a running motor in it."""
    peak = _peak(THROW, thrown, how)
    if peak.value is None:
        return peak
    held = replayed(taken, asked_of(taken), ends[0] - HELD_S, ends[0]).metric.values
    shaken = float(np.std(held)) if held.size > 3 else 0.0
    error = together(peak.error, shaken)
    if stroke_clipped(taken, *ends):
        return told(THROW, peak.value, error, f"{how}; the force reached the end of its range", "at least")
    return told(THROW, peak.value, error, how)


def _longest(taken: Taken, asked: Asked, thrown: Replay, ends: tuple[float, float]) -> Estimate:
    """Return the estimate of the longest time over the level; ``ends``: when the arm moved, and release [s].

    Its error has in it what a slightly other level, an earlier end or no short dips would have made of it.
    """
    if not asked.known:
        return cannot(LONGEST, "Without a settings card there is no level.")
    if thrown.tells == "cannot tell":
        return cannot(LONGEST, f"Cannot tell: {thrown.why}.")
    step = 1.0 / thrown.rate_hz
    others = [thrown.longest_above_s]
    noise = max(CLOSE_SHARE * asked.trigger.level_mps2, noise_of(thrown.metric.values))
    for level, late in ((noise, LATE_S), (-noise, LATE_S), (0.0, AFTER_RELEASE_S)):
        trigger = asked.trigger._replace(level_mps2=asked.trigger.level_mps2 + level)
        other = replayed(taken, asked._replace(trigger=trigger), ends[0], ends[1] + late)
        others.append(other.longest_above_s)
    others.append(bridged(Series(thrown.metric.t_s, thrown.metric.values), asked.trigger.level_mps2))
    scatter = 0.5 * float(np.ptp(others))
    return told(
        LONGEST,
        thrown.longest_above_s,
        together(step / math.sqrt(3.0), 0.003, scatter if scatter > 1.5 * step else 0.0),
        f"samples of the cue in a row over {asked.trigger.level_mps2:g} m/s2, from the draw-back on",
    )


def _to_release(taken: Taken, detection: Event | str) -> Estimate:
    name, release = DETECTION_TO_RELEASE, taken.event("release")
    if release is None:
        return cannot(name, "No release was seen.")
    if isinstance(detection, str):
        return cannot(name, detection)
    error = together(release.error_s, detection.error_s)
    return told(name, release.t_s - detection.t_s, error, f"release less detection ({detection.method})")
