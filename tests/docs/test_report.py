"""The digits of the verification report, counted by hand, and the comparison behind it."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

from tests.agreement import MOST_DIGITS, PROPERTY, Row, agreement, digits_of, row_of, rows_in


@pytest.mark.parametrize(
    ("ours", "theirs", "digits"),
    [(1.001, 1.0, 3.0), (-99.0, -100.0, 2.0), (5.0, 5.0, MOST_DIGITS), (3.0, 1.0, 0.0), (1e-9, 0.0, None)],
)
def test_digits(ours: float, theirs: float, digits: float | None) -> None:
    """A thousandth apart is three digits; twice as far off as it is large is none; zero has none to count."""
    assert digits_of(ours, theirs) == (None if digits is None else pytest.approx(digits, abs=1e-9))


def test_a_row_shows_the_pair_that_agrees_least() -> None:
    row = row_of("three", "by hand", (1.0, 2.02, 3.0), (1.0, 2.0, 3.003))
    assert (row.theirs, row.ours, row.values) == (2.0, 2.02, 3)
    assert row_of("with a zero", "by hand", (0.1, 2.0), (0.0, 2.0)).theirs == 2.0


def test_a_comparison_that_fails_leaves_no_row() -> None:
    kept: list[Row] = []
    agrees = agreement(kept.append)
    agrees("good", "by hand", 1.001, 1.0, rel=0.01)
    agrees("many", "by hand", (1.0, 2.0), [1.0, 2.0])
    with pytest.raises(AssertionError, match="bad: by hand"):
        agrees("bad", "by hand", 1.1, 1.0, rel=0.01)
    with pytest.raises(AssertionError):
        agrees("too few", "by hand", (1.0,), (1.0, 2.0))
    assert [row.name for row in kept] == ["good", "many"]
    assert rows_in([(PROPERTY, list(kept[0])), ("other", 1)]) == kept[:1]


def test_the_page(project: Path) -> None:
    """Two rows of one file, one of them twice: three lines of a table, and rounded down."""
    made = runpy.run_path(str(project / "docs/make_report.py"))
    rows = [Row("a", "by hand", 1.0, 1.001, 2.9999, 1), Row("b", "by hand", 0.0, 0.0, None, 3)]
    page = made["page"]({"tests/verification/test_turn.py": [*rows, rows[0]]})
    assert "2 comparisons of 4 values. Half of them agree to 2 digits or more." in page
    assert "| a | by hand | 1 | 1.001 | 2 |\n| b (of 3) | by hand | 0 | 0 | – |\n" in page
