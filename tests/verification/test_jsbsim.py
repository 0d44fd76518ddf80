"""The rigid body and the wing against JSBSim, a public flight-dynamics library.

Case files hold JSBSim 1.3.3 and a scipy DOP853 model side by side, every 0.1 s, for one generic
flying wing; the last test runs JSBSim itself. Tolerances: 5 mm and 0.01 deg (A, B); 20 mm and
0.05 deg (D, whose thrust begins one step apart in the two programs).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from overarm.air import standard_air
from overarm.frames import angles_from_quaternion, launch_to_body, quaternion_from_angles
from overarm.physics.rigid_body import Body, Mass, body_rates, moved, normalised
from overarm.physics.wing import Loads, Wing, air_state, wing_loads

DATA = Path(__file__).parent / "data" / "jsbsim"
STATIC_MARGIN = 0.35 / 3.9
# The published set: CL = 0.10 + 3.9 a + 3.0 q + 0.6 de, CD = 0.025 + 0.07 CL^2,
# Cm = 0.02 - 0.35 a - 1.4 q - 0.35 de about the balance point. Ours are about the neutral point.
WING = Wing(
    area_m2=0.30, span_m=1.25, chord_m=0.25, neutral_point_m=0.25 * STATIC_MARGIN, balance_point_m=0.0,
    lift_zero=0.10, lift_alpha=3.9, lift_pitch_rate=3.0, lift_elevator=0.6,
    lift_max=50.0, stall_offset_rad=0.0, stall_sharpness=50.0,
    drag_zero=0.025, drag_induced=0.07, drag_stall=0.0,
    moment_zero=0.02 + 0.10 * STATIC_MARGIN, moment_pitch_rate=-1.4 + 3.0 * STATIC_MARGIN,
    moment_elevator=-0.35 + 0.6 * STATIC_MARGIN,
    side_beta=-0.10, roll_beta=-0.06, roll_roll_rate=-0.45, roll_yaw_rate=0.08, roll_aileron=0.15,
    yaw_beta=0.03, yaw_roll_rate=-0.03, yaw_yaw_rate=-0.02, yaw_aileron=-0.005,
    roll_zero=0.0, stall_arm=0.22, stall_twist_rad=0.0,
)  # fmt: skip
MASS = Mass(mass_kg=1.2, ixx_kg_m2=0.045, iyy_kg_m2=0.020, izz_kg_m2=0.064, ixz_kg_m2=0.002)
THRUST_ABOVE_M = 0.02
GRAVITY_MPS2 = 9.80665


@dataclass(frozen=True)
class Case:
    """One published start: angles in degrees, rates in rad/s, wind to (north, east) in m/s."""

    file: str
    airspeed_mps: float = 10.0
    bank: float = 0.0
    pitch: float = 10.0
    alpha: float = 0.0
    beta: float = 0.0
    rates: tuple[float, float, float] = (0.0, 0.0, 0.0)
    elevator: float = -0.083
    aileron: float = 0.0
    thrust_n: float = 0.0
    thrust_from_s: float = math.inf
    wind: tuple[float, float] = (0.0, 0.0)
    position_m: float = 0.005
    angle_deg: float = 0.01


CASES = [
    Case("case_A_symmetric"),
    Case("case_B_banked_rolling", bank=15.0, beta=5.0, rates=(0.5, 0.3, -0.2), aileron=0.02),
    Case(
        "case_D_thrust_after_delay_in_wind", 12.0, 5.0, 12.0, 3.0, thrust_n=6.0, thrust_from_s=0.5,
        wind=(-3.0, 2.0), position_m=0.020, angle_deg=0.05,
    ),
]  # fmt: skip


def start(case: Case) -> Body:
    alpha, beta = math.radians(case.alpha), math.radians(case.beta)
    speed = case.airspeed_mps
    angles = quaternion_from_angles(math.radians(case.bank), math.radians(case.pitch), 0.0)
    u = speed * math.cos(alpha) * math.cos(beta)
    w = speed * math.sin(alpha) * math.cos(beta)
    return Body(0.0, 0.0, -1.5, u, speed * math.sin(beta), w, *angles, *case.rates, 0.0)


def rates_of(case: Case, body: Body, t_s: float) -> Body:
    quaternion = body[6:10]
    wu, wv, ww = launch_to_body(*quaternion, case.wind[0], case.wind[1], 0.0)
    air = air_state(body.u - wu, body.v - wv, body.w - ww)
    density = standard_air(-body.z).density_kgpm3
    lift = wing_loads(WING, air, (body.p, body.q, body.r), (case.elevator, case.aileron), density, 1.0, 0.0)
    push = case.thrust_n if t_s >= case.thrust_from_s - 1e-9 else 0.0
    loads = Loads(lift.fx + push, lift.fy, lift.fz, lift.mx, lift.my - THRUST_ABOVE_M * push, lift.mz)
    return body_rates(body, MASS, loads, 0.0, 0.0, GRAVITY_MPS2)


def fly(case: Case, step_s: float = 0.005, end_s: float = 3.0) -> NDArray[np.float64]:
    """Return rows (t, x, y, h, u, v, w, bank, pitch, yaw, p, q, r) every 0.1 s; degrees."""
    body, rows = start(case), []
    every = round(0.1 / step_s)
    for k in range(round(end_s / step_s) + 1):
        t_s = k * step_s
        if k % every == 0:
            angles = np.degrees(angles_from_quaternion(*body[6:10]))
            rows.append(
                [t_s, body.x, body.y, -body.z, body.u, body.v, body.w, *angles, *np.degrees(body[10:13])]
            )
        a = rates_of(case, body, t_s)
        b = rates_of(case, moved(body, a, step_s / 2), t_s)
        c = rates_of(case, moved(body, b, step_s / 2), t_s)
        d = rates_of(case, moved(body, c, step_s), t_s)
        for rate, weight in ((a, 1 / 6), (b, 1 / 3), (c, 1 / 3), (d, 1 / 6)):
            body = moved(body, rate, weight * step_s)
        body = normalised(body)
    return np.array(rows)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.file)
def test_published_jsbsim_case(case: Case) -> None:
    published = np.genfromtxt(DATA / f"{case.file}.csv", delimiter=",", names=True)
    ours = fly(case)
    names = ["x_north_m", "y_east_m", "h_m"]
    theirs = np.column_stack([published[name] for name in names])
    assert np.abs(ours[:, 1:4] - theirs).max() < case.position_m
    angles = np.column_stack([published[name] for name in ("phi_deg", "theta_deg", "psi_deg")])
    assert np.abs(ours[:, 7:10] - angles).max() < case.angle_deg
    speeds = np.column_stack([published[name] for name in ("u_mps", "v_mps", "w_mps")])
    assert np.abs(ours[:, 4:7] - speeds).max() < 2.0 * case.position_m


def run_jsbsim(case: Case) -> NDArray[np.float64]:
    """Fly the case in JSBSim at 1 ms; rows (t, x, h, pitch deg) every 0.1 s."""
    import jsbsim

    foot = 0.3048
    plane = jsbsim.FGFDMExec(str(DATA))
    plane.set_debug_level(0)
    assert plane.load_planet(str(DATA / "nonrotating_planet.xml"), False)
    plane.load_model("refwing")
    plane.set_dt(0.001)
    alpha, beta = math.radians(case.alpha), math.radians(case.beta)
    speed = case.airspeed_mps / foot
    settings = {
        "simulation/gravity-model": 0, "ic/lat-geod-deg": 0.0, "ic/long-gc-deg": 0.0,
        "ic/terrain-elevation-ft": 0.0, "ic/psi-true-deg": 0.0, "ic/theta-deg": case.pitch,
        "ic/phi-deg": case.bank, "ic/h-sl-ft": 1.5 / foot,
        "ic/u-fps": speed * math.cos(alpha) * math.cos(beta), "ic/v-fps": speed * math.sin(beta),
        "ic/w-fps": speed * math.sin(alpha) * math.cos(beta),
        "ic/p-rad_sec": case.rates[0], "ic/q-rad_sec": case.rates[1], "ic/r-rad_sec": case.rates[2],
        "fcs/de-rad": case.elevator, "fcs/da-rad": case.aileron,
        "simulation/integrator/rate/rotational": 3, "simulation/integrator/rate/translational": 3,
        "simulation/integrator/position/rotational": 3, "simulation/integrator/position/translational": 3,
    }  # fmt: skip
    for key, value in settings.items():
        plane[key] = value
    plane.run_ic()
    rows = []
    for k in range(3001):
        if k % 100 == 0:
            x_m = 6371000.0 * plane["position/lat-gc-rad"]
            pitch = math.degrees(plane["attitude/theta-rad"])
            rows.append([0.001 * k, x_m, plane["position/h-sl-meters"], pitch])
        plane.run()
    return np.array(rows)


@pytest.mark.parametrize("case", CASES[:2], ids=lambda case: case.file)
def test_live_jsbsim(case: Case) -> None:
    theirs, ours = run_jsbsim(case), fly(case)
    assert np.abs(ours[:, [1, 3]] - theirs[:, [1, 2]]).max() < 0.005
    assert np.abs(ours[:, 8] - theirs[:, 3]).max() < 0.01


def test_the_engine_flies_the_same_forces() -> None:
    """What is held against JSBSim here is what the launches fly: `forces.rates` gives the same."""
    from overarm.flight.forces import Held, rates
    from overarm.flight.record import LAUNCH
    from tests.examples import inputs_of

    case, inputs = CASES[1], inputs_of("b")
    record = np.zeros(1, LAUNCH)
    record["wing"], record["mass"] = tuple(WING), tuple(MASS)
    for group in ("propeller", "motor", "pack", "line", "surfaces"):
        record[group] = inputs.base[group]
    height = 200.0  # far from the ground
    density = standard_air(height).density_kgpm3
    record["air"]["density_kgpm3"] = density
    body = start(case)._replace(z=-height)
    rate, seen = rates(
        record[0], inputs.table, body, Held(case.elevator, case.aileron, 0.0, 0.0, 0.0, 0.0, 0.0)
    )
    ours = rates_of(case, body, 0.0)
    assert seen.thrust_n < 0.0  # a standing propeller is drag: the only difference
    drag_mps2 = seen.thrust_n / MASS.mass_kg
    assert rate.u - drag_mps2 == pytest.approx(ours.u, abs=1e-5)
    assert rate[:3] + rate[4:13] == pytest.approx(ours[:3] + ours[4:13], abs=2e-5)


def test_stepper_is_fourth_order() -> None:
    """Halving the step divides the error by 16 (Hairer, Norsett, Wanner, *Solving Ordinary
    Differential Equations I*, 2nd ed. (1993), section II.1); case B without the air's density law
    is smooth enough to see it."""
    case = CASES[1]
    exact = fly(case, 0.00125, 1.0)[-1, 1:]
    errors = [np.linalg.norm(fly(case, step, 1.0)[-1, 1:] - exact) for step in (0.02, 0.01)]
    order = math.log2(errors[0] / errors[1])
    assert 3.6 < order < 4.6
