"""The derived figures of a setup as `overarm check` shows them in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from overarm.describe.derived import Derived

NAME_WIDE = 18
PLENTY = 50.0  # reserves above this are not told apart


def more_lines(derived: Derived) -> list[str]:
    """Return the figures that `overarm demo` leaves out, one a line."""
    return [f"{name:<{NAME_WIDE}} {words}" for name, words in _pairs(derived)]


def _pairs(derived: Derived) -> Iterator[tuple[str, str]]:
    half = derived.half
    current = f"{half.thrust_n:.1f} N at {half.rpm:,.0f} rpm, {half.current_a:.1f} A"
    yield "half throttle", f"{current}, tip {half.tip_speed_mps:.0f} m/s"
    low, high = derived.rpm_at_tip_25, derived.rpm_at_tip_60
    yield "tip speed", f"25 m/s at {low:,.0f} rpm, 60 m/s at {high:,.0f} rpm"
    yield "spinning propeller", f"{derived.full.energy_j:.0f} J at full throttle"
    yield "spool time", f"{1000.0 * derived.spool_time_s:.0f} ms"
    rolls = (f"{_ratio(ratio)} at {speed:g} Vs" for speed, ratio in derived.roll_reserve.items())
    yield "roll reserve", f"{', '.join(rolls)} (authority over torque)"
    yield "pitch reserve", f"{_ratio(derived.pitch_reserve)} at Vs (authority over the thrust line's moment)"
    yield "hand in reach", _hand(derived)
    yield "self-start tilt", _tilt(derived)


def _ratio(value: float) -> str:
    return f"{value:.1f}" if value < PLENTY else "ample"


def _hand(derived: Derived) -> str:
    reach = derived.hand_reach
    if reach is None:
        return "no disc passes a hand"
    half, most, nearly_all = (f"{time_s:.2f} s" for time_s in (reach.p50_s, reach.p99_s, reach.p999_s))
    return f"clear {half} after release in the middle, {most} in 99 of 100, {nearly_all} in 999 of 1000"


def _tilt(derived: Derived) -> str:
    tilt_rad = derived.self_start_tilt_rad
    return "no tilt alone starts it" if tilt_rad is None else f"{math.degrees(tilt_rad):.0f} degrees nose-up"
