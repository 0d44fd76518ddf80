"""Tables as recordings: heads with units, times, blanks, notes, labels, and what is told of bad ones."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from overarm.describe.derived import derive
from overarm.errors import InputError
from overarm.recordings.channels import CHANNELS
from overarm.recordings.phases import phases_of
from overarm.recordings.reading import opened, read_recording
from overarm.recordings.recording import Recording
from overarm.specimens import make
from tests.examples import setup_of

G_MPS2 = 9.80665  # ISO 80000-3:2019
Read = Callable[..., Recording]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    def reading(text: str | bytes, name: str = "log.csv") -> Recording:
        file = tmp_path / name
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_recording(file)

    return reading


@pytest.fixture
def refused(read: Read) -> Callable[..., str]:
    def refusing(text: str | bytes, name: str = "log.csv") -> str:
        with pytest.raises(InputError) as caught:
            read(text, name)
        return str(caught.value)

    return refusing


def values(recording: Recording, name: str) -> list[float]:
    return recording.channels[name].values.tolist()


@pytest.mark.parametrize(
    ("head", "channel", "one"),
    [
        # SI brochure (BIPM 2019), ISO 80000-3, international yard and pound (1959).
        ("force_x_g", "force_x_mps2", G_MPS2),
        ("force_y_mg", "force_y_mps2", G_MPS2 / 1000),
        ("force_z_cm_s2", "force_z_mps2", 0.01),
        ("force_x_mps2", "force_x_mps2", 1.0),
        ("force_x_m_s2", "force_x_mps2", 1.0),
        ("force_x [m/s2]", "force_x_mps2", 1.0),
        ("Force X (g)", "force_x_mps2", G_MPS2),
        ("force_z_ft_s2", "force_z_mps2", 0.3048),
        ("pitch_rate_deg_s", "pitch_rate_radps", np.pi / 180),
        ("roll_rate_dps", "roll_rate_radps", np.pi / 180),
        ("yaw_rate_radps", "yaw_rate_radps", 1.0),
        ("bank_deg", "bank_rad", np.pi / 180),
        ("latitude_deg", "latitude_rad", np.pi / 180),
        ("airspeed_kmh", "airspeed_mps", 1 / 3.6),
        ("ground_speed_kt", "ground_speed_mps", 1852 / 3600),
        ("climb_ft_min", "climb_mps", 0.3048 / 60),
        ("baro_height_ft", "baro_height_m", 0.3048),
        ("satellite_height_cm", "satellite_height_m", 0.01),
        ("throttle_pct", "throttle", 0.01),
        ("throttle", "throttle", 1.0),
        ("volts_mV", "volts_v", 0.001),
        ("current_ma", "current_a", 0.001),
        ("propeller_rpm", "propeller_radps", 2 * np.pi / 60),
        ("propeller_Hz", "propeller_radps", 2 * np.pi),
        ("state", "state", 1.0),
    ],
)
def test_units_in_heads(read: Read, head: str, channel: str, one: float) -> None:
    found = read(f"time_s,{head}\n0,2\n1,-3\n")
    assert values(found, channel) == pytest.approx([2 * one, -3 * one], rel=1e-12)


def test_every_channel_of_ours_is_read_by_its_own_name(read: Read) -> None:
    heads = ",".join(CHANNELS)
    found = read(f"time_s,{heads}\n0,{','.join(map(str, range(len(CHANNELS))))}\n")
    assert [values(found, name)[0] for name in CHANNELS] == pytest.approx(list(range(len(CHANNELS))))
    assert found.unused == ()


@pytest.mark.parametrize(("head", "first", "second"), [("time_s", 5, 5.5), ("t_ms", 5000, 5500)])
def test_times_count_from_the_first_row(read: Read, head: str, first: float, second: float) -> None:
    found = read(f"{head},pitch_deg\n{first},1\n{second},2\n")
    assert found.channels["pitch_rad"].t_s.tolist() == pytest.approx([0.0, 0.5])
    assert found.settings["clock at the first row"] == "5 s"


def test_microseconds_since_power_on_keep_their_digits(read: Read) -> None:
    found = read("time_us,pitch_deg\n3600000000001,1\n3600000000002,2\n")
    assert found.channels["pitch_rad"].t_s.tolist() == pytest.approx([0.0, 1e-6], abs=1e-15)


def test_times_may_jump_back(read: Read) -> None:
    """Nothing is sorted or mended here."""
    found = read("time_s,pitch_deg\n5,1\n6,2\n0,3\n1,4\n")
    assert found.channels["pitch_rad"].t_s.tolist() == [0.0, 1.0, -5.0, -4.0]


def test_times_of_day(read: Read) -> None:
    """ISO 8601: Z, an offset, a blank for the T, no offset (UTC, as the head says)."""
    text = (
        "time_utc,pitch_deg\n2026-05-01T09:59:59.75Z,1\n2026-05-01T12:00:00+02:00,2\n2026-05-01 10:00:01,3\n"
    )
    found = read(text)
    assert found.channels["pitch_rad"].t_s.tolist() == pytest.approx([0.0, 0.25, 1.25])
    assert found.start_utc == "2026-05-01T09:59:59.750Z"


def test_seconds_since_1970(read: Read) -> None:
    """POSIX: 86 400 s a day; 2026-01-01 is day 20 454 (56 years, 14 leap days)."""
    found = read(f"time_s,pitch_deg\n{20454 * 86400 + 0.5},1\n{20454 * 86400 + 1.5},2\n")
    assert found.start_utc == "2026-01-01T00:00:00.500Z"
    assert found.channels["pitch_rad"].t_s.tolist() == [0.0, 1.0]


def test_blanks_are_no_samples(read: Read) -> None:
    found = read("time_s,pitch_deg,volts_v\n0,1,\n1,,12.5\n2, ,nan\n3,4,-\n")
    assert found.channels["pitch_rad"].t_s.tolist() == [0.0, 3.0]
    assert found.channels["volts_v"].t_s.tolist() == [1.0]


def test_a_column_without_samples_is_an_empty_channel(read: Read) -> None:
    found = read("time_s,pitch_deg,volts_v\n0,1,\n1,2,\n")
    assert found.channels["volts_v"].t_s.size == 0
    assert found.channel("volts_v") is None


def test_notes_states_and_what_is_unused(read: Read) -> None:
    found = read('time_s,state,mood,note\n0,up,1,\n1,up,2,"a, b"\n2,down,3,\n')
    assert [(note.t_s, note.text) for note in found.notes] == [(1.0, "a, b")]
    assert values(found, "state") == [0.0, 0.0, 1.0]
    assert (found.settings["state 0"], found.settings["state 1"]) == ("up", "down")
    assert found.unused == ("mood",)


def test_comments_before_the_head(read: Read) -> None:
    found = read("# label: carry\n# Recorder: on the shelf\n\n# gravity: removed\ntime_s,force_x_g\n0,1\n")
    assert found.label == "carry"
    assert found.settings["recorder"] == "on the shelf"
    assert not found.gravity_felt


def test_comments_between_rows_and_blank_lines(read: Read, refused: Callable[..., str]) -> None:
    found = read("time_s,pitch_deg\n0,1\n# restart\n\n1,2\n")
    assert found.channels["pitch_rad"].t_s.tolist() == [0.0, 1.0]
    assert "log.csv:5:2: pitch_deg: is not a number (got x)" in refused(
        "time_s,pitch_deg\n0,1\n# restart\n\n1,x\n"
    )


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_separators(read: Read, separator: str) -> None:
    found = read("time_s,pitch_deg,volts_v\n0,1.5,2\n1,2.5,3\n".replace(",", separator))
    assert values(found, "volts_v") == [2.0, 3.0]


@pytest.mark.parametrize("separator", [";", "\t"])
def test_decimal_comma(read: Read, separator: str) -> None:
    found = read(f"time_s{separator}volts_v\n0{separator}1,5\n0,5{separator}2\n")
    assert values(found, "volts_v") == [1.5, 2.0]
    assert found.channels["volts_v"].t_s.tolist() == [0.0, 0.5]


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_codecs_and_line_ends(read: Read, codec: str, end: str) -> None:
    text = f"# ort: Höhe{end}time_s,volts_v{end}0,1{end}1,2{end}"
    found = read(text.encode(codec))
    assert values(found, "volts_v") == [1.0, 2.0]
    assert found.settings["ort"] == "Höhe"


def test_the_hash_is_that_of_the_bytes(read: Read) -> None:
    raw = b"time_s,volts_v\r\n0,1\r\n"
    assert read(raw).sha256 == hashlib.sha256(raw).hexdigest()


def test_a_cut_last_line_and_zero_bytes_are_told(read: Read) -> None:
    """What a recorder leaves that loses its power; common practice, no source."""
    found = read(b"time_s,pitch_deg,volts_v\n0,1,2\n1,2,3\n2,1" + bytes(512))
    assert found.channels["volts_v"].t_s.tolist() == [0.0, 1.0]
    assert found.settings["last line"] == "line 4 is cut off and left out"
    assert found.settings["zero bytes at the end"] == "512 left out"


def test_a_whole_last_line_without_an_end_is_kept(read: Read) -> None:
    assert values(read("time_s,volts_v\n0,1\n1,2"), "volts_v") == [1.0, 2.0]


def test_parquet_is_the_same_table(read: Read, tmp_path: Path) -> None:
    frame = pl.DataFrame(
        {
            "time_us": [0, 10_000, 20_000],
            "force_x_g": pl.Series([1.0, None, -1.0], dtype=pl.Float32),
            "volts_mv": [12_000, 12_100, None],
            "note": [None, "throw", ""],
        }
    )
    frame.write_parquet(tmp_path / "log.parquet")
    found = read_recording(tmp_path / "log.parquet")
    assert found.form == "parquet"
    assert values(found, "force_x_mps2") == pytest.approx([G_MPS2, -G_MPS2])
    assert found.channels["force_x_mps2"].t_s.tolist() == pytest.approx([0.0, 0.02])
    assert values(found, "volts_v") == pytest.approx([12.0, 12.1])
    assert [note.text for note in found.notes] == ["throw"]


def test_parquet_with_times_of_day(tmp_path: Path) -> None:
    moments = pl.Series(["2026-05-01T10:00:00.5", "2026-05-01T10:00:01"]).str.to_datetime(time_unit="us")
    pl.DataFrame({"time_utc": moments, "volts_v": [1, 2]}).write_parquet(tmp_path / "log.parquet")
    found = read_recording(tmp_path / "log.parquet")
    assert found.start_utc == "2026-05-01T10:00:00.500Z"
    assert found.channels["volts_v"].t_s.tolist() == [0.0, 0.5]


def test_forty_columns_at_100_hz_read_at_once(tmp_path: Path) -> None:
    """A quarter of an hour, 27 MB: 0.2 s of processor time; a whole hour 0.8 s. The bound is generous."""
    rng = np.random.default_rng(1)
    rows = [",".join(f"{x:.4f}" for x in row) for row in rng.normal(size=(500, 39))]
    heads = ",".join([*CHANNELS, *(f"x{k}" for k in range(39 - len(CHANNELS)))])
    body = "".join(f"{k * 0.01:.2f},{rows[k % 500]}\n" for k in range(90_000))
    file = tmp_path / "long.csv"
    file.write_text(f"time_s,{heads}\n{body}")
    begin = time.process_time()
    found = read_recording(file)
    took_s = time.process_time() - begin
    assert found.channels["state"].t_s.size == 90_000
    assert took_s < 1.5


def test_a_unit_of_another_kind(refused: Callable[..., str]) -> None:
    told = refused("time_s,force_x_deg\n0,1\n")
    assert "log.csv:1:2: force_x_deg: has the unit deg, which is not an acceleration" in told


def test_a_channel_without_its_unit(refused: Callable[..., str]) -> None:
    told = refused("time_s,pitch,volts_v\n0,1,2\n")
    assert told.startswith(told.split(":1:2")[0])
    assert "pitch: has no unit. Name it for example pitch_rad" in told


def test_a_channel_twice(refused: Callable[..., str]) -> None:
    told = refused("time_s,pitch_deg,pitch_rad\n0,1,2\n")
    assert "pitch_rad: is pitch_rad like pitch_deg" in told


def test_two_columns_of_times(refused: Callable[..., str]) -> None:
    assert "is a second column of times beside time_s" in refused("time_s,time_ms,pitch_deg\n0,1,2\n")


def test_a_label_that_is_none(refused: Callable[..., str]) -> None:
    told = refused("# label: walking\ntime_s,volts_v\n0,1\n")
    assert "label: is no label of a recording (got walking). Write one of carry, shake, throw, other" in told


def test_what_could_be_ours_is_offered(refused: Callable[..., str]) -> None:
    rows = "".join(f"{k * 10_000},{0.01 * (k % 3)},0,{-1.0},{k % 90}\n" for k in range(300))
    told = refused("clock,AccX,AccY,AccZ,Roll\n" + rows)
    assert "has no column of times that is known" in told
    assert "clock: is surely time in us" in told
    assert "AccX: is surely force_x in g" in told
    assert "Roll: is surely bank in deg" in told
    assert "--new-map" in told


@pytest.mark.parametrize("scenario", ["a", "b", "c", "d", "e"])
def test_synthetic_recordings_are_read_and_cleaned(scenario: str, tmp_path: Path) -> None:
    """Made by another part of the project, from the truth; nothing in them is unknown."""
    setup = setup_of(scenario)
    file = tmp_path / "launch.csv"
    file.write_bytes(make(setup, derive(setup), seed=3, launch=1).csv)
    found = opened(file)
    assert found.sha256 == hashlib.sha256(file.read_bytes()).hexdigest()
    assert found.unused == ()
    assert found.notes
    assert float(np.median(found.channels["force_z_mps2"].values)) == pytest.approx(-G_MPS2, abs=1.5)


def test_decimal_commas_between_commas_are_told(refused: Callable[..., str]) -> None:
    told = refused("time_s,volts_v\n0,12,5\n1,12,4\n")
    assert "has 3 cells, where the head has 2" in told
    assert "If commas are its decimals, write it again with ; or tabs between cells" in told


def test_one_cell_is_singular(refused: Callable[..., str]) -> None:
    assert "has 1 cell, where" in refused("time_s,volts_v\n0,1\n1\n2,3\n")


def test_two_columns_of_one_name_are_both_named(refused: Callable[..., str]) -> None:
    assert "has two columns of this name, columns 2 and 3" in refused("time_s,volts_v,volts_v\n0,1,2\n")


@pytest.mark.parametrize("page", ["<!DOCTYPE html><html><body>", "\n<html>\n<head>"])
def test_a_web_page_is_named(refused: Callable[..., str], page: str) -> None:
    assert "is a web page, no recording" in refused(page + "404</body></html>")


def test_a_clock_in_another_language_is_offered(refused: Callable[..., str]) -> None:
    rows = "".join(f"{k / 50},{0.1 * (k % 7)},{k % 5}\n" for k in range(100))
    told = refused("Zeit,force_x_mps2,Gas\n" + rows)
    assert "Zeit: is perhaps time in s: it alone rises from row to row" in told
    two = "".join(f"{k / 50},{k * 2},{k % 5}\n" for k in range(100))
    assert "perhaps time" not in refused("Zeit,Zeile,Gas\n" + two)


def test_a_clock_that_stands_still_is_refused(refused: Callable[..., str]) -> None:
    told = refused("time_s,volts_v\n5,1\n5,2\n5,3\n")
    assert ":2:1: time_s: stands still: every row has the same time (got 5)" in told


def test_our_own_names_are_offered_when_only_the_time_is_missing(refused: Callable[..., str]) -> None:
    rows = "".join(f"{0.1 * (k % 7)},-9.8\n" for k in range(60))
    told = refused("force_x_mps2,force_z_mps2\n" + rows)
    assert "force_x_mps2: is surely force_x in mps2" in told
    assert "like none of the channels" not in told


def test_what_was_left_out_is_told_with_the_phases(read: Read) -> None:
    """A head with a slip in it would else be lost in silence, and its channel said to be not recorded."""
    rows = "".join(f"{k / 50},0,-9.8,3\n" for k in range(100))
    found = phases_of(read("time_s,froce_x_mps2,force_z_mps2,fuel\n" + rows + "2,0"))
    told = " ".join(found.remarks)
    assert "left out: froce_x_mps2 (is it force_x_mps2?), fuel." in told
    assert "last line: line 102 is cut off and left out" in told
