"""Motion of a phone, as the DeviceMotion events of W3C "Device Orientation and Motion" name it.

The phone lies on the body with its screen up and its top edge forward. Its axes: x to its right edge, y
to its top edge, z out of the screen (W3C, section 3). So body forward is its y, body right its x, body down
its -z. The same turns the rates: alpha, beta and gamma are about its x, y and z in deg/s (W3C, section on
DeviceMotionEventRotationRate).

Flat at rest, accelerationIncludingGravity is (0, 0, +9.81) by the W3C; some platforms write it with all
signs turned. The gravity felt at rest tells.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError
from overarm.recordings.columns import time_factor
from overarm.recordings.propose_units import Seen, still_force
from overarm.recordings.reading_bytes import Source
from overarm.recordings.recording import Channel, Numbers, Recording
from overarm.recordings.table import label_of
from overarm.recordings.table_text import TableText
from overarm.recordings.table_time import Times, times_from_numbers

WITH_GRAVITY = "accelerationincludinggravity"
WITHOUT = "acceleration"
TURN = "rotationrate"
_BREAKS = re.compile(r"[^a-z]+")
_UNIT = re.compile(r"[_ ]?[\[(]?(?:m_?p?_?s2|m/s2|deg_?p?/?s|dps)[\])]?$")
_MILLISECONDS = ("timestamp", "time", "t")


class _Axes(NamedTuple):
    """Where three columns stand."""

    what: str
    columns: tuple[int, int, int]


def is_phone(heads: Sequence[str]) -> bool:
    """Return True if the heads of a table are those of DeviceMotion events."""
    return _axes(heads, WITH_GRAVITY, "xyz") is not None or _axes(heads, WITHOUT, "xyz") is not None


def _plain(head: str) -> str:
    return _BREAKS.sub("", _UNIT.sub("", head.strip().casefold()))


def _axes(heads: Sequence[str], what: str, ends: Sequence[str]) -> _Axes | None:
    plain = [_plain(head) for head in heads]
    wanted = [what + end for end in ends]
    if not all(name in plain for name in wanted):
        return None
    a, b, c = (plain.index(name) for name in wanted)
    return _Axes(what, (a, b, c))


def from_phone(table: TableText, source: Source) -> Recording:
    """Return the recording of a table of DeviceMotion events.

    The forces are those with gravity; without these columns those without it, and `gravity_felt` is False.
    Raises InputError with line, column and value of what is wrong.
    """
    heads = table.heads
    forces = _axes(heads, WITH_GRAVITY, "xyz") or _axes(heads, WITHOUT, "xyz")
    assert forces is not None, "is_phone has said so"
    felt = forces.what == WITH_GRAVITY
    turns = _axes(heads, TURN, ("alpha", "beta", "gamma"))
    used = [*forces.columns, *(turns.columns if turns else ())]
    column, factor = _time_column(table)
    interval = next((k for k, head in enumerate(heads) if _plain(head) in ("interval", "intervalms")), None)
    extra = [k for k in (column, interval) if k is not None]
    cells = {k: series.to_numpy() for k, series in table.columns([*used, *extra]).items()}
    remarks: dict[str, str] = {}
    times = _times(table, cells, (column, factor), interval, remarks)
    sign = _sign(cells, forces, felt=felt, remarks=remarks)
    names = ("force_y_mps2", "force_x_mps2", "force_z_mps2")
    channels = {
        name: _channel(table, cells, k, times, one * sign)
        for name, k, one in zip(names, forces.columns, (1.0, 1.0, -1.0), strict=True)
    }
    if turns is not None:
        rates = ("pitch_rate_radps", "roll_rate_radps", "yaw_rate_radps")
        radian = float(np.deg2rad(1.0))
        for name, k, one in zip(rates, turns.columns, (radian, radian, -radian), strict=True):
            if np.isfinite(cells[k]).any():
                channels[name] = _channel(table, cells, k, times, one)
    if not any(channel.t_s.size for channel in channels.values()):
        cure = "Allow the page the motion sensors, and record again"
        raise InputError([trouble("holds no motion", cure, Place(table.file, table.head_line, 0))])
    return Recording(
        name=source.name,
        sha256=source.sha256,
        form="phone",
        channels=channels,
        start_utc=times.start_utc or table.settings.get("start_utc", ""),
        gravity_felt=felt,
        unused=tuple(head for k, head in enumerate(heads) if k not in {*used, *extra}),
        label=label_of(table),
        settings={**table.settings, **times.remarks, **remarks},
    )


def _time_column(table: TableText) -> tuple[int | None, float | None]:
    """Return the column of times and its unit [s]; the unit None if the head has none."""
    for k, head in enumerate(table.heads):
        factor = time_factor(head)
        if factor is not None:
            return k, factor
    for k, head in enumerate(table.heads):
        if _plain(head) in _MILLISECONDS:
            return k, None
    return None, None


def _times(
    table: TableText,
    cells: dict[int, Numbers],
    time: tuple[int | None, float | None],
    interval: int | None,
    remarks: dict[str, str],
) -> Times:
    column, factor = time
    if column is not None:
        if factor is None:
            factor = _unit_of_time(cells[column], cells[interval] if interval is not None else None, remarks)
        lacking = np.flatnonzero(np.isnan(cells[column]))
        if lacking.size == cells[column].size:
            place = Place(table.file, table.head_line, column + 1)
            cure = "Record the timeStamp of each event in ms"
            raise InputError([trouble("has no times", cure, place, table.heads[column])])
        return times_from_numbers(table, column, cells[column], factor)
    if interval is None:
        cure = "Give the timeStamp of each event in ms, or its interval"
        raise InputError([trouble("has no column of times", cure, Place(table.file, table.head_line, 0))])
    steps = cells[interval]
    if not np.isfinite(steps).all() or (steps <= 0.0).any() or steps.max() > 1e5:
        row = int(np.flatnonzero(~(np.isfinite(steps) & (steps > 0.0) & (steps <= 1e5)))[0])
        place = Place(table.file, table.line_of(row), interval + 1)
        cure = "Without times every row needs its interval in ms"
        raise InputError([trouble("is no interval", cure, place, table.heads[interval], f"{steps[row]:g}")])
    remarks["clock"] = "the times are the sum of the intervals, so that lost events are not seen"
    t_s = (np.cumsum(steps) - steps[0]) * 1e-3
    return Times(t_s, np.ones(t_s.shape, dtype=np.bool_), "", {})


def _unit_of_time(times: Numbers, interval: Numbers | None, remarks: dict[str, str]) -> float:
    """Return the seconds in one: a time stamp is in ms by the W3C, unless the interval says otherwise."""
    known = times[np.isfinite(times)]
    steps = np.diff(known)
    step = float(np.median(steps)) if steps.size else 0.0
    usual = interval[np.isfinite(interval)] if interval is not None else np.array([])
    if usual.size and step > 0.0 and float(np.median(usual)) > 0.0:
        ratio = float(np.median(usual)) / step
        if 300.0 < ratio < 3000.0:
            remarks["clock"] = "the times are in seconds, as the interval in ms says"
            return 1.0
        if 0.0003 < ratio < 0.003:
            remarks["clock"] = "the times are in microseconds, as the interval in ms says"
            return 1e-6
    return 1e-3


def _sign(cells: dict[int, Numbers], forces: _Axes, *, felt: bool, remarks: dict[str, str]) -> float:
    """Return -1 if the platform writes forces with all signs turned, by the gravity felt at rest."""
    remarks["phone"] = "screen up, top edge forward"
    if not felt:
        remarks["sign of gravity"] = "not known: gravity is taken off; taken as the W3C has it"
        return 1.0
    x, y, z = (cells[k] for k in forces.columns)
    still = still_force(Seen({"force_x": x, "force_y": y, "force_z": z}, None))
    known = z[np.isfinite(z)]
    if still is None or not known.size:
        remarks["sign of gravity"] = "not known: too few samples; taken as the W3C has it"
        return 1.0
    rest = float(np.median(known))
    said = f"z reads {rest:.1f} m/s2 in the middle of its samples"
    if abs(rest) < 0.5 * still:
        remarks["sign of gravity"] = (
            f"not known: {said}, so the phone did not lie flat; taken as the W3C has it"
        )
        return 1.0
    if rest < 0.0:
        remarks["sign of gravity"] = f"turned on all axes: {said}, where the W3C has +9.8 with the screen up"
        return -1.0
    remarks["sign of gravity"] = f"as the W3C has it: {said}"
    return 1.0


def _channel(
    table: TableText, cells: dict[int, Numbers], column: int, times: Times, factor: float
) -> Channel:
    numbers = cells[column]
    there = np.isfinite(numbers) & times.there
    endless = np.flatnonzero(np.isinf(numbers))
    if endless.size:
        row = int(endless[0])
        place = Place(table.file, table.line_of(row), column + 1)
        cure = "Write a finite number, or leave the cell empty"
        raise InputError(
            [trouble("is no finite number", cure, place, table.heads[column], f"{numbers[row]:g}")]
        )
    with np.errstate(all="ignore"):
        values = numbers[there] * factor
    turned = ", sign turned" if factor < 0.0 else ""
    return Channel(times.t_s[there], values, f"column {table.heads[column]}{turned}")
