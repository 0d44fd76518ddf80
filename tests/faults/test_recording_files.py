"""Files that are no recordings, or broken ones: a clear error each time, with its place and a cure."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from overarm.errors import InputError
from overarm.recordings import limits, reading_bytes
from overarm.recordings.draft import unknown_table
from overarm.recordings.mapping import load_mapping
from overarm.recordings.reading import read_recording

TABLE = b"time_s,force_x_g,volts_v,note\n0,1,12,a\n0.1,2,12,\n0.2,3,,b c\n"
MOTION = (
    b"timeStamp,accelerationIncludingGravity.x,accelerationIncludingGravity.y,accelerationIncludingGravity.z,"
    b"interval\n1,2,3,4,16\n17,3,4,5,16\n"
)
NMEA = (
    b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n"
    b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\n"
)
IGC = b"AXXX001\nHFDTE230394\nI023638GSP3941TRT\nB1602405407121N00249342WA0028000421036084\nE160241PEV\n"
GPX = (
    b'<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk>'
    b'<trkseg><trkpt lat="47" lon="8"><ele>500</ele><time>2026-05-01T10:00:00Z</time></trkpt>'
    b'<trkpt lat="47.0001" lon="8"><time>2026-05-01T10:00:01Z</time></trkpt></trkseg></trk></gpx>'
)
UNKNOWN = b"clock,ax,ay,az,lat,lon,speed,alt,thr\n" + b"".join(
    b"%d,1,2,%d,47.%d,8.%d,3,4,1500\n" % (k, k, k, k) for k in range(20)
)


def told(file: Path, read: Callable[[Path], object] = read_recording) -> str:
    with pytest.raises(InputError) as caught:
        read(file)
    for problem in caught.value.problems:
        assert problem.file == str(file)
        assert problem.message
        assert str(problem).isprintable()
    return str(caught.value)


@pytest.fixture
def refused(tmp_path: Path) -> Callable[..., str]:
    def refusing(raw: bytes, name: str = "log.csv") -> str:
        file = tmp_path / name
        file.write_bytes(raw)
        return told(file)

    return refusing


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "is empty"),
        (b" \n\r\n\t\n", "is empty"),
        (bytes(4096), "is empty"),
        (b"# only a comment\n", "has comments and no table"),
        (b"\x7fELF\x02\x01\x01" + bytes(20) + b"\x01", "is not text: it holds zero bytes"),
        (b"time_s,volts_v\n0,1\n1,\0\0\0\n2,3\n", ":3: is not text: it holds zero bytes"),
        (b"time_s,volts_v\n0,\x01\n", ":2: is not text: it holds the character U+0001"),
        (b"time_s,volts_v\n0,1\n1,\xe9\n", ":3:3: is not text in UTF-8"),
        (b"\xff\xfet\x00i\x00m", "begins as UTF-16 and goes on as something else"),
        ("time_s,volts_v\n0,1\n".encode("utf-16-le"), "save it as UTF-8"),
        (b"PK\x03\x04rest", "is a ZIP archive or a spreadsheet, no recording"),
        (b"\x1f\x8b\x08rest", "is a gzip archive"),
        (b"SQLite format 3\0", "is a database"),
        (b"time_s\n0\n1\n", "is no table: its first line has one column"),
        (b"dear diary\n\ntoday it flew\n", "is no table: its first line has one column"),
        (b"0,1,2\n1,2,3\n", "has no head: its first line is numbers"),
        (b"# time_s,volts_v\n0,1\n", "Take the # off the names of the columns in the line above"),
        (
            b"time_s;volts_v\n0;1.5\n1;1,234\n",
            ":3: writes decimals with a point on line 2 and with a comma on",
        ),
        (b"time_s,volts_v\n", "has a head and no rows below it"),
        (b"time_s,volts_v\n0", "has a head and no rows below it"),
        (
            b"time_s,volts_v,Volts_V\n0,1,2\n",
            ":1:1: Volts_V: has two columns of this name, columns 2 and 3",
        ),
        (b"time_s,volts_v\n,\n,\n", "time_s: has no times"),
        (b"time_s,volts_v\n0,\n1,\n", "holds no sample of any channel"),
        (b"time_s,volts_v\n0,1\n,2\n", ":3:1: time_s: has no time"),
        (b"time_utc,volts_v\n2026-05-01T10:00:00Z,1\n ,2\n", ":3:1: time_utc: has no time"),
        (b"time_utc,volts_v\n ,1\n ,2\n", "time_utc: has no times"),
        (b"time_s,volts_v,note\n0,1,\n,,thrown\n", ":3:1: time_s: has no time"),
        (b"time_s,volts_v\nx,1\n1,2\n", ":2:1: time_s: is not a number (got x)"),
        (b"time_s,volts_v\n0,1\n1,12V\n", ":3:2: volts_v: is not a number (got 12V)"),
        (b"time_s,volts_v\n0,1\n1,1_000\n", ":3:2: volts_v: is not a number (got 1_000)"),
        (b"time_s,volts_v\n0,1\n1,inf\n", ":3:2: volts_v: is no finite number (got inf)"),
        (b"time_s,volts_v\n0,1\n1,1e999\n", ":3:2: volts_v: is no finite number (got inf)"),
        (b"time_s,volts_v\n0,1\ninf,2\n", ":3:1: time_s: is no time (got inf)"),
        (
            b"time_utc,volts_v\n2026-05-01T10:00:00Z,1\nnoon,2\n",
            ":3:1: time_utc: is no time of day (got noon)",
        ),
        (b"time_utc,volts_v\n2026-02-30T10:00:00Z,1\n", "is no time of day (got 2026-02-30T10:00:00Z)"),
        (b"time_s,volts_v\n0,1\n1,2,3\n4,5\n", ":3: has 3 cells, where the head has 2"),
        (b"time_s,volts_v,current_a\n0,1\n1,2,3\n", ":2: has 2 cells, where the head has 3"),
        (b'time_s,volts_v,note\n0,1,"a\n1,2,b\n2,3,c"\n', ":2: has a quote that is not closed"),
        (b"lap,mood\n1,good\n", "has no column of times that is known"),
    ],
)
def test_tables_that_cannot_be_read(refused: Callable[..., str], raw: bytes, said: str) -> None:
    assert said in refused(raw)


@pytest.mark.parametrize(
    ("name", "raw", "said"),
    [
        ("a.igc", b"AXXX001\nHFDTE230394\n", "holds no fix (B record)"),
        ("a.igc", IGC.replace(b"5407121N", b"54x7121N"), ":4: is no whole fix"),
        ("a.igc", IGC[:-40], ":4: is no whole fix"),
        ("a.igc", b"\x00\x01\x02", "zero bytes"),
        ("a.nmea", b"hello\n", "holds no valid fix in 0 sentences"),
        ("a.nmea", NMEA.replace(b"08,", b"09,"), "a.nmea:1: has a wrong checksum"),
        ("a.nmea", b"$GPGGA,123519,9907.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,\n", "its place is 99"),
        ("a.nmea", b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,f,46.9,M,,\n", "its height is in"),
        ("a.gpx", b"not xml", "is not XML"),
        ("a.gpx", GPX[:-30], "is not XML"),
        ("a.gpx", b"<kml></kml>", "is XML and no GPX (got <kml>)"),
        ("a.gpx", b"<gpx version='1.1'></gpx>", "holds no track"),
        (
            "a.gpx",
            GPX.replace(b"<time>2026-05-01T10:00:01Z</time>", b""),
            "point: has 1 of 2 points without a",
        ),
        ("a.gpx", GPX.replace(b'lat="47"', b'lat="147"'), "point 1: is at an impossible place (got 147, 8)"),
        ("a.gpx", b'<!DOCTYPE x [<!ENTITY a "b">]><gpx>&a;</gpx>', "declares a document type"),
        ("a.gpx", b'<!DOCTYPE gpx SYSTEM "gpx.dtd"><gpx version="1.1"></gpx>', "declares a document type"),
        ("a.parquet", b"PAR1 and nothing more", "is no whole Parquet file"),
    ],
)
def test_tracks_that_cannot_be_read(refused: Callable[..., str], name: str, raw: bytes, said: str) -> None:
    assert said in refused(raw, name)


def parquet(folder: Path, **columns: object) -> Path:
    file = folder / "log.parquet"
    pl.DataFrame(columns).write_parquet(file)
    return file


def test_parquet_cut_short(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Wherever it breaks: an error, and nothing of the reader's own on the screen."""
    file = parquet(tmp_path, time_s=np.arange(200.0), volts_v=np.arange(200), note=["x"] * 200)
    raw = file.read_bytes()
    for end in range(4, len(raw), 97):
        file.write_bytes(raw[:end])
        told(file)
        file.write_bytes(raw[:end] + bytes(20) + raw[end + 20 :])
        try:
            read_recording(file)
        except InputError as error:
            hold_words(error)
    assert capfd.readouterr().err == ""


