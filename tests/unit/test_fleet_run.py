"""A fleet study flown: its cells are those of `overarm odds`, kept one by one, and never flown twice."""

from __future__ import annotations

import csv
import io
import json
import shutil
import threading
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import Result
from typer.testing import CliRunner

from overarm import cli
from overarm.errors import InputError
from overarm.fleet.folder import opened
from overarm.fleet.result import FleetResult
from overarm.fleet.run import fly_study
from overarm.fleet.study import load_study
from overarm.fleet.words import MOST_LINES, answer
from overarm.odds.run import odds
from tests.examples import setup_of
from tests.fleets import CELLS, STUDY, study_in, told, toy

TWO = """\
overarm_fleet: 1
name: two winds
launches: 100
seed: 7
setups: {kestrel: b-kestrel.yaml}
winds: {calm: 0 m/s, behind: {day.wind: 3 m/s, day.wind_angle: 180 deg}}
"""


@pytest.fixture(scope="module")
def schema(project: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((project / "docs/reference/fleet.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(found)
    return found


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a small study that is flown, in ``out``."""
    folder = tmp_path_factory.mktemp("two")
    shown = run(study_in(folder, TWO), "--out", folder / "out")
    assert shown.exit_code in (0, 3), shown.output
    return folder


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(cli.app, ["fleet", *(str(word) for word in words)])


def toyed(folder: Path, text: str = STUDY, **how: Any) -> FleetResult:
    study = load_study(study_in(folder, text))
    with opened(folder / "out") as place:
        return fly_study(study, place, **{"fly": toy(lambda k: 0.9 - 0.1 * k), **how})


def test_a_cell_says_what_the_odds_of_its_setup_say(two: Path, schema: dict[str, Any]) -> None:
    said = json.loads((two / "out/fleet.json").read_text("utf-8"))
    jsonschema.validate(said, schema)
    calm, behind = said["cells"]
    assert (calm["wind"], behind["wind"]) == ("calm", "behind")
    from overarm.describe.change import changed

    alone = odds(changed(setup_of("b"), {"day.wind": "0 m/s"}), 100, 7).to_dict()
    assert calm["setup_hash"] == alone["setup_hash"]
    for name in ("clean", "outcomes", "weakest_link", "low_point_height_m", "what_we_do_not_know"):
        assert calm["odds"][name] == alone[name]
    assert calm["odds"]["unknown_input_count"] == len(alone["unknown_inputs"])
    assert behind["odds"]["clean"]["share"] < calm["odds"]["clean"]["share"]


def test_the_table_holds_the_same_as_the_json(two: Path) -> None:
    said = json.loads((two / "out/fleet.json").read_text("utf-8"))
    lines = list(csv.DictReader(io.StringIO((two / "out/fleet.csv").read_text("utf-8"))))
    assert len(lines) == len(said["cells"])
    for line, cell in zip(lines, said["cells"], strict=True):
        assert [line[key] for key in ("setup", "wind", "setup_hash")] == [
            cell[key] for key in ("setup", "wind", "setup_hash")
        ]
        clean, link = cell["odds"]["clean"], cell["odds"]["weakest_link"]
        shares = [float(line[key]) for key in ("clean", "clean_low", "clean_high", "weakest_link_odds")]
        assert shares == [clean["share"], clean["low"], clean["high"], link["odds"]]
        assert shares[1] < shares[2]
        assert (line["weakest_link"], line["refused"]) == (link["name"], "")
        assert line["unknown_input_count"] == str(cell["odds"]["unknown_input_count"])
        assert line["stops"] == "; ".join(cell["odds"]["stops"])
        assert (line["seed"], line["launches"], line["version"]) == ("7", "100", said["version"])


def test_a_second_run_flies_nothing_and_writes_the_same_bytes(
    two: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "again"
    shutil.copytree(two / "out", place)
    for name in ("fleet.json", "fleet.csv"):
        (place / name).unlink()

    def never(*_: object) -> None:
        raise AssertionError("flown again")

    monkeypatch.setattr("overarm.fleet.run.fly_cell", never)
    assert run(two / "study.yaml", "--out", place).exit_code in (0, 3)
    for name in ("fleet.json", "fleet.csv"):
        assert (place / name).read_bytes() == (two / "out" / name).read_bytes()


def test_only_what_changed_or_is_damaged_is_flown_again(two: Path, tmp_path: Path) -> None:
    place = tmp_path / "again"
    shutil.copytree(two / "out", place)
    cells = sorted((place / "cells").iterdir())
    cells[0].write_text(cells[0].read_text("utf-8")[:-40], "utf-8")
    counted: list[int] = []

    def count(works: Any, _cancelled: Any) -> Any:
        for k, _work in enumerate(works):
            counted.append(k)
            yield k, told(0.5)

    study = load_study(two / "study.yaml")
    with opened(place) as folder:
        fly_study(study, folder, fly=count)
        assert len(counted) == 1
        fly_study(study._replace(seed=8), folder, fly=count)
        assert len(counted) == 3
        fly_study(study, folder, fly=count)  # those of the first seed are still there
        fly_study(study._replace(launches=200), folder, fly=count)
        fly_study(study._replace(seed=8), folder, fly=count)
    assert len(counted) == 5


def test_cancelled_cells_are_kept_and_the_rest_flown_later(tmp_path: Path, schema: dict[str, Any]) -> None:
    heard: list[tuple[int, int]] = []
    part = toyed(
        tmp_path, fly=toy(lambda k: 0.9 - 0.1 * k, 2), progress=lambda done, of: heard.append((done, of))
    )
    assert (part.cancelled, part.done) == (True, 2)
    assert heard == [(1, CELLS), (2, CELLS)]
    jsonschema.validate(part.to_dict(), schema)
    whole = toyed(tmp_path, fly=toy(lambda k: 0.7 - 0.1 * k))
    assert not whole.cancelled
    shares = [row.flown["clean"]["share"] for row in whole.rows if row.flown is not None]
    assert shares == pytest.approx([0.9, 0.8, 0.7, 0.6, 0.5, 0.4])


def test_ctrl_c_ends_with_130_and_says_that_it_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("overarm.fleet.run.here", toy(lambda _: 0.9, 2))
    shown = run(study_in(tmp_path), "--out", tmp_path / "out")
    assert shown.exit_code == 130
    assert f"2 of {CELLS} cells are kept" in shown.output
    assert not (tmp_path / "out/fleet.json").exists()


def test_the_lowest_odds_of_each_entry_are_named(tmp_path: Path) -> None:
    result = toyed(tmp_path)
    assert result.worst == CELLS - 1
    lowest = {(item.axis, item.label): item.cell for item in result.lowest()}
    assert lowest["setup", "kestrel"] == 3
    assert lowest["thrower", "practised"] == 1
    assert lowest["wind", "calm"] == 4
    text = answer(result)
    assert "The lowest odds: mapper, fresh." in text
    assert "thrower practised 80 % (70 to 90) kestrel, fresh" in " ".join(text.split())


def test_a_setup_that_cannot_fly_is_a_row_that_says_why(tmp_path: Path, schema: dict[str, Any]) -> None:
    text = TWO.replace("calm: 0 m/s", "calm: 0 m/s, storm: {airframe.coefficients.moment_elevator: 0.1}")
    heard: list[tuple[int, int]] = []
    result = toyed(tmp_path, text, progress=lambda done, of: heard.append((done, of)))
    assert heard == [(1, 3), (2, 3), (3, 3)]
    storm = result.rows[1]
    assert storm.flown is None
    assert storm.refused
    assert result.has_stop
    assert not result.cancelled
    jsonschema.validate(result.to_dict(), schema)
    assert "cannot be flown" in answer(result)
    assert storm.refused in result.to_csv()


def test_a_long_table_is_cut_to_the_lowest_for_a_reader(tmp_path: Path) -> None:
    winds = "\n".join(f"  w{k}: {k / 20} m/s" for k in range(MOST_LINES + 10))
    text = STUDY[: STUDY.index("setups:")] + f"setups: {{kestrel: b-kestrel.yaml}}\nwinds:\n{winds}\n"
    result = toyed(tmp_path, text, fly=toy(lambda k: 0.1 + 0.01 * k))
    text = answer(result)
    assert f"the {MOST_LINES} with the lowest odds" in text
    assert "kestrel  w0 " in text
    assert f"kestrel  w{MOST_LINES + 5} " not in text.split("lowest for")[0]
    assert len(result.to_csv().splitlines()) == MOST_LINES + 11


def test_two_studies_do_not_fly_into_one_folder(tmp_path: Path) -> None:
    ended: list[str] = []

    def second() -> None:
        try:
            with opened(tmp_path / "out"):
                pass
        except InputError as error:
            ended.append(str(error))

    with opened(tmp_path / "out"):
        thread = threading.Thread(target=second)
        thread.start()
        thread.join()
    assert "another study is being flown into it" in ended[0]
    second()
    assert len(ended) == 1


def test_a_folder_that_cannot_be_written_is_bad_input(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file", "utf-8")
    shown = run(study_in(tmp_path), "--out", tmp_path / "out")
    assert isinstance(shown.exception, InputError)
    assert "the study cannot be written" in str(shown.exception)
