"""Settings written as an aircraft might report them, and read back: no difference; one changed: that one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.describe.change import changed
from overarm.readback.compare import Compared
from overarm.readback.keys import setting_keys
from overarm.readback.suspect import UNITS
from tests.examples import setup_of
from tests.reported import compared, report_of

# Each setting to something else that the card takes and that fits the others.
OTHERS = {
    "jerk_level": "13.7 m/s2",
    "jerk_dwell": "0.33 s",
    "jerk_cue": "tilt-free",
    "jerks": 2,
    "start_wait": "1.31 s",
    "throttle_rise": "77 %/s",
    "launch_ceiling": "83 %",
    "cruise_ceiling": "47 %",
    "climb_pitch": "21.3 deg",
    "handover_height": "52 m",
    "give_up_time": "7.7 s",
    "after_task": "carry on",
    "home_height": "61 m",
    "home_circle_radius": "71 m",
}
LETTERS = st.text("abcdefghijklmnopqrstuvwxyz_", min_size=3, max_size=9)
FORMS = ("=", " = ", ":", ": ", "\t", ";", " ", ",", "json", "nested")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("round")


@st.composite
def mappings(draw: st.DrawFn) -> tuple[str, bool]:
    """Return a mapping of all settings with units, scales and offsets, and whether it has decimal commas."""
    lines = ["overarm_map: 1"]
    comma = draw(st.booleans())
    if comma:
        lines.append("decimal: comma")
    lines.append("settings:")
    names = draw(st.lists(LETTERS, min_size=len(OTHERS), max_size=len(OTHERS), unique=True))
    for name, key in zip(names, OTHERS, strict=True):
        rule = setting_keys()[key].amount
        parts = [f"key: {key}"]
        if rule is not None:
            unit = draw(st.sampled_from([unit for unit in UNITS[rule.dimension.name] if unit]))
            parts.append(f'unit: "{unit}"')
            if draw(st.booleans()):
                parts.append(f"scale: {draw(st.sampled_from([0.1, 0.01, 2.5, 10.0, -1.0]))}")
            if draw(st.booleans()):
                parts.append(f"offset: {draw(st.sampled_from([-3.0, 0.5, 12.0]))}")
        lines.append(f"  n_{name}: {{{', '.join(parts)}}}")
    return "\n".join(lines) + "\n", comma


def written(values: dict[str, str], form: str, comma: bool) -> str:
    if comma:
        values = {name: value.replace(".", ",") for name, value in values.items()}
    if form == "json":
        return json.dumps(values)
    if form == "nested":
        return json.dumps([{"name": name, "value": value} for name, value in values.items()])
    return "".join(f"{name}{form}{value}\n" for name, value in values.items())


def differing(found: dict[str, Compared]) -> dict[str, str]:
    return {key: item.kind for key, item in found.items() if item.kind not in ("same", "not tied")}


@settings(max_examples=60, deadline=None)
@given(
    letter=st.sampled_from("abce"),
    mapping=mappings(),
    form=st.sampled_from(FORMS),
    key=st.sampled_from(sorted(OTHERS)),
)
def test_what_is_written_reads_back(
    folder: Path, letter: str, mapping: tuple[str, bool], form: str, key: str
) -> None:
    text, comma = mapping
    told, report = folder / "map.yaml", folder / ("report.json" if "json" in form else "report.txt")
    told.write_text(text, "utf-8")
    setup = setup_of(letter)
    report.write_text(written(report_of(setup, told), form, comma), "utf-8")
    assert differing(compared(setup, told, report)) == {}
    other = changed(setup, {f"settings.{key}": OTHERS[key]})
    report.write_text(written(report_of(other, told), form, comma), "utf-8")
    assert differing(compared(setup, told, report)) == {key: "different"}
