"""Static thrust: the felt forward force and the drag of the polar against throttle and airspeed."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.recordings.estimates.air import Air
from overarm.recordings.estimates.drive_model import settled_thrust, simple_thrust
from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.motor import ceiling_of, launch_throttle, still_rising
from overarm.recordings.estimates.polar import Aero, aero_of, elevator_at, flown
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, at, in_blocks
from overarm.recordings.estimates.strapdown import Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate
from overarm.recordings.recording import Numbers

NAME = "static_thrust_n"
AFTER_S = 1.0  # of power: by then the propeller follows the throttle
MOST_S = 10.0
BLOCK_S = 0.25
LEAST_BLOCKS = 4
LEAST_THROTTLE = 0.25
EXPONENT_PRIOR = 0.15  # how far the exponent of the throttle may be from the computed one
COMPUTED_SHAPE_SHARE, SIMPLE_SHAPE_SHARE = 0.03, 0.12  # of the fall of thrust with airspeed
FORCE_ERROR_MPS2 = 0.1
GROUND_S = 0.2
LEAST_LOG_SCALE = math.log(0.02)  # thrust below so much of the computed one is none that was measured
LEAST_AIRSPEED_MPS = 5.0
NO_THRUST = "The forward force shows no thrust that is larger than its error"


class Pulls(NamedTuple):
    """Blocks of powered flight, each (n,)."""

    throttle: Numbers
    airspeed_mps: Numbers
    forward_mps2: Numbers
    down_mps2: Numbers
    elevator_rad: Numbers
    noise_n: Numbers


class Fit(NamedTuple):
    """Thrust over that of the model, the change of the exponent, and the error of the first."""

    scale: float
    exponent: float
    error: float


def thrust_of(aero: Aero, pulls: Pulls, off_rad: float = 0.0) -> Numbers:
    """Return the thrust [N] of each block: ``T = m f_x + D cos(a) - L sin(a)``, shape (n,)."""
    state = flown(aero, pulls.airspeed_mps, pulls.down_mps2, pulls.elevator_rad, off_rad)
    return np.asarray(
        aero.mass_kg * pulls.forward_mps2
        + state.drag_n * np.cos(state.incidence_rad)
        - state.lift_n * np.sin(state.incidence_rad)
    )


def fit_thrust(thrust_n: Numbers, model_n: Numbers, throttle: Numbers, noise_n: Numbers) -> Fit | None:
    """Return by what the measured thrust is the modelled one: ``T = c s^d T_model``, least squares.

    All arrays (n,). The exponent's change d is held near nothing by a prior; strays count less (soft L1).
    None where the measured thrust is nothing or less: no factor c > 0 brings the model near it.
    """
    from scipy.linalg import pinvh
    from scipy.optimize import least_squares

    logs = np.log(np.maximum(throttle, 0.05))

    def left(unknown: Numbers) -> Numbers:
        model = math.exp(unknown[0]) * model_n * np.exp(unknown[1] * logs)
        return np.append((thrust_n - model) / noise_n, unknown[1] / EXPONENT_PRIOR)

    begin = float(thrust_n @ model_n) / max(1e-9, float(model_n @ model_n))
    found = least_squares(left, [math.log(max(0.05, begin)), 0.0], loss="soft_l1")
    spread, rank = pinvh(found.jac.T @ found.jac, return_rank=True)
    if rank < 2 or found.x[0] < LEAST_LOG_SCALE:
        return None
    residual = left(found.x)[:-1]
    worse = max(1.0, float(np.mean(np.minimum(residual**2, 9.0))))
    scale = math.exp(found.x[0])
    return Fit(scale, float(found.x[1]), scale * math.sqrt(worse * float(spread[0, 0])))


def pulls_of(
    taken: Taken, reckoned: Reckoned | None, air: Air, throttle: Series, level: Measured
) -> Pulls | None:
    """Return the blocks of powered flight to the handover or the ground; None if there are too few."""
    release, spin, forces = taken.event("release"), taken.event("first_spin"), taken.forces()
    if release is None or spin is None or forces is None:
        return None
    ends = [one.t_s for one in (taken.event("handover"), taken.event("ground")) if one is not None]
    begin = max(release.t_s + 0.2, spin.t_s + AFTER_S)
    end = min([begin + MOST_S, taken.launch.to_s, float(air.t_s[-1]), *(t - GROUND_S for t in ends)])
    used = (forces[0] >= begin) & (forces[0] <= end)
    if np.count_nonzero(used) < 4:
        return None
    t, force = forces[0][used], forces[1][:, used]
    if reckoned is not None:
        force = force - reckoned.rest.bias[:, None]
        force[0] -= GRAVITY_MPS2 * level.value
    rows = np.stack([at(throttle, t), air.at(t), force[0], force[2], elevator_at(taken, t)])
    means, counts = in_blocks(t, rows, BLOCK_S)
    full = (counts >= 0.5 * np.max(counts)) & (means[1] > LEAST_THROTTLE) & (means[2] > LEAST_AIRSPEED_MPS)
    if np.count_nonzero(full) < LEAST_BLOCKS:
        return None
    means = means[:, full]
    scatter = float(np.std(np.diff(means[3]))) / math.sqrt(2.0) if means.shape[1] > 4 else 0.5
    mass = 1.0 if taken.setup is None else taken.setup.airframe.mass_kg.value
    noise = np.full(means.shape[1], mass * max(scatter, 0.05))
    return Pulls(means[1], means[2], means[3], means[4], means[5], noise)


def _model(taken: Taken, throttle: Numbers, airspeed_mps: Numbers) -> Numbers:
    if taken.derived is not None:
        return settled_thrust(taken.derived, throttle, airspeed_mps)
    assert taken.setup is not None
    return simple_thrust(taken.setup, throttle, airspeed_mps)


class Static(NamedTuple):
    """The fit, the static thrust [N] at a throttle, and how far each systematic error moves it [N]."""

    fit: Fit
    thrust_n: float
    moved_n: tuple[float, ...]


def _static(taken: Taken, aero: Aero, pulls: Pulls, top: float, errors: tuple[float, float]) -> Static | None:
    """Return the static thrust at a throttle; None if no thrust shows.

    ``errors``: of airspeed [m/s] and forward force [m/s2].
    """
    model = _model(taken, pulls.throttle, pulls.airspeed_mps)
    usable = model > 0.02 * float(np.max(model))
    measured = thrust_of(aero, pulls)
    fit = fit_thrust(measured[usable], model[usable], pulls.throttle[usable], pulls.noise_n[usable])
    if fit is None:
        return None
    standing = float(_model(taken, np.array([top]), np.zeros(1))[0])
    value = fit.scale * standing * top**fit.exponent
    faster = pulls._replace(airspeed_mps=pulls.airspeed_mps + errors[0])
    other_model = _model(taken, faster.throttle, faster.airspeed_mps)
    dragged = aero._replace(drag_zero=aero.drag_zero * (1.0 + aero.drag_share))
    pushed = pulls._replace(forward_mps2=pulls.forward_mps2 + errors[1])
    changed = (
        (thrust_of(aero, pulls, aero.incidence_error_rad), model),
        (thrust_of(dragged, pulls), model),
        (thrust_of(aero, faster), other_model),
        (thrust_of(aero, pushed), model),
    )
    base = _scale(measured, model)
    moved = tuple(standing * (_scale(one, other) - base) for one, other in changed)
    return Static(fit, value, moved)


def _scale(thrust_n: Numbers, model_n: Numbers) -> float:
    """Return by what the modelled thrust is multiplied to be nearest to the measured one."""
    return float(thrust_n @ model_n) / max(1e-9, float(model_n @ model_n))


def thrust_estimate(taken: Taken, reckoned: Reckoned | None, air: Air | None, level: Measured) -> Estimate:
    """Return the estimate of the thrust at the highest throttle of the launch, brought to no airspeed."""
    aero, throttle = aero_of(taken), launch_throttle(taken)
    if aero is None:
        return cannot(NAME, "Without a setup there is no mass and no polar.")
    top = None if throttle is None or throttle.t_s.size < 2 else ceiling_of(throttle)
    if throttle is None or top is None:
        return cannot(NAME, "No throttle was recorded, or it was not opened.")
    if taken.series("force_x_mps2") is None or taken.series("force_z_mps2") is None:
        return cannot(NAME, "It takes the forces forward and down.")
    if air is None:
        return cannot(NAME, "There is no airspeed, and no ground speed with a wind to make one.")
    pulls = pulls_of(taken, reckoned, air, throttle, level)
    if pulls is None:
        return cannot(NAME, "There is less than a second of powered flight after the first second of power.")
    force_error = together(FORCE_ERROR_MPS2, GRAVITY_MPS2 * level.error)
    found = _static(taken, aero, pulls, top.value, (air.error_mps, force_error))
    if found is None:
        return cannot(NAME, NO_THRUST)
    shape = COMPUTED_SHAPE_SHARE if taken.derived is not None else SIMPLE_SHAPE_SHARE
    value = found.thrust_n
    shares = (found.fit.error / found.fit.scale, shape, aero.mass_share, 0.01)
    error = together(*found.moved_n, *(value * share for share in shares))
    if value < error:
        return cannot(NAME, f"{NO_THRUST} ({value:.1f} N, with an error of {error:.1f} N)")
    how = (
        f"forward force and the drag of {aero.by} against throttle and airspeed from a second of power on, "
        f"brought to no airspeed at {100.0 * top.value:.0f} % throttle"
    )
    if not air.measured:
        how += "; airspeed from ground speed and wind"
    return told(NAME, value, error, how, "at least" if still_rising(throttle) else "")
