"""The compiled loops on the same numbers, as machine code or, with NUMBA_DISABLE_JIT=1, as plain Python.

Run as a program it reads a recording and writes what it found to a file:
`NUMBA_DISABLE_JIT=1 python -m tests.uncompiled RECORDING FILE`.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numba
import numpy as np

from overarm.flight.campaign import blank_summary, fly_one, fly_records
from overarm.flight.draw import draw
from overarm.flight.one import fly
from overarm.flight.trace import blank_trace, empty_trace
from overarm.physics.trigger import Trigger
from overarm.recordings.cue import cue_of
from overarm.recordings.estimates import estimates_of
from overarm.recordings.phases import phases_of
from overarm.recordings.reading import opened
from overarm.recordings.replay import replay
from overarm.recordings.sound.track import track_of
from overarm.trigger.runs import series_of
from tests import sounds
from tests.examples import derived_of, inputs_of, setup_of
from tests.recorded import RAW, thrown

SEED = 7
LAUNCHES = 16
LETTERS = "abcde"
PLAIN: bool = bool(numba.config.DISABLE_JIT)

LEVELS, DWELLS = np.array([2.0, 6.0, 12.0]), np.array([0.0, 0.08, 0.2])
FAMILIES: dict[str, Trigger] = {
    "raw": RAW,
    "without gravity, still before": RAW._replace(gravity_free=1.0, still_s=0.3),
    "two jerks": RAW._replace(jerks=2.0),
}

Found = dict[str, list[list[float]]]


def _plain(value: Any) -> Any:
    """Return a row of an array as something with attributes: compiled code reads its fields as such."""
    if isinstance(value, np.void):
        return SimpleNamespace(**{name: _plain(value[name]) for name in value.dtype.names or ()})
    return value if isinstance(value, np.ndarray) else value.item()


def flown(letter: str, launches: int = LAUNCHES) -> tuple[list[list[float]], list[list[float]]]:
    """Return the summaries of some launches of an example, and the samples along the first of them."""
    inputs, trace = inputs_of(letter), blank_trace()
    records, _ = draw(inputs.base, inputs.rules, launches, SEED, 0)
    if not PLAIN:
        fly_one(inputs, records[:1], SEED, 0, trace)
        table = fly_records(inputs, records, SEED)
        return [[float(value) for value in row.item()] for row in table], _rows(trace)
    found = []
    for number, record in enumerate(records):
        summary, samples = _plain(blank_summary(1, number)[0]), empty_trace() if number else trace
        fly(_plain(record), inputs.table, inputs.obstacles, SEED, number, summary, samples)
        found.append([float(value) for value in vars(summary).values()])
    return found, _rows(trace)


def _rows(trace: np.ndarray[Any, Any]) -> list[list[float]]:
    return [[float(value) for value in row] for row in trace if np.isfinite(row).all()]


def of_recordings(file: Path) -> Iterator[tuple[str, list[list[float]]]]:
    """Yield what the loops over samples find: phases, estimates, replays, levels and dwells, a sound."""
    recording = opened(file)
    found = phases_of(recording)
    (launch,) = found.launches
    yield "phases", [[span.from_s, span.to_s] for span in launch.spans]
    estimates = estimates_of(recording, launch, setup_of("b"), derived_of("b"))
    yield "estimates", [[one.value, one.error] for one in estimates.values() if one.value is not None]
    made = thrown(times=3)
    for name, trigger in FAMILIES.items():
        again = replay(made, trigger, filter_hz=5.0, from_s=0.0, to_s=30.0)
        yield f"replay, {name}", [list(again.fired_s), [again.peak_mps2, again.longest_above_s]]
        cue = cue_of(made, trigger, 5.0)
        grid = series_of(trigger, cue).grid(LEVELS, DWELLS, 0, cue.t_s.size)
        yield f"levels, {name}", [*grid.starts.tolist(), *grid.held_s.tolist(), grid.longest_s.tolist()]
    turns_hz = np.interp(sounds.clock(1.5), [0.5, 0.9], [60.0, 120.0], left=0.0)
    track = track_of(sounds.propeller(turns_hz, 2, 15.0), float(sounds.RATE_HZ), 2)
    yield "sound", [track.t_s.tolist(), track.turns_hz.tolist(), track.error_hz.tolist()]


def everything(file: Path) -> Found:
    """Return all of it by name; the file is a recording of a launch of example b."""
    found: Found = {}
    for letter in LETTERS:
        found[f"launches of {letter}"], found[f"samples of {letter}"] = flown(letter)
    return found | dict(of_recordings(file))


if __name__ == "__main__":
    assert PLAIN, "begun without NUMBA_DISABLE_JIT=1"
    np.seterr(all="raise")
    Path(sys.argv[2]).write_text(json.dumps(everything(Path(sys.argv[1]))), "ascii")
