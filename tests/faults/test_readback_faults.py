"""Mappings, reports and routes, broken in every way: refused with clear problems, and nothing else."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from overarm.errors import InputError, Problem
from overarm.readback.mapping import RouteColumns, load_mapping
from overarm.readback.report import read_report
from overarm.readback.run import readback
from overarm.readback.text import MOST_BYTES
from overarm.readback.tracks import read_track
from tests.examples import setup_of
from tests.reported import compared, mapping_text, report_of, text_of

MARKS = [
    "=",
    ":",
    ";",
    ",",
    "\t",
    "\n",
    "{",
    "}",
    "[",
    "]",
    '"',
    "<",
    ">",
    "&a;",
    "#",
    "//",
    "nan",
    "-",
    "1e999",
]
GPX = '<gpx version="1.1"><rte><rtept lat="47" lon="8"><ele>30</ele></rtept></rte></gpx>'
KML = (
    '<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>a</name><Point>'
    "<coordinates>8.0,47.0,500</coordinates></Point></Placemark></kml>"
)
GEOJSON = json.dumps(
    {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": [8.0, 47.0]}}
        ],
    }
)
TABLE = "name,latitude,longitude,height\na,47.0,8.0,30\nb,47.001,8.0,40\n"


ENTRY_KEYS = st.sampled_from(
    ["key", "unit", "scale", "offset", "words", "off", "name", "latitude"]
) | st.text(max_size=5)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False) | st.integers(-300, 300).map(float)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("faults")


def problems(read: Callable[[Path], object], file: Path) -> tuple[Problem, ...]:
    """Return what a reader refuses; nothing if it reads the file."""
    try:
        read(file)
    except InputError as error:
        found = error.problems
    else:
        return ()
    assert found
    for problem in found:
        assert problem.message
        assert problem.cure
        assert problem.file == str(file)
        assert "\n" not in str(problem)
        assert len(str(problem)) < 1200 + len(str(file))
    return found


def track(file: Path) -> object:
    return read_track(file, RouteColumns())


READERS: tuple[Callable[[Path], object], ...] = (read_report, track, load_mapping)


@st.composite
def hostile(draw: st.DrawFn) -> bytes:
    """Return a good file with damage, or any text, or any bytes."""
    start = draw(
        st.sampled_from([GPX, KML, GEOJSON, TABLE, mapping_text(), "a = 1\nb = 2\n", '{"a": [1, 2.5]}'])
    )
    how = draw(st.sampled_from(["damage", "text", "bytes"]))
    if how == "bytes":
        return draw(st.binary(max_size=200))
    if how == "text":
        words = st.lists(st.sampled_from(MARKS) | st.text(max_size=6), max_size=30)
        return "".join(draw(words)).encode("utf-8", "replace")
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(start)))
        upto = draw(st.integers(at, min(len(start), at + 12)))
        start = start[:at] + draw(st.sampled_from(MARKS) | st.text(max_size=4)) + start[upto:]
    return start.encode("utf-8", "replace")


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(raw=hostile())
def test_hostile_files(folder: Path, raw: bytes) -> None:
    file = folder / "hostile.txt"
    file.write_bytes(raw)
    for read in READERS:
        problems(read, file)


@settings(max_examples=60, deadline=None)
@given(
    value=st.text(max_size=30).filter(
        lambda text: not set(text) & set("\n\r\v\f\x1c\x1d\x1e\x85\u2028\u2029")
    )
)
def test_any_text_as_a_value(folder: Path, value: str) -> None:
    """A value is a number or it is told, with file and line."""
    told, file = folder / "map.yaml", folder / "values.txt"
    told.write_text(mapping_text(), "utf-8")
    file.write_text(f"kick_time = 100\nmotor_delay = {value}\n", "utf-8", errors="replace")
    for problem in problems(lambda path: compared(setup_of("b"), told, path), file):
        assert problem.line in (0, 1, 2)


@settings(max_examples=120, deadline=None)
@given(
    value=st.recursive(
        st.none()
        | st.booleans()
        | st.integers()
        | st.floats()
        | st.text(max_size=8)
        | st.sampled_from(["jerk_level", "after_task", "deg", "s", "carry on"]),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(ENTRY_KEYS, inner, max_size=4),
        max_leaves=8,
    ),
    where=st.sampled_from(["settings", "ignore", "route", "table", "decimal", "aircraft", "entry"]),
)
def test_any_value_in_a_mapping(folder: Path, value: object, where: str) -> None:
    """Whatever JSON can say stands where something is wanted (JSON is YAML)."""
    data: dict[str, object] = {"overarm_map": 1, "settings": {"a": {"key": "start_wait", "unit": "s"}}}
    if where == "entry":
        data["settings"] = {"a": value}
    else:
        data[where] = value
    file = folder / "any.yaml"
    file.write_text(json.dumps(data), "utf-8")
    problems(load_mapping, file)


@settings(max_examples=80, deadline=None)
@given(
    rows=st.lists(st.tuples(NUMBERS, NUMBERS, NUMBERS | st.just("")), min_size=1, max_size=6),
    heads=st.sampled_from(["ahead,right,height", "latitude,longitude,height"]),
)
def test_any_numbers_as_a_route(folder: Path, rows: list[tuple[object, ...]], heads: str) -> None:
    """A route at any place is refused, or compared without a figure that is none."""
    planned, file = folder / "planned.csv", folder / "any.csv"
    planned.write_text(TABLE, "utf-8")
    if heads.startswith("ahead"):
        planned.write_text("name,ahead,right,height\nout,180,0,40\nhome,0,0,40\n", "utf-8")
    file.write_text("\n".join([heads, *(",".join(map(str, row)) for row in rows)]) + "\n", "utf-8")
    problems(
        lambda path: json.dumps(readback(setup_of("b"), path, planned=planned).to_dict(), allow_nan=False),
        file,
    )


@pytest.mark.parametrize("read", READERS)
@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "is empty"),
        (b"\x7fELF\x02\x01\x01\x00\x00\x00", "not text"),
        (b" " * (MOST_BYTES + 1), "is larger than"),
        (b"\xff\xfea\x00=\x00\x00", "UTF"),
    ],
)
def test_files_that_are_no_text(
    read: Callable[[Path], object], raw: bytes, said: str, tmp_path: Path
) -> None:
    file = tmp_path / "file.txt"
    file.write_bytes(raw)
    (problem,) = problems(read, file)
    assert said in str(problem) or read is load_mapping


@pytest.mark.parametrize("read", READERS)
def test_files_that_are_not_there(read: Callable[[Path], object], tmp_path: Path) -> None:
    assert "cannot be read" in str(problems(read, tmp_path / "no.txt")[0])
    assert "it is a folder" in str(problems(read, tmp_path)[0])


def test_entities_are_refused(tmp_path: Path) -> None:
    """Ten entities of ten each would grow to 10^10 letters."""
    bomb = '<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
    for before, name in zip("abcdefghi", "bcdefghij", strict=True):
        bomb += f'<!ENTITY {name} "{10 * f"&{before};"}">'
    file = tmp_path / "bomb.gpx"
    file.write_text(f'<?xml version="1.0"?>{bomb}]><gpx><name>&j;</name></gpx>', "utf-8")
    (problem,) = problems(track, file)
    assert "document type" in problem.message


def test_a_document_type_without_entities_is_refused(tmp_path: Path) -> None:
    """It might name a file elsewhere; no route needs one."""
    file = tmp_path / "typed.gpx"
    file.write_text(f'<!DOCTYPE gpx SYSTEM "elsewhere.dtd">{GPX}', "utf-8")
    (problem,) = problems(track, file)
    assert "document type" in problem.message


@pytest.mark.parametrize(
    ("text", "line", "column", "said"),
    [
        ('{"a": 1,\n "b": ', 2, 7, "cut short"),
        ('{"a": 1,\n "b" 2}', 2, 6, "as it was written"),
        ("[1, 2", 1, 6, "cut short"),
    ],
)
def test_truncated_json(text: str, line: int, column: int, said: str, tmp_path: Path) -> None:
    file = tmp_path / "report.json"
    file.write_text(text, "utf-8")
    (problem,) = problems(read_report, file)
    assert (problem.line, problem.column) == (line, column)
    assert said in problem.cure


def test_deep_json(tmp_path: Path) -> None:
    file = tmp_path / "deep.json"
    file.write_text("[" * 100_000, "utf-8")
    assert problems(read_report, file)
    file.write_text('{"a":' * 40 + "1" + "}" * 40, "utf-8")
    assert "too deep" in str(problems(read_report, file)[0])


def test_every_wrong_value_is_told_at_once(tmp_path: Path) -> None:
    told, file = tmp_path / "map.yaml", tmp_path / "report.txt"
    told.write_text(mapping_text(), "utf-8")
    values = report_of(setup_of("b"), told)
    values |= {
        "motor_delay": "nan",
        "nose_up": "steep",
        "top_power": "",
        "then_do": "sideways",
        "patience": "6,0",
    }
    file.write_text(text_of(values), "utf-8")
    found = problems(lambda path: compared(setup_of("b"), told, path), file)
    lines = {problem.key: problem.line for problem in found}
    names = list(values)
    wanted = ("motor_delay", "nose_up", "top_power", "then_do", "patience")
    assert lines == {name: names.index(name) + 1 for name in wanted}


def test_a_mapping_of_another_aircraft(tmp_path: Path) -> None:
    told, file = tmp_path / "map.yaml", tmp_path / "report.txt"
    told.write_text(mapping_text(), "utf-8")
    file.write_text("delay = 3\npower = 4\n", "utf-8")
    (problem,) = problems(lambda path: compared(setup_of("b"), told, path), file)
    assert "none of the names" in problem.message
    assert "delay, power" in problem.cure
