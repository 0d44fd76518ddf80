"""Sheets of the example setups, flown by the engine."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest

from overarm.describe.derived import derive
from overarm.describe.reader import load
from overarm.flight.campaign import Inputs
from overarm.flight.inputs import inputs_of, without_rules
from overarm.flight.record import field_index
from overarm.odds.run import odds
from overarm.sheets.launches import carpet_share, sample_launches
from overarm.sheets.reading import subject_of
from overarm.sheets.subject import Subject
from overarm.sheets.write import sheet_data, write_sheet

LAUNCHES = 500


class Example(NamedTuple):
    setup: Any
    derived: Any
    result: Any
    inputs: Inputs
    subject: Subject


def read(file: Path) -> Example:
    setup = load(file)
    derived = derive(setup)
    result = odds(setup, LAUNCHES, 1)
    inputs = inputs_of(setup, derived)
    return Example(setup, derived, result, inputs, subject_of(setup, derived, inputs, result.table))


@pytest.fixture(scope="module")
def sound(examples: Path) -> Example:
    return read(examples / "b-kestrel.yaml")


@pytest.fixture(scope="module")
def trap(examples: Path) -> Example:
    return read(examples / "e-looks-fine.yaml")


@pytest.fixture(scope="module")
def line(examples: Path) -> Example:
    return read(examples / "d-line-mapper.yaml")


def test_plan_says_what_the_cards_say(sound: Example) -> None:
    subject, settings = sound.subject, sound.subject.settings
    assert subject.style == "throw-started"
    assert subject.mass_kg == pytest.approx(1.60)
    assert subject.mass_band_kg == pytest.approx((1.52, 1.68))
    assert subject.cells == 4
    assert subject.least_volts == pytest.approx(16.0)  # 16.2 V less 0.05 V a cell
    assert subject.propeller_words == "9x6 in"
    assert (settings.jerk_level_mps2, settings.start_wait_s, settings.throttle_rise_per_s) == (8.0, 0.6, 2.0)
    assert math.degrees(settings.climb_pitch_rad) == pytest.approx(15.0)
    assert subject.headwind_mps == pytest.approx(4.0 * math.log(1.9 / 0.03) / math.log(10 / 0.03), rel=0.02)
    assert "1.35 m span" in subject.airframe_words
    assert "pusher" in subject.power_words


def test_exponent_follows_from_both_throttles(sound: Example) -> None:
    full, half = sound.derived.full, sound.derived.half
    assert half.thrust_n * (full.throttle / half.throttle) ** sound.subject.thrust_exponent == pytest.approx(
        full.thrust_n
    )


def test_blade_energy_meets_the_derived_figure(sound: Example) -> None:
    full = sound.derived.full
    assert sound.subject.joules_per_mps2 * full.tip_speed_mps**2 == pytest.approx(full.energy_j)


def test_held_fields_do_not_vary_and_others_do(sound: Example) -> None:
    from overarm.flight.draw import draw

    held = without_rules(sound.inputs, ("hand.speed_mps",))
    records, _ = draw(held.base, held.rules, 200, 1)
    assert np.unique(records["hand"]["speed_mps"]).size == 1
    assert np.unique(records["hand"]["pitch_rad"]).size > 100
    free, _ = draw(sound.inputs.base, sound.inputs.rules, 200, 1)
    assert np.unique(free["hand"]["speed_mps"]).size > 100
    assert field_index("hand.speed_mps") in sound.inputs.rules.table[:, 1]  # nothing was changed in place


def test_carpet_of_the_trap_fails_in_calm_and_works_in_wind(trap: Example) -> None:
    # The trap works in 6 m/s of wind, half the time in 2, hardly ever in calm (estimate of the trade).
    share = carpet_share(trap.inputs, 1, hand_share=trap.subject.hand_share, line_speed_mps=None)
    calm, light, windy = (share(9.3, trap.subject.hand_share * wind) for wind in (0.0, 2.0, 6.0))
    assert calm < light < windy
    assert calm < 0.5
    assert windy > 0.9


def test_more_throw_and_less_tailwind_are_better(sound: Example) -> None:
    share = carpet_share(sound.inputs, 1, hand_share=sound.subject.hand_share, line_speed_mps=None)
    assert share(6.8, 0.0) < share(8.4, 0.0)
    assert share(8.4, -1.5) < share(8.4, 1.5)


def test_a_shorter_stretch_leaves_the_line_slower(line: Example) -> None:
    usual = line.subject.speed_mean_mps
    share = carpet_share(line.inputs, 1, hand_share=line.subject.hand_share, line_speed_mps=usual)
    assert share(0.55 * usual, 0.0) < share(usual, 0.0)
    assert line.subject.ramp == pytest.approx((1.5, math.radians(14.0)), rel=0.01)


def test_sampled_launches_are_those_of_the_campaign(sound: Example) -> None:
    table, traces = sample_launches(sound.inputs, 1, 5)
    assert table.tobytes() == sound.result.table[:5].tobytes()
    for row, trace in zip(table, traces, strict=True):
        assert trace["t_s"][-1] == pytest.approx(row["end_s"], abs=0.05)
        assert np.all(np.diff(trace["t_s"]) >= 0)


def test_the_trap_is_shown_as_one(trap: Example) -> None:
    data, content = sheet_data(trap.setup, trap.derived, trap.result, "1 May 2030")
    assert data.race.latest_s < data.race.earliest_s
    assert "No wait works" in content["race"]
    assert content["odds"]["word"] == "Stop"
    assert "25 %/s" in content["remarks"][0]["words"].replace("\u00a0", " ")
    assert content["trail"].endswith("1 May 2030")


def test_a_folder_that_cannot_be_written_is_noticed_before_anything_is_flown(
    examples: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    from overarm import cli

    def never(*_: object, **__: object) -> None:
        raise AssertionError("flown for nothing")

    monkeypatch.setattr("overarm.odds.run.odds", never)
    (tmp_path / "file").write_text("in the way", "utf-8")
    out = tmp_path / "file" / "sheets"
    monkeypatch.setattr(
        sys, "argv", ["overarm", "sheet", str(examples / "b-kestrel.yaml"), "--out", str(out)]
    )
    with pytest.raises(SystemExit) as end:
        cli.main()
    assert end.value.code == 2


def test_both_files_are_written_and_the_same_each_time(sound: Example, tmp_path: Path) -> None:
    told: list[float] = []
    first = write_sheet(
        sound.setup, sound.derived, sound.result, tmp_path / "a", date="1 May 2030",
        progress=lambda _, share: told.append(share),
    )  # fmt: skip
    again = write_sheet(sound.setup, sound.derived, sound.result, tmp_path / "b", date="1 May 2030")
    assert first.pdf.read_bytes() == again.pdf.read_bytes()
    assert first.html.read_bytes() == again.html.read_bytes()
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert sound.result.campaign.setup_hash[:15] in first.html.read_text("utf-8")


def test_a_tailwind_day_gives_no_go_band_from_behind(sound: Example) -> None:
    from overarm.sheets.content import wind_words
    from overarm.sheets.evidence import carpet_data

    subject = dataclasses.replace(sound.subject, wind_angle_rad=math.pi)
    carpet = carpet_data(subject, lambda _, wind: 1.0 if wind < 0 else 0.5)
    assert carpet.headwinds_mps.min() == -3.0
    assert wind_words(carpet)[0] == "none"


def test_a_line_launch_speaks_of_the_line_not_of_a_hand(line: Example) -> None:
    data, content = sheet_data(line.setup, line.derived, line.result, "1 May 2030")
    assert data.race.hand_words == "line away"
    assert data.race.earliest_s < data.race.latest_s
    assert "window" in content["race"]
    assert data.blade.by_line
    assert "Bungee" in {item["about"] for item in content["cautions"]}
