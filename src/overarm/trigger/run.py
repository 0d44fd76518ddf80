"""Recordings through a trigger: from labelled recordings to the answer of the room."""

from __future__ import annotations

import importlib.metadata
from collections.abc import Callable, Sequence

import numpy as np

from overarm.errors import Cancelled, InputError, Problem
from overarm.odds.intervals import exact
from overarm.physics.trigger import Trigger
from overarm.recordings.cue import windowed
from overarm.recordings.recording import Label, Recording
from overarm.trigger.advice import advise, basis_of, margins_at, self_start
from overarm.trigger.count import DWELLS_S, LEVELS_MPS2, Counts, count
from overarm.trigger.findings import findings_on
from overarm.trigger.hear import Heard, hear
from overarm.trigger.ladder import ladder_of
from overarm.trigger.poisson import rate_of
from overarm.trigger.result import Row, Share, TriggerResult
from overarm.trigger.settings import Listening

# Pairs of jerks and speed gates are walked through sample by sample: fewer points of the map.
COARSE_EVERY = 3


def family_of(trigger: Trigger) -> str:
    """Return what kind of trigger it is, in words."""
    said = ["cue without gravity" if trigger.gravity_free > 0.5 else "raw cue"]
    if trigger.jerks > 1.5:
        said.append("two jerks")
    if trigger.speed_gate_mps > 0.0:
        said.append(f"then {trigger.speed_gate_mps:g} m/s over the ground")
    if windowed(trigger):
        said.append("in a pose window")
    if trigger.still_s > 0.0:
        said.append(f"after {trigger.still_s:g} s still")
    return ", ".join(said)


def _grid_of(trigger: Trigger) -> tuple[np.ndarray, np.ndarray]:
    single = trigger.jerks < 1.5 and trigger.speed_gate_mps <= 0.0
    every = 1 if single else COARSE_EVERY
    return LEVELS_MPS2[::every], DWELLS_S[::every]


def _row(one: Heard) -> Row:
    recording, cue = one.recording, one.series.cue
    return Row(
        recording.name, recording.sha256, one.label.label, one.label.how, one.heard_s, cue.rate_hz, one.tells,
        one.fired, one.nudges, one.peak_mps2, one.longest_s, len(one.gestures), recording.gravity_felt,
        one.remarks,
    )  # fmt: skip


def _share(seen: int, of: int) -> Share:
    return Share(seen, of, exact(seen, of) if of else None)


def _whole(found: Counts) -> tuple[int, int, int, int]:
    """Return (false, other, early, missed) of a grid of one level and dwell."""
    return int(found.false[0, 0]), int(found.other[0, 0]), int(found.early[0, 0]), int(found.missed[0, 0])


def _hold_once(recordings: Sequence[Recording]) -> None:
    """Raise InputError for a recording that is given twice: its time and throws would count twice."""
    names: dict[str, list[str]] = {}
    for recording in recordings:
        names.setdefault(recording.sha256, []).append(recording.name)
    twice = [" and ".join(same) for same in names.values() if len(same) > 1]
    if twice:
        cure = "Give each once: its time and its throws would count twice"
        raise InputError(
            [Problem("the same recording is given more than once", cure, value=said) for said in twice]
        )


def run_trigger(
    recordings: Sequence[tuple[Recording, Label]],
    listening: Listening,
    *,
    progress: Callable[[str, float], None] = lambda _what, _share: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> TriggerResult:
    """Return the answer of the room for recordings, each with the label that a person gave it or "".

    Raises InputError without a recording, Cancelled if that is asked for.
    """
    if not recordings:
        raise InputError([Problem("there is no recording", "Name at least one file")])
    _hold_once([recording for recording, _ in recordings])
    heard = []
    for place, (recording, label) in enumerate(recordings):
        if cancelled():
            raise Cancelled
        progress("listening", 0.5 * place / len(recordings))
        heard.append(hear(recording, listening, label))
    telling = [one for one in heard if one.tells != "cannot tell"]
    trigger = listening.trigger
    grid = count(
        telling, listening, *_grid_of(trigger),
        tick=lambda share: progress("counting", 0.5 + 0.5 * share), cancelled=cancelled,
    )  # fmt: skip
    point = count(telling, listening, np.array([trigger.level_mps2]), np.array([trigger.dwell_s]))
    false, other, early, missed = _whole(point)
    false_starts = rate_of(false, float(point.carry_s[0, 0]))
    missed_share, early_share = _share(missed, point.gestures), _share(early, point.gestures)
    basis = basis_of(telling, listening, point)
    now = margins_at(basis, listening, point, (0, 0))
    return TriggerResult(
        name=listening.name,
        setup_hash=listening.setup_hash,
        version=importlib.metadata.version("overarm"),
        family=family_of(trigger),
        level_mps2=trigger.level_mps2,
        dwell_s=trigger.dwell_s,
        filter_hz=listening.filter_hz,
        starts=listening.starts,
        rows=tuple(_row(one) for one in heard),
        false_starts=false_starts,
        other_starts=rate_of(other, float(point.other_s[0, 0])),
        missed=missed_share,
        early=early_share,
        ladder=ladder_of(heard, listening),
        grid=grid,
        self_start_rad=np.array([self_start(float(level), listening) for level in grid.levels_mps2]),
        now=now,
        advice=advise(telling, listening, grid),
        findings=findings_on(
            heard,
            listening.starts,
            false_starts,
            (missed_share, early_share),
            float(point.early_by_s[0, 0]),
            now,
        ),
    )
