"""A clock that steps back or far ahead: full counters are counted on, restarts are put one after the other.

Samples that are alone out of order are left out first. What is left is cut where the clock steps back; the
cuts of the channel with most samples hold for all the others, so that channels stay together.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.mend.parts import (
    LATEST_S,
    LONGEST_STEP_AHEAD_S,
    Clock,
    Mask,
    changed,
    clocks,
    counted,
    kept,
    often,
    places,
    usual_step,
    whose,
)
from overarm.recordings.recording import Channel, Note, Numbers, Recording, Repair

COUNTERS = {  # how far a counter counts [s], and its name
    2.0**32 * 1e-3: "a 32-bit counter of milliseconds",
    604800.0: "the second of the week",
    86400.0: "the time of day",
    2.0**32 * 1e-6: "a 32-bit counter of microseconds",
    2.0**16 * 1e-3: "a 16-bit counter of milliseconds",
    2.0**16 * 1e-6: "a 16-bit counter of microseconds",
}
SHORT_COUNTER_S = 1.0  # a counter that is full so often must be full more than twice to be believed
USUAL_STEPS = 5.0
LEAST_WINDOW_S = 0.2
RESTART_WITHIN_S = 10.0  # a clock that steps back to within this of its beginning began again
LONGEST_RECORDING_S = 1e6  # eleven days: no recorder of launches runs so long
BETWEEN_S = 1.0  # between parts of one sample each
MOST_PARTS = 1000


class Part(NamedTuple):
    """A part of the recording whose clock runs on: its first and last time, and what is added to them [s]."""

    low_s: float
    high_s: float
    add_s: float


def mend_clock(recording: Recording) -> Recording:
    """Make the times of every channel rise, or stay equal; say what was done, and where the clock broke."""
    if not any(_cuts(clock.t_s).size for clock in clocks(recording)):
        return _closed_up(recording)
    recording = _count_on(_leave_out_strays(recording))
    groups = clocks(recording)
    if groups and _cuts(_main(groups).t_s).size < MOST_PARTS:
        recording = _put_in_a_row(recording)
    return _closed_up(_rising_only(recording))


def _main(groups: list[Clock]) -> Clock:
    return max(groups, key=lambda clock: clock.t_s.size)


def _cuts(t_s: Numbers) -> NDArray[np.int64]:
    return np.flatnonzero(np.diff(t_s) < 0.0) + 1


def _strays(t_s: Numbers) -> Mask:
    """Return True for a sample that stands alone before or after its neighbours, which follow each other."""
    alone = np.zeros(t_s.size, dtype=np.bool_)
    if t_s.size < 3:
        return alone
    steps = np.diff(t_s)
    over = t_s[2:] - t_s[:-2]
    close = (over >= 0.0) & (over <= USUAL_STEPS * usual_step(t_s))
    ahead = close & (steps[1:] < 0.0)
    behind = close & (steps[:-1] < 0.0)
    alone[1:-1] = ahead | behind
    alone[2:] &= ~alone[1:-1]  # of two neighbours the first goes; the other then fits
    return alone


def _leave_out_strays(recording: Recording) -> Recording:
    channels: dict[str, Channel] = {}
    repairs = []
    for clock in clocks(recording):
        alone = _strays(clock.t_s)
        if not alone.any():
            continue
        for name in clock.names:
            channels[name] = kept(recording.channels[name], ~alone, "samples out of order left out")
        at_s = clock.t_s[np.maximum(np.flatnonzero(alone) - 1, 0)]
        filed, said = whose(recording, clock.names)
        sentence = (
            f"{counted(at_s.size, 'sample')} of {said} stood out of order, alone, and were left out, after "
            f"the samples {places(at_s)}."
        )
        repairs.append(
            Repair(
                "clock jump", filed, int(at_s.size), sentence, "watch", float(at_s.min()), float(at_s.max())
            )
        )
    return changed(recording, channels, repairs)


def _full_at(t_s: Numbers, span_s: float) -> Mask:
    """Return True for each step (n - 1,) that goes on as usual if a counter of this span was full."""
    on_s = np.diff(t_s) + span_s
    window_s = min(max(USUAL_STEPS * usual_step(t_s), LEAST_WINDOW_S), 0.5 * span_s)
    return (np.diff(t_s) < 0.0) & (on_s > 0.0) & (on_s <= window_s)


def _span_of(t_s: Numbers) -> float:
    """Return the span of the counter that was full in these times [s]; 0 if none was."""
    back = int((np.diff(t_s) < 0.0).sum())
    for span_s in COUNTERS if back else ():
        full = int(_full_at(t_s, span_s).sum())
        believed = full == back and full > 2 if span_s < SHORT_COUNTER_S else 2 * full >= back
        if believed:
            return span_s
    return 0.0


def _count_on(recording: Recording) -> Recording:
    groups = clocks(recording)
    if not groups:
        return recording
    main = _main(groups)
    span_s = _span_of(main.t_s)
    if span_s == 0.0:
        return recording
    channels: dict[str, Channel] = {}
    for clock in groups:
        t_s = _counted_on(clock.t_s, span_s, any_step=clock is not main)
        for name in clock.names:
            channels[name] = _moved(recording.channels[name], t_s, "counted on over a full counter")
    full = np.flatnonzero(_full_at(main.t_s, span_s)) + 1
    at_s = _counted_on(main.t_s, span_s)[full]
    sentence = (
        f"The clock is {COUNTERS[span_s]}; it was full {often(full.size)}, {places(at_s)}, and "
        f"{span_s:.6g} s were added each time."
    )
    repair = Repair("rollover", "", int(full.size), sentence, "good", float(at_s[0]), float(at_s[-1]))
    notes_s = np.array([note.t_s for note in recording.notes])
    if notes_s.size:
        recording = _noted(recording, _counted_on(notes_s, span_s, any_step=True))
    return changed(recording, channels, [repair])


def _counted_on(t_s: Numbers, span_s: float, *, any_step: bool = False) -> Numbers:
    full = np.diff(t_s) < -0.5 * span_s if any_step else _full_at(t_s, span_s)
    return t_s + span_s * np.concatenate(([0], np.cumsum(full)))


def _moved(channel: Channel, t_s: Numbers, done: str) -> Channel:
    return Channel(t_s, channel.values, f"{channel.source}; {done}")


def _noted(recording: Recording, t_s: Numbers) -> Recording:
    notes = tuple(Note(float(t), note.text) for t, note in zip(t_s, recording.notes, strict=True))
    return replace(recording, notes=notes)


def _put_in_a_row(recording: Recording) -> Recording:
    groups = clocks(recording)
    main = _main(groups)
    cuts = _cuts(main.t_s)
    if not cuts.size:
        return recording
    ends = _ends(main.t_s)
    members = [_members(clock.t_s, ends) for clock in groups]
    low = [min(float(c.t_s[m == k].min()) for c, m in _with(groups, members, k)) for k in range(len(ends))]
    high = [max(float(c.t_s[m == k].max()) for c, m in _with(groups, members, k)) for k in range(len(ends))]
    step_s = usual_step(main.t_s) or BETWEEN_S
    add = [0.0]
    for k in range(1, len(ends)):
        add.append(high[k - 1] + add[-1] + step_s - low[k])
    shift = np.array(add)
    channels: dict[str, Channel] = {}
    for clock, member in zip(groups, members, strict=True):
        t_s = clock.t_s + shift[member]
        for name in clock.names:
            channels[name] = _moved(recording.channels[name], t_s, "parts put one after the other")
    joins = np.array([high[k - 1] + add[k - 1] + 0.5 * step_s for k in range(1, len(ends))])
    notes_s = np.array([note.t_s for note in recording.notes])
    if notes_s.size:
        recording = _noted(recording, notes_s + shift[_members(notes_s, ends)])
    recording = replace(recording, breaks_s=tuple(sorted({*recording.breaks_s, *joins.tolist()})))
    return changed(recording, channels, _joined(main.t_s, cuts, joins))


def _with(
    groups: list[Clock], members: list[NDArray[np.int64]], part: int
) -> list[tuple[Clock, NDArray[np.int64]]]:
    return [(c, m) for c, m in zip(groups, members, strict=True) if (m == part).any()]


def _ends(t_s: Numbers) -> list[tuple[float, float]]:
    pieces = np.split(t_s, _cuts(t_s))
    return [(float(piece[0]), float(piece[-1])) for piece in pieces]


def _members(t_s: Numbers, ends: list[tuple[float, float]]) -> NDArray[np.int64]:
    """Return to which part each sample (n,) belongs: the earliest that holds its time, in their order."""
    cuts = _cuts(t_s)
    if cuts.size + 1 == len(ends):
        return np.repeat(np.arange(len(ends)), np.diff([0, *cuts.tolist(), t_s.size]))
    slack_s = max(2.0 * usual_step(t_s), 0.05)
    member = np.full(t_s.size, len(ends) - 1, dtype=np.int64)
    stops = np.append(cuts, t_s.size)
    at = 0
    for k, (low_s, high_s) in enumerate(ends[:-1]):
        stop = int(stops[np.searchsorted(stops, at, side="right")]) if at < t_s.size else at
        if at < stop and t_s[at] >= low_s - slack_s:
            beyond = np.flatnonzero(t_s[at:stop] > high_s + slack_s)
            stop = at + int(beyond[0]) if beyond.size else stop
            member[at:stop] = k
            at = stop
    return member


def _joined(t_s: Numbers, cuts: NDArray[np.int64], joins_s: Numbers) -> list[Repair]:
    steps = t_s[cuts] - t_s[cuts - 1]
    again = (
        (steps < 0.0) & (t_s[cuts] <= t_s[0] + RESTART_WITHIN_S) & (-steps > 0.5 * (t_s[cuts - 1] - t_s[0]))
    )
    repairs = []
    if again.any():
        at_s = joins_s[again]
        said = (
            f"The recorder started again {often(at_s.size)}, {places(at_s)}: its clock fell "
            f"back to its beginning. The parts are put one after the other; how long it was off is not known."
        )
        repairs.append(Repair("restart", "", int(at_s.size), said, "watch", float(at_s[0]), float(at_s[-1])))
    if not again.all():
        at_s, by_s = joins_s[~again], steps[~again]
        far = float(by_s[np.argmax(np.abs(by_s))])
        said = (
            f"The clock jumped {often(at_s.size)}, {places(at_s)}, by up to {far:.4g} s. The parts "
            f"are put one after the other; how much time lies between them is not known."
        )
        repairs.append(
            Repair("clock jump", "", int(at_s.size), said, "watch", float(at_s[0]), float(at_s[-1]))
        )
    return repairs


def _rising_only(recording: Recording) -> Recording:
    """Keep the samples that are later than all before them: the last resort for a clock that runs wild."""
    channels: dict[str, Channel] = {}
    repairs = []
    for clock in clocks(recording):
        keep = clock.t_s >= np.maximum.accumulate(clock.t_s)
        if keep.all():
            continue
        for name in clock.names:
            channels[name] = kept(
                recording.channels[name], keep, "samples before those that came earlier left out"
            )
        lost = int((~keep).sum())
        filed, said = whose(recording, clock.names)
        sentence = (
            f"The clock of {said} runs back and forth: {counted(lost, 'sample')} earlier than the ones "
            f"before them were left out. Look at the recorder: times like these cannot be trusted."
        )
        ends = float(clock.t_s[keep][0]), float(clock.t_s[keep][-1])
        repairs.append(Repair("clock jump", filed, lost, sentence, "stop", *ends))
    return changed(recording, channels, repairs)


def _closed_up(recording: Recording) -> Recording:
    """Take the steps of more than an hour out of a recording that would otherwise last for many days."""
    groups = clocks(recording)
    long = bool(groups) and recording.to_s - recording.from_s > LONGEST_RECORDING_S
    late = bool(groups) and recording.to_s > LATEST_S
    if not long and not late:
        return recording
    all_s = np.unique(np.concatenate([clock.t_s for clock in groups]))
    jumps = np.flatnonzero(np.diff(all_s) > LONGEST_STEP_AHEAD_S)
    step_s = usual_step(_main(groups).t_s) or BETWEEN_S
    after_s, by_s = all_s[jumps + 1], np.diff(all_s)[jumps] - step_s
    back_s = np.cumsum(np.concatenate(([all_s[0] if late else 0.0], by_s)))

    def moved(t_s: Numbers) -> Numbers:
        back: Numbers = back_s[np.searchsorted(after_s, t_s, side="right")]
        return t_s - back

    channels = {
        name: _moved(recording.channels[name], t_s, "jumps of the clock closed up")
        for clock in groups
        for t_s in (moved(clock.t_s),)
        for name in clock.names
    }
    joins = moved(after_s) - 0.5 * step_s
    if recording.notes:
        recording = _noted(recording, moved(np.array([note.t_s for note in recording.notes])))
    breaks_s = {*moved(np.array(recording.breaks_s)).tolist(), *joins.tolist()}
    recording = replace(recording, breaks_s=tuple(sorted(breaks_s)))
    if not jumps.size:
        return changed(recording, channels)
    sentence = (
        f"The clock jumped ahead {often(jumps.size)}, {places(joins)}, by up to {by_s.max():.4g} s, as if "
        f"it was set. The parts are put one after the other; how much time lies between them is not known."
    )
    repair = Repair("clock jump", "", int(jumps.size), sentence, "watch", float(joins[0]), float(joins[-1]))
    return changed(recording, channels, [repair])
