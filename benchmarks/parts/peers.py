"""Cost of a launch against two peers.

scipy's ``solve_ivp`` (RK45) flies the same model, once with the model in plain Python (in a process of
its own) and once with our compiled forces; JSBSim flies a simpler aeroplane (no motor, autopilot, sensor
or gusts) at the same 100 Hz.
"""

from __future__ import annotations

import json
import os
import statistics
import time
from typing import Any

import numpy as np
from numba import get_num_threads
from scipy.integrate import solve_ivp

from benchmarks.rows import ROOT, Row, child, example, in_words
from overarm.flight import course as begin
from overarm.flight import step as step_parts
from overarm.flight.campaign import Inputs, blank_summary, run
from overarm.flight.draw import draw
from overarm.flight.forces import rates
from overarm.flight.held import hold
from overarm.flight.moment import Moment
from overarm.flight.shares import shares_of
from overarm.flight.trace import empty_trace
from overarm.physics.rigid_body import Body
from overarm.physics.surfaces import servo_moved

REFWING = ROOT / "tests" / "verification" / "data" / "jsbsim"


def ours(inputs: Inputs, launches: int) -> tuple[float, float]:
    """Return (seconds of one campaign, mean seconds of free flight in a launch); median of five."""
    next(iter(run(inputs, 10, 1)))
    times, flown = [], 0.0
    for _ in range(5):
        start = time.perf_counter()
        tables = [chunk.table for chunk in run(inputs, launches, 1)]
        times.append(time.perf_counter() - start)
        table = np.concatenate(tables)
        free = np.where(table["release_s"] >= 0.0, table["end_s"] - table["release_s"], 0.0)
        flown = float(np.mean(free))
    return statistics.median(times), flown


PLAIN = os.environ.get("NUMBA_DISABLE_JIT") == "1"


def scalar_of(array: Any) -> Any:
    """Return the first row: with attributes for plain Python, as it is for compiled functions."""
    return array.view(np.recarray)[0] if PLAIN else array[0]


def scipy_launch(inputs: Inputs, launch: int) -> float:
    """Fly one launch with solve_ivp between the autopilot's samples; return the seconds it took."""
    records, _ = draw(inputs.base, inputs.rules, 1, 1, launch)
    rec, out = scalar_of(records), scalar_of(blank_summary(1, launch))
    step, handover_m = float(records["logic"]["step_s"][0]), float(records["logic"]["handover_height_m"][0])
    start = time.perf_counter()
    now, sample = hold(rec, inputs.table, 1, launch, out, empty_trace())
    now = begin.released(rec, now)
    gusty = begin.air_start(rec, now, (1, launch))
    course = begin.course_start(rec, now, gusty, sample, out)
    surfaces = records["surfaces"][0] if not PLAIN else rec.surfaces
    shares = shares_of(rec, step, step)
    while course.now.body.z < -0.05 and -course.now.body.z < handover_m:
        now = course.now
        wind, gust = begin.wind_over(rec, gusty.blows, -now.body.z), gusty.gust_mps
        air = (wind[0] + gust[0], wind[1] + gust[1], gust[2])
        half = servo_moved(surfaces, now.servos, now.mind.wanted, 0.5 * step, shares.half_servo)
        held = step_parts.held_at(rec, now, now.mind, half, course.on, air, 0.5 * step)
        rate, seen = rates(rec, inputs.table, now.body, held)
        x, y, z = step_parts.speed_along(now)
        felt = step_parts.felt_flying(rec, now, seen, rate, (x * x + y * y + z * z) ** 0.5, 0.0)
        mind = step_parts.mind_step(rec, now.mind, felt, now.t_s, step, shares)
        asked = step_parts.asked_since(rec, now.drive, mind.throttle, now.t_s)

        def slope(_: float, y: Any, held: Any = held) -> list[float]:
            return list(rates(rec, inputs.table, Body(*y), held)[0])

        end = solve_ivp(slope, (0.0, step), list(now.body), rtol=1e-6, atol=1e-9).y[:, -1]
        servos = servo_moved(surfaces, now.servos, mind.wanted, step, shares.servo)
        drive = step_parts.Drive(asked, held.throttle, float(end[13]))
        later = Moment(now.t_s + step, Body(*map(float, end)), mind, servos, drive, 1.0)
        course = course._replace(now=later)
        if later.t_s - course.start_s > 40.0:
            break
    return time.perf_counter() - start


def jsbsim_second() -> float:
    """Return the wall seconds of one simulated second in JSBSim at 100 Hz; median of five."""
    import jsbsim

    plane = jsbsim.FGFDMExec(str(REFWING))
    plane.set_debug_level(0)
    plane.load_planet(str(REFWING / "nonrotating_planet.xml"), False)
    plane.load_model("refwing")
    plane.set_dt(0.01)
    times = []
    for _ in range(5):
        plane["ic/h-sl-ft"] = 3000.0
        plane["ic/u-fps"] = 33.0
        plane.run_ic()
        start = time.perf_counter()
        for _ in range(2000):
            plane.run()
        times.append((time.perf_counter() - start) / 20.0)
    return statistics.median(times)


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    _, inputs = example()
    launches = 2000 if quick else 10_000
    seconds, flown = ours(inputs, launches)
    each = seconds / launches
    scipy_launch(inputs, 0)
    compiled = statistics.median(scipy_launch(inputs, k) for k in range(1 if quick else 3))
    plain = float(child(__spec__.name, NUMBA_DISABLE_JIT="1"))
    second = jsbsim_second()
    cores = get_num_threads()
    own = each * cores  # the peers fly on one core
    return [
        Row(f"a launch, {cores} cores", in_words(each), f"{1.0 / each:.0f} launches a second"),
        Row("the same, time of one core", in_words(own), f"{flown:.1f} s of free flight"),
        Row("scipy, model in plain Python", in_words(plain), f"{plain / own:.0f} times one core of ours"),
        Row("scipy, our compiled forces", in_words(compiled), f"{compiled / own:.0f} times one core of ours"),
        Row(
            "JSBSim, a second of flight",
            in_words(second),
            f"{second / (own / flown):.1f} times one core of ours",
        ),
    ]


if __name__ == "__main__":
    print(json.dumps(scipy_launch(example()[1], 0)))
