"""Figures of a recording as a person reads them: names, units, and how many digits."""

from __future__ import annotations

import math
from typing import NamedTuple


class Shown(NamedTuple):
    """How a figure is shown: its name, its unit, what SI is multiplied by, and its digits."""

    name: str
    unit: str
    scale: float
    digits: int


_DEG = math.degrees(1.0)
SHOWN: dict[str, Shown] = {
    "board_tilt_rad": Shown("tilt of the board", "deg", _DEG, 1),
    "force_bias_mps2": Shown("bias of the forward accelerometer", "m/s²", 1.0, 2),
    "carry_peak_mps2": Shown("highest cue of the carry", "m/s²", 1.0, 1),
    "stroke_time_s": Shown("time of the stroke", "s", 1.0, 2),
    "stroke_length_m": Shown("length of the stroke", "m", 1.0, 2),
    "throw_speed_mps": Shown("speed at release", "m/s", 1.0, 1),
    "release_path_rad": Shown("path at release", "deg", _DEG, 0),
    "release_pitch_rad": Shown("pitch at release", "deg", _DEG, 0),
    "release_bank_rad": Shown("bank at release", "deg", _DEG, 0),
    "throw_peak_mps2": Shown("highest cue of the throw", "m/s²", 1.0, 0),
    "longest_above_s": Shown("time over the level", "s", 1.0, 2),
    "detection_to_release_s": Shown("detection to release", "s", 1.0, 2),
    "start_wait_s": Shown("start wait", "s", 1.0, 2),
    "start_delay_s": Shown("start delay", "s", 1.0, 2),
    "throttle_rise_per_s": Shown("throttle rise", "%/s", 100.0, 0),
    "throttle_ceiling": Shown("highest throttle", "%", 100.0, 0),
    "static_thrust_n": Shown("static thrust", "N", 1.0, 1),
    "thrust_match_after_s": Shown("release to thrust match", "s", 1.0, 2),
    "low_point_m": Shown("low point", "m", 1.0, 1),
    "sink_m": Shown("height lost after release", "m", 1.0, 1),
    "low_speed_ratio": Shown("least speed ratio", "Vs", 1.0, 2),
    "climb_mps": Shown("rate of climb", "m/s", 1.0, 1),
    "climb_path_rad": Shown("path of the climb", "deg", _DEG, 0),
    "handover_after_s": Shown("release to handover", "s", 1.0, 1),
    "glide_ratio": Shown("glide ratio", "", 1.0, 1),
    "drag_zero": Shown("drag at zero lift", "", 1.0, 3),
    "satellite_lag_s": Shown("lag of the satellite", "s", 1.0, 2),
    "headwind_mps": Shown("headwind", "m/s", 1.0, 1),
}
EVENT_NAMES = {
    "shake": "shake",
    "wind_up": "wind-up",
    "stroke": "stroke",
    "detection": "detection",
    "release": "release",
    "clear": "hand clear",
    "first_throttle": "first throttle",
    "first_spin": "first spin",
    "thrust_match": "thrust match",
    "low_point": "low point",
    "climb": "climb",
    "handover": "handover",
    "ground": "ground",
}
LINK_NAMES = {
    "hand": "clear slack",
    "carry": "carry margin",
    "cue": "trigger margin",
    "race": "speed budget",
    "speed": "speed ratio",
    "sink": "low point",
    "power": "volts",
    "roll": "bank",
    "climb": "climb",
}


def number(name: str, value: float) -> str:
    """Return a figure without its unit; never "-0"."""
    how = SHOWN[name]
    text = f"{how.scale * value:.{how.digits}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def with_unit(name: str, value: float) -> str:
    """Return a figure with its unit."""
    return f"{number(name, value)} {SHOWN[name].unit}".rstrip()


def with_error(name: str, value: float, error: float) -> str:
    """Return a figure with one standard error, given to one more digit where it would round to nothing."""
    how = SHOWN[name]
    shown = f"{how.scale * error:.{how.digits}f}"
    if float(shown) == 0.0 and error > 0.0:
        shown = f"{how.scale * error:.{how.digits + 1}f}"
    return f"{number(name, value)} ± {shown} {how.unit}".rstrip()
