"""Mappings of recordings: what they do, what is wrong with them, what is offered, and drafting by asking."""

from __future__ import annotations

import importlib.util
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import typer
from click.testing import Result
from typer.testing import CliRunner

from overarm.cli.new_recording_map import draft
from overarm.errors import InputError
from overarm.recordings.draft import Line, mapping_text, problem_with
from overarm.recordings.mapping import load_mapping
from overarm.recordings.propose import Proposal, propose
from overarm.recordings.reading import read_recording
from overarm.recordings.recording import Recording

G_MPS2 = 9.80665
MAP = """\
overarm_recording_map: 1
recorder: the green board
time: {column: clock, unit: us}
note: said
channels:
  AccX: {channel: force_x, unit: g, sign: -1}
  thr: {channel: throttle, unit: "%", scale: 0.1, offset: -100}
  U: {channel: volts_v, unit: mV}
ignore: [mood]
"""
LOG = "clock,accx,thr,U,said,mood,more\n0,1,1000,12000,,1,1\n500000,-2,1500,11000,go,1,1\n"


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, str], Path]:
    def writing(name: str, text: str) -> Path:
        file = tmp_path / name
        file.write_text(text, "utf-8")
        return file

    return writing


def test_a_mapping_ties_columns(write: Callable[[str, str], Path]) -> None:
    found = read_recording(write("log.csv", LOG), write("map.yaml", MAP))
    assert found.channels["force_x_mps2"].values.tolist() == pytest.approx([-G_MPS2, 2 * G_MPS2])
    assert found.channels["throttle"].values.tolist() == pytest.approx([0.0, 0.5])
    assert found.channels["volts_v"].values.tolist() == pytest.approx([12.0, 11.0])
    assert found.channels["volts_v"].t_s.tolist() == [0.0, 0.5]
    assert [(note.t_s, note.text) for note in found.notes] == [(0.5, "go")]
    assert found.unused == ("more",)
    assert found.channels["force_x_mps2"].source == "column AccX in g, sign turned"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("force_x", "force_q", "channels.AccX.channel: is no channel (got force_q). Did you mean force_x?"),
        ("unit: g", "unit: deg", ":6:34: channels.AccX.unit: is not an acceleration (got deg)"),
        (", unit: g", "", "channels.AccX.unit: has no unit. Use m/s2 or gee"),
        ("sign: -1", "sign: 2", "channels.AccX.sign: is none of 1, -1"),
        ("scale: 0.1", "scale: 0", "channels.thr.scale: is no scale"),
        ("scale: 0.1", "scale: .nan", "channels.thr.scale: is not a finite number"),
        ("scale: 0.1", "scail: 0.1", "channels.thr.scail: is not a key of this card. Did you mean scale?"),
        ("unit: us", "unit: kg", "time.unit: is no unit of time (got kg)"),
        ("volts_v, unit: mV", "throttle", "channels.U: is throttle like thr on line 7"),
        ("{channel: volts_v, unit: mV}", "volts", "channels.U: says not what it is (got volts)"),
        ("overarm_recording_map: 1", "overarm_recording_map: 2", "is a form that this version does not read"),
        ("overarm_recording_map: 1", "overarm_map: 1", "is the mapping of a read-back"),
        ("overarm_recording_map: 1", "overarm: 1", "is a setup, no mapping"),
        ("time: {column: clock, unit: us}\n", "", "time: is missing"),
    ],
)
def test_what_is_wrong_with_a_mapping(
    write: Callable[[str, str], Path], old: str, new: str, said: str
) -> None:
    assert old in MAP
    with pytest.raises(InputError) as caught:
        load_mapping(write("map.yaml", MAP.replace(old, new, 1)))
    assert said in str(caught.value)


def test_all_faults_are_told_at_once(write: Callable[[str, str], Path]) -> None:
    text = MAP.replace("force_x", "force_q").replace("unit: us", "unit: kg").replace("mV", "m")
    with pytest.raises(InputError) as caught:
        load_mapping(write("map.yaml", text))
    assert [problem.line for problem in caught.value.problems] == [3, 6, 8]


def test_a_column_that_is_not_there(write: Callable[[str, str], Path]) -> None:
    with pytest.raises(InputError) as caught:
        read_recording(write("log.csv", LOG.replace("thr", "throt")), write("map.yaml", MAP))
    assert "log.csv:1: thr: has no such column, which" in str(caught.value)
    assert "the columns are clock, accx, throt, U" in str(caught.value)


def test_a_mapping_for_a_track(write: Callable[[str, str], Path]) -> None:
    with pytest.raises(InputError, match="is IGC, which needs no mapping"):
        read_recording(write("a.igc", "AXXX001\n"), write("map.yaml", MAP))


