"""Faults that show only when values are seen together, and many faults told at once."""

from __future__ import annotations

from pathlib import Path

import pytest

import overarm
from tests.changed import BASE, LINE_BASE, problems_of, replaced, spot, written

CLIMB = "  climb_pitch: 15 deg\n"
STIFF = "  stiffness: 9.5 N/m measured\n"
FALLS = "  pull_points:\n    - {stretch: 4 m, pull: 40 N}\n    - {stretch: 8 m, pull: 30 N}\n"
TURNS = "  pull_points:\n    - {stretch: 4 m, pull: 40 N}\n    - {stretch: 3 m, pull: 50 N}\n"
POSE = "  pose_window: {pitch_low: 9 deg, pitch_high: 3 deg, bank: 30 deg}\n"

# Faults between values that are each fine: (base, old, new, key, where the message points, words)
TOGETHER = [
    (BASE, "153.5 mm", "180 mm", "airframe.balance_point", "balance_point:", "neutral point at 172 mm"),
    (BASE, "area: 0.210 m2", "area: 0.310 m2", "airframe.area", "area:", "does not fit span and chords"),
    (BASE, "layout: flying wing", "layout: conventional", "airframe.tail", "airframe:", "needs its tail"),
    (BASE, "travel: 20 deg", "span_to: 30 %", "airframe.surfaces.span_to", "span_to:", "before they begin"),
    (BASE, "throw-started  ", "line-launched  ", "line", None, "needs a line card"),
    (BASE, "throw-started  ", "spin-in-hand  ", "style", "style:", "shares its space with the arm"),
    (BASE, "pack_volts: 12.2", "pack_volts: 16.2", "day.pack_volts", "pack_volts:", "5.40 V a cell"),
    (BASE, CLIMB, f"{CLIMB}  early_pitch: 5 deg\n", "settings.early_speed", "settings:", "belong together"),
    (BASE, CLIMB, f"{CLIMB}  early_speed: 9 m/s\n", "settings.early_pitch", "settings:", "belong together"),
    (BASE, "height: 30 m", "height: 120 m", "settings.handover_height", "handover_height:", "of 120 m"),
    (BASE, "height: 40 m", "height: 130 m", "settings.home_height", "home_height:", "legal ceiling"),
    (BASE, CLIMB, CLIMB + POSE, "settings.pose_window.pitch_high", "pitch_high:", "pose window is empty"),
    (BASE, "settings:\n", "line: {stretch: 8 m}\nsettings:\n", "line", "line: {", "no line"),
    (LINE_BASE, STIFF, "", "line.stiffness", "line:\n", "has no stiffness"),
    (LINE_BASE, STIFF, STIFF + TURNS, "line.stiffness", "stiffness:", "given twice"),
    (LINE_BASE, STIFF, FALLS, "line.pull_points.1.pull", "pull: 30 N", "does not rise"),
    (LINE_BASE, STIFF, TURNS, "line.pull_points.1.stretch", "stretch: 3 m", "does not rise"),
    (LINE_BASE, "site:\n", "thrower: {release_speed: 8 m/s}\nsite:\n", "thrower", "thrower: {", "no thrower"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("base", "old", "new", "key", "at", "words"),
    TOGETHER,
    ids=[f"{case[3]}-{k}" for k, case in enumerate(TOGETHER)],
)
def test_fault_between_values(
    tmp_path: Path, base: str, old: str, new: str, key: str, at: str | None, words: str
) -> None:
    text = replaced(base, old, new)
    problem = next(item for item in problems_of(written(tmp_path, text)) if item.key == key)
    assert words in problem.message
    assert (problem.line, problem.column) == (spot(text, at) if at else (1, 1))


@pytest.mark.parametrize(
    ("height", "least"),
    [("0.5 m", "2.5 m"), ("2.4 m", "2.5 m"), ("1.8 m", "2.5 m")],
)
def test_wind_measured_down_in_the_roughness(tmp_path: Path, height: str, least: str) -> None:
    """4 m/s at 1.8 m over a roughness of 2 m would be -61 m/s at 10 m; five lengths at least."""
    text = replaced(BASE, "ground: meadow", "ground: trees")
    text = replaced(text, "wind_height: 10 m", f"wind_height: {height}")
    (problem,) = problems_of(written(tmp_path, text))
    assert problem.key == "day.wind_height"
    assert f"under {least}" in problem.message
    assert "site.ground" in problem.cure
    assert (problem.line, problem.column) == spot(text, "wind_height:")


def test_wind_just_above_the_roughness(tmp_path: Path) -> None:
    text = replaced(BASE, "ground: meadow", "ground: trees")
    overarm.load(written(tmp_path, replaced(text, "wind_height: 10 m", "wind_height: 2.5 m")))


def test_all_faults_at_once(tmp_path: Path) -> None:
    """Wrong values, unknown and missing keys, a key given twice and faults between values, in order."""
    text = BASE
    for old, new in (
        ("  tip_chord: 162 mm\n", "  tip_chord: 162 mm\n  tip_chord: 163 mm\n"),
        ("sweep: 28 deg", "sweep: 28 mm"),
        ("153.5 mm", "180 mm"),
        ("cells: 3\n", "cells: many\n"),
        ("  release_speed: 9.6 m/s measured\n", ""),
        ("  climb_pitch: 15 deg\n", "  climb_pitch: 15 deg\n  early_pitch: 5 deg\n  colour: red\n"),
    ):
        text = replaced(text, old, new)
    found = problems_of(written(tmp_path, text))
    assert [problem.key for problem in found] == [
        "airframe.tip_chord", "airframe.sweep", "airframe.balance_point", "power.cells",
        "thrower.release_speed", "settings.early_speed", "settings.colour",
    ]  # fmt: skip
    assert [problem.line for problem in found] == sorted(problem.line for problem in found)


def test_swapped_span_and_chord_are_seen(tmp_path: Path) -> None:
    text = replaced(
        replaced(BASE, "span: 0.95 m", "span: 0.28 m"), "root_chord: 280 mm", "root_chord: 950 mm"
    )
    problem = next(item for item in problems_of(written(tmp_path, text)) if item.key == "airframe.area")
    assert "did you swap them" in problem.cure
