"""Accelerometer records that nobody here made, through the trigger room.

BasicMotions: a student smart-watch project, in the UEA archive (Bagnall et al. 2018, arXiv 1811.00075):
40 + 40 records of 10 s at 10 Hz; channels 0 to 2 behave as acceleration in m/s2 without gravity. Daphnet
S06R02E0: Bächlin et al. (2010), UCI: 64 Hz, thousandths of g with gravity, a person who walks with tremor;
ankle, thigh and trunk. Both are read from the wheel of a package that is never imported. The statistics
are made here by numpy (linear percentiles); somebody else made them once before from the same files.
"""

from __future__ import annotations

import hashlib
import importlib.util
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from overarm.recordings.recording import Recording
from overarm.trigger.count import count
from overarm.trigger.hear import Heard, hear
from overarm.trigger.run import run_trigger
from overarm.trigger.settings import usual
from overarm.trigger.words import answer
from tests.recorded import G_MPS2, recorded, sampled

Numbers = NDArray[np.float64]
KINDS = ("Standing", "Walking", "Running", "Badminton")
LEVELS, DWELLS = (5.0, 8.0, 10.0, 15.0, 20.0), (0.1, 0.2, 0.3, 0.5)
PAGE = Path(__file__).resolve().parents[2] / "docs/theory/trigger-room.md"


@cache
def folder() -> Path:
    spec = importlib.util.find_spec("aeon")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("the package whose wheel carries the records is not installed")
    return Path(next(iter(spec.submodule_search_locations))) / "datasets/data"


@cache
def motions(part: str) -> tuple[tuple[str, Numbers], ...]:
    """Return (class, (6, 100) values) of each record of BasicMotions."""
    text = (folder() / f"BasicMotions/BasicMotions_{part}.ts").read_text("utf-8")
    body = text.lower().index("@data")
    found = []
    for line in text[body:].splitlines()[1:]:
        if line.strip():
            *channels, kind = line.strip().split(":")
            values = np.array([[float(x) for x in channel.split(",")] for channel in channels])
            found.append((kind.capitalize(), values))
    return tuple(found)


@cache
def daphnet() -> Numbers:
    """Return (9, n) accelerations [g]: ankle, thigh, trunk, three axes each."""
    text = (folder() / "Daphnet_S06R02E0/S06R02E0.csv").read_text("utf-8")
    rows = [row.split(",") for row in text.splitlines()[1:] if row.strip()]
    # The first column is a time, the last says whether the person's steps freeze.
    return np.array([[float(x) for x in row[1:10]] for row in rows]).T / 1000.0


def size(values: Numbers) -> Numbers:
    return np.asarray(np.sqrt((values[:3] ** 2).sum(axis=0)))


def longest(over: NDArray[np.bool_]) -> int:
    best = run = 0
    for yes in over:
        run = run + 1 if yes else 0
        best = max(best, run)
    return best


def of_kind(kind: str, part: str = "TRAIN") -> list[Numbers]:
    return [values for name, values in motions(part) if name == kind]


def test_the_files_are_those_that_were_described() -> None:
    names = {"TRAIN": "8dc43cc6306cb679", "TEST": "79213102bc6fca1a"}
    for part, start in names.items():
        raw = (folder() / f"BasicMotions/BasicMotions_{part}.ts").read_bytes()
        assert hashlib.sha256(raw).hexdigest().startswith(start)
        assert [kind for kind, _ in motions(part)].count("Walking") == 10
        assert {values.shape for _, values in motions(part)} == {(6, 100)}
    raw = (folder() / "Daphnet_S06R02E0/S06R02E0.csv").read_bytes()
    assert hashlib.sha256(raw).hexdigest().startswith("5a1d2990fec3846c")