def test_decimal_and_gravity_of_a_mapping(write: Callable[[str, str], Path]) -> None:
    text = MAP.replace("time:", "decimal: comma\ngravity: removed\ntime:")
    log = LOG.replace(",", ";").replace("-2", "-2,5")
    found = read_recording(write("log.csv", log), write("map.yaml", text))
    assert found.channels["force_x_mps2"].values[1] == pytest.approx(2.5 * G_MPS2)
    assert not found.gravity_felt


# What is offered -------------------------------------------------------------------------------


def offered(**columns: np.ndarray) -> dict[str, Proposal]:
    heads = list(columns)
    found = propose(heads, {k: np.asarray(columns[head], float) for k, head in enumerate(heads)})
    return {item.head: item for item in found.found}


T_S = np.arange(0.0, 60.0, 0.02)
RNG = np.random.default_rng(5)


def forces(one: float, *, gravity: float = 1.0) -> dict[str, np.ndarray]:
    """Return a board that lies still, tilted, and is shaken for two seconds; ``one``: what 1 g reads."""
    still = gravity * np.array([0.2, -0.1, -math.sqrt(1 - 0.05)])
    shaken = np.where((T_S > 20) & (T_S < 22), 2.0 * np.sin(15 * T_S), 0.0)
    noise = RNG.normal(scale=0.005, size=(3, T_S.size))
    found = still[:, None] + noise + np.array([shaken, 0.1 * shaken, 0.1 * shaken])
    return {f"acc_{axis}": one * row for axis, row in zip("xyz", found, strict=True)}


@pytest.mark.parametrize(("unit", "one"), [("g", 1.0), ("m/s2", 9.81), ("cm/s2", 981.0), ("mg", 1000.0)])
def test_gravity_tells_the_unit_of_forces(unit: str, one: float) -> None:
    """The still median is 1, 9.8, 981 or 1000: the local fall in each unit (ISO 80000-3)."""
    found = offered(**forces(one))
    assert {item.channel for item in found.values()} == {"force_x", "force_y", "force_z"}
    sure = 0.9 if one < 100 else 0.6  # cm/s2 and mg are two hundredths apart
    assert all(item.unit == unit and item.scale == 1.0 and item.sure >= sure for item in found.values())
    assert "still, the total force is" in found["acc_x"].words


def test_counts_of_a_converter() -> None:
    item = offered(**forces(4096.0))["acc_z"]
    assert (item.unit, item.scale) == ("g", 1 / 4096)
    assert item.sure < 0.9


def test_gravity_that_is_taken_off() -> None:
    columns = forces(9.81, gravity=0.0)
    found = propose(list(columns), dict(enumerate(columns.values())))
    assert "where gravity would be felt" in found.gravity_removed
    assert all(item.sure < 0.6 for item in found.found)
    assert propose(list(forces(9.81)), dict(enumerate(forces(9.81).values()))).gravity_removed == ""


@pytest.mark.parametrize(
    ("head", "values", "channel", "unit"),
    [
        ("Roll", 40 * np.sin(T_S), "bank", "deg"),
        ("Roll", 0.7 * np.sin(T_S), "bank", "rad"),
        ("Pitch", 2.0 * np.sin(T_S), "pitch", "deg"),  # beyond a quarter turn in rad
        ("Pitch", 4000 * np.sin(T_S), "pitch", "deg"),  # hundredths
        ("heading", 180 + 170 * np.sin(T_S), "heading", "deg"),
        ("throttle", np.abs(np.sin(T_S)), "throttle", ""),
        ("throttle", 100 * np.abs(np.sin(T_S)), "throttle", "%"),
        ("motorOutput", 1000 + 1000 * np.abs(np.sin(T_S)), "throttle", "%"),
        ("bat_volt", 12000 + T_S, "volts", "mV"),
        ("Battery Voltage", 12.0 + 0.001 * T_S, "volts", "V"),
        ("current_mA", 1000 * np.abs(np.sin(T_S)), "current", "mA"),
        ("rpm", 9000 + T_S, "propeller", "rpm"),
        ("GroundSpeed [km/h]", 30 + T_S, "ground_speed", "km/h"),
        ("baroAlt(cm)", 30 + T_S, "baro_height", "cm"),
        ("lat", 470000000 + T_S, "latitude", "deg"),
        ("GPS Lon", 8.0 + 1e-5 * T_S, "longitude", "deg"),
    ],
)
def test_ranges_tell_units(head: str, values: np.ndarray, channel: str, unit: str) -> None:
    item = offered(**{"time_s": T_S, head: values})[head]
    assert (item.channel, item.unit) == (channel, unit)


