"""The mapping file: what it says, and every fault of it at once with line, column and cure."""

from __future__ import annotations

from pathlib import Path

import pytest

from overarm.errors import InputError, Problem
from overarm.readback.keys import setting_keys
from overarm.readback.mapping import load_mapping
from overarm.readback.scale import scale_of
from overarm.units import ANGLE, PER_TIME, SPEED, TIME, UnitError
from tests.reported import NAMES, mapping_text


def problems(tmp_path: Path, text: str) -> list[Problem]:
    file = tmp_path / "map.yaml"
    file.write_text(text, "utf-8")
    with pytest.raises(InputError) as found:
        load_mapping(file)
    for problem in found.value.problems:
        assert problem.message
        assert problem.cure
        assert problem.file == str(file)
        assert problem.line >= 1
    return list(found.value.problems)


def test_a_mapping_of_everything(tmp_path: Path) -> None:
    file = tmp_path / "map.yaml"
    file.write_text(mapping_text(more="ignore: [serial]\nroute: {latitude: lat, longitude: lon}\n"), "utf-8")
    found = load_mapping(file)
    assert [(tie.name, tie.key.key) for tie in found.ties] == [(name, key) for name, key, _ in NAMES]
    tie = found.tie_of("MOTOR_delay")
    assert tie is not None
    assert tie.scale is not None
    assert tie.scale.to_si(600.0) == pytest.approx(0.6)
    assert found.ignore == {"serial"}
    assert found.route.columns == {"latitude": "lat", "longitude": "lon"}


def test_every_fault_at_once(tmp_path: Path) -> None:
    text = """\
overarm_map: 1
setings: 3
settings:
  takeoff_kick: {key: jerk_levl, unit: m/s2}
  kick_time: {key: jerk_dwell, unit: deg}
  motor_delay: {key: start_wait, unit: ms}
  motor_delay_2: {key: start_wait, unit: ms}
  top_power: {key: launch_ceiling, unit: furlong}
  nose_up: {key: climb_pitch}
  odd: 3
  then_do: {key: after_task, words: {onward: carry onn}}
  rise: {key: throttle_rise, unit: s, sclae: 3}
  kick_kind: {key: jerk_cue, unit: s}
  patience: {key: give_up_time, unit: s, scale: 0}
  top_power: {key: cruise_ceiling, unit: "%"}
route: {latitude: lat, height_from: moon}
ignore: [serial, motor_delay]
"""
    found = {(problem.line, problem.column): problem for problem in problems(tmp_path, text)}
    said = {
        (2, 1): "Did you mean settings?",
        (4, 23): "Did you mean jerk_level?",
        (5, 38): "is not a time",
        (7, 3): "is tied to start_wait like motor_delay on line 6",
        (8, 42): "unknown unit",
        (9, 3): "has no unit",
        (10, 3): "says not what it is",
        (11, 37): "Write one of carry on, come home and circle",
        (12, 39): "Did you mean scale?",
        (13, 36): "which is a choice",
        (14, 49): "scale of zero",
        (15, 3): "stands here for the second time",
        (16, 37): "is none of file, launch, sea, ground",
        (17, 18): "is tied to a key and ignored",
    }
    assert set(found) == set(said)
    for place, words in said.items():
        assert words in str(found[place])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("overarm: 1\nname: x\n", "is a setup, no mapping"),
        ("name: x\n", "is not a mapping"),
        ("- a\n", "is not a mapping"),
        ("overarm_map: 2\n", "is a form that this version does not read"),
        ("overarm_map: 1\n", "ties nothing"),
        ("overarm_map: 1\nroute: {ahead: x}\n", "Give ahead and right"),
        ("overarm_map: 1\nroute: {latitude: x, longitude: y, height_unit: s}\n", "is not a length"),
        (
            "overarm_map: 1\nsettings: {a: {key: jerk_level, unit: gee, words: {a: b}}}\n",
            "is an acceleration",
        ),
        ("overarm_map: 1\nsettings: {A: {key: jerks}, a: {key: jerk_cue}}\n", "upper and lower case"),
    ],
)
def test_single_faults(tmp_path: Path, text: str, said: str) -> None:
    assert said in str(problems(tmp_path, text)[0])


def test_units_of_a_scale() -> None:
    """5 cm/s; 36 km/h is 10 m/s; 0.5 s to full is 200 %/s; 900 hundredths of a degree are 9 degrees."""
    assert scale_of("cm/s", SPEED).to_si(5.0) == pytest.approx(0.05)
    assert scale_of("km/h", SPEED).to_si(36.0) == pytest.approx(10.0)
    assert scale_of("s to full", PER_TIME).to_si(0.5) == pytest.approx(2.0)
    assert scale_of("ms to full", PER_TIME).to_si(500.0) == pytest.approx(2.0)
    assert scale_of("%/s", PER_TIME).to_si(200.0) == pytest.approx(2.0)
    assert scale_of("deg", ANGLE, 0.01).to_si(900.0) == pytest.approx(0.15707963)
    assert scale_of("s", TIME, 0.1, 0.5).to_si(3.0) == pytest.approx(0.8)
    with pytest.raises(UnitError, match="above zero"):
        scale_of("s to full", PER_TIME).to_si(0.0)
    with pytest.raises(UnitError, match="write s to full"):
        scale_of("s", PER_TIME)


def test_every_key_of_the_card_is_known() -> None:
    """The settings card has 19 keys, of which the pose window is three."""
    keys = setting_keys()
    assert {"jerk_level", "pose_window.bank", "early_pitch", "home_circle_radius", "jerks"} <= set(keys)
    for key in keys.values():
        assert (key.amount is None) == bool(key.choices), key.key
    assert keys["speed_gate"].optional
    assert not keys["start_wait"].optional
