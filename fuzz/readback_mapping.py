"""A mapping of an aircraft's settings, and a report that is read with it."""

from __future__ import annotations

from pathlib import Path

from fuzz.door import given, laid
from overarm.readback.mapping import load_mapping
from overarm.readback.report import Report, read_report

LONGEST = 1_024
WORDS = (
    b"overarm_map: 1\n", b"settings:\n", b"key: ", b"unit: ", b"scale: ", b"offset: ", b"words: ", b"off: ",
    b"route: ", b"jerk_level", b"start_wait", b"throttle_rise", b"after_task", b"pose_window.bank",
    b"s to full", b"table: ", b"latitude: lat", b"height_from: sea", b"height_unit: ft", b"decimal: comma",
    b"ignore: ", b"{", b"}", b"~", b'"%"',
)  # fmt: skip
REPORT = b"takeoff_kick = 12\nmotor_delay = 600 ms\nthen_do = onward\nnose_up = 1,5\n"


def seeds() -> list[bytes]:
    """Return mappings that are read."""
    return [
        (
            b"overarm_map: 1\naircraft: mine\nsettings:\n  takeoff_kick: {key: jerk_level, unit: m/s2}\n"
            b"  motor_delay: {key: start_wait, unit: ms}\n  rise: {key: throttle_rise, unit: s to full}\n"
            b"  nose_up: {key: climb_pitch, unit: deg, scale: 0.1}\n"
            b"  least: {key: speed_gate, unit: m/s, off: 0}\n"
            b"  then_do: {key: after_task, words: {onward: carry on, back: come home and circle}}\n"
            b"ignore: [serial]\n"
        ),
        (
            b"overarm_map: 1\ndecimal: comma\ntable: {name: n, value: v}\n"
            b"route: {latitude: lat, longitude: lon, height: alt, name: id, height_unit: ft,"
            b" height_from: sea}\n"
        ),
        b"overarm_map: 1\nroute: {ahead: a, right: r, unit: ft, height: h, height_from: launch}\n",
    ]


def run(data: bytes) -> None:
    """Read the mapping, then a report with it."""
    told = given(load_mapping, data, "map.yaml")
    if told is None:
        return
    report = laid(REPORT, "report.txt")

    def read(_mapping: Path) -> Report:
        return read_report(report, told.table, decimal_comma=told.decimal_comma)

    given(read, data, "map.yaml")
