"""`overarm learn`: forms, answers of review, what is written, JSON, refusals."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import Result
from typer.testing import CliRunner

import overarm
from overarm import cli
from overarm.errors import InputError
from overarm.learn.answers import read_answer
from overarm.learn.bench.cards import FORMS
from overarm.learn.bench.empty import BODIES, empty_form
from overarm.learn.bench.read import read_form
from overarm.learn.run import Gathered, learn, learn_from
from tests.examples import FILES, derived_of, setup_of

SHA = "ab12cd34" * 8


def launch(number: int, **figures: tuple[float | None, float]) -> dict[str, Any]:
    estimates = {
        name: {
            "value": value,
            "error": error,
            "method": "test",
            "why_not": "" if value else "not seen",
            "bound": "",
        }
        for name, (value, error) in figures.items()
    }
    return {"number": number, "kind": "launch", "estimates": estimates}


def answer_file(folder: Path, *launches: dict[str, Any], name: str = "r.json", sha: str = SHA) -> Path:
    file = folder / name
    told = {"recording": {"sha256": sha, "start_utc": "2031-05-17T10:00:00Z"}, "launches": list(launches)}
    file.write_text(json.dumps(told), "utf-8")
    return file


def slow_throws(folder: Path) -> Path:
    speeds = (6.6, 6.9, 6.3, 6.8, 6.5)
    found = [
        launch(k + 1, throw_speed_mps=(v, 0.4), static_thrust_n=(15.2, 1.5), drag_zero=(None, 0.0))
        for k, v in enumerate(speeds)
    ]
    return answer_file(folder, *found)


@pytest.fixture
def setup_file(tmp_path: Path) -> Path:
    file = tmp_path / "b.yaml"
    file.write_bytes(FILES["b"].read_bytes())
    return file


@pytest.fixture(scope="module")
def schema(project: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((project / "docs/reference/learn.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(found)
    return found


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(cli.app, ["learn", *(str(word) for word in words)])


def refused(*words: str | Path) -> str:
    shown = run(*words)
    assert isinstance(shown.exception, InputError), shown.output
    return str(shown.exception)


@pytest.mark.parametrize("name", list(BODIES))
def test_every_empty_form_is_read_again(name: str, tmp_path: Path) -> None:
    file = tmp_path / "form.yaml"
    assert run("--new-form", name, file).exit_code == 0
    assert isinstance(read_form(file).form, FORMS[name])
    assert "#" in file.read_text("utf-8")
    assert "there already" in refused("--new-form", name, file)


def test_no_form_of_that_name(tmp_path: Path) -> None:
    assert "pull, swing" in refused("--new-form", "push", tmp_path / "f.yaml")
    assert "end in .yaml" in refused("--new-form", "pull", tmp_path / "f.txt")
    assert "one file" in refused("--new-form", "pull")
    assert "cannot be written" in refused("--new-form", "pull", tmp_path / "no" / "f.yaml")


def test_slow_throws_are_named(tmp_path: Path) -> None:
    result = learn(setup_of("b"), [slow_throws(tmp_path)])
    speed = result.updates[0]
    assert speed.update.target.input == "thrower.release_speed"
    assert 6.6 < speed.update.after.value < 8.0
    assert "slower than the card" in speed.moved
    assert speed.little.startswith("5 throws: the mean is known to +-")
    assert result.verdict.most == "thrower.release_speed"
    assert result.verdict.sentence.startswith("Your throws are 1.8 m/s slower than the card says")
    assert result.verdict.sentence.endswith("Thrust agrees.")
    assert result.left_out[0].why == "not seen"


def test_one_launch_says_how_little_it_is(tmp_path: Path) -> None:
    file = answer_file(tmp_path, launch(1, throw_speed_mps=(8.0, 0.4)))
    result = learn(setup_of("b"), [file])
    assert "1 throw: the mean is known to" in result.updates[0].little
    assert "the scatter hardly at all" in result.updates[0].little
    assert "One throw is no habit." in result.updates[0].little
    assert "thrower.release_speed" in result.cards.changes
    assert "thrower.release_speed_scatter" not in result.cards.changes
    assert result.verdict.most == ""


def test_in_two_steps_as_at_once(tmp_path: Path) -> None:
    """What was learned and written is the card from which the rest is learned: about the same in the end."""
    random_like = (7.9, 7.1, 8.3, 7.4, 7.0, 8.1, 7.7, 6.9, 7.8, 7.5)
    launches = [launch(k + 1, throw_speed_mps=(v, 0.2)) for k, v in enumerate(random_like)]
    at_once = learn(setup_of("b"), [answer_file(tmp_path, *launches)]).updates[0].update.after
    first, new = answer_file(tmp_path, *launches[:5], name="1.json"), tmp_path / "new.yaml"
    old = tmp_path / "b.yaml"
    old.write_bytes(FILES["b"].read_bytes())
    assert run(old, first, "--write", new).exit_code == 0
    rest = answer_file(tmp_path, *launches[5:], name="2.json", sha="99" * 32)
    after = learn(overarm.load(new), [rest]).updates[0].update.after
    assert after.value == pytest.approx(at_once.value, abs=0.1)
    assert after.spread == pytest.approx(at_once.spread, rel=0.25)
    assert after.scatter is not None
    assert at_once.scatter is not None
    assert after.scatter.value == pytest.approx(at_once.scatter.value, rel=0.15)


def test_the_new_setup_keeps_the_old_and_says_where_from(setup_file: Path, tmp_path: Path) -> None:
    forms = []
    for name in ("pull", "swing", "glide", "tilt", "clear"):
        forms.append(tmp_path / f"{name}.yaml")
        forms[-1].write_text(empty_form(name, "2031-05-17"), "utf-8")
    new, before = tmp_path / "new.yaml", setup_file.read_bytes()
    shown = run(setup_file, slow_throws(tmp_path), *forms, "--write", new)
    assert shown.exit_code == 0, shown.output
    assert setup_file.read_bytes() == before
    text = new.read_text("utf-8")
    assert "# learned from 5 throws (evidence ab12cd34)" in text
    assert "from slow-motion video of five throws, motor unplugged" in text
    assert "# learned from 1 bench test and 5 launches (evidence ab12cd34 " in text
    card = overarm.load(new)
    assert card.thrower is not None
    assert card.thrower.release_speed_mps.known == "measured"
    assert card.thrower.release_speed_mps.value < 8.0
    assert card.power.bench[0].current_a is not None
    assert card.airframe.roll_inertia_kg_m2 is not None
    assert card.airframe.roll_inertia_kg_m2.spread < 0.003
    again = refused(new, slow_throws(tmp_path))
    assert "was learned from already" in again
    assert "is there already" in refused(setup_file, slow_throws(tmp_path), "--write", new)


def test_thrust_without_bench_readings_makes_them(tmp_path: Path) -> None:
    text = FILES["b"].read_text("utf-8")
    start, end = text.index("  bench:"), text.index("\nthrower:")
    file, form = tmp_path / "b.yaml", tmp_path / "pull.yaml"
    file.write_text(text[:start] + text[end:], "utf-8")
    form.write_text(empty_form("pull", ""), "utf-8")
    for number, evidence in enumerate((form, slow_throws(tmp_path))):
        new = tmp_path / f"new{number}.yaml"
        assert run(file, evidence, "--write", new).exit_code == 0
        card = overarm.load(new)
        assert card.power.bench[0].throttle_share.value == 0.95
        assert card.power.bench[0].pull_n.known == "measured"
        assert len(card.power.bench) == 2 - number


def test_json_is_as_documented(setup_file: Path, tmp_path: Path, schema: dict[str, Any]) -> None:
    files = []
    for name in FORMS:
        files.append(tmp_path / f"{name}.yaml")
        files[-1].write_text(empty_form(name, ""), "utf-8")
    shown = run(setup_file, slow_throws(tmp_path), *files, "--json", "--launches", "100")
    assert shown.exit_code == 0, shown.output
    told = json.loads(shown.stdout)
    jsonschema.validate(told, schema)
    assert told["odds"]["launches"] == 100
    assert told["setup_hash"] == setup_of("b").hash()
    assert {item["input"] for item in told["updates"]} >= {"thrower.release_speed", "airframe.board.tilt"}
    plain = run(setup_file, files[1], "--json")
    jsonschema.validate(json.loads(plain.stdout), schema)


def test_a_history_is_scored_and_drawn(setup_file: Path, tmp_path: Path) -> None:
    form, svg = tmp_path / "h.yaml", tmp_path / "p.svg"
    form.write_text(empty_form("history", ""), "utf-8")
    shown = run(setup_file, form, "--picture", svg)
    assert shown.exit_code == 0, shown.output
    assert "1 of 2 launches were clean" in shown.output
    assert "dashed: as promised" in svg.read_text("utf-8")
    assert "Brier score" in svg.read_text("utf-8")  # in the words for readers who cannot see it
    assert "no kind of picture" in refused(setup_file, form, "--picture", tmp_path / "p.gif")
    assert "without a history" in refused(setup_file, slow_throws(tmp_path), "--picture", svg)


def test_a_line_has_no_thrower(tmp_path: Path) -> None:
    result = learn(setup_of("d"), [slow_throws(tmp_path)])
    assert [item.update.target.input for item in result.updates] == ["power.thrust"]
    assert any("no thrower" in item.why for item in result.left_out)


def test_evidence_at_hand_is_learned_from(tmp_path: Path) -> None:
    """A logbook keeps evidence, not files: the same is learned from it; tilt and bias then one by one."""
    form = tmp_path / "tilt.yaml"
    form.write_text(empty_form("tilt", ""), "utf-8")
    by_file = learn(setup_of("b"), [slow_throws(tmp_path), form])
    kept = learn_from(setup_of("b"), derived_of("b"), Gathered(by_file.evidence))
    assert kept.updates[0] == by_file.updates[0]
    tilt = next(item.update for item in kept.updates if item.update.target.input == "airframe.board.tilt")
    assert tilt.after.spread < tilt.before.spread


def test_an_aborted_throw_and_a_bound_teach_what_they_can(tmp_path: Path) -> None:
    aborted = launch(1, throw_speed_mps=(8.0, 0.4)) | {"kind": "aborted throw"}
    clipped = launch(2, throw_speed_mps=(9.5, 0.5), release_path_rad=(0.1, 0.0))
    clipped["estimates"]["throw_speed_mps"]["bound"] = "at least"
    result = learn(setup_of("b"), [answer_file(tmp_path, aborted, clipped)])
    assert [item.lower_bound for item in result.evidence] == [True]
    assert result.evidence[0].method == "test; at least this"
    assert [item.what for item in result.left_out] == ["launch 1", "launch 2, release_path_rad"]
    assert result.updates[0].update.after.value > 8.4


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is not JSON"),
        ("[]", "holds no launches"),
        ('{"launches": [3]}', "has no estimates"),
        ('{"launches": [{"estimates": {"throw_speed_mps": 8}}]}', "is no estimate"),
        ('{"launches": [{"estimates": {"throw_speed_mps": {"value": "8", "error": 1}}}]}', "is no number"),
        ('{"launches": [{"estimates": {"throw_speed_mps": {"value": 8, "error": -1}}}]}', "is no number"),
        ('{"launches": [{"estimates": {"throw_speed_mps": {"value": NaN, "error": 1}}}]}', "is no number"),
    ],
)
def test_broken_answers_are_refused(text: str, words: str, tmp_path: Path) -> None:
    file = tmp_path / "r.json"
    file.write_text(text, "utf-8")
    with pytest.raises(InputError, match=words):
        read_answer(file)
    with pytest.raises(InputError, match="cannot be read"):
        read_answer(tmp_path / "none.json")


def test_a_review_of_another_aeroplane_is_refused(tmp_path: Path) -> None:
    """Its estimates rest on the mass, the polar and the style of the setup that it was made with."""
    file = tmp_path / "r.json"
    for setup, fits in (("E, the wing that looks fine", False), (setup_of("b").name, True), ("", True)):
        file.write_text(json.dumps({"setup": setup, "launches": [launch(1, throw_speed_mps=(8.0, 0.4))]}))
        if fits:
            assert learn(setup_of("b"), [file]).evidence
        else:
            with pytest.raises(InputError, match="is a review of another aeroplane"):
                learn(setup_of("b"), [file])


@pytest.mark.parametrize(
    ("name", "old", "new", "place"),
    [
        ("pull", "15.4 N", "15.4 kg", ":9:28: readings.1.pull: is not a force"),
        ("pull", "throttle: 95 %", "throttle: 50 %", "one throttle"),
        ("pull", "volts: 15.73 V", "volts: 16.5 V", "do not fall"),
        ("swing", "axis: roll", "axis: rol", "Did you mean roll?"),
        ("swing", "swings: 20", "swings: 20.5", "whole number"),
        ("glide", "headwind: 0.5 m/s", "headwind: 60 km/h", "outside"),
        ("tilt", "angle: 30 deg", "angle: 400 deg", "outside"),
        ("clear", "frames: 32", "frames: -1", "frames"),
        ("clear", "test: clear", "test: cleer", "Did you mean clear?"),
        ("pull", "  - {throttle: 50 %, pull: 4.7 N, current: 3.9 A, volts: 16.11 V}", "", "fewer than two"),
        ("history", "clean: true", "clean: maybe", "true nor false"),
        ("history", "overarm_bench: 1", "overarm_bench: 9", "does not read"),
        ("pull", "day: 2031-05-17", "day: 17.5.2031", "is no day"),
        ("pull", "overarm_bench: 1", "overarm: 1", "is no form"),
    ],
)
def test_broken_forms_are_refused(name: str, old: str, new: str, place: str, tmp_path: Path) -> None:
    file = tmp_path / "form.yaml"
    text = empty_form(name, "2031-05-17")
    assert old in text
    file.write_text(text.replace(old, new), "utf-8")
    with pytest.raises(InputError, match=place):
        learn(setup_of("b"), [file])


def test_the_same_source_twice_is_refused(tmp_path: Path) -> None:
    file = slow_throws(tmp_path)
    with pytest.raises(InputError, match="same source"):
        learn(setup_of("b"), [file, file])


def test_too_little_to_learn_from(setup_file: Path, tmp_path: Path) -> None:
    assert "a setup and evidence are needed" in refused(setup_file)
    nothing = answer_file(tmp_path, launch(1, low_point_m=(1.0, 0.1)))
    shown = run(setup_file, nothing)
    assert "Nothing was learned" in shown.output
    assert "nothing new" in refused(setup_file, nothing, "--write", tmp_path / "n.yaml")
