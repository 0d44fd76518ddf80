"""One launch of a recording: its events, its spans between them, how it ended, and remarks on it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from overarm.describe.setup import Setup
from overarm.recordings.cues.grid import Grid, Numbers
from overarm.recordings.cues.lobes import Lobe, looks_pulled
from overarm.recordings.flights import Rough, Stretch
from overarm.recordings.launch import EVENTS, Ended, Event, LaunchRecord, Phase, Span
from overarm.recordings.moments.cut import ROOT_12, combined
from overarm.recordings.moments.drive import VIBRATION, first_spin, first_throttle
from overarm.recordings.moments.ground import ground
from overarm.recordings.moments.height import USUAL_RELEASE_M, climb_start, handover, heights_of, low_point
from overarm.recordings.moments.release import stroke_events
from overarm.recordings.moments.shake import shake_event
from overarm.recordings.recording import Recording
from overarm.recordings.states import AIRBORNE, IN_THE_HAND, PHASES, State

LOOK_BACK_S = 12.0
NO_MOTOR_SEEN_S = 0.4
GAP_NEAR_S = 0.6
GAP_STEPS = 3.0
NO_LOBE_ERROR_S = 0.3


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
    elif rough.kind == "launch" and "release" not in events:
        flight = rough.first(*AIRBORNE)
        begin = stroke.to_s if stroke is not None else flight.from_s if flight is not None else rough.to_s
        events["release"] = _unseen_release(recording, begin)
    shaken = [s for s in rough.stretches if s.state == State.SHAKEN]
    if shaken and (known.setup is None or known.setup.style == "spin-in-hand"):
        found = shake_event(recording, shaken[-1])
        if found is not None:
            events["shake"] = found
    if rough.kind != "aborted throw":
        _flight_events(known, rough, events)
    return events


def _unseen_release(recording: Recording, begin_s: float) -> Event:
    """Return the release of a stroke that was not recorded, near the start of flight by the state model.

    It lies anywhere within a gap of the forces that is near; without a gap or without forces it is as coarse
    as the rest.
    """
    force = recording.channel("force_x_mps2")
    if force is not None:
        near = np.flatnonzero(np.abs(force.t_s - begin_s) < GAP_NEAR_S)
        if near.size > 1:
            steps = np.diff(force.t_s[near])
            k = int(np.argmax(steps))
            first, last = float(force.t_s[near[k]]), float(force.t_s[near[k] + 1])
            if last - first < GAP_STEPS / force.rate_hz:
                return Event(
                    begin_s, NO_LOBE_ERROR_S, "flight begins, by the state model: no stroke was felt"
                )
            return Event(
                0.5 * (first + last), combined((last - first) / ROOT_12, 0.05), "within a gap of the forces"
            )
        return Event(begin_s, 1.0, "flight begins in a gap of the forces, by the state model")
    periods = [1.0 / c.rate_hz for c in recording.channels.values() if c.rate_hz > 0.0]
    error_s = 0.5 + min(5.0, min(periods, default=1.0))
    return Event(begin_s, error_s, "flight begins, by the state model")


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
    lobe = lobe_of(known, rough)
    under_power = lobe is not None and lobe.brake_mps2 > 0.0  # the force never fell to that of rest
    if spin is not None and not (under_power and spin.method == VIBRATION and spin.t_s > start_s):
        events["first_spin"] = spin
    _height_events(known, events, (start_s, to_s))


def _height_events(known: Known, events: dict[str, Event], span_s: tuple[float, float]) -> None:
    """Add climb, low point and handover of a flight that lasts over a span [s]."""
    start_s, to_s = span_s
    heights = heights_of(known.recording, start_s, to_s)
    spin, release = events.get("first_spin"), events.get("release")
    climb_s = start_s
    if heights is not None:
        driven_s = max(start_s, spin.t_s) if spin is not None else start_s
        climb = climb_start(heights, driven_s, to_s)
        if climb is not None:
            events["climb"] = _after(_as_sure_as(climb, spin), release)
            climb_s = climb.t_s
    handed = handover(known.recording, heights, _wanted_m(known.setup), (climb_s, to_s))
    if handed is not None:
        events["handover"] = handed
    if "ground" in events and handed is None:
        events["low_point"] = events["ground"]._replace(method="the ground")
    elif heights is not None:
        low = low_point(heights, start_s, handed.t_s if handed is not None else to_s)
        if low is not None:
            events["low_point"] = _after(low, release)


def _after(event: Event, release: Event | None) -> Event:
    """Return an event that cannot be before the release; where it is at it, with the doubt about it."""
    if release is None or event.t_s - release.t_s > 2.0 * release.error_s:
        return event
    return event._replace(error_s=combined(event.error_s, release.error_s))


def _as_sure_as(climb: Event, spin: Event | None) -> Event:
    """Return the start of the climb with the doubt about the motor: a throw upwards rises without one."""
    if spin is None:
        return climb._replace(error_s=climb.error_s + NO_MOTOR_SEEN_S)
    if climb.t_s < spin.t_s + NO_MOTOR_SEEN_S:
        return climb._replace(error_s=combined(climb.error_s, spin.error_s))
    return climb


def _wanted_m(setup: Setup | None) -> float | None:
    """Return the height of the handover over the place of release [m]."""
    if setup is None:
        return None
    released_m = setup.thrower.release_height_m.value if setup.thrower is not None else USUAL_RELEASE_M
    return setup.settings.handover_height_m.value - released_m


def _ended(known: Known, rough: Rough, events: dict[str, Event]) -> Ended:
    if rough.kind == "aborted throw":
        return "in the hand"
    if _handed_over(known, rough, events):
        return "handed over"
    if rough.broken:
        return "log breaks"
    if rough.first(State.DOWN) is not None:
        return "ground"
    return "log ends"


def _handed_over(known: Known, rough: Rough, events: dict[str, Event]) -> bool:
    """Return True if the handover was seen; the state model alone counts where no setup says how high."""
    if "handover" in events:
        return True
    heights = heights_of(known.recording, rough.to_s - 1.0, rough.to_s)
    told = known.setup is not None and heights is not None and rough.kind == "launch"
    return rough.first(State.HANDED_OVER) is not None and rough.first(State.CLIMB) is not None and not told


def _marks(known: Known, rough: Rough, events: dict[str, Event]) -> list[tuple[Phase, float]]:
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
    over = _handed_over(known, rough, events)
    starts: dict[Phase, Event | Stretch | None] = {
        Phase.FREE: events.get("release") or rough.first(State.FREE),
        Phase.POWERED: spin or rough.first(State.POWERED),
        Phase.CLIMB: events.get("climb") or rough.first(State.CLIMB),
        Phase.HANDED_OVER: events.get("handover") or (rough.first(State.HANDED_OVER) if over else None),
        Phase.DOWN: events.get("ground"),
    }
    flown = [(phase, _time(start)) for phase, start in starts.items() if start is not None]
    if not flown:
        return marks if flight is None else [*marks, (PHASES[flight.state], flight.from_s)]
    begin_s = min([t for _, t in flown[:1]] + ([flight.from_s] if flight is not None and not held else []))
    return marks + [(phase, max(begin_s, t)) for phase, t in flown]


def _time(start: Event | Stretch) -> float:
    return start.t_s if isinstance(start, Event) else start.from_s


def _spans(known: Known, rough: Rough, events: dict[str, Event]) -> tuple[Span, ...]:
    """Return the phases in order and without gaps; one that would not last is left out."""
    spans = []
    end_s = rough.to_s
    for phase, at_s in reversed(_marks(known, rough, events)):
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
