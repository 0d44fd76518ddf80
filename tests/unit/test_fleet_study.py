"""A study file: what it may say, and what is said of one that is wrong."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from overarm.errors import InputError
from overarm.fleet import combine
from overarm.fleet.combine import cells_of
from overarm.fleet.study import load_study
from tests.fleets import CELLS, STUDY, study_in

THROWER = """\
person: short, first season
arm: left
throw: overarm
release_speed: 6.5 m/s
"""


def test_every_setup_meets_every_thrower_and_wind(tmp_path: Path) -> None:
    cells = cells_of(load_study(study_in(tmp_path)))
    wanted = [("kestrel", *rest) for rest in product(("practised", "tired"), ("calm", "fresh"))]
    wanted += [("mapper", "", wind) for wind in ("calm", "fresh")]
    assert [cell[:3] for cell in cells] == wanted
    assert len(cells) == CELLS
    tired = cells[3].card
    assert tired.thrower is not None
    assert tired.thrower.release_speed_mps.value == pytest.approx(7.0)
    assert tired.day.wind_mps.value == pytest.approx(5.0)
    assert len({cell.card.hash() for cell in cells}) == CELLS


def test_a_thrower_may_be_a_card_beside_the_study(tmp_path: Path) -> None:
    (tmp_path / "small.yaml").write_text(THROWER, "utf-8")
    text = STUDY.replace("  tired: {thrower.release_speed: 7.0 m/s}", "  small: small.yaml")
    cells = cells_of(load_study(study_in(tmp_path, text)))
    small = next(cell.card.thrower for cell in cells if cell.thrower == "small")
    assert small is not None
    assert (small.arm, small.release_speed_mps.value) == ("left", 6.5)


def test_changes_are_an_axis_of_their_own(tmp_path: Path) -> None:
    text = STUDY + "changes:\n  as it is: {}\n  later: {settings.start_wait: 0.9 s}\n"
    file = study_in(tmp_path, text.replace("  mapper: d-line-mapper.yaml\n", ""))
    cells = cells_of(load_study(file))
    assert len(cells) == 8
    assert [cell.change for cell in cells[:2]] == ["as it is", "later"]
    assert cells[1].card.settings.start_wait_s.value == pytest.approx(0.9)


def test_axes_may_be_left_out(tmp_path: Path) -> None:
    text = "overarm_fleet: 1\nname: two\nsetups: {a: a-sparrow.yaml, b: b-kestrel.yaml}\n"
    cells = cells_of(load_study(study_in(tmp_path, text)))
    assert [cell[:4] for cell in cells] == [("a", "", "", ""), ("b", "", "", "")]


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        ("overarm_fleet: 1\n", "", 1, "is not a fleet study"),
        ("overarm_fleet: 1", "overarm_fleet: 2", 1, "is a form that this version does not read"),
        ("launches: 100", "launches: 10", 3, "launches"),
        ("winds:", "wnds:", 10, "wnds"),
        ("b-kestrel.yaml", "c-kestrel.yaml", 5, "is not a file that is there"),
        ("b-kestrel.yaml", "../b-kestrel.yaml", 5, "leads out of the folder of the study"),
        ("b-kestrel.yaml", "7", 5, "names no file"),
        ("  calm: 0 m/s", "  calm: [0, 1]", 11, "changes nothing"),
        ("  calm: 0 m/s", "  calm: 5 kg", 11, "kg"),
        ("thrower.release_speed: 7.0", "thrower.release_sped: 7.0", 9, "release_sped"),
        ("thrower.release_speed: 7.0 m/s", "day.wind: 3 m/s", 9, "is changed by two entries at once"),
        ("  tired:", '  "=tired()":', 9, "is no name for a table"),
    ],
)
def test_what_is_wrong_is_named_at_its_place(
    tmp_path: Path, old: str, new: str, line: int, message: str
) -> None:
    assert old in STUDY
    file = study_in(tmp_path, STUDY.replace(old, new))
    with pytest.raises(InputError, match=message) as told:
        cells_of(load_study(file))
    found = told.value.problems
    assert Path(found[0].file).name == "study.yaml"
    assert line in [item.line for item in found]


def test_a_wrong_setup_is_told_in_its_own_file(tmp_path: Path) -> None:
    file = study_in(tmp_path)
    card = tmp_path / "b-kestrel.yaml"
    card.write_text(card.read_text("utf-8").replace("mass:", "mas:", 1), "utf-8")
    with pytest.raises(InputError) as told:
        load_study(file)
    assert {Path(item.file).name for item in told.value.problems} == {"b-kestrel.yaml"}


def test_too_many_cells_are_refused_before_any_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(combine, "MOST_CELLS", CELLS - 1)
    study = load_study(study_in(tmp_path))
    with pytest.raises(InputError, match="has too many cells"):
        cells_of(study)
