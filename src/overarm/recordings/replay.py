"""Any recording through any trigger: when it would have fired, sample by sample, at its own rate.

The logic is `overarm.physics.trigger.cue_step`, as it flies. So that a recording can be counted, a trigger
that has fired listens again once its cue has been at or under the level for a second.
Checked in ``tests/unit/test_trigger_room_replay.py``.
"""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

import numpy as np

from overarm.jit import over_samples
from overarm.physics.sensor import Board
from overarm.physics.trigger import CueState, Trigger, cue_start, cue_step, still_credit
from overarm.recordings.cue import USUAL_BOARD, Cue, asked, cue_of
from overarm.recordings.recording import Channel, Recording

REARM_S = 1.0
# Common practice, no source: a dwell of a tenth of a second is five samples at 50 Hz.
TELLS_FROM_HZ = 50.0
COARSE_FROM_HZ = 25.0
CLOCK_SHARE = 0.98  # a clock may run a little slow
_SLACK_S = 1e-9

Tells = Literal["yes", "coarse", "cannot tell"]


class Replay(NamedTuple):
    """What a trigger would have done with a part of a recording."""

    fired_s: tuple[float, ...]  # times at which it would have fired
    metric: Channel  # the cue as the trigger compares it with its level [m/s2]
    peak_mps2: float  # highest cue; 0 if there is no sample
    longest_above_s: float  # longest unbroken time over the level
    nudges: int  # times over the level that ended before the dwell
    rate_hz: float
    tells: Tells  # whether the recording can answer: yes, with coarse steps, or not at all
    why: str  # what limits the answer, in words; "" if nothing does


@over_samples
def walk_through(trigger: Trigger, cue: Any, first: int, last: int) -> Any:
    """Return (samples that fire, longest time over the level [s], nudges, time held [s]) of some samples.

    ``cue`` is (metric, pitch, bank, speed, still, step, begins), arrays of shape (n,); ``first`` is
    looked at, ``last`` is not. It is held, and does not listen, from a firing until a second under the level.
    """
    metric, pitch, bank, speed, still, step, begins = cue
    fired_at = []
    state, held, under = cue_start(), False, 0.0
    above, longest, nudges, held_s = 0.0, 0.0, 0.0, 0.0
    for i in range(first, last):
        if begins[i]:
            nudges += state.nudges
            state, held, above = cue_start(), False, 0.0
        over = metric[i] > trigger.level_mps2
        above = above + step[i] if over else 0.0
        longest = max(longest, above)
        if held:
            held_s += step[i]
            # Rest is earned and spent as ever; everything else waits.
            credit, armed = still_credit(trigger, state.still_s, state.armed, still[i], step[i])
            state = CueState(0.0, 0.0, armed, 0.0, 0.0, 0.0, 0.0, credit, 0.0, 0.0, 0.0)
            under = 0.0 if over else under + step[i]
            held = under < REARM_S - _SLACK_S
            continue
        state, fired = cue_step(trigger, state, metric[i], pitch[i], bank[i], speed[i], still[i], step[i])
        if fired > 0.5:
            fired_at.append(i)
            nudges += state.nudges
            held, under = True, 0.0 if over else step[i]
    nudges += 0.0 if held else state.nudges
    return np.array(fired_at, dtype=np.int64), longest, nudges, held_s


def arrays_of(cue: Cue) -> tuple[Any, ...]:
    """Return the arrays of a cue in the order that `walk_through` takes."""
    return (cue.metric_mps2, cue.pitch_rad, cue.bank_rad, cue.speed_mps, cue.still, cue.step_s, cue.begins)


def tells_of(cue: Cue) -> tuple[Tells, str]:
    """Return whether a recording can answer for a trigger, and what limits it, in words."""
    said = [*cue.lacks, *cue.remarks]
    if not cue.t_s.size:
        return "cannot tell", "; ".join(said)
    if cue.rate_hz < COARSE_FROM_HZ * CLOCK_SHARE:
        said.insert(
            0, f"{cue.rate_hz:.3g} samples a second are too few to tell a dwell: at least 25, better 50"
        )
        return "cannot tell", "; ".join(said)
    if cue.lacks:
        return "cannot tell", "; ".join(said)
    if cue.rate_hz < TELLS_FROM_HZ * CLOCK_SHARE:
        said.insert(
            0, f"coarse: {cue.rate_hz:.3g} samples a second, so times are known to {1e3 / cue.rate_hz:.0f} ms"
        )
        return "coarse", "; ".join(said)
    return "yes", "; ".join(said)


def replay(
    recording: Recording,
    trigger: Trigger,
    *,
    filter_hz: float,
    from_s: float,
    to_s: float,
    board: Board = USUAL_BOARD,
) -> Replay:
    """Return what a trigger that listens from ``from_s`` to ``to_s`` [s] would have done with a recording.

    Parameters: recording, cleaned; trigger, of any family; filter_hz [Hz], cut-off of the low pass before the
    cue, 0 for none; board, whose estimator makes the attitude where none was recorded.
    What a recording does not have is left out of the trigger; then it cannot tell, and ``why`` says what.
    """
    cue = cue_of(recording, trigger, filter_hz, board)
    first = int(np.searchsorted(cue.t_s, from_s - _SLACK_S, side="left"))
    last = int(np.searchsorted(cue.t_s, to_s + _SLACK_S, side="right"))
    tells, why = tells_of(cue)
    part = cue.metric_mps2[first:last]
    if not part.size:
        why = why or f"there is no sample between {from_s:.2f} and {to_s:.2f} s"
        return Replay(
            (), _channel(cue, first, first, filter_hz), 0.0, 0.0, 0, cue.rate_hz, "cannot tell", why
        )
    at, longest, nudges, _ = walk_through(asked(recording, trigger), arrays_of(cue), first, last)
    return Replay(
        tuple(float(t) for t in cue.t_s[at]),
        _channel(cue, first, last, filter_hz),
        float(part.max()),
        float(longest),
        int(nudges),
        cue.rate_hz,
        tells,
        why,
    )


def _channel(cue: Cue, first: int, last: int, filter_hz: float) -> Channel:
    said = (
        f"forward cue behind a low pass of {filter_hz:g} Hz"
        if filter_hz > 0.0
        else "forward cue, not filtered"
    )
    return Channel(cue.t_s[first:last], cue.metric_mps2[first:last], said)
