"""Settings compared with the sheet: kinds, units, rounding, and what a difference does to the odds."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

import overarm
from overarm.describe.change import changed
from overarm.readback.compare import Compared
from overarm.readback.consequence import fly_sheet
from overarm.readback.run import readback
from tests.examples import FILES, setup_of
from tests.reported import compared, mapping_text, report_of, text_of

LAUNCHES = 2_000


@pytest.fixture
def told(tmp_path: Path) -> Path:
    file = tmp_path / "map.yaml"
    file.write_text(mapping_text(), "utf-8")
    return file


def reported(told: Path, letter: str = "b", **changes: str | None) -> Path:
    values = report_of(setup_of(letter), told)
    for name, value in changes.items():
        if value is None:
            del values[name]
        else:
            values[name] = value
    file = told.parent / "report.txt"
    file.write_text(text_of(values), "utf-8")
    return file


def single(told: Path, key: str, letter: str = "b", **changes: str | None) -> Compared:
    """Return one compared key, all others being the same."""
    found = compared(setup_of(letter), told, reported(told, letter, **changes))
    others = {name: item.kind for name, item in found.items() if name != key}
    assert set(others.values()) <= {"same"}
    return found[key]


def test_the_same(told: Path) -> None:
    result = readback(setup_of("b"), reported(told), told)
    assert not result.has_stop
    (good,) = result.findings
    assert (good.word, good.numbers["same"]) == ("good", 14.0)
    assert result.settings is not None
    assert result.settings.clean is None  # nothing had to be flown


def test_kinds(told: Path) -> None:
    assert single(told, "start_wait", motor_delay="900").kind == "different"
    assert single(told, "start_wait", motor_delay="900").reported == "0.9 s (900 ms)"
    assert single(told, "start_wait", motor_delay=None).kind == "missing"
    assert single(told, "after_task", then_do="onward").reported == "carry on (onward)"
    assert single(told, "jerks", kicks="2").kind == "different"
    assert single(told, "jerks", kicks="1.0").kind == "same"


def test_a_setting_that_the_sheet_leaves_out(tmp_path: Path) -> None:
    told = tmp_path / "map.yaml"
    told.write_text(
        "overarm_map: 1\nsettings:\n  motor_delay: {key: start_wait, unit: ms}\n"
        "  least_speed: {key: speed_gate, unit: m/s, off: 0}\n",
        "utf-8",
    )
    file = tmp_path / "report.txt"
    file.write_text("motor_delay = 600\nleast_speed = 0.0\n", "utf-8")
    assert compared(setup_of("b"), told, file)["speed_gate"].kind == "same"
    file.write_text("motor_delay = 600\nleast_speed = 14\n", "utf-8")
    assert compared(setup_of("b"), told, file)["speed_gate"].kind == "extra"
    result = readback(setup_of("b"), file, told, launches=LAUNCHES)
    assert result.settings is not None
    gate = result.settings.consequences["speed_gate"]
    # A throw of 8.4 m/s does not reach a gate of 14 m/s, so the motor never starts.
    assert gate.difference is not None
    assert gate.difference.share < -0.9
    assert "speed gate" in gate.new_stops
    assert [item.name for item in result.findings if item.word == "not known"] == ["not tied"]


def test_names_that_nobody_knows(told: Path) -> None:
    file = reported(told)
    file.write_text(file.read_text("utf-8") + "serial = 3\nlog_rate = 50\n", "utf-8")
    found = {item.name: item for item in readback(setup_of("b"), file, told).findings}
    assert found["unknown names"].word == "watch"
    assert "serial, log_rate" in found["unknown names"].sentence
    told.write_text(told.read_text("utf-8") + "ignore: [serial, LOG_RATE]\n", "utf-8")
    assert [item.word for item in readback(setup_of("b"), file, told).findings] == ["good"]


@pytest.mark.parametrize(
    ("name", "key", "text", "unit"),
    [
        ("motor_delay", "start_wait", "0.6", "s"),  # a factor of 1000
        ("nose_up", "climb_pitch", "0.2618", "rad"),  # 57.3
        ("top_power", "launch_ceiling", "0.95", "a plain share of 1"),  # 100
        ("climb_until", "handover_height", "114.83", "ft"),  # 3.2808
        ("climb_until", "handover_height", "3500", "cm"),
        ("takeoff_kick", "jerk_level", "0.8158", "gee"),  # 9.80665
        ("full_power_after", "throttle_rise", "200", "%/s"),
        ("patience", "give_up_time", "0.1", "min"),
    ],
)
def test_units_that_were_meant(told: Path, name: str, key: str, text: str, unit: str) -> None:
    """The number is that of example B in another unit; factors from the SI brochure, BIPM (2019)."""
    item = single(told, key, **{name: text})
    assert item.kind == "different"
    assert item.suspect is not None
    assert item.suspect.unit == unit


def test_factors_between_units_of_speed(tmp_path: Path) -> None:
    """3.6 km/h and 1.9438 knots are 1 m/s (ISO 80000-3); a factor of 10 has no unit of speed."""
    setup = changed(setup_of("b"), {"settings.speed_gate": "5 m/s"})
    told, file = tmp_path / "map.yaml", tmp_path / "report.txt"
    told.write_text("overarm_map: 1\nsettings: {gate: {key: speed_gate, unit: m/s}}\n", "utf-8")
    for text, unit, ratio in (
        ("18", "km/h", 3.6),
        ("9.72", "kt", 1.944),
        ("16.4", "ft/s", 3.28),
        ("50", "", 10.0),
    ):
        file.write_text(f"gate = {text}\n", "utf-8")
        item = compared(setup, told, file)["speed_gate"]
        assert item.suspect is not None
        assert item.suspect.unit == unit
        assert item.suspect.ratio == pytest.approx(ratio, rel=0.002)
    file.write_text("gate = 6\n", "utf-8")
    assert compared(setup, told, file)["speed_gate"].suspect is None


def test_rounding_of_the_digits(told: Path) -> None:
    """15 deg are 0.2618 rad: 0.26 is as near as two digits go, and 0.3 might be 14 or 20 degrees."""
    text = told.read_text("utf-8").replace('climb_pitch, unit: "deg"', "climb_pitch, unit: rad")
    told.write_text(text, "utf-8")
    assert single(told, "climb_pitch", nose_up="0.26").kind == "same"
    coarse = single(told, "climb_pitch", nose_up="0.3")
    assert (coarse.kind, coarse.coarse) == ("different", True)
    off = single(told, "climb_pitch", nose_up="0.27")
    assert (off.kind, off.coarse) == ("different", False)


def test_digits_that_are_too_few(told: Path) -> None:
    """0.5 s is 0.45 to 0.55 s: it is no 0.51 s; half a step of 3 % of the wait is the most."""
    setup = changed(setup_of("b"), {"settings.start_wait": "0.51 s"})
    file = reported(told)

    def found(key: str, name: str, text: str) -> Compared:
        file.write_text(text_of(report_of(setup, told) | {name: text}), "utf-8")
        return compared(setup, told, file)[key]

    coarse = found("start_wait", "motor_delay", "0.5 s")
    assert (coarse.kind, coarse.may_be) == ("too coarse", "0.45 to 0.55 s")
    result = readback(setup, file, told)
    (watch,) = [item for item in result.findings if item.word == "watch"]
    assert "start_wait is reported too coarsely to tell: 0.45 to 0.55 s" in watch.sentence
    (good,) = [item for item in result.findings if item.word == "good"]
    assert good.numbers["same"] == 13.0
    assert not result.equal
    assert found("start_wait", "motor_delay", "0.51 s").kind == "same"  # half a step is 1 %
    assert found("start_wait", "motor_delay", "0.5").kind == "different"  # ms
    assert (
        found("jerk_level", "takeoff_kick", "8").kind == "same"
    )  # the sheet's own number, to the last digit
    assert found("jerk_dwell", "kick_time", "0.1 s").kind == "same"
    assert found("give_up_time", "patience", "6").kind == "same"  # half a step is 8 %, and it turns nothing


def test_what_is_tied_and_not_reported(told: Path) -> None:
    result = readback(setup_of("b"), reported(told, motor_delay=None), told)
    (stop,) = [item for item in result.findings if item.word == "stop"]
    assert "cannot be compared, and it decides when the propeller turns" in stop.sentence
    assert result.settings is not None
    assert not result.settings.complete


@pytest.mark.parametrize(
    ("decimal", "text", "said"),
    [
        ("comma", "1.500", "has a point, where the mapping says decimal: comma"),
        ("point", "1,500", "has a comma .*Write decimal: comma"),
        ("point", "0x3C", "has an unknown unit"),
        ("point", "1e999", "is larger than any setting"),
        ("point", "600 deg", "is not a time"),
    ],
)
def test_numbers_that_are_none(told: Path, decimal: str, text: str, said: str) -> None:
    told.write_text(told.read_text("utf-8") + f"decimal: {decimal}\n", "utf-8")
    file = told.parent / "report.txt"
    file.write_text(f"kick_time = 100\nmotor_delay = {text}\n", "utf-8")
    with pytest.raises(overarm.errors.InputError, match=said) as found:
        compared(setup_of("b"), told, file)
    (problem,) = found.value.problems
    assert (problem.line, problem.value) == (2, text)


def test_a_number_in_single_precision(told: Path) -> None:
    """0.6 and 15 degrees in 24 bits (IEEE 754), printed with all their digits."""
    text = told.read_text("utf-8").replace('start_wait, unit: "ms"', "start_wait, unit: s")
    told.write_text(text, "utf-8")
    assert float(np.float32(0.6)) == 0.6000000238418579
    assert single(told, "start_wait", motor_delay="0.6000000238418579").kind == "same"
    assert single(told, "start_wait", motor_delay="0.6001").kind == "different"


def test_a_value_that_no_card_takes(told: Path) -> None:
    item = single(told, "jerk_level", takeoff_kick="800")
    assert "outside 0.5 m/s2 to 100 m/s2" in item.impossible
    result = readback(setup_of("b"), reported(told, takeoff_kick="800"), told, launches=LAUNCHES)
    assert result.settings is not None
    assert result.settings.consequences == {}
    assert "outside" in result.findings[0].sentence


def test_a_value_that_does_not_fit_the_others(told: Path) -> None:
    """A handover above the legal ceiling of 120 m is refused by the setup, not by its own range."""
    result = readback(setup_of("b"), reported(told, climb_until="130"), told, launches=LAUNCHES)
    assert "legal ceiling" in result.findings[0].sentence


def test_heights_and_radii_in_metres(told: Path) -> None:
    """The trees of B are 15 m high; 15 m over them and 10 m of height error: common practice, no source."""
    file = reported(told, return_height="28", circle="30")
    found = {item.name: item.sentence for item in readback(setup_of("b"), file, told, launches=500).findings}
    assert "12 m lower, 13 m above the top of trees (25 m are wanted)" in found["home_height"]
    assert "15 m tighter" in found["home_circle_radius"]


def test_a_unit_behind_the_number(told: Path) -> None:
    assert single(told, "start_wait", motor_delay="600 ms").kind == "same"
    assert single(told, "start_wait", motor_delay="0.60 s").kind == "same"
    assert single(told, "throttle_rise", full_power_after="200 %/s").kind == "same"


def test_what_a_longer_wait_costs(told: Path) -> None:
    """In calm air 0.2 s more of start wait costs example B about 20 points (a plainer model, 150 draws)."""
    calm = changed(setup_of("b"), {"day.wind": "0 m/s"})
    file = reported(told, motor_delay="800")
    result = readback(calm, file, told, launches=4_000, seed=3)
    assert result.settings is not None
    difference = result.settings.consequences["start_wait"].difference
    assert difference is not None
    assert difference.low <= difference.share <= difference.high < 0.0
    assert -0.35 < difference.share < -0.05
    later = changed(calm, {"settings.start_wait": "0.8 s"})
    shares = [overarm.odds(setup, launches=4_000, seed=3).clean.share for setup in (calm, later)]
    assert difference.share == pytest.approx(shares[1] - shares[0], abs=1e-12)
    points = 100.0 * difference.share
    assert f"start_wait 0.8 s (800 ms) instead of 0.6 s: {points:+.0f} points" in result.findings[0].sentence


def test_all_differences_together(told: Path) -> None:
    result = readback(
        setup_of("b"), reported(told, motor_delay="900", top_power="65"), told, launches=LAUNCHES
    )
    assert result.settings is not None
    together = result.settings.together
    assert together is not None
    assert together.difference is not None
    both = changed(setup_of("b"), {"settings.start_wait": "0.9 s", "settings.launch_ceiling": "65 %"})
    sheet = overarm.odds(setup_of("b"), launches=LAUNCHES, seed=1)
    wrong = overarm.odds(both, launches=LAUNCHES, seed=1)
    assert together.difference.share == pytest.approx(wrong.clean.share - sheet.clean.share, abs=1e-12)


def test_two_settings_that_belong_together(tmp_path: Path) -> None:
    """An early pitch without its speed is no setup; both together are flown."""
    told, file = tmp_path / "map.yaml", tmp_path / "report.txt"
    told.write_text(
        "overarm_map: 1\nsettings:\n  first_pitch: {key: early_pitch, unit: deg}\n"
        "  first_speed: {key: early_speed, unit: km/h}\n",
        "utf-8",
    )
    file.write_text("first_pitch = 5\nfirst_speed = 36\n", "utf-8")
    answer = readback(setup_of("b"), file, told, launches=500).settings
    assert answer is not None
    for key in ("early_pitch", "early_speed"):
        assert "belong together" in answer.consequences[key].refused
    assert answer.together is not None
    assert answer.together.difference is not None


def test_cancelled_before_anything_is_flown() -> None:
    with pytest.raises(KeyboardInterrupt):
        fly_sheet(setup_of("b"), 500, 1, lambda: True)


def test_the_slow_rise_of_example_e_is_a_new_stop(told: Path) -> None:
    """Example E with 150 %/s is cured; an aircraft that still has 25 %/s is the trap again."""
    cured = changed(setup_of("e"), {"settings.throttle_rise": "150 %/s"})
    values = report_of(cured, told) | {"full_power_after": "4"}
    file = told.parent / "report.txt"
    file.write_text(text_of(values), "utf-8")
    result = readback(cured, file, told, launches=LAUNCHES)
    assert result.settings is not None
    found = result.settings.consequences["throttle_rise"]
    assert found.difference is not None
    assert found.difference.high < -0.1
    assert "the race" in found.new_stops
    assert math.isclose(result.findings[0].numbers["reported"], 0.25)


def test_a_route_needs_no_mapping_and_settings_do(told: Path) -> None:
    with pytest.raises(overarm.errors.InputError, match="a mapping is needed"):
        readback(overarm.load(FILES["b"]), reported(told))
