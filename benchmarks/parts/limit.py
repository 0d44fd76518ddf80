"""How much of the machine's arithmetic the engine uses, and where the rest goes.

Operations are counted as the formulas are written (`benchmarks.counting`); the compiler spares some of
them, such as divisions by the same number. Peaks are those of `benchmarks.peak` on the same core in the
same run. Launches fly eight abreast, in vector instructions; the parts are timed one launch after
another, each chained to itself, so their sum need not be the whole. A part hands back all that it works
out, or the compiler would leave out what nobody reads.
"""

from __future__ import annotations

import statistics
from typing import Any

import numba
import numpy as np

from benchmarks.peak import measured
from benchmarks.rows import Row, child, example, in_words, median_s
from overarm.flight import autopilot, course, forces, one, watch
from overarm.flight.campaign import blank_summary, fly_records
from overarm.flight.draw import draw
from overarm.flight.moment import Moment
from overarm.flight.shares import shares_of
from overarm.flight.trace import empty_trace
from overarm.jit import FAST
from overarm.physics.rigid_body import moved

LAUNCHES, TURNS = 2000, 200_000
loop = numba.njit(error_model="numpy", fastmath=FAST)


@loop
def holds(records: Any, table: Any, out: Any, trace: Any) -> None:
    for k in range(records.shape[0]):
        one.hold(records[k], table, 1, k, out[k], trace)


@loop
def alone(inputs: Any, records: Any, numbers: Any, out: Any) -> None:
    table, obstacles, trace = inputs
    for k in range(records.shape[0]):
        one.fly(records[k], table, obstacles, 1, numbers[k], out[k], trace)


@loop
def begun(records: Any, table: Any, out: Any, trace: Any) -> Any:
    now, sample = one.hold(records[0], table, 1, 0, out[0], trace)
    now = course.released(records[0], now)
    air = course.air_start(records[0], now, (1, 0))
    return course.course_start(records[0], now, air, sample, out[0]), air


@loop
def summed(numbers: Any) -> float:
    total = 0.0
    for number in numbers:
        total += number
    return total


@loop
def forces_again(records: Any, table: Any, begins: Any, turns: int) -> float:
    body, held = begins.now.body, forces.Held(0.01, 0.0, 0.5, 0.0, -3.0, 0.1, 0.0)
    for _ in range(turns):
        rate, _ = forces.rates(records[0], table, body, held)
        body = moved(body, rate, 1e-9)
    return summed(body)


@loop
def minds(records: Any, begins: Any, turns: int) -> float:
    mind, shares = begins.now.mind, shares_of(records[0], 0.01, 0.01)
    for k in range(turns):
        down = -9.0 + 1e-9 * mind.filtered_mps2
        felt = autopilot.Felt(2.0, 2.0, 0.1, down, 0.1, 0.1, 0.1, 12.0, 3.0, 0.0, 0.0)
        mind = autopilot.mind_step(records[0], mind, felt, 0.01 * k, 0.01, shares)
    told = summed(mind.attitude) + summed(mind.control) + summed(mind.wanted) + mind.reported_speed_mps
    return told + mind.throttle + mind.lagged_mps2 + mind.detection_s


@loop
def notes(records: Any, table: Any, begins: Any, turns: int) -> float:
    held = forces.Held(0.01, 0.0, 0.5, 0.0, -3.0, 0.1, 0.0)
    now, found, reach = begins.now, begins.notes, begins.reach
    rate, seen = forces.rates(records[0], table, now.body, held)
    for k in range(turns):
        now = Moment(0.01 * k, moved(now.body, rate, 1e-9), now.mind, now.servos, now.drive, 1.0)
        reach = watch.reach_step(records[0], reach, now.body.u, now.t_s, 1e-9)
        found = watch.noted(records[0], found, now, seen, held, reach, True, 0.01)
    return summed(found) + summed(reach)


@loop
def gusts(records: Any, begins: Any, air: Any, turns: int) -> float:
    for k in range(turns):
        air = course.blow(records[0], air, begins, (k, 1))
    return summed(air.gust) + summed(air.gust_mps)


