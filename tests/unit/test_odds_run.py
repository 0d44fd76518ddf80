"""Campaigns that end: by number, by width, by Ctrl-C; and the command line around them."""

from __future__ import annotations

import json
import math
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from overarm.cli.brake import Brake
from overarm.cli.odds import exit_code
from overarm.errors import Cancelled, InputError
from overarm.flight.campaign import Chunk
from overarm.flight.draw import Input
from overarm.flight.outcomes import SUMMARY, Outcome
from overarm.odds.intervals import Interval
from overarm.odds.run import Progress, draws_of, fly_until
from overarm.odds.stop import StopRule, reason_to_stop, stop_rule

CHUNK = 2000
INPUTS: Any = SimpleNamespace(
    rules=SimpleNamespace(inputs=(Input("mass", "unknown"), Input("throw", "varies")))
)


def coin(inputs: Any, launches: int, seed: int, *, cancelled: Callable[[], bool] | None) -> Iterator[Chunk]:
    """Fly launches of which nine in ten are clean, whatever the inputs."""
    rng = np.random.default_rng(seed)
    for first in range(0, launches, CHUNK):
        if cancelled is not None and cancelled():
            return
        size = min(CHUNK, launches - first)
        table = np.zeros(size, SUMMARY)
        table["world"] = (first + np.arange(size)) // 25
        table["outcome"] = np.where(rng.random(size) < 0.9, 0, Outcome.STALLED)
        yield Chunk(first, table, rng.standard_normal((size, 2)))


@pytest.fixture(autouse=True)
def coins(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("overarm.odds.flyers.run", coin)


def test_all_launches_are_flown() -> None:
    told: list[Progress] = []
    flown = fly_until(INPUTS, StopRule(5000), 1, told.append)
    assert not flown.cancelled
    assert sum(len(chunk.table) for chunk in flown.chunks) == 5000
    assert "5,000" in flown.stopped_because
    assert [item.done for item in told] == [2000, 4000, 5000]
    assert told[-1].clean.low < 0.9 < told[-1].clean.high


def test_it_stops_as_soon_as_the_interval_is_narrow() -> None:
    """Width 4 z sqrt(p q/n)/2: 2 points at p = 0.9 need about 3 460 launches that are independent."""
    flown = fly_until(INPUTS, StopRule(100_000, 0.02), 1)
    done = sum(len(chunk.table) for chunk in flown.chunks)
    assert 2.0 * 1.96 * math.sqrt(0.09 / done) == pytest.approx(0.02, rel=0.25)
    assert done % CHUNK == 0
    assert "asked for" in flown.stopped_because


def test_the_most_is_a_limit_and_says_so() -> None:
    flown = fly_until(INPUTS, StopRule(4000, 0.005), 1)
    assert sum(len(chunk.table) for chunk in flown.chunks) == 4000
    assert "the most allowed" in flown.stopped_because


def test_cancelling_keeps_what_was_flown() -> None:
    told: list[Progress] = []
    flown = fly_until(INPUTS, StopRule(100_000), 1, told.append, lambda: len(told) >= 2)
    assert flown.cancelled
    assert sum(len(chunk.table) for chunk in flown.chunks) == 4000
    with pytest.raises(Cancelled):
        fly_until(INPUTS, StopRule(100_000), 1, None, lambda: True)


def test_scores_are_kept_up_to_a_limit() -> None:
    flown = fly_until(INPUTS, StopRule(60_000), 1)
    draws = draws_of(INPUTS, flown)
    assert draws.scores.shape == (50_000, 2)
    assert draws.names == ("mass", "throw")
    assert draws.layers == ("unknown", "varies")


def test_nobody_looks_before_forty_worlds() -> None:
    rule = StopRule(10_000, 0.5)
    assert reason_to_stop(rule, 975, 39, Interval(0.5, 0.45, 0.55)) is None
    assert reason_to_stop(rule, 1000, 40, Interval(0.5, 0.45, 0.55)) is not None


def test_what_is_asked_for() -> None:
    assert stop_rule(None, None).launches == 10_000
    assert stop_rule(None, 0.02) == StopRule(200_000, 0.02)
    assert stop_rule(500, 0.02).launches == 500
    for launches, width, traces in (
        (0, None, 0), (-5, None, 0), (10**9, None, 0), (None, 0.0, 0), (None, -0.1, 0), (None, 1.5, 0),
        (None, math.nan, 0), (None, None, -1), (None, None, 10**6),
    ):  # fmt: skip
        with pytest.raises(InputError, match="Give a"):
            stop_rule(launches, width, traces)


def test_brake() -> None:
    """Ctrl-C before the flight ends at once; the first one in flight is remembered, the second ends."""
    brake = Brake()
    with pytest.raises(KeyboardInterrupt):
        brake.pull(signal.SIGINT, None)
    brake.flying = True
    brake.pull(signal.SIGINT, None)
    assert brake.pulled
    with pytest.raises(KeyboardInterrupt):
        brake.pull(signal.SIGINT, None)


@pytest.mark.parametrize(
    ("cancelled", "stop", "code"), [(False, False, 0), (False, True, 3), (True, True, 130)]
)
def test_exit_codes(cancelled: bool, stop: bool, code: int) -> None:
    result: Any = SimpleNamespace(campaign=SimpleNamespace(cancelled=cancelled), has_stop=stop)
    assert exit_code(result) == code


def run_python(code: str) -> str:
    ended = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    return ended.stdout.strip()


def test_importing_the_package_loads_nothing_heavy() -> None:
    heavy = {"aerosandbox", "matplotlib", "pandas", "SALib", "numba", "scipy", "rich", "pydantic"}
    loaded = json.loads(run_python("import sys, json, overarm; print(json.dumps(list(sys.modules)))"))
    assert heavy.isdisjoint(loaded)


def test_the_odds_room_stays_callable_after_its_parts_are_imported() -> None:
    assert run_python("import overarm, overarm.odds.format; print(callable(overarm.odds))") == "True"
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        __import__("overarm").nonsense  # noqa: B018
