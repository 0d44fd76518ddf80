"""Put defects into the table of a synthetic recording, each told in the truth.

The words for defects are those of the reader's list; a defect can come in more than one way, so each way has
a name of its own here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.specimens.motion import ANGLES, Motion, Numbers, at
from overarm.specimens.table import Table

FORCES = ("force_x_mps2", "force_y_mps2", "force_z_mps2")
RATES = ("roll_rate_deg_s", "pitch_rate_deg_s", "yaw_rate_deg_s")
ROLLOVER_US = 2**32
SPIKE_MPS2 = 3000.0
DEGREES = 180.0 / math.pi


class Scene(NamedTuple):
    """What a defect may depend on: how the model moved, and when the launch was."""

    motion: Motion
    throw_s: float  # of the first release, or the middle of the recording
    end_s: float


class Injected(NamedTuple):
    """One defect that was put in."""

    defect: str  # in the words of the reader
    channel: str  # a column, or "" for the whole recording
    from_s: float
    to_s: float
    detail: str


Spoiler = Callable[[Table, Scene, np.random.Generator], Injected]


def _shifted_clock(table: Table, at_s: float, to: Callable[[Numbers], Numbers]) -> None:
    late = table.t_s > at_s
    table.t_s = np.where(late, to(table.t_s), table.t_s)


def _before_throw(scene: Scene, luck: np.random.Generator) -> float:
    """Return a time in the carry, well before the throw [s]."""
    return float(luck.uniform(0.35, 0.75)) * max(1.0, scene.throw_s)


def restart(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Let the clock begin again at nothing, as after a brown-out in the carry."""
    when = _before_throw(scene, luck)
    _shifted_clock(table, when, lambda t: t - when)
    return Injected("restart", "", when, when, "the clock begins again at 0")