def test_parquet_of_other_things(tmp_path: Path) -> None:
    assert "has no rows" in told(parquet(tmp_path, time_s=[], volts_v=[]))
    assert "holds List" in told(parquet(tmp_path, time_s=[0.0], volts_v=[[1, 2]]))
    assert "volts_v: is not a number in row 2 (got x)" in told(
        parquet(tmp_path, time_s=[0.0, 1.0], volts_v=["1", "x"])
    )
    assert "upper and lower case apart" in told(parquet(tmp_path, time_s=[0.0], Volts_v=[1], volts_v=[2]))


def test_files_that_are_not_there(tmp_path: Path) -> None:
    assert "cannot be read: No such file" in told(tmp_path / "none.csv")
    assert "cannot be read: it is a folder" in told(tmp_path)


def test_limits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, refused: Callable[..., str]) -> None:
    assert "is larger than 100 bytes" in told_with_most(tmp_path, 100)
    heads = ",".join(f"c{k}" for k in range(limits.MOST_COLUMNS + 1))
    assert f"has {limits.MOST_COLUMNS + 1} columns" in refused(f"{heads}\n".encode())
    assert ":2: has a line of" in refused(b"time_s,volts_v\n0," + b"1" * (limits.LONGEST_LINE + 1) + b"\n")
    monkeypatch.setattr(reading_bytes, "MOST_ROWS", 3)
    assert "has more than 3 lines" in refused(TABLE)


