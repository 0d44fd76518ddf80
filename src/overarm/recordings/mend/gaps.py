"""Samples that are missing, and samples that come at uneven times: told, never filled in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from overarm.recordings.channels import FORCES
from overarm.recordings.mend.parts import Clock, changed, clocks, counted, often, places, usual_step, whose
from overarm.recordings.recording import Numbers, Recording, Repair

USUAL_STEPS = 5.0  # a step longer than so many usual ones is a gap
LONGEST_S = 0.2  # nothing is integrated, filtered or sampled again across a longer one
UNEVEN = 0.25  # of the usual step, by which two steps in a row differ
READING_S = 1.5e-3  # steps that differ by less differ by the rounding of times to milliseconds
UNEVEN_SHARE = 0.05
FEWEST = 20
AS_IF_SET_S = 1800.0  # a step of half an hour is rather a clock that was set than samples lost
AT_WILL = ("state",)  # written when it changes


def flag_gaps(recording: Recording) -> Recording:
    """List the gaps of every clock, and break the recording where the forces have a long one."""
    repairs = []
    breaks_s = set(recording.breaks_s)
    groups = [clock for clock in clocks(recording) if clock.names != AT_WILL]
    leading = {name for clock in groups for name in clock.names if name in FORCES}
    leading = leading or set(max(groups, key=lambda clock: clock.t_s.size).names if groups else ())
    for clock in groups:
        usual_s = usual_step(clock.t_s)
        steps = np.diff(clock.t_s)
        gaps = np.flatnonzero(steps > USUAL_STEPS * usual_s) if usual_s > 0.0 else np.empty(0, np.int64)
        if not gaps.size:
            continue
        jumps = steps[gaps] >= AS_IF_SET_S
        if jumps.any():
            repairs.append(_jump_told(recording, clock, clock.t_s[gaps[jumps] + 1], steps[gaps[jumps]]))
        if not jumps.all():
            short = gaps[~jumps]
            repairs.append(_gap_told(recording, clock, clock.t_s[short], steps[short] - usual_s))
        if leading & set(clock.names):
            long = gaps[steps[gaps] > LONGEST_S]
            breaks_s |= set((clock.t_s[long] + 0.5 * steps[long]).tolist())
    if breaks_s != set(recording.breaks_s):
        recording = replace(recording, breaks_s=tuple(sorted(breaks_s)))
    return changed(recording, {}, repairs)


def _jump_told(recording: Recording, clock: Clock, at_s: Numbers, by_s: Numbers) -> Repair:
    filed, said = whose(recording, clock.names)
    sentence = (
        f"The clock of {said} goes ahead by up to {by_s.max():.0f} s in one step {often(at_s.size)}, "
        f"{places(at_s)}: it was set, or the recorder was off. Nothing is worked out across that."
    )
    return Repair("clock jump", filed, int(at_s.size), sentence, "watch", float(at_s[0]), float(at_s[-1]))


def _gap_told(recording: Recording, clock: Clock, at_s: Numbers, missing_s: Numbers) -> Repair:
    filed, said = whose(recording, clock.names)
    long = int((missing_s > LONGEST_S).sum())
    sentence = (
        f"{counted(at_s.size, 'gap')} in {said}, {places(at_s)}: {missing_s.sum():.2f} s are missing in all, "
        f"{missing_s.max():.2f} s at the longest. "
    )
    if long:
        sentence += f"Nothing is worked out across the {long} of more than {LONGEST_S} s."
    else:
        sentence += f"None is longer than {LONGEST_S} s."
    ends = float(at_s[0]), float(at_s[-1] + missing_s[-1])
    return Repair("gap", filed, int(at_s.size), sentence, "watch", *ends)


def flag_jitter(recording: Recording) -> Recording:
    """Tell of clocks whose steps differ from one to the next by more than a quarter in one step of twenty."""
    repairs = []
    for clock in clocks(recording):
        if clock.t_s.size < FEWEST or clock.names == AT_WILL:
            continue
        usual_s = usual_step(clock.t_s)
        steps = np.diff(clock.t_s)
        steps = steps[steps <= USUAL_STEPS * usual_s]
        if steps.size < FEWEST - 1:
            continue
        uneven = np.abs(np.diff(steps)) > max(UNEVEN * usual_s, READING_S)
        if uneven.mean() <= UNEVEN_SHARE:
            continue
        low_s, high_s = np.percentile(steps, (5.0, 95.0))
        filed, said = whose(recording, clock.names)
        sentence = (
            f"The samples of {said} come at uneven times: most steps are between {1e3 * low_s:.1f} and "
            f"{1e3 * high_s:.1f} ms, {1e3 * usual_s:.1f} ms as a rule. The times are taken as they stand."
        )
        ends = float(clock.t_s[0]), float(clock.t_s[-1])
        repairs.append(Repair("jitter", filed, int(uneven.sum()), sentence, "watch", *ends))
    return changed(recording, {}, repairs)