# class: size p50, p95, p99, max; channel 0 p95, max, min; longest samples with the size over 10, 15, 20 m/s2
STATISTICS = {
    "Standing": ((0.558, 2.066, 3.398, 8.163), (0.294, 4.311, -1.154), (0, 0, 0)),
    "Walking": ((3.240, 5.961, 7.297, 9.496), (3.431, 7.582, -1.927), (0, 0, 0)),
    "Running": ((16.766, 22.392, 25.368, 32.107), (17.938, 23.319, -22.462), (98, 48, 9)),
    "Badminton": ((6.231, 28.028, 38.250, 43.609), (22.617, 29.363, -10.213), (10, 10, 4)),
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_statistics_of_basic_motions(kind: str) -> None:
    records = of_kind(kind)
    sizes = np.concatenate([size(values) for values in records])
    first = np.concatenate([values[0] for values in records])
    whole, channel, runs = STATISTICS[kind]
    found = (*np.percentile(sizes, (50, 95, 99)), sizes.max())
    assert found == pytest.approx(whole, abs=1e-3)
    assert (np.percentile(first, 95), first.max(), first.min()) == pytest.approx(channel, abs=1e-3)
    assert tuple(max(longest(size(v) > level) for v in records) for level in (10, 15, 20)) == runs


# size mean, p95, p99, max in g; longest time over 1.5, 2 and 3 g in s
@pytest.mark.parametrize(("first", "whole", "times"), [
    (0, (1.377, 2.821, 3.755, 6.117), (0.2500, 0.2031, 0.0781)),
    (6, (1.047, 1.467, 1.902, 4.200), (0.0781, 0.0469, 0.0312)),
], ids=["ankle", "trunk"])  # fmt: skip
def test_the_statistics_of_daphnet(first: int, whole: tuple[float, ...], times: tuple[float, ...]) -> None:
    values = daphnet()
    assert values.shape == (9, 7040)
    sizes = size(values[first : first + 3])
    assert (sizes.mean(), *np.percentile(sizes, (95, 99)), sizes.max()) == pytest.approx(whole, abs=1e-3)
    found = tuple(longest(sizes > level) / 64.0 for level in (1.5, 2.0, 3.0))
    assert found == pytest.approx(times, abs=1e-4)


def watch(values: Numbers, name: str, label: str, *, whole: bool = False) -> Recording:
    """Return a record of the watch, its first channel as forward, or the size of all three as the cue."""
    t_s = np.arange(values.shape[1]) / 10.0
    forward = size(values) if whole else values[0]
    return recorded(
        name=name, gravity_felt=False, label=label,
        force_x_mps2=sampled(t_s, forward),
        force_y_mps2=sampled(t_s, values[1]), force_z_mps2=sampled(t_s, values[2]),
    )  # fmt: skip


def heard(kind: str, *, whole: bool) -> list[Heard]:
    """Return all records of a kind, both parts, without a filter: 10 Hz leaves nothing to filter."""
    listening = usual()._replace(filter_hz=0.0)
    records = [*of_kind(kind), *of_kind(kind, "TEST")]
    return [hear(watch(v, f"{kind}-{k}", "carry", whole=whole), listening) for k, v in enumerate(records)]


def starts(kind: str, *, whole: bool) -> NDArray[np.int64]:
    """Return the starts in all 200 s of a kind, (levels, dwells), by the samples."""
    listening = usual()._replace(filter_hz=0.0)
    return count(heard(kind, whole=whole), listening, np.array(LEVELS), np.array(DWELLS)).false


def walker(place: str, *, forward: bool) -> Recording:
    """Return Daphnet at the ankle or trunk: its forward axis, or the size of all three less gravity."""
    first = {"ankle": 0, "trunk": 6}[place]
    values = G_MPS2 * daphnet()[first : first + 3]
    t_s = np.arange(values.shape[1]) / 64.0
    cue = values[0] if forward else size(values) - G_MPS2
    return recorded(name="S06R02E0.csv", label="carry", force_x_mps2=sampled(t_s, cue))


def test_a_cue_of_the_whole_size_does_not_fire_on_standing_and_walking_but_on_running_and_a_racket() -> None:
    """At 15 m/s2, 1.5 g. So size alone tells a walk from a throw, and nothing from running. One record of
    standing has a knock of one sample in it, which a dwell of 0.2 s passes over."""
    for kind in ("Standing", "Walking"):
        assert not any((size(values) > 15.0).any() for values in of_kind(kind))
        assert not starts(kind, whole=True)[LEVELS.index(15.0) :, DWELLS.index(0.2) :].any()
    for kind in ("Running", "Badminton"):
        assert (starts(kind, whole=True)[LEVELS.index(15.0)] > 0).all()


def table(kinds: dict[str, Any]) -> str:
    """Return starts for each level and dwell as a table of the page."""
    head = "| level m/s2, dwell s | " + " | ".join(kinds) + " |"
    lines = [head, "|---|" + "---|" * len(kinds)]
    for a, level in enumerate(LEVELS):
        for b, dwell in enumerate(DWELLS):
            cells = " | ".join(str(int(found[a, b])) for found in kinds.values())
            lines.append(f"| {level:g}, {dwell:g} | {cells} |")
    return "\n".join(lines)


def test_the_table_of_the_page_is_what_the_room_counts() -> None:
    found: dict[str, Any] = {kind.lower(): starts(kind, whole=True) for kind in KINDS}
    for place, forward in (("trunk", False), ("trunk", True), ("ankle", True)):
        walk = [hear(walker(place, forward=forward), usual())]
        name = f"walk, {place}{', forward' if forward else ''}"
        found[name] = count(walk, usual(), np.array(LEVELS), np.array(DWELLS)).false
    assert table(found) in PAGE.read_text("utf-8"), f"\n{table(found)}"


def test_ten_hertz_cannot_tell_and_says_so_but_counts() -> None:
    records = [(watch(v, f"walk-{k}.ts", "carry"), "") for k, v in enumerate(of_kind("Walking"))]
    records += [(watch(v, f"swing-{k}.ts", "other"), "") for k, v in enumerate(of_kind("Badminton"))]
    found = run_trigger(records, usual()._replace(filter_hz=0.0))
    assert {row.tells for row in found.rows} == {"cannot tell"}
    assert sum(row.starts for row in found.rows if row.label == "other") > 0
    assert sum(row.starts for row in found.rows if row.label == "carry") == 0
    assert found.false_starts.high is None  # not known is not "none"
    assert not found.has_stop
    assert found.advice.margins is None
    said = " ".join(answer(found).split())
    assert "10 samples a second are too few to tell a dwell" in said
    assert "false starts are not known" in said
    assert "tilt is not in it" in said


def test_a_walk_at_64_hertz_can_tell() -> None:
    found = run_trigger([(walker("trunk", forward=False), "")], usual())
    (row,) = found.rows
    assert (row.tells, row.gravity_felt) == ("yes", True)
    assert row.rate_hz == pytest.approx(64.0)
    assert row.seconds == pytest.approx(110.0)
    assert (row.starts, found.false_starts.events) == (0, 0)
    # None in 110 s: -ln(0.025) = 3.689 events at most, two-sided (Garwood).
    assert found.false_starts.high == pytest.approx(3.689 * 3600.0 / 110.0, rel=1e-3)


def test_gravity_along_an_axis_starts_a_raw_cue_at_once() -> None:
    """The upright axis of the trunk reads 1 g: a raw cue along it is over 8 m/s2 nearly all the time."""
    upright = daphnet()[7]
    assert float(np.median(upright)) == pytest.approx(0.94, abs=0.05)
    recording = recorded(
        name="up.csv", label="carry", force_x_mps2=sampled(np.arange(7040) / 64.0, G_MPS2 * upright)
    )
    found = run_trigger([(recording, "")], usual())
    assert found.has_stop
    assert found.false_starts.time_s < 0.5 * 110.0
    assert "it listened for only" in " ".join(answer(found).split())
