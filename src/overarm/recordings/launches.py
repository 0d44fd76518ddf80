"""One launch of a recording: its events, its spans between them, how it ended, and remarks on it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from overarm.describe.setup import Setup
from overarm.recordings.cues.grid import Grid, Numbers
from overarm.recordings.cues.lobes import Lobe, looks_pulled
from overarm.recordings.flights import Rough, Stretch
from overarm.recordings.launch import EVENTS, Ended, Event, LaunchRecord, Phase, Span
from overarm.recordings.moments.drive import first_spin, first_throttle
from overarm.recordings.moments.ground import ground
from overarm.recordings.moments.height import USUAL_RELEASE_M, climb_start, handover, heights_of, low_point
from overarm.recordings.moments.release import stroke_events
from overarm.recordings.moments.shake import shake_event
from overarm.recordings.recording import Recording
from overarm.recordings.states import AIRBORNE, IN_THE_HAND, PHASES, State

LOOK_BACK_S = 12.0


class Sureness(NamedTuple):
    """How probable each hidden state is at each time of a grid; ``shares`` has shape (n, S)."""

    grid: Grid
    shares: Numbers

    def of(self, phase: Phase, from_s: float, to_s: float) -> float:
        """Return the mean probability of a phase over a time."""
        first = self.grid.place(from_s)
        last = max(first + 1, self.grid.place(to_s))
        states = [state for state in State if PHASES[state] == phase]
        return float(np.clip(np.mean(self.shares[first:last, states].sum(axis=1)), 0.0, 1.0))


class Known(NamedTuple):
    """What a launch is measured with."""

    recording: Recording
    setup: Setup | None
    lobes: tuple[Lobe, ...]
    sureness: Sureness


def launch_record(known: Known, rough: Rough, number: int) -> LaunchRecord:
    """Return a launch with everything that can be told of it, from its stretches."""
    events = _events(known, rough)
    ended = _ended(known, rough, events)
    return LaunchRecord(
        number,
        rough.kind,
        rough.from_s,
        rough.to_s,
        _spans(known, rough, events),
        {name: events[name] for name in EVENTS if name in events},
        ended,
        _remarks(known, rough, events),
    )


def lobe_of(known: Known, rough: Rough) -> Lobe | None:
    """Return the lobe of the stroke of a launch: the strongest whose peak lies in the stroke."""
    stroke = rough.first(State.STROKE, State.ABORTED)
    if stroke is None:
        return None
    slack = known.sureness.grid.step_s
    near = [b for b in known.lobes if stroke.from_s - slack <= b.peak_s <= stroke.to_s + slack]
    return max(near, key=lambda b: b.speed_mps, default=None)


def _events(known: Known, rough: Rough) -> dict[str, Event]:
    recording = known.recording
    events: dict[str, Event] = {}
    lobe = lobe_of(known, rough)
    stroke = rough.first(State.STROKE, State.ABORTED)
    if lobe is not None:
        events.update(stroke_events(recording, lobe))
    if rough.kind == "aborted throw":
        events.pop("release", None)
    elif stroke is not None and "release" not in events:
        events["release"] = Event(
            stroke.to_s, _coarse_s(known, stroke.to_s), "where the flight begins, by the state model"
        )
    shaken = [s for s in rough.stretches if s.state == State.SHAKEN]
    if shaken:
        found = shake_event(recording, shaken[-1])
        if found is not None:
            events["shake"] = found
    if rough.kind != "aborted throw":
        _flight_events(known, rough, events)
    return events


def _coarse_s(known: Known, at_s: float) -> float:
    """Return the standard error of a time that only the state model tells: the rates of the channels [s]."""
    recording = known.recording
    force = recording.channel("force_x_mps2")
    hole = 0.0
    if force is not None:
        k = int(np.searchsorted(force.t_s, at_s))
        low, high = max(0, k - 1), min(force.t_s.size - 1, k)
        hole = float(force.t_s[high] - force.t_s[low])
        if hole < 1.0:
            return 0.1 + 0.5 * hole
    periods = [1.0 / c.rate_hz for c in recording.channels.values() if c.rate_hz > 0.0]
    return 0.5 + min(5.0, min(periods, default=1.0)) if force is None else 0.4 + 0.3 * min(hole, 10.0)


def _flight_events(known: Known, rough: Rough, events: dict[str, Event]) -> None:
    recording = known.recording
    flight = rough.first(*AIRBORNE)
    release = events.get("release")
    start_s = release.t_s if release is not None else (flight.from_s if flight is not None else rough.to_s)
    down = rough.first(State.DOWN)
    to_s = down.from_s if down is not None else rough.to_s
    if down is not None:
        events["ground"] = ground(recording, down.from_s, start_s, known.sureness.grid.step_s)
        to_s = max(start_s, events["ground"].t_s)
    if release is None:
        return
    back_s = max(rough.from_s, start_s - LOOK_BACK_S)
    throttle = first_throttle(recording, back_s, start_s, to_s)
    if throttle is not None:
        events["first_throttle"] = throttle
    spin = first_spin(recording, (back_s, start_s, to_s), throttle)
    if spin is not None:
        events["first_spin"] = spin
    heights = heights_of(recording, start_s, to_s)
    driven_s = max(start_s, spin.t_s) if spin is not None else start_s
    climb = climb_start(heights, driven_s, to_s) if heights is not None else None
    if climb is not None:
        events["climb"] = climb
    if heights is not None:
        low = low_point(heights, start_s, climb.t_s + 0.7 if climb is not None else to_s)
        if low is not None:
            events["low_point"] = low
    handed = handover(
        recording, heights, _wanted_m(known.setup), (climb.t_s if climb is not None else start_s, to_s)
    )
    if handed is not None:
        events["handover"] = handed


def _wanted_m(setup: Setup | None) -> float | None:
    """Return the height of the hand-over over the place of release [m]."""
    if setup is None:
        return None
    released_m = setup.thrower.release_height_m.value if setup.thrower is not None else USUAL_RELEASE_M
    return setup.settings.handover_height_m.value - released_m


def _ended(known: Known, rough: Rough, events: dict[str, Event]) -> Ended:
    if rough.kind == "aborted throw":
        return "in the hand"
    if "handover" in events or rough.first(State.HANDED_OVER) is not None:
        return "handed over"
    if rough.broken:
        return "log breaks"
    if rough.first(State.DOWN) is not None:
        return "ground"
    return "log ends"


def _marks(rough: Rough, events: dict[str, Event]) -> list[tuple[Phase, float]]:
    """Return (phase, time from which it is on [s]) of a launch: by its events, else by the state model."""
    marks: list[tuple[Phase, float]] = []
    held = [s for s in rough.stretches if s.state in IN_THE_HAND]
    for stretch in held:
        phase = PHASES[stretch.state]
        at_s = stretch.from_s
        if phase == Phase.STROKE and "stroke" in events:
            at_s = events["stroke"].t_s
        if not marks or marks[-1][0] != phase:
            marks.append((phase, at_s))
    if rough.kind == "aborted throw":
        return marks
    spin = events.get("first_spin") or events.get("first_throttle")
    flight = rough.first(*AIRBORNE)
    starts: dict[Phase, Event | Stretch | None] = {
        Phase.FREE: events.get("release") or rough.first(State.FREE),
        Phase.POWERED: spin or rough.first(State.POWERED),
        Phase.CLIMB: events.get("climb") or rough.first(State.CLIMB),
        Phase.HANDED_OVER: events.get("handover") or rough.first(State.HANDED_OVER),
        Phase.DOWN: events.get("ground"),
    }
    flown = [(phase, _time(start)) for phase, start in starts.items() if start is not None]
    begin_s = min([t for _, t in flown[:1]] + ([flight.from_s] if flight is not None and not held else []))
    return marks + [(phase, max(begin_s, t)) for phase, t in flown]


def _time(start: Event | Stretch) -> float:
    return start.t_s if isinstance(start, Event) else start.from_s


def _spans(known: Known, rough: Rough, events: dict[str, Event]) -> tuple[Span, ...]:
    """Return the phases in order and without gaps; one that would not last is left out."""
    spans = []
    end_s = rough.to_s
    for phase, at_s in reversed(_marks(rough, events)):
        from_s = max(rough.from_s, min(at_s, end_s))
        if end_s - from_s > 1e-6:
            spans.append(Span(phase, from_s, end_s, known.sureness.of(phase, from_s, end_s)))
        end_s = from_s
    if spans and spans[-1].from_s > rough.from_s:
        spans[-1] = spans[-1]._replace(from_s=rough.from_s)
    return tuple(reversed(spans))


def _remarks(known: Known, rough: Rough, events: dict[str, Event]) -> tuple[str, ...]:
    said = []
    lobe = lobe_of(known, rough)
    if rough.kind == "already in the air":
        said.append("The recording starts, or goes on after a break, in the air: there is no throw in it.")
    elif lobe is None:
        said.append("No force of the stroke is recorded: the time of release is coarse.")
    elif lobe.cut:
        said.append("The recording has a gap in the stroke or just after it.")
    if lobe is not None and rough.kind == "launch" and looks_pulled(lobe):
        said.append("The force jumps up and then falls evenly: this looks like a launch from a line.")
    if known.setup is not None and lobe is not None and not lobe.cut and rough.kind == "launch":
        pulled = known.setup.style == "line-launched"
        if pulled != looks_pulled(lobe):
            said.append(f"The shape of the stroke is not that of a {known.setup.style} launch.")
    release, throttle = events.get("release"), events.get("first_throttle")
    if release is not None and throttle is not None and throttle.t_s < release.t_s - 2.0 * release.error_s:
        said.append(f"The throttle rose {release.t_s - throttle.t_s:.1f} s before the release.")
    if rough.broken:
        said.append("The recording stops for a while in this flight.")
    return tuple(said)
