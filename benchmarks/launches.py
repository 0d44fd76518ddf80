"""Cost of a launch against two peers, as ratios in one run.

    python benchmarks/launches.py [SETUP] [--launches N]

Peers: scipy's ``solve_ivp`` (RK45) flying the same model, once with the model in plain Python and
once with our compiled forces; and JSBSim flying a simpler aeroplane (no motor, autopilot, sensor or
gusts) at the same 100 Hz. Machines are noisy: compare the ratios, not the times.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

import overarm
from overarm.describe.derived import derive
from overarm.flight import one
from overarm.flight.campaign import Inputs, blank_summary, run
from overarm.flight.draw import draw
from overarm.flight.forces import rates
from overarm.flight.held import hold
from overarm.flight.moment import Moment
from overarm.flight.shares import shares_of
from overarm.flight.trace import empty_trace
from overarm.physics.rigid_body import Body
from overarm.physics.surfaces import servo_step

ROOT = Path(__file__).resolve().parent.parent
REFWING = ROOT / "tests" / "verification" / "data" / "jsbsim"


def ours(inputs: Inputs, launches: int) -> tuple[float, float]:
    """Return (seconds of one campaign, mean seconds flown in a launch); median of five."""
    next(iter(run(inputs, 10, 1)))
    times, flown = [], 0.0
    for _ in range(5):
        start = time.perf_counter()
        tables = [chunk.table for chunk in run(inputs, launches, 1)]
        times.append(time.perf_counter() - start)
        flown = float(np.mean(np.concatenate([table["end_s"] for table in tables])))
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
    course = one.course_start(rec, one.released(rec, now), (1, launch), sample)
    surfaces = records["surfaces"][0] if not PLAIN else rec.surfaces
    shares = shares_of(rec, step, step)
    while course.now.body.z < -0.05 and -course.now.body.z < handover_m:
        now = course.now
        wind = one.wind_over(rec, course.blows, -now.body.z)
        air = (wind[0] + course.gust_mps[0], wind[1] + course.gust_mps[1], course.gust_mps[2])
        half = servo_step(surfaces, now.servos, now.mind.wanted, 0.5 * step)
        held = one.held_at(rec, now, now.mind, half, course.on, air, 0.5 * step)
        rate, seen = rates(rec, inputs.table, now.body, held)
        x, y, z = one.speed_along(now)
        felt = one.felt_flying(rec, now, seen, rate, (x * x + y * y + z * z) ** 0.5, (1, launch), sample)
        mind = one.mind_step(rec, now.mind, felt, now.t_s, step, shares)
        asked = one.asked_since(rec, now.drive, mind.throttle, now.t_s)

        def slope(_: float, y: Any, held: Any = held) -> list[float]:
            return list(rates(rec, inputs.table, Body(*y), held)[0])

        end = solve_ivp(slope, (0.0, step), list(now.body), rtol=1e-6, atol=1e-9).y[:, -1]
        servos = servo_step(surfaces, now.servos, mind.wanted, step)
        drive = one.Drive(asked, held.throttle, float(end[13]))
        later = Moment(now.t_s + step, Body(*map(float, end)), mind, servos, drive, 1.0)
        course = one.moved_on(course, later, course.reach)
        if later.t_s - course.start_s > 40.0:
            break
    return time.perf_counter() - start


def plain_python_scipy(setup: str) -> float:
    """Return the seconds of one scipy launch with the model in plain Python (own process)."""
    code = (
        "import json, sys; sys.path.insert(0, 'benchmarks'); import launches as b, overarm; "
        "from overarm.describe.derived import derive; from overarm.flight.inputs import inputs_of; "
        f"s = overarm.load({setup!r}); i = inputs_of(s, derive(s)); print(json.dumps(b.scipy_launch(i, 0)))"
    )
    env = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=env, capture_output=True, text=True, check=True
    )
    return float(json.loads(done.stdout.splitlines()[-1]))


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


def main() -> None:
    from overarm.flight.inputs import inputs_of

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("setup", nargs="?", default=str(ROOT / "examples" / "b-kestrel.yaml"))
    parser.add_argument("--launches", type=int, default=10_000)
    asked = parser.parse_args()
    setup = overarm.load(asked.setup)
    inputs = inputs_of(setup, derive(setup))
    seconds, flown = ours(inputs, asked.launches)
    each = seconds / asked.launches
    scipy_launch(inputs, 0)
    compiled = statistics.median(scipy_launch(inputs, k) for k in range(3))
    plain = plain_python_scipy(asked.setup)
    second = jsbsim_second()
    print(
        f"{asked.launches} launches of {flown:.1f} s each: {seconds:.2f} s on {os.cpu_count()} cores, "
        f"{each * 1e6:.0f} us a launch"
    )
    print(f"scipy solve_ivp, model in plain Python: {plain:.2f} s a launch, {plain / each:.0f} times ours")
    print(
        f"scipy solve_ivp, our compiled forces:   {compiled:.2f} s a launch, {compiled / each:.0f} times ours"
    )
    print(f"JSBSim, one second of flight: {second * 1e3:.2f} ms, {second / (each / flown):.0f} times ours")


if __name__ == "__main__":
    main()
