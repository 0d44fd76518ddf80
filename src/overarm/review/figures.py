"""The figures of a flown launch that a recording estimates too, defined alike: for its place among them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.flight.trace import COLUMNS
from overarm.recordings.cue import filtered
from overarm.recordings.recording import Numbers

LATE_S = 0.3  # the cue of a throw is late by its filter
RISES_MPS, RISES_FOR_S = 0.5, 1.0  # the start of a climb, as in recordings
AT = {name: k for k, name in enumerate(COLUMNS)}


def figures_of(record: Any, summary: Any, trace: Numbers, full_thrust_n: float) -> dict[str, float]:
    """Return the figures of one launch, SI; those that did not happen are left out.

    Parameters: its launch record and its summary (rows); its samples, shape (n, columns of a trace); static
    thrust at the central inputs [N].
    """
    release = float(summary["release_s"])
    if release < 0.0:
        return {}
    t_s = trace[:, AT["t_s"]]
    k = min(int(np.searchsorted(t_s, release)), t_s.size - 1)
    found = {
        "throw_speed_mps": float(summary["release_speed_mps"]),
        "release_path_rad": float(summary["release_path_rad"]),
        "release_pitch_rad": float(trace[k, AT["pitch_rad"]]),
        "release_bank_rad": float(trace[k, AT["bank_rad"]]),
        "board_tilt_rad": float(record["board"]["tilt_rad"]),
        "low_point_m": float(summary["low_point_m"]),
        "low_speed_ratio": float(summary["low_speed_ratio"]),
        "drag_zero": float(record["wing"]["drag_zero"]),
    }
    if record["logic"]["style"] != 2.0:
        found["stroke_length_m"] = float(record["hand"]["stroke_m"])
    return (
        found | _cue(record, summary, trace) | _motor(record, summary, full_thrust_n) | _climb(summary, trace)
    )


def _cue(record: Any, summary: Any, trace: Numbers) -> dict[str, float]:
    """Return peak and longest time of the cue of the throw, behind the low pass of the board."""
    board, trigger = record["board"], record["trigger"]
    t_s = trace[:, AT["t_s"]]
    release, moves = float(summary["release_s"]), float(summary["windup_s"])
    here = (t_s >= moves - 1.0) & (t_s <= release + LATE_S)
    if moves < 0.0 or np.count_nonzero(here) < 3:
        return {}
    t, felt = t_s[here], trace[here, AT["felt_mps2"]]
    step = float(np.median(np.diff(t)))
    begins = np.zeros(t.size, np.bool_)
    begins[0] = True
    felt = filtered(np.ascontiguousarray(felt), np.full(t.size, step), begins, float(board["filter_hz"]))
    if trigger["gravity_free"] > 0.5:
        felt = felt - GRAVITY_MPS2 * np.sin(trace[here, AT["pitch_rad"]])
    thrown = t >= moves
    if not thrown.any():
        return {}
    over = felt[thrown] > float(trigger["level_mps2"])
    return {"throw_peak_mps2": float(np.max(felt[thrown])), "longest_above_s": step * _longest(over)}


def _longest(over: Any) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], over.astype(np.int8), [0]])))
    return int(np.max(edges[1::2] - edges[::2])) if edges.size else 0


def _motor(record: Any, summary: Any, full_thrust_n: float) -> dict[str, float]:
    found = {"static_thrust_n": full_thrust_n * float(record["propeller"]["thrust_scale"])}
    release = float(summary["release_s"])
    detection, spin = float(summary["detection_s"]), float(summary["first_spin_s"])
    if detection >= 0.0:
        found["detection_to_release_s"] = release - detection
        if spin >= 0.0:
            found["start_delay_s"] = spin - detection - float(record["logic"]["start_wait_s"])
    if summary["thrust_match_s"] >= 0.0:
        found["thrust_match_after_s"] = float(summary["thrust_match_s"]) - release
    return found


def _climb(summary: Any, trace: Numbers) -> dict[str, float]:
    """Return rate and path of the climb: mean from its start to the handover."""
    handover, release = float(summary["handover_s"]), float(summary["release_s"])
    if handover < 0.0:
        return {}
    found = {"handover_after_s": handover - release}
    t_s = trace[:, AT["t_s"]]
    here = (t_s >= max(release, float(summary["first_spin_s"]))) & (t_s <= handover)
    t, rises = t_s[here], -trace[here, AT["down_mps"]]
    if t.size < 3:
        return found
    steps = round(RISES_FOR_S / max(float(np.median(np.diff(t))), 1e-4))
    low = np.flatnonzero(rises < RISES_MPS)
    ends = np.concatenate([[-1], low, [t.size]])
    long = np.flatnonzero(np.diff(ends) - 1 >= steps)
    if not long.size:
        return found
    k = int(ends[long[0]]) + 1
    over = float(np.mean(np.hypot(trace[here, AT["ahead_mps"]], trace[here, AT["right_mps"]])[k:]))
    rate = float(np.mean(rises[k:]))
    return found | {"climb_mps": rate, "climb_path_rad": math.atan2(rate, max(over, 0.1))}
