"""Make one synthetic recording: the motion, what the instruments say of it, the file, and the truth."""

from __future__ import annotations

import json
import math
from typing import Any, NamedTuple

import numpy as np

from overarm.describe.cards import Setup
from overarm.describe.derived import Derived
from overarm.earth import Ground, Spot
from overarm.errors import InputError, Problem
from overarm.flight.campaign import Inputs
from overarm.flight.inputs import inputs_of
from overarm.physics.sensor import Board
from overarm.specimens import instruments
from overarm.specimens.board import Errors, Readings, believed, sampled
from overarm.specimens.course import Course, course_of
from overarm.specimens.luck import stream
from overarm.specimens.motion import FORCES, Numbers, at
from overarm.specimens.options import Options
from overarm.specimens.spoil import MEASURED, SPOILERS, Injected, Scene, spoil
from overarm.specimens.table import Series, Table, merged, written
from overarm.specimens.truth import attempt_truth, thrust_and_drag

SOMEWHERE = Spot(47.0, 9.0)  # of a site without a place: any spot will do


class Specimen(NamedTuple):
    """A synthetic recording and the truth beside it."""

    csv: bytes
    truth: dict[str, Any]

    @property
    def truth_json(self) -> bytes:
        """Return the truth as JSON."""
        return json.dumps(self.truth, indent=1).encode()


def make(
    setup: Setup,
    derived: Derived,
    *,
    seed: int,
    launch: int,
    options: Options | None = None,
    inputs: Inputs | None = None,
) -> Specimen:
    """Make a synthetic recording of one launch of a campaign.

    Parameters
    ----------
    setup : Setup
    derived : Derived
    seed, launch : int
        As in `overarm.flight.campaign.run`: the launch is the one that the campaign flies.
    options : Options, optional
        What else happens, what is written, and what is wrong with it.
    inputs : Inputs, optional
        Those of the setup, if they are at hand.

    Returns
    -------
    Specimen
        The same bytes for the same (setup, seed, launch, options).
    """
    asked = options or Options()
    held = inputs if inputs is not None else inputs_of(setup, derived)
    luck = {name: stream(seed, launch, name) for name in STREAMS}
    _known(asked)
    course = course_of(held, seed, launch, asked)
    errors = _errors(course, asked, luck["errors"])
    lag_s = _lag(asked, luck["errors"])
    case = Case(course, asked, errors, lag_s, _ground(setup), setup.site.elevation_m.value)
    table = merged(_series(case, luck), course.notes)
    clipped = any(_clipped(table.columns[name], errors.range_mps2) for name in FORCES)
    defects = _spoiled(table, case, luck["defects"])
    attempts = [attempt_truth(one, course, lag_s, held.table) for one in course.attempts]
    truth = {
        "setup": setup.name,
        "setup_hash": setup.hash(),
        "style": setup.style,
        "seed": seed,
        "launch": launch,
        "launches": attempts,
        "phases": [list(span) for span in course.phases],
        "board": {"tilt_rad": course.record.board.tilt_rad, **errors._asdict()},
        "clipped": clipped,
        "satellite_lag_s": lag_s,
        "wind_10m_mps": course.record.air.wind_10m_mps,
        "wind_angle_rad": course.record.air.wind_angle_rad,
        "loads": [thrust_and_drag(one, course) for one in course.attempts if one.flown is not None],
        "defects": defects,
    }
    return Specimen(written(table), truth)


class Case(NamedTuple):
    """All that the instruments of one recording need to know."""

    course: Course
    asked: Options
    errors: Errors
    lag_s: float
    ground: Ground
    elevation_m: float


def _clipped(values: Numbers, range_mps2: float) -> bool:
    """Return True if a force reached the end of the range of its sensor."""
    return bool(np.nanmax(np.abs(values)) >= range_mps2 - 1e-3)


def _known(asked: Options) -> None:
    """Raise InputError for a defect that nobody knows how to put in."""
    known = (*SPOILERS, *MEASURED)
    problems = [
        Problem("is not a defect that can be put in", f"Choose from {', '.join(known)}", value=name)
        for name in asked.defects
        if name not in known
    ]
    if problems:
        raise InputError(problems)


def _lag(asked: Options, luck: np.random.Generator) -> float:
    """Return how late the satellite is [s]: as asked for, or drawn from what is usual or from what is not."""
    low, high = (0.5, 0.9) if "late satellite" in asked.defects else (0.1, 0.4)
    drawn = float(luck.uniform(low, high))
    return drawn if asked.satellite_lag_s is None else asked.satellite_lag_s


def _spoiled(table: Table, case: Case, luck: np.random.Generator) -> list[dict[str, Any]]:
    """Put the defects that are asked for into a table, and return the truth of each."""
    course, told = case.course, []
    releases = [one.events["release"] for one in course.attempts if "release" in one.events]
    end_s = float(course.motion["t_s"][-1])
    scene = Scene(course.motion, releases[0] if releases else 0.5 * end_s, end_s)
    for name in case.asked.defects:
        if name in MEASURED:
            told.append(Injected(MEASURED[name], "", 0.0, end_s, name)._asdict())
        else:
            told.append(spoil(table, scene, name, luck))
    return told


