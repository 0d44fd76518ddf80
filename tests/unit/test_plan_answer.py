"""The whole plan of every example: its JSON, its words, its findings, and the command."""

from __future__ import annotations

import json
import sys
from functools import cache
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from typer.testing import CliRunner

import overarm
from overarm import cli
from overarm.cli.brake import Brake
from overarm.describe.change import changed
from overarm.earth import Ground, Spot
from overarm.errors import Cancelled, InputError
from overarm.files import file_stem
from overarm.plan import run as plan_run
from overarm.plan.result import PlanResult
from overarm.plan.run import Progress, plan
from overarm.plan.words import answer
from tests import plans
from tests.examples import FILES, setup_of

LAUNCHES = 200


@cache
def plan_of(letter: str) -> PlanResult:
    return plan(setup_of(letter), LAUNCHES)


def word_of(result: PlanResult, name: str) -> str:
    return next(item.word for item in result.findings if item.name == name)


@pytest.mark.parametrize("letter", sorted(FILES))
def test_plan_of_every_example_obeys_the_schema(letter: str, project: Path) -> None:
    schema = json.loads((project / "docs/reference/plan.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    text = json.dumps(plan_of(letter).to_dict(), allow_nan=False)
    jsonschema.validate(json.loads(text), schema)


def test_schema_refuses_what_is_missing_or_unknown(project: Path) -> None:
    schema = json.loads((project / "docs/reference/plan.schema.json").read_text("utf-8"))
    said = json.loads(json.dumps(plan_of("b").to_dict()))
    for name in said:
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({key: value for key, value in said.items() if key != name}, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(said | {"extra": 1}, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(said | {"home": said["home"] | {"time_s": -1.0}}, schema)


@pytest.mark.parametrize("letter", sorted(FILES))
def test_fan_and_route_hang_together(letter: str) -> None:
    result = plan_of(letter)
    fan = result.fan
    columns = (fan.right_p5_m, fan.right_p50_m, fan.right_p95_m, fan.height_p5_m, fan.height_p95_m)
    assert all(len(column) == len(fan.ahead_m) == len(fan.share_there) for column in columns)
    assert np.all(fan.height_p5_m <= fan.height_p50_m)
    assert np.all(fan.height_p50_m <= fan.height_p95_m)
    assert np.all(fan.right_p5_m <= fan.right_p95_m)
    assert np.all(np.diff(fan.share_there) <= 1e-12)
    assert 30 <= len(fan.paths) <= 40
    assert [item.kind for item in result.route] == ["launch", "handover", "out", "turn", "home"]
    assert all(item.spot is None for item in result.route)
    assert result.route[1].height_m == result.handover.height_m
    assert result.route[2].ahead_m > result.route[1].ahead_m


def test_b_is_good_and_e_is_a_stop() -> None:
    """Trees of 15 m at 140 m are cleared from 35 m; the wing that looks fine comes down before its trees."""
    assert not plan_of("b").has_stop
    assert word_of(plan_of("b"), "gap over trees") in ("good", "watch")
    assert plan_of("e").has_stop
    assert plan_of("e").gaps[0].short_share > 0.05


def test_d_hands_over_low_for_its_poplars() -> None:
    """18 m at 260 m ask for 18 m + 5 m + 10 % of the distance; it hands over at 40 m."""
    handover = plan_of("d").handover
    assert handover.lowest_m == pytest.approx(49.0)
    assert handover.word == word_of(plan_of("d"), "gap over poplars") == "watch"


def test_same_seed_same_plan() -> None:
    once, again = (plan(setup_of("a"), 100, 5).to_dict() for _ in range(2))
    assert once == again
    assert plan(setup_of("a"), 100, 6).to_dict() != once


def test_launch_point_gives_spots(tmp_path: Path) -> None:
    text = FILES["b"].read_text("utf-8")
    point = "  launch_point: {latitude: 47.00117 deg, longitude: 8.00099 deg}\n  launch_direction: 90 deg\n"
    file = tmp_path / "placed.yaml"
    file.write_text(text.replace("site:\n", f"site:\n{point}"), "utf-8")
    result = plan(overarm.load(file), 100)
    launch, handover = result.route[0].spot, result.route[1].spot
    assert launch is not None
    assert handover is not None
    assert launch.latitude_deg == pytest.approx(47.00117, abs=1e-9)
    assert handover.longitude_deg > launch.longitude_deg
    # A degree of longitude at 47 deg is about 76.1 km.
    ahead_m = (handover.longitude_deg - launch.longitude_deg) * 76_056.0
    assert ahead_m == pytest.approx(result.route[1].ahead_m, rel=5e-3)
    assert result.to_dict()["launch_point"]["longitude_deg"] == pytest.approx(8.00099, abs=1e-9)


def ridge(file: Path, half_m: float) -> None:
    """Write a height model about 47 N, 8 E in UTM 32: 500 m, and a ridge of 12 m 110 m east of there."""
    import rasterio
    from rasterio.transform import Affine
    from rasterio.warp import transform

    (x,), (y,) = transform("EPSG:4326", "EPSG:32632", [8.0], [47.0])
    count = int(2.0 * half_m)
    east = np.arange(count) + 0.5 - half_m
    cells = np.full((count, count), 500.0) + 12.0 * (np.abs(east - 110.0) < 6.0)
    corner = Affine(1.0, 0.0, x - half_m, 0.0, -1.0, y + half_m)
    form = {"driver": "GTiff", "width": count, "height": count, "count": 1, "dtype": "float32"}
    with rasterio.open(file, "w", **form, crs="EPSG:32632", transform=corner) as data:
        data.write(cells.astype(np.float32), 1)


@pytest.mark.parametrize(("half_m", "covered"), [(400.0, True), (125.0, False)])
def test_a_ridge_of_the_height_model_is_in_the_way(half_m: float, covered: bool, tmp_path: Path) -> None:
    ridge(tmp_path / "ground.tif", half_m)
    site = (
        "  launch_point: {latitude: 47 deg, longitude: 8 deg}\n  launch_direction: 90 deg\n"
        "  height_model: ground.tif\n"
    )
    file = tmp_path / "ridge.yaml"
    file.write_text(FILES["b"].read_text("utf-8").replace("site:\n", f"site:\n{site}"), "utf-8")
    result = plan(changed(overarm.load(file), {"site.obstacles.0.height": "1 m"}), 100)
    assert result.home.tallest_m == pytest.approx(12.0, abs=0.1)
    assert result.gaps[-1].name == "ground of the height model"
    assert (result.gaps[-1].word == "good") == covered
    assert any(item.name == "height model" for item in result.findings) != covered


def test_words_always_show_your_local_limit() -> None:
    for letter in FILES:
        text = answer(plan_of(letter))
        assert "your local limit" in " ".join(text.split())
        assert "safe" not in text.lower()
        assert "you and the pilot in charge decide" in text
        assert len(text.splitlines()) < 26
        assert max(map(len, text.splitlines())) <= 100
    assert "plan stop" in answer(plan_of("e"))
    low = changed(setup_of("b"), {"site.legal_ceiling": "45 m"})
    result = plan(low, 100)
    assert result.ceiling.word == "stop"
    assert "STOP" in answer(result)


def test_nothing_released_is_a_stop_and_no_fault() -> None:
    deaf = changed(setup_of("c"), {"settings.jerk_level": "100 m/s2"})
    result = plan(deaf, 100)
    assert result.has_stop
    json.dumps(result.to_dict(), allow_nan=False)
    assert "0 % handed over" in answer(result)


def test_few_launches_are_refused() -> None:
    with pytest.raises(InputError, match="launches"):
        plan(setup_of("b"), 10)


def test_progress_and_cancel() -> None:
    told: list[Progress] = []
    plan(setup_of("b"), 100, progress=told.append)
    assert [item.done for item in told] == sorted(item.done for item in told)
    assert told[-1].done == told[-1].of == 1700
    for after in (1, 5):
        told.clear()
        with pytest.raises(Cancelled):
            plan(
                setup_of("b"),
                100,
                progress=told.append,
                cancelled=lambda after=after: len(told) >= after,  # type: ignore[misc]
            )
        assert len(told) <= after + 1


def test_command_prints_the_plan_and_its_exit_codes(tmp_path: Path) -> None:
    run = CliRunner().invoke(cli.app, ["plan", str(FILES["b"]), "--launches", "100", "--out", str(tmp_path)])
    assert run.exit_code == 0, run.output
    assert "way home" in run.output
    assert "No map files" in run.output
    names = sorted(path.name for path in tmp_path.iterdir())
    assert [name.rsplit("-", 1)[-1] for name in names] == ["ground.svg", "rose.svg", "side.svg", "plan.json"]
    shown = CliRunner().invoke(cli.app, ["plan", str(FILES["e"]), "--launches", "300", "--json"])
    assert shown.exit_code == 3
    assert json.loads(shown.stdout)["overarm_plan"] == 1


def test_command_refuses_a_folder_that_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("not a folder")
    monkeypatch.setattr(sys, "argv", ["overarm", "plan", str(FILES["b"]), "--out", str(tmp_path / "file")])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == 2
    assert "Choose another --out" in capsys.readouterr().err


@pytest.mark.parametrize("ground", [plans.GROUND, Ground(Spot(89.9, 0.0), 0.5)])
def test_pictures_json_and_map_files_are_written_all_or_none(
    ground: Ground, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What goes last will not move in, or cannot be computed near a pole: nothing is new, nothing is gone."""
    monkeypatch.setattr(plan_run, "plan", lambda *_, **__: plans.plan_of(ground))
    words = ["plan", str(FILES["b"]), "--out", str(tmp_path), "--json"]
    stem = file_stem(plans.plan_of().setup_name, "plan")
    (tmp_path / f"{stem}.json").write_text("old", "utf-8")
    last = tmp_path / f"{stem}.gpx"
    last.mkdir()
    before = sorted(path.name for path in tmp_path.iterdir())
    ended = CliRunner().invoke(cli.app, words)
    assert isinstance(ended.exception, InputError)
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert (tmp_path / f"{stem}.json").read_text("utf-8") == "old"
    if ground is plans.GROUND:
        last.rmdir()
        assert CliRunner().invoke(cli.app, words).exit_code == 0
        assert len(list(tmp_path.glob(f"{stem}*"))) == 7


def test_command_cancelled_ends_with_130(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> PlanResult:
        raise Cancelled

    monkeypatch.setattr(plan_run, "plan", interrupted)
    monkeypatch.setattr(sys, "argv", ["overarm", "plan", str(FILES["b"])])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == 130


def test_a_second_pull_of_the_brake_ends_at_once() -> None:
    brake = Brake()
    brake.flying = True
    brake.pull(2, None)
    assert brake.pulled
    with pytest.raises(KeyboardInterrupt):
        brake.pull(2, None)
