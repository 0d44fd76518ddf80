"""Many launches, eight abreast: the free flight of eight launches in one loop of vector instructions.

What a launch is and does lies in slots (`overarm.slots`). Each step is a row of loops over the lanes: those
that are arithmetic alone become vector instructions; between them, lane by lane, comes what needs a
look at memory or is seldom: the propeller's table, random numbers, walls, the end. A lane whose launch has
ended takes the next one. No launch sees which others fly beside it.
"""

from __future__ import annotations

from typing import Any

import numpy as np

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
    waited,
)
from overarm.flight.forces import Held
from overarm.flight.one import fly, judged, let_go, next_part, noise_of
from overarm.flight.record import Launch
from overarm.flight.step import Middle, Start, step_start, to_end, to_middle
from overarm.flight.walls import free_way, note_walls
from overarm.flight.watch import END_STRUCK, GOES_ON, ending
from overarm.jit import apart, scalar
from overarm.physics.propeller import table_pair
from overarm.slots import ABREAST, blank, loaded, size, stored

IDLE = -1


LAUNCH, COURSE, AIR, PACE = blank(Launch), blank(Course), blank(Air), blank(Clock)
START, MIDDLE = blank(Start), blank(Middle)
PAIR, WAS, NUMBER = (0.0, 0.0), (0.0, 0.0, 0.0), 0.0

# Where each of them begins.
AT_LAUNCH = 0
AT_COURSE = AT_LAUNCH + size(LAUNCH)
AT_AIR = AT_COURSE + size(COURSE)
AT_PACE = AT_AIR + size(AIR)
AT_START = AT_PACE + size(PACE)
AT_MIDDLE = AT_START + size(START)
AT_PAIR = AT_MIDDLE + size(MIDDLE)  # what the propeller's table holds
AT_WAS = AT_PAIR + size(PAIR)  # place at the beginning of the step
AT_PART = AT_WAS + size(WAS)  # which step of a sample comes next
AT_NOISE = AT_PART + 1  # of the sensor, in this sample
AT_FREE = AT_NOISE + 1  # way that can be flown before any wall can be reached
AT_END = AT_FREE + 1
SLOTS = AT_END + 1
AT_START_SHARE = AT_START + size(START.held)
AT_MIDDLE_SHARE = AT_MIDDLE + size(MIDDLE.body) + size(MIDDLE.held)


@scalar
def seated(rows: Any, row: int, s: Any, lane: int) -> Launch:
    """Copy the record of a launch, a row of numbers, into the slots of a lane; return it."""
    for k in range(rows.shape[1]):
        s[ABREAST * (AT_LAUNCH + k) + lane] = rows[row, k]
    launch: Launch = loaded(LAUNCH, s, AT_LAUNCH, lane)
    return launch


@scalar
def fly_row(
    rows: Any, row: int, table: Any, obstacles: Any, who: tuple[int, int], out: Any, trace: Any
) -> None:
    """Fly the launch of one row alone, with its samples, as `overarm.flight.one.fly`."""
    rec = seated(rows, row, np.empty(ABREAST * rows.shape[1]), 0)
    fly(rec, table, obstacles, who[0], who[1], out, trace)


@apart
def take(seats: Any, lane: int, next_row: int, last_row: int, given: Any, s: Any) -> int:
    """Let the next launches be thrown until one flies in this lane; return the row after it."""
    rows, table, seed, numbers, out, trace = given
    seats[lane] = IDLE
    while next_row < last_row:
        row = next_row
        next_row += 1
        rec = seated(rows, row, s, lane)
        thrown, now, sample = let_go(rec, table, seed, numbers[row], out[row], trace)
        if thrown:
            air = air_start(rec, now, (seed, numbers[row]))
            stored(course_start(rec, now, air, sample, out[row]), s, AT_COURSE, lane)
            stored(air, s, AT_AIR, lane)
            stored(clock(rec, now), s, AT_PACE, lane)
            stored((0.0, 0.0, 0.0, GOES_ON), s, AT_PART, lane)
            seats[lane] = row
            break
    return next_row