def _ground(setup: Setup) -> Ground:
    direction, point = setup.site.launch_direction_rad, setup.site.launch_point
    spot = SOMEWHERE
    if point is not None:
        spot = Spot(math.degrees(point.latitude_rad.value), math.degrees(point.longitude_rad.value))
    return Ground(spot, direction.value if direction else 0.0)


SETTLES_S = 1.5
WANDER_RAD, NOISE_RAD = math.radians(0.15), math.radians(0.1)  # of the heading; walk: by the root of a second
STREAMS = ("errors", "forces", "attitude", "satellite", "baro", "pitot", "drive", "state", "defects")


def _errors(course: Course, asked: Options, luck: np.random.Generator) -> Errors:
    board: Board = course.record.board
    drawn = float(luck.uniform(1.0, 10.0))
    shake = 10.0 if "aliasing" in asked.defects else asked.vibration_mps2
    full = max(float(np.max(course.motion["spin_radps"])), 300.0)
    return Errors(
        float(luck.uniform(0.05, 0.2)),
        drawn if shake is None else shake,
        full,
        min(asked.range_mps2, board.range_mps2),
        float(luck.normal(0.0, 0.1)),
        float(luck.normal(0.0, 0.1)),
    )


def _series(case: Case, luck: dict[str, np.random.Generator]) -> list[Series]:
    motion, rates, record = case.course.motion, case.asked.rates, case.course.record
    readings = sampled(motion, record.board, case.errors, rates.inertial_hz, luck["forces"])
    made = _inertial(readings) + _attitude(case, luck["attitude"])
    if rates.satellite_hz > 0.0:
        place = case.ground, case.lag_s, case.elevation_m
        made += instruments.satellite(motion, rates.satellite_hz, *place, luck["satellite"])
    if rates.baro_hz > 0.0:
        made += instruments.baro(motion, rates.baro_hz, luck["baro"])
    if rates.airspeed_hz > 0.0:
        offset = 10.0 if "airspeed zero" in case.asked.defects else float(luck["pitot"].normal(0.0, 0.8))
        density = record.air.density_kgpm3
        made += instruments.pitot(motion, rates.airspeed_hz, density, offset, luck["pitot"])
    made += instruments.drive(motion, rates, luck["drive"])
    if rates.state_hz > 0.0:
        made += instruments.state(motion, rates.state_hz, luck["state"])
    return made


def _inertial(readings: Readings) -> list[Series]:
    names = ("roll_rate_deg_s", "pitch_rate_deg_s", "yaw_rate_deg_s")
    forces = [Series(n, readings.t_s, f, 3) for n, f in zip(FORCES, readings.forces, strict=True)]
    turns = [Series(n, readings.t_s, np.degrees(r), 2) for n, r in zip(names, readings.rates, strict=True)]
    return [*forces, *turns]


def _attitude(case: Case, luck: np.random.Generator) -> list[Series]:
    """Return pitch, bank and heading as the autopilot believes them, written at a rate of their own."""
    course, rate_hz = case.course, case.asked.rates.attitude_hz
    if rate_hz <= 0.0:
        return []
    motion, board, errors = course.motion, course.record.board, case.errors
    own = sampled(motion, board, errors, board.rate_hz, luck)
    pitch, bank = believed(motion, board, course.record.control.speed_aided > 0.5, own)
    _settle_in_turns(course, own.t_s, (pitch, bank))
    t_s = instruments.times_of(motion, rate_hz, luck)
    k = np.clip(np.searchsorted(own.t_s, t_s, side="right") - 1, 0, own.t_s.size - 1)
    heading = at(motion, "heading_rad", t_s) + math.radians(luck.normal(0.0, 4.0)) + case.ground.direction_rad
    heading = (
        heading + instruments.wandering(t_s, WANDER_RAD, luck) + NOISE_RAD * luck.standard_normal(t_s.size)
    )
    return [
        Series("bank_deg", t_s, np.degrees(bank[k]), 2),
        Series("pitch_deg", t_s, np.degrees(pitch[k]), 2),
        Series("heading_deg", t_s, np.degrees(heading) % 360.0, 1),
    ]


def _settle_in_turns(course: Course, t_s: Numbers, angles: tuple[Numbers, Numbers]) -> None:
    """Let the believed attitude come right after a handover, as that of an autopilot that flies turns does.

    The estimate of the launch takes the lean of a steady turn for level; nothing of the launch needs it then.
    """
    for one in course.attempts:
        begin = one.events.get("handover")
        if begin is None:
            continue
        late = (t_s > begin) & (t_s <= one.to_s)
        fades = np.exp(-(t_s[late] - begin) / SETTLES_S)
        for angle, name in zip(angles, ("pitch_rad", "bank_rad"), strict=True):
            error = angle[late] - at(course.motion, name, t_s[late])
            angle[late] -= error * (1.0 - fades)
