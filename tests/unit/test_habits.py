"""Figures for the thrower card against movements of known size; what they cannot tell has a reason."""

from __future__ import annotations

import math

import pytest

from overarm.describe.reader import load
from overarm.trigger.habits import CANNOT, Habit, habits_of
from overarm.trigger.settings import usual
from tests.examples import FILES
from tests.recorded import shaken, thrown, walked


def by_key(*recordings: object) -> tuple[dict[str, Habit], dict[str, str]]:
    found = habits_of([*recordings], usual())  # type: ignore[list-item]
    return {item.key: item for item in found.found}, found.lacking


def test_a_carry_tells_pose_and_steps() -> None:
    found, lacking = by_key((walked(60.0, step_mps2=2.0, pitch_deg=8.0), "carry"))
    # `walked` steps at 1.9 Hz by 2 m/s2, nods by 3 deg (a sine: 2.1 deg rms) around 8 deg.
    pitch = found["carry_pitch"]
    assert math.degrees(pitch.value) == pytest.approx(8.0, abs=0.5)
    assert math.degrees(pitch.error) >= 2.0
    assert math.degrees(found["carry_pitch_scatter"].value) == pytest.approx(2.1, abs=0.6)
    assert found["sway"].value == pytest.approx(2.0, rel=0.1)
    assert found["sway_rate"].value == pytest.approx(1.9, abs=0.15)
    assert pitch.text.endswith(" measured")
    assert lacking == CANNOT | dict.fromkeys(
        ("shake_rate", "shake_travel"), "fewer than 3 shakes were recorded"
    )


def test_shakes_tell_rate_and_travel() -> None:
    found, lacking = by_key((shaken(times=5, reach_m=0.08, shake_hz=2.5), "shake"))
    # `shaken` swings by 0.072 to 0.091 m, five shakes, mean 0.082 m.
    assert found["shake_rate"].value == pytest.approx(2.5, rel=0.05)
    assert found["shake_travel"].value == pytest.approx(0.082, rel=0.1)
    assert found["shake_travel"].error >= 0.03 * found["shake_travel"].value
    assert "carry_pitch" in lacking


def test_a_throw_and_a_short_carry_give_no_figure() -> None:
    found, lacking = by_key((thrown(), "throw"), (walked(8.0), "carry"), (shaken(times=2), "shake"))
    assert found == {}
    assert {"release_speed", "wind_up", "carry_pitch", "sway", "shake_rate"} <= set(lacking)


def test_without_gravity_there_is_no_pitch() -> None:
    found, lacking = by_key((walked(30.0, gravity_felt=False), "carry"))
    assert "sway" in found
    assert "carry_pitch" in lacking


def test_a_card_takes_each_text() -> None:
    from overarm.describe.change import changed

    found, _ = by_key((walked(30.0), "carry"), (shaken(), "shake"))
    assert found["shakes"].text == "3"  # a whole number, as a file writes it
    texts = {f"thrower.{key}": item.text for key, item in found.items() if key != "shakes"}
    card = changed(load(FILES["c"]), texts)
    assert card.thrower is not None
    assert card.thrower.shake_rate_hz.known == "measured"
    assert card.thrower.carry_pitch_rad.value == pytest.approx(found["carry_pitch"].value, rel=0.06)
