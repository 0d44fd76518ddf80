"""The truth beside a synthetic recording: what happened when, and every figure that an estimate is of."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.flight.outcomes import Outcome
from overarm.physics.motor import driving_torque, motor_current
from overarm.physics.propeller import shaft_torque, thrust
from overarm.physics.sensor import low_pass_share
from overarm.specimens.course import STYLE_LINE, Attempt, Course, free_flight
from overarm.specimens.launch import Flown
from overarm.specimens.motion import Motion, Numbers, at

TWO_PI = 2.0 * math.pi
LATE_S = 0.3  # the cue of a throw is late by its filter


def standing_thrust(flown: Flown, table: Numbers) -> float:
    """Return the thrust [N] at the launch ceiling with no airspeed, where the torques balance.

    Equation: ``Ke (I - I0) = Q(0, n)``, by halving.
    """
    record = flown.record
    low, high = 0.0, record.pack.open_volts / record.motor.ke_vs
    for _ in range(50):
        spin = 0.5 * (low + high)
        amps = motor_current(record.motor, record.pack, record.logic.launch_ceiling, spin)
        load = shaft_torque(record.propeller, record.air.density_kgpm3, 0.0, spin / TWO_PI, table)
        if driving_torque(record.motor, amps) > load:
            low = spin
        else:
            high = spin
    return float(thrust(record.propeller, record.air.density_kgpm3, 0.0, low / TWO_PI, table))


def cue_of(motion: Motion, record: Any) -> tuple[Numbers, Numbers]:
    """Return (times, filtered cue [m/s2]) of the forward force with tilt and bias, without noise.

    Equation: a first-order low pass at the rate of the board, as in `overarm.physics.sensor.low_pass`.
    """
    from scipy.signal import lfilter

    board = record.board
    t_s = np.arange(motion["t_s"][0], motion["t_s"][-1], 1.0 / board.rate_hz)
    x, z = at(motion, "force_x_mps2", t_s), at(motion, "force_z_mps2", t_s)
    felt = x * math.cos(board.tilt_rad) - z * math.sin(board.tilt_rad) + board.bias_mps2
    share = low_pass_share(board.filter_hz, 1.0 / board.rate_hz)
    metric, _ = lfilter([share], [1.0, share - 1.0], felt, zi=[(1.0 - share) * felt[0]])
    if record.trigger.gravity_free > 0.5:
        metric = metric - GRAVITY_MPS2 * np.sin(at(motion, "pitch_rad", t_s))
    return t_s, np.asarray(metric)


def longest_run(t_s: Numbers, above: Numbers) -> float:
    """Return the longest unbroken time [s] for which ``above`` holds."""
    best, since = 0.0, None
    for t, over in zip(t_s, above, strict=True):
        since = (t if since is None else since) if over else None
        if since is not None:
            best = max(best, float(t - since))
    return best


def _value(motion: Motion, name: str, t_s: float) -> float:
    return float(at(motion, name, np.array([t_s]))[0])


def _rest_figures(course: Course, lag_s: float) -> dict[str, float]:
    board = course.record.board
    return {
        "board_tilt_rad": board.tilt_rad,
        "force_bias_mps2": board.bias_mps2,
        "satellite_lag_s": lag_s,
    }


def _throw_figures(one: Attempt, course: Course) -> dict[str, float]:
    flown = one.flown
    assert flown is not None
    summary, record, events = flown.summary, flown.record, one.events
    if "release" not in events or "stroke" not in events:
        return {}
    release, stroke = events["release"], events["stroke"]
    t_s, cue = cue_of(course.motion, record)
    moves = events.get("wind_up", stroke)
    earlier = [other.to_s for other in course.attempts if other.to_s <= one.from_s + 1e-6]
    before = (t_s < events.get("shake", moves)) & (t_s >= max(earlier, default=0.0))
    throw = (t_s >= moves) & (t_s <= release + LATE_S)
    found = {
        "stroke_time_s": release - stroke,
        "throw_peak_mps2": float(np.max(cue[throw])),
        "longest_above_s": longest_run(t_s[throw], cue[throw] > record.trigger.level_mps2),
        "release_pitch_rad": _value(course.motion, "pitch_rad", release),
        "release_bank_rad": _value(course.motion, "bank_rad", release),
        "throw_speed_mps": summary["release_speed_mps"],
        "release_path_rad": summary["release_path_rad"],
        "headwind_mps": summary["headwind_mps"],
    }
    if record.logic.style != STYLE_LINE:
        found["stroke_length_m"] = record.hand.stroke_m
    if np.any(before):
        found["carry_peak_mps2"] = float(np.max(cue[before]))
    if "detection" in events:
        found["detection_to_release_s"] = release - events["detection"]
    return found


def _motor_figures(one: Attempt, table: Numbers) -> dict[str, float]:
    flown, events = one.flown, one.events
    assert flown is not None
    logic, found = flown.record.logic, {}
    if "first_throttle" in events and "detection" in events:
        found["start_wait_s"] = events["first_throttle"] - events["detection"]
    if "first_throttle" in events:
        found["throttle_rise_per_s"] = logic.throttle_rise_per_s
        found["throttle_ceiling"] = float(np.max(flown.motion["throttle"]))
    if "first_throttle" in events and "first_spin" in events:
        found["start_delay_s"] = events["first_spin"] - events["first_throttle"]
        found["static_thrust_n"] = standing_thrust(flown, table)
    if "thrust_match" in events and "release" in events:
        found["thrust_match_after_s"] = events["thrust_match"] - events["release"]
    return found


def _flight_figures(one: Attempt, course: Course) -> dict[str, float]:
    flown, events, motion = one.flown, one.events, course.motion
    assert flown is not None
    found = {"drag_zero": flown.record.wing.drag_zero}
    if "release" not in events:
        return found
    release, free = events["release"], free_flight(motion, one)
    found["low_point_m"] = float(np.min(motion["height_m"][free]))
    found["sink_m"] = max(0.0, _value(motion, "height_m", release) - found["low_point_m"])
    slowest = float(np.min(motion["airspeed_mps"][free]))
    found["low_speed_ratio"] = slowest / flown.record.logic.stall_speed_mps
    if "handover" in events:
        found["handover_after_s"] = events["handover"] - release
    if "handover" in events and "climb" in events:
        found.update(climb_figures(flown.motion, events["climb"] - one.listens_s))
    return found


def climb_figures(motion: Motion, from_s: float) -> dict[str, float]:
    """Return rate [m/s] and path [rad] of the climb from its beginning to the handover, over the ground."""
    climbing = motion["t_s"] >= from_s
    t_s = motion["t_s"][climbing]
    takes = float(t_s[-1] - t_s[0])
    if takes <= 0.0:
        return {}
    rise = float(motion["height_m"][climbing][-1] - motion["height_m"][climbing][0])
    along = float(np.trapezoid(np.hypot(motion["ahead_mps"], motion["right_mps"])[climbing], t_s))
    return {"climb_mps": rise / takes, "climb_path_rad": math.atan2(rise, along)}


def attempt_truth(one: Attempt, course: Course, lag_s: float, table: Numbers) -> dict[str, Any]:
    """Return the truth of one launch, or of a throw that was broken off, as plain values."""
    told: dict[str, Any] = {
        "kind": one.kind,
        "ended": one.ended,
        "from_s": one.from_s,
        "to_s": one.to_s,
        "events": dict(one.events),
        "phases": [list(span) for span in one.phases],
    }
    if one.flown is None:
        return told
    told["outcome"] = Outcome(int(one.flown.summary["outcome"])).label
    told["estimates"] = {
        **_rest_figures(course, lag_s),
        **_throw_figures(one, course),
        **_motor_figures(one, table),
        **_flight_figures(one, course),
    }
    return told


def thrust_and_drag(one: Attempt, course: Course) -> dict[str, list[float]]:
    """Return thrust [N], drag [N] and airspeed [m/s] of a launch, ten times a second."""
    assert one.flown is not None
    trace = one.flown.trace
    t_s = np.arange(trace["t_s"][0], trace["t_s"][-1], 0.1)
    told = {"t_s": (t_s + one.listens_s).tolist()}
    for name in ("thrust_n", "drag_n", "airspeed_mps"):
        told[name] = np.interp(t_s, trace["t_s"], trace[name]).tolist()
    return told