def parts_s(calls: dict[str, float], records: Any, table: Any, repeats: int) -> dict[str, float]:
    """Return the seconds that each part takes of a mean launch."""
    out, trace = blank_summary(len(records), 0), empty_trace()
    begins, air = begun(records, table, out, trace)

    def each(work: Any, *given: Any) -> float:
        return median_s(lambda: work(*given, TURNS), repeats) / TURNS

    return {
        "held in the hand": median_s(lambda: holds(records, table, out, trace), repeats) / len(records),
        "forces and motion": calls["rates_at"] * each(forces_again, records, table, begins),
        "autopilot": calls["mind_step"] * each(minds, records, begins),
        "gusts and their random numbers": calls["blow"] * each(gusts, records, begins, air),
        "events and extremes": calls["noted"] * each(notes, records, table, begins),
    }


def listed(counts: dict[str, float]) -> str:
    """Return counts in words."""
    names = ("additions", "multiplications", "divisions", "roots", "elementary functions", "comparisons")
    return ", ".join(f"{counts.get(name, 0.0):.0f} {name}" for name in names)


SLOW = ("divisions", "roots", "elementary functions")


def limits(counts: dict[str, float], each: float, peak: dict[str, float]) -> list[Row]:
    """Return the rows that set a launch on one core against what the core can do."""
    plain = counts["additions"] + counts["multiplications"]
    whole = plain + sum(counts[kind] for kind in SLOW)
    found = [
        Row("one number at a time, nothing waits", f"{1e-9 / peak['free']:.1f} Gop/s",
            f"{whole / each * peak['free']:.0%} reached: {1e-9 * whole / each:.2f} Gop/s"),
        Row("several numbers in an instruction", f"{1e-9 / peak['vector']:.1f} Gop/s",
            f"{whole / each * peak['vector']:.0%} reached"),
        Row("the same in float32", f"{1e-9 / peak['vector, float32']:.1f} Gop/s",
            f"{peak['vector'] / peak['vector, float32']:.2f} times float64"),
        Row("each waits for the one before", f"{1e-9 / peak['waiting']:.2f} Gop/s",
            f"{whole / each * peak['waiting']:.1f} times as fast is a launch"),
    ]  # fmt: skip
    for name, pace, prefix in (
        ("one number at a time", "free", ""),
        ("several in an instruction", "vector", "vector, "),
    ):
        slow = {kind: counts[kind] * peak[prefix + kind] for kind in SLOW}
        least = plain * peak[pace] + sum(slow.values())
        found.append(
            Row(f"each kind at its own pace, {name}", in_words(least), f"{least / each:.0%} of a launch")
        )
        found += [
            Row(f"  of it {kind}", in_words(taken), f"{taken / each:.0%}") for kind, taken in slow.items()
        ]
    return found


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    repeats = 3 if quick else 7
    _, inputs = example()
    counted = child("benchmarks.counting", "5" if quick else "20", NUMBA_DISABLE_JIT="1")
    records, _ = draw(inputs.base, inputs.rules, LAUNCHES, 1, 0)
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    try:
        each = median_s(lambda: fly_records(inputs, records, 1), repeats) / LAUNCHES
        given = (inputs.table, inputs.obstacles, empty_trace())
        numbers, out = np.arange(LAUNCHES), blank_summary(LAUNCHES, 0)
        single = median_s(lambda: alone(given, records, numbers, out.copy()), repeats) / LAUNCHES
        peak = measured(repeats)
        parts = parts_s(counted["calls"], records, inputs.table, repeats)
    finally:
        numba.set_num_threads(threads)
    steps = counted["calls"]["to_end"]
    found = [
        Row("a launch on one core", in_words(each), f"{steps:.0f} steps of {in_words(each / steps)}"),
        Row("the same, one launch after another", in_words(single), f"{single / each:.2f} times as long"),
        Row("operations of one step", listed(counted["step"])),
        *limits(counted["launch"], each, peak),
    ]
    found += [
        Row(f"part alone: {name}", in_words(taken), f"{taken / single:.0%} of a launch by itself")
        for name, taken in parts.items()
    ]
    rest = single - statistics.fsum(parts.values())
    found.append(
        Row("the rest", in_words(abs(rest)), f"{rest / single:.0%}: walls, wind, servos, the loop itself")
    )
    return found