def test_pulses_of_throttle() -> None:
    item = offered(thr=1000 + 1000 * np.abs(np.sin(T_S)))["thr"]
    assert (item.scale * 1500 + item.offset, item.unit) == (50.0, "%")


@pytest.mark.parametrize(("unit", "one"), [("m/s", 1.0), ("km/h", 3.6), ("kt", 3600 / 1852), ("cm/s", 100.0)])
def test_positions_tell_the_unit_of_the_speed(unit: str, one: float) -> None:
    """A circle of 100 m radius at 12 m/s; 1 degree of latitude is 111.2 km on a sphere."""
    angle = 0.12 * T_S
    speed = 12.0 + 3.0 * np.sin(0.5 * T_S)
    along = np.cumsum(speed) * 0.02
    latitude = 47.0 + along * np.cos(0.3) / 111_195.0
    longitude = 8.0 + along * np.sin(0.3) / (111_195.0 * math.cos(math.radians(47.0)))
    del angle
    found = offered(time_s=T_S, lat=latitude, lon=longitude, speed=speed * one)
    assert (found["speed"].channel, found["speed"].unit) == ("ground_speed", unit)
    assert "how fast its position moves" in found["speed"].words


def test_height_tells_the_unit_and_the_sign_of_the_climb() -> None:
    height = 20 + 10 * np.sin(0.3 * T_S)
    climb = 3.0 * np.cos(0.3 * T_S)
    found = offered(time_s=T_S, altitude=height, vertical_speed=-100 * climb)
    item = found["vertical_speed"]
    assert (item.channel, item.unit, item.scale) == ("climb", "cm/s", -1.0)


@pytest.mark.parametrize(("unit", "one"), [("rad/s", 1.0), ("deg/s", math.degrees(1.0))])
def test_angles_tell_the_unit_of_the_rates(unit: str, one: float) -> None:
    pitch_deg = 20 * np.sin(T_S)
    rate = np.radians(20 * np.cos(T_S)) * one
    found = offered(time_s=T_S, pitch=pitch_deg, gyro_y=rate)
    assert (found["gyro_y"].channel, found["gyro_y"].unit) == ("pitch_rate", unit)


@pytest.mark.parametrize(("unit", "one"), [("s", 1.0), ("ms", 1e3), ("us", 1e6)])
def test_rate_and_length_tell_the_unit_of_the_times(unit: str, one: float) -> None:
    found = offered(timestamp=T_S * one, pitch=T_S)
    assert (found["timestamp"].channel, found["timestamp"].unit) == ("time", unit)


def test_walking_recorded_by_others() -> None:
    """Bächlin et al. 2010, in the wheel of a package: 64 Hz, mg, gravity felt; the mean total is 1.047 g."""
    spec = importlib.util.find_spec("aeon")
    assert spec is not None
    assert spec.origin is not None
    file = Path(spec.origin).parent / "datasets/data/Daphnet_S06R02E0/S06R02E0.csv"
    rows = np.genfromtxt(file, delimiter=",", skip_header=1, usecols=(7, 8, 9)).T
    found = propose(["accel x", "accel y", "accel z"], dict(enumerate(rows)))
    assert [item.unit for item in found.found] == ["mg", "mg", "mg"]
    assert found.gravity_removed == ""


def test_walking_recorded_by_others_is_read_with_a_mapping(write: Callable[[str, str], Path]) -> None:
    spec = importlib.util.find_spec("aeon")
    assert spec is not None
    assert spec.origin is not None
    file = Path(spec.origin).parent / "datasets/data/Daphnet_S06R02E0/S06R02E0.csv"
    mapping = write(
        "map.yaml",
        "overarm_recording_map: 1\ntime: {column: timestamp, unit: utc}\nchannels:\n"
        "  trunk_horiz_fwd: {channel: force_x, unit: mg}\n"
        "  trunk_horiz_lateral: {channel: force_y, unit: mg}\n"
        "  trunk_vert: {channel: force_z, unit: mg, sign: -1}\n",
    )
    found = read_recording(file, mapping)
    total = np.sqrt(sum(found.channels[f"force_{axis}_mps2"].values ** 2 for axis in "xyz")) / G_MPS2
    assert float(np.mean(total)) == pytest.approx(1.047, abs=1e-3)
    assert float(np.max(total)) == pytest.approx(4.200, abs=1e-3)
    span_s = found.channels["force_x_mps2"].t_s[-1]
    assert 7039 / span_s == pytest.approx(64.0, rel=1e-3)