@apart
def wait_all(s: Any) -> float:
    """Let the time of a step pass for the air; return in how many lanes something is due before it."""
    count = 0.0
    for lane in range(ABREAST):
        pace, part = loaded(PACE, s, AT_PACE, lane), loaded(NUMBER, s, AT_PART, lane)
        air = waited(loaded(AIR, s, AT_AIR, lane), pace.step_s)
        now = loaded(COURSE, s, AT_COURSE, lane).now
        sampled = (part == 0.0) & (clock_differs(now, pace) | (pace.cued < 0.5))
        count += 1.0 if sampled | gust_due(air) else 0.0
        stored(air, s, AT_AIR, lane)
    return count


@apart
def turn(seats: Any, seed: int, numbers: Any, s: Any) -> None:
    """Do in each lane what is due before a step: the clock, the noise of the sensor, the gusts."""
    for lane in range(ABREAST):
        if seats[lane] == IDLE:
            continue
        rec, course = loaded(LAUNCH, s, AT_LAUNCH, lane), loaded(COURSE, s, AT_COURSE, lane)
        pace, air = loaded(PACE, s, AT_PACE, lane), loaded(AIR, s, AT_AIR, lane)
        who = (seed, numbers[seats[lane]])
        if loaded(NUMBER, s, AT_PART, lane) == 0.0:
            if clock_differs(course.now, pace):
                before_s, pace = pace.step_s, clock(rec, course.now)
                air = waited(air, pace.step_s - before_s)
                stored(pace, s, AT_PACE, lane)
                stored(air, s, AT_AIR, lane)
            if pace.cued < 0.5:
                stored(noise_of(course, who), s, AT_NOISE, lane)
        if gust_due(air):
            stored(blow(rec, air, course, who), s, AT_AIR, lane)


@scalar
def look_up(seats: Any, table: Any, at: int, s: Any) -> None:
    """Look at the propeller's table in each lane, at the share that lies in slot ``at``."""
    for lane in range(ABREAST):
        if seats[lane] != IDLE:
            stored(table_pair(table, loaded(NUMBER, s, at, lane)), s, AT_PAIR, lane)


@apart
def start_all(s: Any) -> None:
    """Find what holds at the beginning of the step."""
    for lane in range(ABREAST):
        rec, course = loaded(LAUNCH, s, AT_LAUNCH, lane), loaded(COURSE, s, AT_COURSE, lane)
        air, pace = loaded(AIR, s, AT_AIR, lane), loaded(PACE, s, AT_PACE, lane)
        stored(step_start(rec, course, air, pace), s, AT_START, lane)


@scalar
def off_line(held: Held) -> Held:
    """Return the same without a line, told by a constant that lets the compiler leave the line out."""
    return Held(
        held.elevator_rad,
        held.aileron_rad,
        held.throttle,
        0.0,
        held.wind_x_mps,
        held.wind_y_mps,
        held.wind_z_mps,
    )


@scalar
def half(rec: Any, s: Any, lane: int, lines: bool) -> None:
    """Take the first half of the step in a lane."""
    course = loaded(COURSE, s, AT_COURSE, lane)
    start, pace = loaded(START, s, AT_START, lane), loaded(PACE, s, AT_PACE, lane)
    pair, noise = loaded(PAIR, s, AT_PAIR, lane), loaded(NUMBER, s, AT_NOISE, lane)
    part = loaded(NUMBER, s, AT_PART, lane)
    start = start if lines else Start(off_line(start.held), start.share)
    course, middle, _ = to_middle(rec, pair, course, start, pace, part == 0.0, noise)
    stored(course, s, AT_COURSE, lane)
    stored(middle, s, AT_MIDDLE, lane)
    stored(next_part(part, pace), s, AT_PART, lane)


@apart
def half_all(s: Any) -> None:
    """Take the first half of the step, with no line in any lane."""
    for lane in range(ABREAST):
        half(loaded(LAUNCH, s, AT_LAUNCH, lane), s, lane, False)


@apart
def half_all_on_line(s: Any) -> None:
    """Take the first half of the step."""
    for lane in range(ABREAST):
        half(loaded(LAUNCH, s, AT_LAUNCH, lane), s, lane, True)


