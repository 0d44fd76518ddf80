"""Other triggers on the recorded carry and throw: what would have fired, and by how much."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from overarm.flight.groups import board_group, trigger_group
from overarm.physics.trigger import Trigger
from overarm.recordings.cue import Cue, asked, cue_of
from overarm.recordings.replay import arrays_of, tells_of, walk_through
from overarm.review.result import Trial
from overarm.review.seen import Seen

LEVELS_MPS2 = (5.0, 6.0, 8.0, 10.0, 12.0)
DWELLS_S = (0.08, 0.10, 0.15, 0.20)
LATE_S = 0.3
CARRY_S = 120.0


class _Parts(NamedTuple):
    """Samples of the carry and of the throw: first, and the one after the last."""

    carry: tuple[int, int] | None
    throw: tuple[int, int] | None


def trials_of(seen: Seen, more: tuple[tuple[float, float], ...] = ()) -> tuple[Trial, ...]:
    """Return what other levels, then other dwells, would have done; the card's own first.

    ``more``: (level [m/s2], dwell [s]) that were asked for. Without a setup, or a forward force, nothing.
    """
    if seen.setup is None or seen.taken.series("force_x_mps2") is None or seen.launch.kind != "launch":
        return ()
    trigger = trigger_group(seen.setup)
    board = board_group(seen.setup)
    cue = cue_of(seen.taken.recording, trigger, board.filter_hz, board)
    parts = _parts(seen, cue)
    own = (trigger.level_mps2, trigger.dwell_s)
    pairs = [own, *more, *((level, own[1]) for level in LEVELS_MPS2), *((own[0], d) for d in DWELLS_S)]
    return tuple(_trial(seen, trigger, cue, parts, pair) for pair in dict.fromkeys(pairs))


def _parts(seen: Seen, cue: Cue) -> _Parts:
    begin, release = seen.gesture_s, seen.release_s

    def between(from_s: float, to_s: float) -> tuple[int, int] | None:
        first, last = (int(np.searchsorted(cue.t_s, t)) for t in (from_s, to_s))
        return (first, last) if last > first else None

    if begin is None:
        return _Parts(None, None)
    shake = seen.event("shake")
    end = release if seen.style != "spin-in-hand" or shake is None else seen.event("stroke") and release
    until = end if end is not None else begin + 2.0
    return _Parts(
        between(max(seen.launch.from_s, begin - CARRY_S), begin - 0.05), between(begin - 0.05, until + LATE_S)
    )


def _fires(trigger: Trigger, cue: Cue, parts: _Parts) -> bool:
    """Return whether the throw fires, whatever the carry did; rest in the carry arms a still time as ever."""
    assert parts.throw is not None
    first, last = parts.throw
    begin = first if parts.carry is None else parts.carry[0]
    metric = cue.metric_mps2.copy()
    metric[begin:first] = -np.inf
    return len(walk_through(trigger, arrays_of(cue._replace(metric_mps2=metric)), begin, last)[0]) > 0


def _trial(seen: Seen, trigger: Trigger, cue: Cue, parts: _Parts, pair: tuple[float, float]) -> Trial:
    level, dwell = pair
    tells, why = tells_of(cue)
    other = asked(seen.taken.recording, trigger._replace(level_mps2=level, dwell_s=dwell))
    carry = throw = None
    factor = None
    if parts.throw is not None:
        factor = float(np.max(cue.metric_mps2[slice(*parts.throw)])) / level
    if tells != "cannot tell":
        if parts.carry is not None:
            carry = len(walk_through(other, arrays_of(cue), *parts.carry)[0])
        if parts.throw is not None:
            throw = _fires(other, cue, parts)
    is_card = pair == (trigger.level_mps2, trigger.dwell_s)
    what = "shake" if seen.style == "spin-in-hand" else "pull" if seen.style == "line-launched" else "throw"
    words = _words(pair, (carry, throw, factor), why, what)
    return Trial(level, dwell, is_card, carry, throw, factor, tells, words)


def _words(
    pair: tuple[float, float], found: tuple[int | None, bool | None, float | None], why: str, what: str
) -> str:
    carry, throw, factor = found
    head = f"With level {pair[0]:.3g} m/s² and dwell {pair[1]:.2f} s"
    if throw is None and carry is None:
        return f"{head}: cannot tell{': ' + why if why else ''}."
    said = []
    if carry is not None:
        times = "once" if carry == 1 else f"{carry} times"
        said.append(
            "this carry would not have fired" if not carry else f"this carry would have fired {times}"
        )
    if throw is not None:
        by = f", by a factor of {factor:.1f}" if factor is not None and throw else ""
        still = "still would" if carry == 0 else "would"
        said.append(f"the {what} {still}{by}" if throw else f"the {what} would not")
    return f"{head} {'; '.join(said)}."
