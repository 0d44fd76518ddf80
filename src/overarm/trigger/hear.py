"""Make a recording ready: its label, its cue, its gestures, and whether it can answer at all."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.physics.trigger import Trigger
from overarm.recordings.cue import asked, cue_of
from overarm.recordings.recording import Label, Recording
from overarm.recordings.replay import Tells, arrays_of, tells_of, walk_through
from overarm.trigger.gestures import Gesture, gestures_of
from overarm.trigger.labels import Labelled, label_recording
from overarm.trigger.runs import Series, series_of
from overarm.trigger.settings import Listening


class Heard(NamedTuple):
    """A recording as the room hears it."""

    recording: Recording
    label: Labelled
    series: Series  # of the trigger that the recording can answer for
    gestures: tuple[Gesture, ...]  # of a throw or shake recording
    tells: Tells
    remarks: tuple[str, ...]
    fired: int
    nudges: int
    peak_mps2: float
    longest_s: float
    top_pitch_rad: float | None  # 99th percentile, if the pitch was recorded

    @property
    def heard_s(self) -> float:
        """Return how long the recording is, holes not counted [s]."""
        return float(self.series.cue.step_s.sum())


def _top_pitch(recording: Recording) -> float | None:
    pitch = recording.channel("pitch_rad")
    return None if pitch is None else float(np.percentile(pitch.values, 99.0))


def _board_shift(listening: Listening, recording: Recording) -> float:
    """Return what the board of the aeroplane reads more than the phone on it [m/s2], near level."""
    if recording.form != "phone" or not listening.raw or not listening.setup_hash:
        return 0.0
    return GRAVITY_MPS2 * math.sin(listening.tilt_rad) + listening.bias_mps2


def hear(recording: Recording, listening: Listening, given: Label = "") -> Heard:
    """Return a recording as the room hears it; ``given`` is the label that a person gave with it."""
    trigger: Trigger = asked(recording, listening.trigger)
    cue = cue_of(recording, listening.trigger, listening.filter_hz, listening.board)
    tells, why = tells_of(cue)
    shift = _board_shift(listening, recording)
    remarks = [why] if why else []
    if shift != 0.0:
        cue = cue._replace(metric_mps2=cue.metric_mps2 + shift)
        remarks.append(f"a phone feels no tilt of the board: {shift:+.2f} m/s2 put to it")
    label = label_recording(recording, cue, given, listening.starts)
    kind = label.label
    gestures: tuple[Gesture, ...] = ()
    if kind in ("throw", "shake") and cue.t_s.size:
        gestures = gestures_of(recording, cue, "throw" if kind == "throw" else "shake", listening.trigger)
        if not gestures:
            remarks.append(f"no {kind} was found in it: it is left out")
    at, longest, nudges, _ = walk_through(trigger, arrays_of(cue), 0, cue.t_s.size)
    return Heard(
        recording, label, series_of(trigger, cue), gestures, tells, tuple(remarks), int(at.size), int(nudges),
        float(cue.metric_mps2.max()) if cue.t_s.size else 0.0, float(longest), _top_pitch(recording),
    )  # fmt: skip
