"""Route points of a table, whose columns the mapping names."""

from __future__ import annotations

import csv
from io import StringIO

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.readback.mapping import RouteColumns
from overarm.readback.text import FileText
from overarm.readback.track import MOST_POINTS, MOST_TOLD, Track, TrackPoint, broken
from overarm.readback.value import ValueFault, number_of

OURS = {name: name for name in ("latitude", "longitude", "ahead", "right", "height", "name")}


def from_table(source: FileText, columns: RouteColumns, decimal_comma: bool) -> Track:
    """Return the points of a table, a row a point. Raises InputError with every wrong cell."""
    lines = [
        (number, line)
        for number, line in enumerate(source.text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    head = lines[0][1] if lines else ""
    mark = max((";", "\t", ","), key=head.count)
    rows = []
    try:
        for number, line in lines:
            rows.append(
                (number, [cell.strip() for cell in next(csv.reader(StringIO(line), delimiter=mark), [])])
            )
    except csv.Error as error:
        raise broken(source, "table", error) from None
    wanted = columns.columns or OURS
    top = [cell.casefold() for cell in rows[0][1]] if rows else []
    at = {ours: top.index(theirs.casefold()) for ours, theirs in wanted.items() if theirs.casefold() in top}
    _hold_columns(source, columns, at, rows[0] if rows else (1, []))
    reader = _Cells(source, columns, at, decimal_comma)
    points = tuple(reader.point(number, cells) for number, cells in rows[1 : MOST_POINTS + 2])
    if reader.problems:
        raise InputError(reader.problems[:MOST_TOLD])
    return Track(source.file, points, columns.height_from or "launch")


def _hold_columns(
    source: FileText, columns: RouteColumns, at: dict[str, int], head: tuple[int, list[str]]
) -> None:
    """Refuse a table without the columns that the mapping names, or without a place for a point."""
    lacking = [theirs for ours, theirs in columns.columns.items() if ours not in at]
    place = Place(source.file, head[0], 1)
    there = one_line(", ".join(head[1]), 120)
    if lacking:
        cure = f"Its columns are {there}; correct route: in the mapping"
        raise InputError([trouble("has no such column", cure, place, lacking[0])])
    if not ({"latitude", "longitude"} <= at.keys() or {"ahead", "right"} <= at.keys()):
        cure = "Name its columns under route: in the mapping, such as latitude: and longitude:"
        raise InputError([trouble("is no table of route points", cure, place, "", there)])


class _Cells:
    """Reads the rows of a table of route points and keeps what is wrong with them."""

    def __init__(
        self, source: FileText, columns: RouteColumns, at: dict[str, int], decimal_comma: bool
    ) -> None:
        self.source, self.columns, self.at, self.decimal_comma = source, columns, at, decimal_comma
        self.problems: list[Problem] = []

    def number(self, line: int, cells: list[str], name: str, factor: float = 1.0) -> float | None:
        """Return one number; None for a column that the table has not, or a height that is empty."""
        k = self.at.get(name)
        if k is None:
            return None
        text = cells[k] if k < len(cells) else ""
        if name == "height" and not text:
            return None
        try:
            value, _, unit = number_of(text, self.decimal_comma)
            if unit:
                raise ValueFault("has text behind its number; put the unit into the mapping")
            return value * factor
        except ValueFault as error:
            reason, _, cure = str(error).partition("; ")
            place = Place(self.source.file, line, 0)
            self.problems.append(trouble(reason, f"{cure[:1].upper()}{cure[1:]}", place, name, text))
            return None

    def point(self, line: int, cells: list[str]) -> TrackPoint:
        """Return the point of a row."""
        k = self.at.get("name")
        name = cells[k] if k is not None and k < len(cells) else ""
        metres, high = self.columns.metres, self.columns.height_metres
        latitude, longitude = (self.number(line, cells, part) for part in ("latitude", "longitude"))
        ahead, right = (self.number(line, cells, part, metres) for part in ("ahead", "right"))
        height = self.number(line, cells, "height", high)
        return TrackPoint(name, latitude, longitude, ahead, right, height, line)