def told_with_most(folder: Path, most: int) -> str:
    file = folder / "big.csv"
    file.write_bytes(b"x" * (most + 1))
    return told(file, lambda path: reading_bytes.read_source(path, most))


def test_no_more_problems_than_anybody_reads(refused: Callable[..., str]) -> None:
    rows = b"".join(b"%d,x\n" % k for k in range(500))
    assert refused(b"time_s,volts_v\n" + rows).count("is not a number") == limits.MOST_TOLD
    rows = b"".join(b"%d,1,2\n" % k for k in range(500))
    assert refused(b"time_s,volts_v\n" + rows).count("has 3 cells") == limits.MOST_TOLD


def test_lines_are_numbered_behind_comments(refused: Callable[..., str]) -> None:
    rows = b"0,1\n# one\n\n1,2\n#two\n2,y\n"
    assert ":8:2: volts_v: is not a number (got y)" in refused(b"# a: b\ntime_s,volts_v\n" + rows)


PARTS = st.sampled_from(
    b'\n|,|"|#|\0|;|-|e999|1e400|nan|inf|\r|\t|\xff\xfe|<|\n\n| |1e308|1e-320|*|$|0.0000001'.split(b"|")
)
EDITS = st.lists(
    st.tuples(st.integers(0, 2000), st.integers(0, 9), PARTS | st.binary(max_size=4)), max_size=6
)
SEEDS = {
    "table": TABLE,
    "phone": MOTION,
    "NMEA": NMEA,
    "IGC": IGC,
    "GPX": GPX,
    "unknown": UNKNOWN,
    "comma": TABLE.replace(b",", b";").replace(b".", b","),
}


def hold_words(error: InputError) -> None:
    assert error.problems
    assert all(problem.message and str(problem).isprintable() for problem in error.problems)


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.sampled_from(sorted(SEEDS)), edits=EDITS)
def test_any_damage_is_read_or_told(
    tmp_path_factory: pytest.TempPathFactory, seed: str, edits: list[tuple[int, int, bytes]]
) -> None:
    raw = SEEDS[seed]
    for at, length, part in edits:
        place = at % (len(raw) + 1)
        raw = raw[:place] + part + raw[place + length :]
    file = tmp_path_factory.getbasetemp() / "damaged"
    file.write_bytes(raw)
    try:
        found = read_recording(file)
    except InputError as error:
        hold_words(error)
        return
    for channel in found.channels.values():
        assert channel.t_s.shape == channel.values.shape
        assert np.isfinite(channel.t_s).all()
        assert np.isfinite(channel.values).all()
    assert math.isfinite(found.from_s)


@settings(max_examples=60, deadline=None)
@given(
    rows=st.lists(
        st.lists(st.floats(allow_nan=False, allow_infinity=False) | st.none(), min_size=9, max_size=9),
        min_size=1,
        max_size=60,
    )
)
def test_anything_can_be_asked_what_it_may_be(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[float | None]]
) -> None:
    file = tmp_path_factory.getbasetemp() / "unknown.csv"
    lines = [UNKNOWN.split(b"\n")[0].decode()]
    lines += [",".join("" if cell is None else repr(cell) for cell in row) for row in rows]
    file.write_text("\n".join(lines) + "\n")
    for item in unknown_table(file).proposals.found:
        assert 0.0 <= item.sure <= 1.0
        assert item.words


@settings(max_examples=100, deadline=None)
@given(edits=EDITS)
def test_any_damage_of_a_mapping(
    tmp_path_factory: pytest.TempPathFactory, edits: list[tuple[int, int, bytes]]
) -> None:
    raw = b"overarm_recording_map: 1\ntime: {column: t, unit: us}\n"
    raw += b"channels:\n  a: {channel: pitch, unit: deg}\n"
    for at, length, part in edits:
        place = at % (len(raw) + 1)
        raw = raw[:place] + part + raw[place + length :]
    file = tmp_path_factory.getbasetemp() / "damaged.yaml"
    file.write_bytes(raw)
    try:
        found = load_mapping(file)
    except InputError as error:
        hold_words(error)
        return
    assert all(math.isfinite(tie.factor) for tie in found.ties)
