"""Recordings are read well: a few synthetic ones of every setup, against the truth beside them.

The bars are what the trade says can be reached (common practice, no source), with room for a small number of
recordings. ``benchmarks/recordings.py accuracy`` measures the same over hundreds.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchmarks.recordings import FILES, Line, Result, accuracy_table, results_of, setup_of, total
from overarm.specimens.corpus import found_of, orders_of

COUNT, SEED = 20, 3


@cache
def results() -> tuple[Result, ...]:
    found = found_of({key: setup_of(key) for key in FILES}, SEED, most=2, launches=30)
    with np.errstate(all="raise"):
        return tuple(results_of(orders_of(found, COUNT, SEED), workers=1))


def line(quantity: str) -> Line:
    return next(one for one in accuracy_table(list(results())) if one.quantity == quantity)


def test_every_recording_is_read() -> None:
    assert [one.trouble for one in results() if one.trouble and not one.trouble.startswith("refused")] == []


def test_launches_are_found() -> None:
    found = total(list(results()), "launches")
    launches = sum(n for (kind, _), n in found.items() if kind == "launch")
    assert launches >= 12
    assert found["launch", "found"] >= 0.9 * launches
    assert sum(n for (_, what), n in found.items() if what == "false") <= 1


def test_phases_by_time() -> None:
    seconds = total(list(results()), "phases")
    right = sum(n for (true, told), n in seconds.items() if true == told)
    assert right >= 0.85 * sum(seconds.values())


@pytest.mark.parametrize(
    ("quantity", "most"),
    [
        ("throw_speed_mps", 0.6),
        ("release_path_rad", 0.09),
        ("release_pitch_rad", 0.09),
        ("event release", 0.03),
        ("event first_spin", 0.10),
        ("satellite_lag_s", 0.05),
        ("handover_after_s", 0.3),
    ],
)
def test_scatter(quantity: str, most: float) -> None:
    """The scatter of what is told about the truth (1.4826 times the median deviation) and its bias."""
    one = line(quantity)
    assert one.told >= 5
    assert one.robust_sd <= most
    assert abs(one.bias) <= most


@pytest.mark.parametrize("quantity", ["throw_speed_mps", "event release", "release_path_rad", "climb_mps"])
def test_claimed_errors_hold(quantity: str) -> None:
    """95 % of the truths should lie within 1.96 claimed errors; few launches, hence 70 %."""
    assert line(quantity).within_95 >= 0.7
