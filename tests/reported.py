"""Reports and mappings of an invented aircraft for the tests of the read-back."""

from __future__ import annotations

from pathlib import Path

from overarm.describe.cards import Setup
from overarm.readback.compare import Compared, compare_settings
from overarm.readback.keys import setting_keys, value_in
from overarm.readback.mapping import load_mapping
from overarm.readback.report import read_report

# Name of the invented aircraft, our key, its unit ("" for a choice).
NAMES = (
    ("takeoff_kick", "jerk_level", "m/s2"),
    ("kick_time", "jerk_dwell", "ms"),
    ("kick_kind", "jerk_cue", ""),
    ("kicks", "jerks", ""),
    ("motor_delay", "start_wait", "ms"),
    ("full_power_after", "throttle_rise", "s to full"),
    ("top_power", "launch_ceiling", "%"),
    ("usual_power", "cruise_ceiling", "%"),
    ("nose_up", "climb_pitch", "deg"),
    ("climb_until", "handover_height", "m"),
    ("patience", "give_up_time", "s"),
    ("then_do", "after_task", ""),
    ("return_height", "home_height", "m"),
    ("circle", "home_circle_radius", "m"),
)
WORDS = {"after_task": {"onward": "carry on", "back": "come home and circle"}}


def mapping_text(names: tuple[tuple[str, str, str], ...] = NAMES, more: str = "") -> str:
    lines = ["overarm_map: 1", "settings:"]
    for name, key, unit in names:
        parts = [f"key: {key}"] + ([f'unit: "{unit}"'] if unit else [])
        words = WORDS.get(key)
        if words:
            parts.append("words: {" + ", ".join(f"{a}: {b}" for a, b in words.items()) + "}")
        lines.append(f"  {name}: {{{', '.join(parts)}}}")
    return "\n".join(lines) + "\n" + more


def report_of(setup: Setup, file: Path) -> dict[str, str]:
    """Return what an aircraft that holds a setup reports under a mapping, with many digits."""
    found = {}
    keys = setting_keys()
    for tie in load_mapping(file).ties:
        value = value_in(setup, keys[tie.key.key])
        if isinstance(value, float):
            assert tie.scale is not None
            found[tie.name] = f"{tie.scale.from_si(value):#.9g}"
        elif value is not None:
            back = {ours: theirs for theirs, ours in tie.words.items()}
            found[tie.name] = back[value]
    return found


def text_of(values: dict[str, str], separator: str = " = ") -> str:
    return "".join(f"{name}{separator}{value}\n" for name, value in values.items())


def compared(setup: Setup, mapping: Path, report: Path) -> dict[str, Compared]:
    told = load_mapping(mapping)
    found = read_report(report, told.table, decimal_comma=told.decimal_comma)
    return {item.key: item for item in compare_settings(setup, told, found).items}
