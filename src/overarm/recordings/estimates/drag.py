"""Drag and glide ratio from the parts of a flight without power."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.recordings.estimates.air import Air
from overarm.recordings.estimates.drive_model import standing_drag
from overarm.recordings.estimates.fuse import Measured, fused
from overarm.recordings.estimates.motor import OFF
from overarm.recordings.estimates.polar import Aero, aero_of, elevator_at, flown
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, at, straight
from overarm.recordings.estimates.strapdown import Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate
from overarm.recordings.recording import Numbers

GLIDE, DRAG = "glide_ratio", "drag_zero"
AFTER_RELEASE_S = 0.06
LEAST_S = 0.25
ENERGY_LEAST_S = 2.0
MODEL_SHARE = 0.08  # ground effect, elevator, propeller; own estimate
WORTH_SHARE = 0.6  # an error above this share of the value says nothing
MOST_DRAG = 0.12  # a model with everything hanging out has half of it (common practice, no source)
PROPELLER_SHARE = 0.5
INDUCED_SHARE = 0.1
NO_POWER_OFF = "There is no quarter of a second of flight without power between release and the first turn."


class Coasting(NamedTuple):
    """Flight without power: the samples (n,), and how long it lasts."""

    t_s: Numbers
    forward_mps2: Numbers
    down_mps2: Numbers
    airspeed_mps: Numbers
    elevator_rad: Numbers
    lasts_s: float


def coasting(taken: Taken, reckoned: Reckoned, air: Air, level: Measured) -> Coasting | None:
    """Return the first part of the flight without power, from release on; None if it is too short."""
    release, spin = taken.event("release"), taken.event("first_spin")
    assert release is not None
    throttle = taken.series("throttle")
    if throttle is None and spin is None:
        return None
    t = reckoned.t_s
    off = (t >= release.t_s + AFTER_RELEASE_S + release.error_s) & (t <= taken.launch.to_s)
    if spin is not None:
        off &= t <= spin.t_s - spin.error_s
    elif throttle is not None:
        off &= at(throttle, t) < OFF
    places = np.flatnonzero(off)
    if not places.size:
        return None
    run = places[: int(np.flatnonzero(np.append(np.diff(places) > 1, True))[0]) + 1]
    lasts = float(t[run[-1]] - t[run[0]])
    if run.size < 4 or lasts < LEAST_S:
        return None
    return Coasting(
        t[run],
        reckoned.force[0][run] - GRAVITY_MPS2 * level.value,
        reckoned.force[2][run],
        air.at(t[run]),
        elevator_at(taken, t[run]),
        lasts,
    )


def drag_coefficient(aero: Aero, mean: Numbers, propeller_n: float, off: tuple[float, float]) -> float:
    """Return the zero-lift drag coefficient from mean forward and down force [m/s2], airspeed and elevator.

    ``off``: false incidence [rad] and false forward force [m/s2] to see what they do.
    Equation: ``D = -m (f_x cos(a) + f_z sin(a)) - D_propeller``, ``CD0 = D/(q S) - k CL^2``.
    """
    forward, down, fast, elevator = (np.array([float(one)]) for one in mean)
    state = flown(aero, fast, down, elevator, off[0])
    angle = state.incidence_rad
    drag = -aero.mass_kg * ((forward + off[1]) * np.cos(angle) + down * np.sin(angle)) - propeller_n
    lift = state.lift_n / state.pressure_area_n
    return float((drag / state.pressure_area_n - aero.drag_induced * lift**2)[0])


def _by_force(taken: Taken, aero: Aero, known: tuple[Reckoned, Air, Measured], coast: Coasting) -> Measured:
    reckoned, air, level = known
    mean = np.array([np.mean(row) for row in coast[1:5]])
    held = 0.0 if taken.derived is None else float(standing_drag(taken.derived, mean[2:3])[0])
    value = drag_coefficient(aero, mean, held, (0.0, 0.0))
    random = reckoned.rest.noise_mps2 / math.sqrt(coast.t_s.size)
    faster = mean + np.array([0.0, 0.0, air.error_mps, 0.0])
    induced = aero._replace(drag_induced=aero.drag_induced * (1.0 + INDUCED_SHARE))
    moved = (
        drag_coefficient(aero, mean, held, (aero.incidence_error_rad, 0.0)),
        drag_coefficient(aero, mean, held, (0.0, together(random, GRAVITY_MPS2 * level.error, 0.05))),
        drag_coefficient(aero, faster, held, (0.0, 0.0)),
        drag_coefficient(aero, mean, held * (1.0 + PROPELLER_SHARE), (0.0, 0.0)),
        drag_coefficient(induced, mean, held, (0.0, 0.0)),
    )
    return Measured(value, together(*(one - value for one in moved), MODEL_SHARE * abs(value)))


def energy_drag(t_s: Numbers, height_m: Numbers, airspeed_mps: Numbers) -> Measured:
    """Return drag over weight from the rate of the energy height: ``-(d/dt (h + V^2/(2 g)))/V``.

    All arrays (n,). Source: Rutowski, J. Aeron. Sci. 21 (1954) 187 (energy height).
    """
    energy = height_m + airspeed_mps**2 / (2.0 * GRAVITY_MPS2)
    line = straight(Series(t_s, energy), float(np.mean(t_s)))
    fast = float(np.mean(airspeed_mps))
    return Measured(-line.slope / fast, together(line.slope_error * 2.0, 0.02 * fast) / fast)


def _by_energy(taken: Taken, aero: Aero, air: Air, coast: Coasting) -> Measured | None:
    baro = taken.series("baro_height_m")
    if baro is None or coast.lasts_s < ENERGY_LEAST_S:
        return None
    share = energy_drag(coast.t_s, at(baro, coast.t_s), coast.airspeed_mps)
    fast = np.array([float(np.mean(coast.airspeed_mps))])
    down, elevator = (np.array([float(np.mean(row))]) for row in (coast.down_mps2, coast.elevator_rad))
    state = flown(aero, fast, down, elevator)
    weight = aero.mass_kg * GRAVITY_MPS2
    pressure = float(state.pressure_area_n[0])
    held = 0.0 if taken.derived is None else float(standing_drag(taken.derived, fast)[0])
    lift = float(state.lift_n[0]) / pressure
    value = (share.value * weight - held) / pressure - aero.drag_induced * lift**2
    errors = (
        share.error * weight,
        PROPELLER_SHARE * held,
        2.0 * share.value * weight * air.error_mps / fast[0],
    )
    return Measured(value, together(*(one / pressure for one in errors), MODEL_SHARE * abs(value)))


def drag_estimates(
    taken: Taken, reckoned: Reckoned | None, air: Air | None, level: Measured
) -> dict[str, Estimate]:
    """Return the estimates of the zero-lift drag coefficient and the glide ratio at the speed flown.

    ``level``: by how much the believed pitch is too high [rad]; the forward force reads g times that more.
    """
    aero = aero_of(taken)
    why = ""
    if taken.event("release") is None:
        why = "No release was seen."
    elif aero is None:
        why = "Without a setup there is no mass and no wing area."
    elif reckoned is None or not reckoned.vertical:
        why = "It takes the forces forward and down, from a hold before the throw on."
    elif air is None:
        why = "There is no airspeed, and no ground speed with a wind to make one."
    if why or aero is None or reckoned is None or air is None:
        return {name: cannot(name, why) for name in (DRAG, GLIDE)}
    coast = coasting(taken, reckoned, air, level)
    if coast is None:
        return {name: cannot(name, NO_POWER_OFF) for name in (DRAG, GLIDE)}
    by_energy = _by_energy(taken, aero, air, coast)
    by_force = _by_force(taken, aero, (reckoned, air, level), coast)
    whole = by_force if by_energy is None else fused([by_force, by_energy])
    how = f"drag over {coast.lasts_s:.1f} s without power from the forward force"
    how += " and the rate of the energy height" if by_energy is not None else ""
    if whole.value <= 0.0 or whole.error > WORTH_SHARE * whole.value:
        why = (
            f"The part without power ({coast.lasts_s:.1f} s) is too short: it gives a zero-lift drag "
            f"coefficient of {whole.value:.3f}, one sd {whole.error:.3f}."
        )
        return {name: cannot(name, why) for name in (DRAG, GLIDE)}
    if whole.value > MOST_DRAG:
        why = (
            f"The part without power gives a zero-lift drag coefficient of {whole.value:.2f}, more than any "
            "aeroplane has in flight: something else braked it."
        )
        return {name: cannot(name, why) for name in (DRAG, GLIDE)}
    fast = float(np.mean(coast.airspeed_mps))
    pressure = 0.5 * aero.density_kgpm3 * fast**2 * aero.area_m2
    lift = aero.mass_kg * GRAVITY_MPS2 / pressure
    drag = whole.value + aero.drag_induced * lift**2
    ratio = lift / drag
    share = together(whole.error, INDUCED_SHARE * aero.drag_induced * lift**2) / drag
    speed = 2.0 * air.error_mps / fast * abs(aero.drag_induced * lift**2 - whole.value) / drag
    at_speed = f"{how}, at {fast:.1f} m/s in level flight"
    return {
        DRAG: told(DRAG, whole.value, whole.error, f"{how}, less lift's share by {aero.by}"),
        GLIDE: told(GLIDE, ratio, ratio * together(share, speed), at_speed),
    }
