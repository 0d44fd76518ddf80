"""One launch from listening to handover, the ground, or the time limit."""

from __future__ import annotations

from typing import Any

from overarm.flight.course import (
    Air,
    Clock,
    Course,
    air_start,
    blow,
    clock,
    clock_differs,
    course_start,
    gust_due,
    released,
    waited,
)
from overarm.flight.held import hold
from overarm.flight.moment import Moment
from overarm.flight.step import step_start, to_end, to_middle
from overarm.flight.trace import note_flying
from overarm.flight.verdict import verdict
from overarm.flight.walls import free_way, note_ahead, note_walls
from overarm.flight.watch import (
    END_HANDED_OVER,
    END_STRUCK,
    GOES_ON,
    ending,
    gave_up,
    speed_along,
    write_notes,
)
from overarm.jit import scalar
from overarm.physics.propeller import table_pair
from overarm.physics.wind import along_wind, mean_wind
from overarm.rng import STREAM_SENSOR, normal

Who = tuple[int, int]  # seed and number of a launch

# Sensor noise of the flight phase starts here in its stream, far beyond the held phase.
FLIGHT_NOISE_BLOCK = 1_000_000


@scalar
def let_go(rec: Any, table: Any, seed: int, launch: int, out: Any, trace: Any) -> tuple[bool, Moment, int]:
    """Run a launch until release; return (False if nobody threw, the moment, samples taken).

    A launch that was not thrown is judged here.
    """
    now, sample = hold(rec, table, seed, launch, out, trace)
    out.detection_s = now.mind.detection_s
    out.end_s = now.t_s
    if now.thrown < 0.5:
        verdict(rec, out, GOES_ON, 0.0, False)
        return False, now, sample
    out.headwind_mps = -mean_wind(rec.air, -now.body.z) * along_wind(rec.air, 1.0, 0.0)[0]
    return True, released(rec, now), sample


@scalar
def noise_of(course: Course, who: Who) -> float:
    """Return the noise of the next sample, a standard normal number; a cue that fired needs none."""
    return normal(FLIGHT_NOISE_BLOCK + int(course.sample) + 1, who[1], STREAM_SENSOR, who[0])


@scalar
def next_part(part: float, pace: Clock) -> float:
    """Return which step of a sample comes next; the autopilot takes its sample in step 0."""
    return 0.0 if part + 1.0 >= pace.parts else part + 1.0


@scalar
def judged(rec: Any, obstacles: Any, course: Course, end: float, out: Any) -> None:
    """Write what is left of the summary of a flight that has ended."""
    now = course.now
    write_notes(rec, out, course.notes)
    out.detection_s = now.mind.detection_s
    out.longest_above_s = now.mind.cue.longest_above_s
    out.end_s, out.distance_m = now.t_s, now.body.x
    if end == END_HANDED_OVER:
        out.handover_s = now.t_s
        note_ahead(out, obstacles, now.body, speed_along(now))
    verdict(rec, out, end, course.slack_s, gave_up(now))


@scalar
def free_flight(
    rec: Any,
    table: Any,
    obstacles: Any,
    who: Who,
    begun: tuple[Course, Air],
    out: Any,
    trace: Any,
) -> None:
    """Run the free flight from release to its end and judge it."""
    course, air = begun
    end, part, free_m = GOES_ON, 0.0, 0.0
    pace = clock(rec, course.now)
    while end == GOES_ON:
        samples, noise = part == 0.0, 0.0
        if samples:
            if clock_differs(course.now, pace):
                pace = clock(rec, course.now)
            if pace.cued < 0.5:
                noise = noise_of(course, who)
        part = next_part(part, pace)
        air = waited(air, pace.step_s)
        if gust_due(air):
            air = blow(rec, air, course, who)
        before, start = course, step_start(rec, course, air, pace)
        pair = table_pair(table, start.share)
        course, middle, seen = to_middle(rec, pair, course, start, pace, samples, noise)
        if samples:
            gap_m = before.reach.gap_m
            note_flying(rec, trace, int(before.sample), before.now, seen, start.held, gap_m)
        course = to_end(rec, table_pair(table, middle.share), course, middle, pace)
        end = ending(rec, course.notes, course.now, middle.volts_v, course.now.t_s - course.start_s)
        was = (before.now.body.x, before.now.body.y, before.now.body.z)
        free_m = free_way(free_m, was, course.now.body)
        if free_m <= 0.0:
            struck, free_m = note_walls(out, obstacles, was, course.now.body)
            end = END_STRUCK if struck else end
    judged(rec, obstacles, course, end, out)


@scalar
def fly(rec: Any, table: Any, obstacles: Any, seed: int, launch: int, out: Any, trace: Any) -> None:
    """Fly one launch; write its summary into ``out`` and its samples into ``trace``.

    ``rec``: launch record; ``table``: propeller table (2, 65); ``obstacles``: walls, array
    (n, 5) of x1, y1, x2, y2 and height [m] in the launch frame; ``out``: row of the summary, already blank;
    ``trace``: array (samples, columns), with no rows to keep none.
    """
    thrown, now, sample = let_go(rec, table, seed, launch, out, trace)
    if thrown:
        air = air_start(rec, now, (seed, launch))
        begun = course_start(rec, now, air, sample, out), air
        free_flight(rec, table, obstacles, (seed, launch), begun, out, trace)