def rollover(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Count microseconds in 32 bits, full within the carry."""
    when = _before_throw(scene, luck)
    table.time_name, table.time_scale = "time_us", 1e6
    first = (ROLLOVER_US - round(when * 1e6)) * 1e-6
    table.t_s = np.round((table.t_s + first) * 1e6) % ROLLOVER_US * 1e-6
    return Injected("rollover", "", when, when, "the count of microseconds is full")


def jump_ahead(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Let the clock jump an hour ahead in the carry."""
    when = _before_throw(scene, luck)
    _shifted_clock(table, when, lambda t: t + 3600.0)
    return Injected("clock jump", "", when, when, "an hour ahead")


def step_back(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Let the clock step back by two seconds in the carry."""
    when = max(4.0, _before_throw(scene, luck))
    _shifted_clock(table, when, lambda t: t - 2.0)
    return Injected("clock jump", "", when, when, "two seconds back")


def duplicates(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write one row in a hundred twice."""
    rows = np.arange(table.t_s.size)
    twice = luck.choice(rows, max(2, rows.size // 100), replace=False)
    table.keep(np.sort(np.concatenate((rows, twice))))
    return Injected("duplicate", "", 0.0, scene.end_s, f"{twice.size} rows are there twice")


def gap(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Leave out a second or two of the carry."""
    when, takes = _before_throw(scene, luck), float(luck.uniform(0.6, 2.0))
    return _left_out(table, when, takes)


def gap_in_flight(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Leave out half a second of the flight, well after the release."""
    return _left_out(table, scene.throw_s + float(luck.uniform(1.5, 2.5)), 0.5)


def _left_out(table: Table, when: float, takes: float) -> Injected:
    table.keep(np.flatnonzero((table.t_s < when) | (table.t_s > when + takes)))
    return Injected("gap", "", when, when + takes, f"{takes:.1f} s are missing")


def jitter(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write each row a little early or late; the order stays."""
    there = np.isfinite(table.columns[FORCES[0]])
    step = float(np.median(np.diff(table.t_s[there])))
    late = table.t_s + step * luck.uniform(-0.45, 0.45, table.t_s.size)
    late[0] = table.t_s[0]
    rising = np.maximum.accumulate(np.round(late, 4) - 1e-4 * np.arange(late.size))
    table.t_s = rising + 1e-4 * np.arange(late.size)
    return Injected("jitter", "", 0.0, scene.end_s, f"by up to {0.45 * step * 1e3:.1f} ms")


def not_finite(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write some samples as infinite."""
    name = FORCES[0]
    there = np.flatnonzero(np.isfinite(table.columns[name]))
    table.columns[name][luck.choice(there, 12, replace=False)] = np.inf
    return Injected("not finite", name, 0.0, scene.end_s, "12 samples are infinite")


def spikes(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write some samples far beyond what can be felt."""
    name = FORCES[2]
    there = np.flatnonzero(np.isfinite(table.columns[name]))
    table.columns[name][luck.choice(there, 8, replace=False)] = SPIKE_MPS2
    return Injected("beyond range", name, 0.0, scene.end_s, "8 spikes")


def _freeze(table: Table, name: str, when: float) -> Injected:
    values = table.columns[name]
    late = np.flatnonzero(np.isfinite(values) & (table.t_s > when))
    values[late] = values[late[0]]
    return Injected("stuck", name, when, float(table.t_s[-1]), "one value to the end")


def stuck_height(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Let the height by air pressure stop changing before the throw."""
    return _freeze(table, "baro_height_m", 0.5 * scene.throw_s)


def stuck_rate(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Let one gyro stop changing in the carry."""
    return _freeze(table, RATES[1], _before_throw(scene, luck))


def _scaled(table: Table, names: tuple[str, ...], factor: float, detail: str) -> Injected:
    for name in names:
        table.columns[name] = table.columns[name] * factor
        table.digits[name] += 3
    return Injected("unit", names[0], 0.0, float(table.t_s[-1]), detail)


def forces_in_g(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write forces in g under a name that says m/s2."""
    return _scaled(table, FORCES, 1.0 / GRAVITY_MPS2, "g under m/s2")


def angles_in_rad(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write rates in rad/s under a name that says deg/s."""
    return _scaled(table, RATES, 1.0 / DEGREES, "rad/s under deg/s")


def pitch_in_rad(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write pitch and bank in rad under a name that says deg."""
    return _scaled(table, ("pitch_deg", "bank_deg"), 1.0 / DEGREES, "rad under deg")


def speed_in_kmh(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write the satellite speed in km/h under a name that says m/s."""
    return _scaled(table, ("ground_speed_mps",), 3.6, "km/h under m/s")


def height_in_cm(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write the height by air pressure in cm under a name that says m."""
    return _scaled(table, ("baro_height_m",), 100.0, "cm under m")


def throttle_in_us(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Write the throttle as a pulse of 1000 to 2000 us under a name that says percent."""
    table.columns["throttle_pct"] = 1000.0 + 10.0 * table.columns["throttle_pct"]
    return Injected("unit", "throttle_pct", 0.0, scene.end_s, "microseconds under percent")


# How a board may be turned in the model: what it calls forward, right and down, as axes of the body.
TURNINGS: dict[str, tuple[tuple[int, float], ...]] = {
    "turned to the right": ((1, 1.0), (0, -1.0), (2, 1.0)),
    "turned to the left": ((1, -1.0), (0, 1.0), (2, 1.0)),
    "back to front": ((0, -1.0), (1, -1.0), (2, 1.0)),
    "upside down": ((0, 1.0), (1, -1.0), (2, -1.0)),
    "on its tail": ((2, -1.0), (1, 1.0), (0, 1.0)),
}


def axes(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Mount the board another way round."""
    how = str(luck.choice(sorted(TURNINGS)))
    for names in (FORCES, RATES):
        old = [table.columns[name] for name in names]
        for name, (axis, sign) in zip(names, TURNINGS[how], strict=True):
            table.columns[name] = sign * old[axis]
    return Injected("axes", FORCES[0], 0.0, scene.end_s, how)


def gravity_removed(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Take gravity off the forces, by the attitude as it was."""
    bank, pitch, _ = (at(scene.motion, name, table.t_s) for name in ANGLES)
    level = np.cos(pitch)
    for name, part in zip(FORCES, (np.sin(pitch), -level * np.sin(bank), -level * np.cos(bank)), strict=True):
        table.columns[name] = table.columns[name] - GRAVITY_MPS2 * part
    return Injected("gravity removed", FORCES[0], 0.0, scene.end_s, "forces without gravity")


def height_step(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Let the height by air pressure jump by several metres in the carry."""
    when, by = _before_throw(scene, luck), float(luck.choice([-1.0, 1.0]) * luck.uniform(4.0, 9.0))
    name = "baro_height_m"
    table.columns[name] = table.columns[name] + np.where(table.t_s > when, by, 0.0)
    return Injected("height step", name, when, when, f"{by:.1f} m")


def saturation(table: Table, scene: Scene, luck: np.random.Generator) -> Injected:
    """Clip the forces at 2 g, the range of a small sensor."""
    for name in FORCES:
        table.columns[name] = np.clip(table.columns[name], -2.0 * GRAVITY_MPS2, 2.0 * GRAVITY_MPS2)
    return Injected("saturation", FORCES[0], 0.0, scene.end_s, "clipped at 2 g")


SPOILERS: dict[str, Spoiler] = {
    "restart": restart,
    "rollover": rollover,
    "clock an hour ahead": jump_ahead,
    "clock two seconds back": step_back,
    "duplicates": duplicates,
    "gap": gap,
    "gap in flight": gap_in_flight,
    "jitter": jitter,
    "not finite": not_finite,
    "spikes": spikes,
    "stuck height": stuck_height,
    "stuck rate": stuck_rate,
    "forces in g": forces_in_g,
    "rates in rad": angles_in_rad,
    "angles in rad": pitch_in_rad,
    "speed in km/h": speed_in_kmh,
    "height in cm": height_in_cm,
    "throttle in us": throttle_in_us,
    "axes": axes,
    "gravity removed": gravity_removed,
    "height step": height_step,
    "saturation": saturation,
}
# These are in what is measured, not in the table: `overarm.specimens.maker` sees to them.
MEASURED = {
    "aliasing": "aliasing",
    "late satellite": "satellite lag",
    "airspeed zero": "airspeed zero",
}
CLOCKS = ("restart", "rollover", "clock an hour ahead", "clock two seconds back")


def spoil(table: Table, scene: Scene, name: str, luck: np.random.Generator) -> dict[str, Any]:
    """Put one defect into a table, by its name in `SPOILERS`, and return it as plain values."""
    return SPOILERS[name](table, scene, luck)._asdict()
