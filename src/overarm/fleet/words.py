"""A fleet study as a table that a terminal shows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from overarm.fleet.result import FleetResult, Row
from overarm.odds.format import with_interval
from overarm.odds.intervals import Interval

LONGEST_REFUSAL = 60
MOST_LINES = 60  # of a table that somebody reads; the files have all


def answer(result: FleetResult) -> str:
    """Return the study in words: one line a cell, where the odds are lowest, and what breaks there."""
    many = len(result.rows)
    head = f"{result.name}: {many:,} cell{'' if many == 1 else 's'} of {result.launches:,} launches"
    shown = _shown(result)
    if len(shown) < many:
        head += f"; the {len(shown)} with the lowest odds are:"
    titles = (*result.axes, "clean", "weakest link")
    lines = _columns([titles, *(_line(result, row) for row in shown)])
    tail = [f"seed {result.seed}, study {result.study_hash}, version {result.version}"]
    return "\n".join([head, "", *lines, "", *_lowest(result), *_worst(result), *tail])


def _shown(result: FleetResult) -> Sequence[Row]:
    """Return all rows, or if they are many the lowest; what cannot be flown comes first then."""
    if len(result.rows) <= MOST_LINES:
        return result.rows
    return sorted(result.rows, key=lambda row: -1.0 if row.flown is None else _clean(row).share)[:MOST_LINES]


def _columns(table: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(len(line[k]) for line in table) for k in range(len(table[0]))]
    for line in table:
        yield "  ".join(text.ljust(wide) for text, wide in zip(line, widths, strict=True)).rstrip()


def _line(result: FleetResult, row: Row) -> tuple[str, ...]:
    names = tuple(getattr(row, axis) or "-" for axis in result.axes)
    if row.refused:
        return (*names, "cannot be flown", row.refused[:LONGEST_REFUSAL])
    if row.flown is None:
        return (*names, "not flown", "")
    stops = row.flown["stops"]
    link = row.flown["weakest_link"]["name"]
    return (*names, with_interval(_clean(row)), f"{link}; stop: {', '.join(stops)}" if stops else link)


def _clean(row: Row) -> Interval:
    assert row.flown is not None
    return Interval(**row.flown["clean"])


def _lowest(result: FleetResult) -> list[str]:
    """Return the lowest odds of each setup, thrower, wind and change, and with which others they come."""
    table = []
    for axis, label, cell in result.lowest():
        row = result.rows[cell]
        others = [name for other in result.axes if other != axis and (name := getattr(row, other))]
        table.append((axis, label or "-", with_interval(_clean(row)), ", ".join(others)))
    if not table:
        return []
    return [*_columns([("lowest for", "", "clean", "with"), *table][: MOST_LINES + 1]), ""]


def _worst(result: FleetResult) -> list[str]:
    if result.worst is None or len(result.rows) < 2:
        return []
    row = result.rows[result.worst]
    assert row.flown is not None
    names = ", ".join(name for axis in result.axes if (name := getattr(row, axis)))
    return [f"The lowest odds: {names}. {row.flown['weakest_link']['sentence']}"]
