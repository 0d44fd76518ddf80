"""The whole course of a synthetic recording: rest, carry, launch, what follows, perhaps a second launch."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import Inputs
from overarm.flight.outcomes import Outcome
from overarm.physics.hand import shake_end, stroke_start
from overarm.specimens import after
from overarm.specimens.before import (
    DRAWN_SHARE,
    PHASE_CARRIED,
    PHASE_HELD,
    PHASE_SHAKEN,
    Swing,
    errand,
    moved,
)
from overarm.specimens.launch import Flown, flown
from overarm.specimens.luck import stream
from overarm.specimens.motion import COLUMNS, FORCES, Motion, Numbers, felt_of, joined
from overarm.specimens.options import Options

Phases = list[tuple[str, float, float]]
PHASE_STROKE, PHASE_FREE, PHASE_POWERED, PHASE_CLIMB = "stroke", "free flight", "powered", "climb"
PHASE_HANDED_OVER, PHASE_DOWN = "handed over", "down"
STYLE_SPIN, STYLE_LINE = 1.0, 2.0
CLIMBS_MPS, CLIMBS_S = 0.5, 1.0
TREMOR_MPS2, TREMOR_HZ = 0.15, 8.0
GROUND_M = 0.05


@dataclass(slots=True, eq=False)
class Attempt:
    """One launch, or one throw that was broken off, within a course; times in the recording [s]."""

    kind: str
    ended: str
    from_s: float
    to_s: float
    phases: Phases
    events: dict[str, float]
    flown: Flown | None = None
    listens_s: float = 0.0  # when the launch system began to listen
    swing: Swing | None = None


@dataclass(slots=True, eq=False)
class Course:
    """All that happens in a recording."""

    motion: Motion
    record: Any  # of the first launch
    attempts: list[Attempt]
    phases: Phases
    notes: list[tuple[float, str]] = field(default_factory=list)


def course_of(inputs: Inputs, seed: int, launch: int, asked: Options) -> Course:
    """Return the course of the recording that is asked for; times from power-up."""
    first = flown(inputs, seed, launch)
    luck = stream(seed, launch, "carry")
    parts: list[Motion] = []
    phases: Phases = []
    attempts: list[Attempt] = []
    notes: list[tuple[float, str]] = []
    rest = _rest(first, parts, luck)
    _carry(first, asked.extras, rest, luck, (parts, phases, attempts))
    _launch(first, asked, stream(seed, launch, "after"), (parts, phases, attempts, notes))
    if asked.second is not None:
        again = flown(inputs, seed, asked.second)
        luck = stream(seed, asked.second, "carry back")
        _carry(again, (), _rest(again, parts, luck), luck, (parts, phases, attempts))
        _launch(again, asked, stream(seed, asked.second, "after"), (parts, phases, attempts, notes))
    motion = joined(parts)
    held = _in_hand(motion["t_s"], phases)
    luck = stream(seed, launch, "tremor")
    for name in FORCES:
        motion[name] = motion[name] + tremor(motion["t_s"], held, luck)
    course = Course(motion, first.record, attempts, phases, notes)
    return _cut(course, asked, stream(seed, launch, "cut"))


Made = tuple[list[Motion], Phases, list[Attempt]]


def _rest(coming: Flown, parts: list[Motion], luck: np.random.Generator) -> dict[str, float]:
    """Return how and where the model lies before a carry, and for how long."""
    if not parts:
        return {"rest_s": float(luck.uniform(11.0, 15.0)), "new": 1.0}
    last = {name: float(parts[-1][name][-1]) for name in COLUMNS}
    begin = {name: float(coming.motion[name][0]) for name in ("ahead_m", "right_m")}
    last["way_m"] = float(np.hypot(last["ahead_m"] - begin["ahead_m"], last["right_m"] - begin["right_m"]))
    last["rest_s"] = float(luck.uniform(4.0, 8.0))
    return last


def _carry(
    coming: Flown, extras: tuple[str, ...], rest: dict[str, float], luck: np.random.Generator, made: Made
) -> None:
    """Add the carry from a place of rest to the pose of a launch."""
    parts, phases, attempts = made
    start = {name: float(values[0]) for name, values in coming.motion.items()}
    begin_s = float(parts[-1]["t_s"][-1]) if parts else 0.0
    done = errand(luck, start, extras, rest)
    motion = moved(done, luck, start, rest)
    motion["t_s"] = motion["t_s"] + begin_s
    still = np.zeros_like(motion["t_s"])
    felt_of(motion, coming.record.board)
    motion.update(dict.fromkeys(("throttle", "spin_radps", "current_a", "state"), still))
    motion["volts_v"] = still + coming.record.pack.open_volts
    motion["airspeed_mps"] = _blown(coming, motion)
    motion["left_surface_rad"], motion["right_surface_rad"] = still, still
    parts.append(motion)
    lies = PHASE_HELD if rest.get("new") else PHASE_DOWN
    for k, (phase, from_s, to_s) in enumerate(done.phases):
        _add(phases, lies if k == 0 else phase, from_s + begin_s, to_s + begin_s)
    for swing in done.swings:
        moved_on = Swing(swing.kind, swing.from_s + begin_s, swing.to_s + begin_s, swing.size_m, swing.cycles)
        if swing.kind == "aborted throw":
            attempts.append(_broken_off(moved_on))


def _blown(coming: Flown, motion: Motion) -> Numbers:
    """Return the air along the nose of a carried model [m/s]: the mean headwind, and how it moves."""
    headwind = float(coming.motion["airspeed_mps"][0])
    facing = np.cos(motion["heading_rad"])
    moving = motion["ahead_mps"] * facing + motion["right_mps"] * np.sin(motion["heading_rad"])
    return np.maximum(0.0, headwind * facing + moving)


def _broken_off(swing: Swing) -> Attempt:
    takes = swing.to_s - swing.from_s
    stroke = swing.from_s + DRAWN_SHARE * takes
    events = {"wind_up": swing.from_s, "stroke": stroke}
    phases = [(PHASE_STROKE, stroke, swing.to_s)]
    return Attempt("aborted throw", "in the hand", swing.from_s, swing.to_s, phases, events, swing=swing)


def _launch(
    coming: Flown,
    asked: Options,
    luck: np.random.Generator,
    made: tuple[list[Motion], Phases, list[Attempt], list[tuple[float, str]]],
) -> None:
    """Add a launch and what follows it."""
    parts, phases, attempts, notes = made
    begin_s = float(parts[-1]["t_s"][-1]) + 0.005
    motion = {name: values.copy() for name, values in coming.motion.items()}
    motion["t_s"] = motion["t_s"] + begin_s
    parts.append(motion)
    last = {name: float(values[-1]) for name, values in coming.motion.items()}
    follows, events, ended = _afterwards(coming, last, asked, luck)
    for part in follows:
        begin = float(parts[-1]["t_s"][-1])
        part["t_s"] = part["t_s"] + begin
        felt_of(part, coming.record.board)
        parts.append(part)
    end_s = float(parts[-1]["t_s"][-1])
    events = {**events_of(coming), **events}
    shifted = {name: t_s + begin_s for name, t_s in events.items()}
    own = phases_of(coming, events, end_s - begin_s)
    own = [(phase, from_s + begin_s, to_s + begin_s) for phase, from_s, to_s in own]
    for phase in own:
        _add(phases, *phase)
    notes.append((begin_s, "listening"))
    if "handover" in shifted:
        notes.append((shifted["handover"], "handed over"))
    kind = "launch" if coming.summary["release_s"] >= 0.0 else "not thrown"
    attempts.append(Attempt(kind, ended, begin_s, end_s, own, shifted, coming, begin_s))


def _afterwards(
    coming: Flown, last: dict[str, float], asked: Options, luck: np.random.Generator
) -> tuple[list[Motion], dict[str, float], str]:
    """Return what follows a launch: motions, the ground as an event of the launch, and how it ended."""
    summary, record = coming.summary, coming.record
    if summary["release_s"] < 0.0:
        return [after.held_on(record, last, float(luck.uniform(4.0, 7.0)))], {}, "in the hand"
    if summary["handover_s"] >= 0.0:
        on = after.flown_on(record, last, luck, float(luck.uniform(8.0, 15.0)))
        if asked.second is None:
            return [on], {}, "handed over"
        here = {name: float(values[-1]) for name, values in on.items()}
        down = after.brought_down(record, here, luck)
        here = {name: float(values[-1]) for name, values in down.items()}
        landed = last["t_s"] + float(on["t_s"][-1]) + float(down["t_s"][-1])
        return [on, down, after.lain(record, here, luck, 4.0)], {"landed": landed}, "handed over"
    if summary["outcome"] == float(Outcome.POWER_LOST):  # the recorder has no power either
        return [], {}, "log ends"
    if last["height_m"] <= 4.0 * GROUND_M:
        lies = after.lain(record, last, luck, float(luck.uniform(4.0, 8.0)))
        return [lies], {"ground": last["t_s"]}, "ground"
    if summary["end_s"] - summary["release_s"] > 39.0:
        return [], {}, "log ends"
    falls = after.fallen(record, last, luck)
    here = {name: float(values[-1]) for name, values in falls.items()}
    lies = after.lain(record, here, luck, float(luck.uniform(4.0, 8.0)))
    return [falls, lies], {"ground": last["t_s"] + float(falls["t_s"][-1])}, "ground"


def events_of(flown_: Flown) -> dict[str, float]:
    """Return when what happened in a launch [s from the start of listening], by the names of the events."""
    summary, record, motion = flown_.summary, flown_.record, flown_.motion
    hand, release_s = record.hand, summary["release_s"]
    found = {
        name: summary[f"{name}_s"]
        for name in ("detection", "release", "clear", "first_spin", "thrust_match", "handover")
        if summary[f"{name}_s"] >= 0.0
    }
    if record.logic.style == STYLE_LINE:
        found["stroke"] = hand.carry_s
        found.pop("clear", None)
    else:
        if hand.shakes > 0.0:
            found["shake"] = hand.carry_s
        if release_s >= 0.0:
            found["stroke"] = stroke_start(hand, summary["windup_s"])
            if hand.windup_m > 0.0:
                found["wind_up"] = summary["windup_s"]
    first = summary["detection_s"] + record.logic.start_wait_s
    if "detection" in found and first < float(motion["t_s"][-1]):
        found["first_throttle"] = first
    if release_s >= 0.0:
        climb = climb_begins(motion, max(release_s, found.get("first_spin", np.inf)))
        if climb is not None:
            found["climb"] = climb
    return found


def climb_begins(motion: Motion, from_s: float) -> float | None:
    """Return when the climb began [s]: from then on it rose faster than 0.5 m/s for a second."""
    t_s = motion["t_s"]
    slow = t_s[(motion["down_mps"] > -CLIMBS_MPS) & (t_s >= from_s)]
    starts = np.concatenate(([from_s], slow))
    ends = np.concatenate((slow, [float(t_s[-1])]))
    long = np.flatnonzero(ends - starts >= CLIMBS_S)
    return float(starts[long[0]]) if long.size and np.isfinite(from_s) else None


def phases_of(flown_: Flown, events: dict[str, float], end_s: float) -> Phases:
    """Return the phases of a launch from listening on [s from the start of listening].

    The draw-back belongs to the phase held. The motor drives from its first turn on.
    """
    hand, never = flown_.record.hand, float("inf")
    release = events.get("release", never)
    marks: list[tuple[float, str]] = [(0.0, PHASE_HELD)]
    if "shake" in events:
        marks += [(events["shake"], PHASE_SHAKEN), (shake_end(hand), PHASE_HELD)]
    marks += [(events.get("stroke", never), PHASE_STROKE), (release, PHASE_FREE)]
    marks += [(max(release, events.get("first_spin", never)), PHASE_POWERED)]
    marks += [(events.get("climb", never), PHASE_CLIMB)]
    marks += [(events.get("handover", never), PHASE_HANDED_OVER), (events.get("ground", never), PHASE_DOWN)]
    if events.get("landed", never) < never:
        marks.append((events["landed"], PHASE_DOWN))
    marks = [mark for mark in marks if mark[0] < end_s]
    ends = [mark[0] for mark in marks[1:]] + [end_s]
    spans = [(phase, from_s, to_s) for (from_s, phase), to_s in zip(marks, ends, strict=True)]
    return [span for span in spans if span[2] > span[1]]


def _add(phases: Phases, phase: str, from_s: float, to_s: float) -> None:
    """Add a span to the whole; one of the same phase goes on."""
    if phases and phases[-1][0] == phase:
        phases[-1] = (phase, phases[-1][1], to_s)
    elif phases:
        phases.append((phase, phases[-1][2], to_s))
    else:
        phases.append((phase, from_s, to_s))


def _in_hand(t_s: Numbers, phases: Phases) -> Numbers:
    """Return 1 at the times at which a hand holds the model, else 0."""
    held = np.zeros_like(t_s)
    for k, (phase, from_s, to_s) in enumerate(phases):
        if phase in (PHASE_CARRIED, PHASE_SHAKEN, PHASE_STROKE) or (phase == PHASE_HELD and k > 0):
            held[(t_s >= from_s) & (t_s < to_s)] = 1.0
    return held


def tremor(t_s: Numbers, held: Numbers, luck: np.random.Generator) -> Numbers:
    """Return the tremor of a hand [m/s2]: about 8 Hz while ``held`` is 1, with a slowly changing size."""
    beats = sum(
        np.sin(2.0 * math.pi * hz * t_s + luck.uniform(0.0, 2.0 * math.pi))
        for hz in luck.normal(TREMOR_HZ, 0.8, 5)
    )
    return np.asarray(TREMOR_MPS2 * math.sqrt(2.0 / 5.0) * beats * held)


def _cut(course: Course, asked: Options, luck: np.random.Generator) -> Course:
    """Return the part of a course that was recorded; times count from its first sample."""
    begin_s, end_s = float(course.motion["t_s"][0]), float(course.motion["t_s"][-1])
    last = course.attempts[-1]
    release = last.events.get("release")
    if asked.before == "in the air" and release is not None:
        begin_s = release + float(luck.uniform(0.3, 2.0))
    if asked.after == "log ends" and release is not None:
        launch_end = last.events.get("handover", last.events.get("ground", end_s))
        latest = max(release + 0.8, launch_end - 0.3)
        end_s = float(luck.uniform(release + 0.7, latest))
    t_s = course.motion["t_s"]
    kept = (t_s >= begin_s - 1e-9) & (t_s <= end_s + 1e-9)
    course.motion = {name: values[kept] for name, values in course.motion.items()}
    course.motion["t_s"] = course.motion["t_s"] - begin_s
    course.phases = _spans_within(course.phases, begin_s, end_s)
    course.notes = [(t - begin_s, text) for t, text in course.notes if begin_s < t <= end_s]
    course.notes.insert(0, (0.0, "recording begins"))  # so that the first row is the time 0 of the truth
    course.attempts = [one for one in course.attempts if one.to_s > begin_s and one.from_s < end_s]
    for one in course.attempts:
        _shorten(one, begin_s, end_s)
        if "release" in one.events:
            free = free_flight(course.motion, one)
            low = np.argmin(np.where(free, course.motion["height_m"], np.inf))
            one.events["low_point"] = float(course.motion["t_s"][low])
    return course


def free_flight(motion: Motion, one: Attempt) -> NDArray[np.bool_]:
    """Return which samples lie between release and handover, ground or the end of the recording."""
    end = min(one.events.get(name, one.to_s) for name in ("handover", "ground"))
    return np.asarray((motion["t_s"] >= one.events["release"] - 1e-6) & (motion["t_s"] <= end + 1e-6))


def _shorten(one: Attempt, begin_s: float, end_s: float) -> None:
    """Leave of an attempt what lies within a recording, and count its times from there."""
    if one.from_s < begin_s:
        one.kind = "already in the air"
    ending = {"handed over": "handover", "ground": "ground"}.get(one.ended, "")
    if ending and one.events.get(ending, end_s) >= end_s:
        one.ended = "log ends"
    one.events = {name: t - begin_s for name, t in one.events.items() if begin_s <= t <= end_s}
    one.phases = _spans_within(one.phases, begin_s, end_s)
    one.from_s, one.to_s = max(one.from_s, begin_s) - begin_s, min(one.to_s, end_s) - begin_s
    one.listens_s -= begin_s


def _spans_within(phases: Phases, begin_s: float, end_s: float) -> Phases:
    cut = [(phase, max(a, begin_s) - begin_s, min(b, end_s) - begin_s) for phase, a, b in phases]
    return [span for span in cut if span[2] > span[1]]