@scalar
def last_half(rec: Any, s: Any, lane: int, lines: bool) -> float:
    """Take the second half of the step in a lane; return 1 if walls or the end must be looked at."""
    course = loaded(COURSE, s, AT_COURSE, lane)
    middle, pace = loaded(MIDDLE, s, AT_MIDDLE, lane), loaded(PACE, s, AT_PACE, lane)
    middle = middle if lines else Middle(middle.body, off_line(middle.held), middle.share, middle.volts_v)
    was = (course.now.body.x, course.now.body.y, course.now.body.z)
    course = to_end(rec, loaded(PAIR, s, AT_PAIR, lane), course, middle, pace)
    end = ending(rec, course.notes, course.now, middle.volts_v, course.now.t_s - course.start_s)
    free_m = free_way(loaded(NUMBER, s, AT_FREE, lane), was, course.now.body)
    stored(course, s, AT_COURSE, lane)
    stored(was, s, AT_WAS, lane)
    stored((free_m, end), s, AT_FREE, lane)
    return 1.0 if (free_m <= 0.0) | (end != GOES_ON) else 0.0


@apart
def end_all(s: Any) -> float:
    """Take the second half of the step, with no line in any lane; return how many lanes to look at."""
    count = 0.0
    for lane in range(ABREAST):
        count += last_half(loaded(LAUNCH, s, AT_LAUNCH, lane), s, lane, False)
    return count


@apart
def end_all_on_line(s: Any) -> float:
    """Take the second half of the step; return how many lanes to look at."""
    count = 0.0
    for lane in range(ABREAST):
        count += last_half(loaded(LAUNCH, s, AT_LAUNCH, lane), s, lane, True)
    return count


@scalar
def met_walls(obstacles: Any, out: Any, lane: int, s: Any) -> None:
    """Look at the walls that may have been met in the step; a struck one ends the launch."""
    body = loaded(COURSE, s, AT_COURSE, lane).now.body
    struck, free_m = note_walls(out, obstacles, loaded(WAS, s, AT_WAS, lane), body)
    stored(free_m, s, AT_FREE, lane)
    if struck:
        stored(END_STRUCK, s, AT_END, lane)


@apart
def settle(seats: Any, next_row: int, last_row: int, obstacles: Any, given: Any, s: Any) -> int:
    """Judge the launches that have ended and let others take their lanes; return the next row."""
    out = given[4]
    for lane in range(ABREAST):
        row = seats[lane]
        if row != IDLE:
            if loaded(NUMBER, s, AT_FREE, lane) <= 0.0:
                met_walls(obstacles, out[row], lane, s)
            end = loaded(NUMBER, s, AT_END, lane)
            if end == GOES_ON:
                continue
            rec = loaded(LAUNCH, s, AT_LAUNCH, lane)
            judged(rec, obstacles, loaded(COURSE, s, AT_COURSE, lane), end, out[row])
        next_row = take(seats, lane, next_row, last_row, given, s)
    return next_row


@scalar
def blank_slots() -> Any:
    """Return slots for a block of lanes, laid so that no vector crosses a line of the cache."""
    memory = np.zeros(SLOTS * ABREAST + ABREAST)
    first = -(memory.ctypes.data // memory.itemsize) % ABREAST
    return memory[first : first + SLOTS * ABREAST]


@scalar
def fly_abreast(given: Any, obstacles: Any, take_half: Any, take_end: Any, first: int, last: int) -> None:
    """Fly the launches of the rows ``first`` to ``last - 1`` and write their summaries.

    ``given``: the records as numbers (n, fields), the propeller's table, the seed, the number of each
    launch, the summaries, and an array for no samples; ``take_half`` and ``take_end``: the loops over the two
    halves of a step, those with a line if any launch leaves one.
    """
    table, seed, numbers = given[1:4]
    s, seats = blank_slots(), np.full(ABREAST, IDLE)
    next_row, due = first, 1.0
    while True:
        if due > 0.0:
            next_row = settle(seats, next_row, last, obstacles, given, s)
            if seats.max() == IDLE:
                break
        if wait_all(s) > 0.0:
            turn(seats, seed, numbers, s)
        start_all(s)
        look_up(seats, table, AT_START_SHARE, s)
        take_half(s)
        look_up(seats, table, AT_MIDDLE_SHARE, s)
        due = take_end(s)
