"""The scores of the stroke, thrown or broken off, and of the drawing back before it."""

from __future__ import annotations

import numpy as np

from overarm.recordings.cues.grid import Flags, Grid, Numbers, sampled
from overarm.recordings.cues.lobes import Lobe, forward_force, given_score, thrown_score
from overarm.recordings.cues.motion import swings
from overarm.recordings.recording import Channel, Recording
from overarm.recordings.states import COUNT, State

HIDES_S = 0.02
NO_LOBE_PER_STEP = -30.0  # without a lobe there is no stroke
DRAWN_BEFORE_S = 1.3
DRAWN_MPS2 = -2.0
DRAWN_PER_S = 6.0
NOT_DRAWN_PER_S = -2.0
SHAKEN_LOSS = 14.0  # taken from a lobe that is one of many swings
SHAKE_MOST_MPS = 5.5  # no swing of a shake gives more speed (common practice, no source)
STOPS_S, STOPPED_SHARE = 0.9, 0.2  # an arm that breaks off stops and swings back for so long; of the peak
STROKES = (State.STROKE, State.ABORTED)


def stroke_scores(grid: Grid, recording: Recording, lobes: tuple[Lobe, ...]) -> Numbers:
    """Return the scores of the lobes, shape (n, S). Where no force is recorded they say nothing."""
    score = np.zeros((grid.size, COUNT))
    found = forward_force(recording)
    force = None if found is None else sampled(grid, Channel(*found, "forward"))
    if force is None:
        return score
    seen = near_a_sample(grid, recording)
    for state in (*STROKES, State.DRAWN):
        score[seen, state] = NO_LOBE_PER_STEP
    shaken = swings(grid, recording)
    for lobe in lobes:
        given, thrown = given_score(lobe), thrown_score(lobe)
        first, last = grid.place(lobe.from_s), max(grid.place(lobe.from_s) + 1, grid.place(lobe.to_s))
        if shaken is not None and shaken[grid.place(lobe.peak_s)]:
            given -= SHAKEN_LOSS * float(np.clip((SHAKE_MOST_MPS - lobe.speed_mps) / 1.5, 0.0, 1.0))
        if given <= 0.0:
            continue
        span = slice(first, last)
        score[span, State.STROKE] = (given + thrown) / (last - first)
        ends = stopped(grid, force.values, lobe, last) if thrown < 0.0 else last
        # An arm that swings back gives more lobes within the time of the first.
        told = score[first:ends, State.ABORTED]
        score[first:ends, State.ABORTED] = np.maximum(told, (given - thrown) / (ends - first))
        before = slice(max(0, first - grid.steps(DRAWN_BEFORE_S)), first)
        drawn = force.values[before] - lobe.rest_mps2 < DRAWN_MPS2
        rate = np.where(drawn, DRAWN_PER_S, NOT_DRAWN_PER_S) * grid.step_s
        free = score[before, State.DRAWN] <= NO_LOBE_PER_STEP
        score[before, State.DRAWN] = np.where(free, rate, score[before, State.DRAWN])
    return score


def stopped(grid: Grid, force_mps2: Numbers, lobe: Lobe, last: int) -> int:
    """Return the place of the grid from which an arm that broke a lobe off is at rest again."""
    after = np.abs(force_mps2[last : last + grid.steps(STOPS_S)] - lobe.rest_mps2)
    places = np.flatnonzero(after > STOPPED_SHARE * lobe.peak_mps2)
    return last + int(places[-1]) + 1 if places.size else last


def near_a_sample(grid: Grid, recording: Recording) -> Flags:
    """Return where a force is recorded so closely that no stroke can hide."""
    channel = recording.channel("force_x_mps2")
    if channel is None:
        return np.zeros(grid.size, bool)
    reach = max(HIDES_S, 0.75 / max(channel.rate_hz, 1e-3), 0.75 * grid.step_s)
    after = np.searchsorted(channel.t_s, grid.t_s)
    before_s = np.abs(grid.t_s - channel.t_s[np.maximum(after - 1, 0)])
    after_s = np.abs(channel.t_s[np.minimum(after, channel.t_s.size - 1)] - grid.t_s)
    close: Flags = np.minimum(before_s, after_s) <= reach
    return close
