"""A recording divided into phases and launches: cues, the state model over them, and refined events."""

from __future__ import annotations

from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from overarm.describe.setup import Setup
from overarm.recordings.channels import CHANNELS
from overarm.recordings.cues.going import seen_from_outside
from overarm.recordings.cues.grid import Grid, Numbers, grid_of, holes_of
from overarm.recordings.cues.lobes import lobes_of
from overarm.recordings.cues.together import all_scores
from overarm.recordings.flights import Stretch, launches_of, stretches_of
from overarm.recordings.launch import LaunchRecord, Phases, Span
from overarm.recordings.launches import Known, Sureness, launch_record
from overarm.recordings.recording import Recording
from overarm.recordings.sequence import most_likely, posterior
from overarm.recordings.states import PHASES, break_table, start_shares, step_table

SHORTEST_S = 0.5
MOST_HEADS = 8  # of columns that were left out, that are named
LEFT_OUT = ("last line", "zero bytes at the end", "broken lines", "checksum errors")  # while reading


def phases_of(recording: Recording, setup: Setup | None = None) -> Phases:
    """Divide a recording into phases and find the launches in it.

    Works with whatever channels there are; what is missing makes the answer coarser and less sure.

    Parameters
    ----------
    recording : Recording
        As cleaned: the times of every channel rise strictly.
    setup : Setup, optional
        Tells the style, and the height of the handover.

    Returns
    -------
    Phases
        Launches with their spans, events (time and one standard error, both [s]) and remarks, and the spans
        of the whole recording.
    """
    if recording.to_s - recording.from_s < SHORTEST_S:
        return Phases((), (), ("The recording is too short to find anything in it.",))
    grid = grid_of(recording)
    lobes = lobes_of(recording)
    in_hand = setup is not None and setup.style == "spin-in-hand"
    scores = all_scores(grid, recording, lobes, in_hand=in_hand)
    path, shares = _solved(grid, scores, start_shares(from_outside=seen_from_outside(recording)))
    stretches = stretches_of(grid, path, recording.to_s)
    known = Known(recording, setup, lobes, Sureness(grid, shares))
    roughs = launches_of(list(stretches), holes_of(recording))
    launches = tuple(launch_record(known, rough, number) for number, rough in enumerate(roughs, 1))
    return Phases(launches, _all_spans(stretches, launches, known.sureness), _remarks(recording))


def _solved(grid: Grid, scores: Numbers, start: Numbers) -> tuple[NDArray[np.int64], Numbers]:
    """Return the most likely states (n,), and how probable each is (n, S)."""
    step, broken = step_table(grid.step_s), break_table(grid.step_s)
    moves = np.stack((step, broken, 0.5 * broken + 0.5 * start))
    which = np.zeros(grid.size, np.int64)
    which[1:] = np.diff(grid.part) > 0
    which[1:][np.diff(grid.hole) > 0] = 2
    shares, _ = posterior(start, moves, which, scores)
    return most_likely(start, moves, which, scores), shares


def _all_spans(
    stretches: list[Stretch], launches: tuple[LaunchRecord, ...], sureness: Sureness
) -> tuple[Span, ...]:
    """Return the spans of the launches and those between them, in the order of time."""
    spans = [span for launch in launches for span in launch.spans]
    for stretch in stretches:
        if any(a.from_s - 1e-9 <= stretch.from_s and stretch.to_s <= a.to_s + 1e-9 for a in launches):
            continue
        phase = PHASES[stretch.state]
        spans.append(
            Span(phase, stretch.from_s, stretch.to_s, sureness.of(phase, stretch.from_s, stretch.to_s))
        )
    return tuple(sorted(spans, key=lambda span: span.from_s))


def _remarks(recording: Recording) -> tuple[str, ...]:
    said = []
    force = recording.channel("force_x_mps2")
    if force is None:
        said.append("No forward force is recorded: only flights can be told, not strokes.")
    elif force.rate_hz < 25.0:
        said.append(
            f"The forces come {force.rate_hz:.0f} times a second: strokes and shakes are told coarsely."
        )
    if recording.channel("throttle") is None:
        said.append("No throttle is recorded: the motor is told by other channels, if at all.")
    if recording.unused:
        said.append(f"Columns that are no channel were left out: {_listed(recording.unused)}.")
    said += [f"In the file, {name}: {what}." for name, what in recording.settings.items() if name in LEFT_OUT]
    return tuple(said)


def _listed(heads: tuple[str, ...]) -> str:
    """Return the first of some heads, each with the channel that it may be meant for."""
    shown = []
    for head in heads[:MOST_HEADS]:
        near = get_close_matches(head.strip().casefold(), CHANNELS, 1, 0.85)
        shown.append(f"{head} (is it {near[0]}?)" if near else head)
    more = len(heads) - MOST_HEADS
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")