# Drafting --------------------------------------------------------------------------------------


def test_the_text_of_a_draft_is_a_mapping(write: Callable[[str, str], Path]) -> None:
    lines = [
        Line('a "b"', "time", "ms"),
        Line("ünder: {x}", "force_x", "g", sign=-1),
        Line("thr", "throttle", "%", 0.1, -100.0),
        Line("said", "note", ""),
    ]
    text = mapping_text(lines, ["x: y", "# no"], gravity_removed=True, recorder="mine: 2")
    found = load_mapping(write("map.yaml", text))
    assert found.time == ('a "b"', 1e-3)
    assert [(tie.head, tie.channel, tie.sign, tie.scale) for tie in found.ties] == [
        ("ünder: {x}", "force_x_mps2", -1, 1.0),
        ("thr", "throttle", 1, 0.1),
    ]
    assert (found.note, found.gravity_felt, found.recorder) == ("said", False, "mine: 2")
    assert found.ignore == {"x: y", "# no"}


def test_units_of_a_draft() -> None:
    assert problem_with("time", "us") is None
    assert problem_with("time", "UTC") is None
    assert problem_with("force_x", "g") is None
    assert "is not an acceleration" in (problem_with("force_x", "deg") or "")
    assert problem_with("nothing", "g") == "is no channel"


def ask(path: Path, recording: Path, typed: str) -> Result:
    app = typer.Typer()
    app.command()(lambda: draft(path, recording))
    return CliRunner().invoke(app, [], input=typed)


def unknown(write: Callable[[str, str], Path]) -> Path:
    rows = "".join(
        f"{20_000 * k},{0.3 * math.sin(k / 5):.3f},0,-1.0,{40 * math.sin(k / 50):.2f},7\n" for k in range(600)
    )
    return write("log.csv", "clock,AccX,AccY,AccZ,Roll,seven\n" + rows)


def test_drafting_by_asking(write: Callable[[str, str], Path], tmp_path: Path) -> None:
    recording, path = unknown(write), tmp_path / "map.yaml"
    # Times: column, unit. Each axis: channel, unit, other way round. Roll. No other. Ignore. Recorder.
    typed = "\n\n" + "\n\ny\n" + "\n\n\n" * 2 + "\n\n\n" + "\n" + "\n" + "green board\n"
    shown = ask(path, recording, typed)
    assert shown.exit_code == 0, shown.output
    assert "AccX: surely force_x in g: it is called AccX; still, the total force is 1" in shown.output
    assert "ours is: bank, right wing down" in shown.output
    found: Recording = read_recording(recording, path)
    assert set(found.channels) == {"force_x_mps2", "force_y_mps2", "force_z_mps2", "bank_rad"}
    assert found.channels["force_z_mps2"].values[0] == pytest.approx(-G_MPS2)
    assert found.channels["force_x_mps2"].values[5] == pytest.approx(-0.252 * G_MPS2)
    assert found.channels["bank_rad"].rate_hz == pytest.approx(50.0)
    assert found.unused == ()
    assert load_mapping(path).recorder == "green board"


def test_answers_that_will_not_do_are_asked_again(write: Callable[[str, str], Path], tmp_path: Path) -> None:
    recording, path = unknown(write), tmp_path / "map.yaml"
    typed = "nothing\nclock\nkg\nus\n" + "force_q\nforce_x\ndeg\ng\n\n" + "-\n" * 3
    typed += "seven\nclimb\nm/s\ny\n-\n\n\n"
    shown = ask(path, recording, typed)
    assert shown.exit_code == 0, shown.output
    for said in ("nothing: is no column", "force_q: is none of note, force_x", "deg: is not an acceleration"):
        assert said in shown.output
    found = load_mapping(path)
    assert [(tie.head, tie.channel, tie.sign) for tie in found.ties] == [
        ("AccX", "force_x_mps2", 1),
        ("seven", "climb_mps", -1),
    ]
    assert found.ignore == {"accy", "accz", "roll"}


def test_a_draft_needs_somebody_to_answer(write: Callable[[str, str], Path], tmp_path: Path) -> None:
    shown = ask(tmp_path / "map.yaml", unknown(write), "")
    assert isinstance(shown.exception, InputError)
    assert "nobody gives them here" in str(shown.exception)
    assert not (tmp_path / "map.yaml").exists()


def test_a_draft_of_a_track(write: Callable[[str, str], Path], tmp_path: Path) -> None:
    shown = ask(tmp_path / "map.yaml", write("a.igc", "AXXX001\nHFDTE010126\n"), "")
    assert "is IGC, which needs no mapping" in str(shown.exception)
