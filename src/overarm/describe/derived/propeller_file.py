"""A user's own propeller from a CSV file: measured coefficients, or the measured shape of the blade.

Coefficients: columns J, CT, CP. Shape: columns r_share (r/R), c_share (c/R), angle_deg (of the chord
line to the disc).
"""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from overarm.describe.derived.blade import Blade, Section, advance_angle_of, knot_angles, star_factor
from overarm.describe.document import one_line
from overarm.errors import InputError, Problem
from overarm.physics.propeller import REFERENCE_RADIUS

Floats = npt.NDArray[np.float64]

COLUMNS = ("J", "CT", "CP")
SHAPE_COLUMNS = ("r_share", "c_share", "angle_deg")
LIMITS = {
    "J": (0.0, 5.0),
    "CT": (-1.0, 1.0),
    "CP": (-1.0, 1.0),
    "r_share": (0.05, 1.0),
    "c_share": (0.005, 0.6),
    "angle_deg": (-10.0, 90.0),
}
LARGEST_FILE_BYTES = 1_000_000
MOST_ROWS = 5000
LONGEST_VALUE = 60  # letters of one that is told


class Coefficients(NamedTuple):
    """Rows of rising J: ``CT = T/(rho n^2 D^4)``, ``CP = P/(rho n^3 D^5)``, ``J = V/(n D)``."""

    advance_ratio: Floats
    thrust: Floats
    power: Floats


def _lines(file: Path) -> list[tuple[int, str]]:
    """Return the numbered lines that say something."""
    try:
        if file.stat().st_size > LARGEST_FILE_BYTES:
            cure = "A propeller table has a few dozen rows; keep those of one propeller."
            raise InputError([Problem("larger than 1 MB", cure, file=str(file))])
        lines = file.read_text("utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        problem = Problem(f"cannot be read as text: {error}", "Give a CSV file in UTF-8.", file=str(file))
        raise InputError([problem]) from error
    return [(number, line) for number, line in enumerate(lines, 1) if line.strip() and line[0] != "#"]


def _cells(line: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line]), [])]
    except csv.Error:
        return []


class _Row(NamedTuple):
    """One row of the file, with its place for the error message."""

    file: Path
    line: int
    header: list[str]
    cells: list[str]

    def wrong(self, column: str, message: str, cure: str) -> InputError:
        place = self.header.index(column)
        value = one_line(self.cells[place], LONGEST_VALUE) if place < len(self.cells) else "nothing"
        return InputError(
            [Problem(message, cure, str(self.file), self.line, place + 1, key=column, value=value)]
        )

    def number(self, column: str) -> float:
        place = self.header.index(column)
        try:
            value = float(self.cells[place])
        except (ValueError, IndexError):
            value = math.nan
        low, high = LIMITS[column]
        if not low <= value <= high:
            raise self.wrong(
                column, f"not a number within {low:g} to {high:g}", "Write a plain decimal number."
            )
        return value


def _sorted_rows(
    file: Path, lines: list[tuple[int, str]], header: list[str], columns: tuple[str, ...]
) -> Floats:
    """Return the columns, sorted by the first; no value of the first may stand twice."""
    found: dict[float, list[float]] = {}
    for number, line in lines[1 : MOST_ROWS + 1]:
        row = _Row(file, number, header, _cells(line))
        values = [row.number(name) for name in columns]
        if values[0] in found:
            raise row.wrong(columns[0], "stands twice", "Keep one row.")
        found[values[0]] = values
    return np.array([found[first] for first in sorted(found)]).reshape(-1, len(columns)).T


def _coefficients(file: Path, rows: Floats) -> Coefficients:
    if rows.shape[1] < 3 or rows[0, 0] > 0.2 or rows[0, -1] < 0.3:
        cure = "Give at least three rows, from J at most 0.2 to J at least 0.3; a launch begins at J = 0."
        raise InputError([Problem("too few rows or too small a range of J", cure, file=str(file))])
    if rows[1, 0] <= 0.0 or rows[2, 0] <= 0.0:
        cure = "Both must be above zero where the propeller stands still."
        raise InputError([Problem("CT or CP of the lowest J is not above zero", cure, file=str(file))])
    return Coefficients(rows[0], rows[1], rows[2])


def _shape(file: Path, rows: Floats, blades: int) -> Blade:
    if rows.shape[1] < 3 or rows[0, 0] > 0.4 or rows[0, -1] < 0.85:
        cure = "Give at least three stations, from r_share at most 0.4 to r_share at least 0.85."
        raise InputError([Problem("too few stations", cure, file=str(file))])
    return Blade(rows[0], rows[1], np.radians(rows[2]), blades, Section())


def read_propeller(file: Path, blades: int) -> Coefficients | Blade:
    """Read a propeller from a CSV file whose header line names the columns of either kind.

    Parameters: the file; number of blades, for a shape. Rows may stand in any order; lines that begin
    with # are left out. Between and beyond the stations of a shape chord and angle are linear and
    held. Raises InputError naming file, line and column.
    """
    lines = _lines(file)
    header = _cells(lines[0][1]) if lines else []
    if all(name in header for name in SHAPE_COLUMNS):
        return _shape(file, _sorted_rows(file, lines, header, SHAPE_COLUMNS), blades)
    missing = [name for name in COLUMNS if name not in header]
    if missing:
        number = lines[0][0] if lines else 1
        cure = f"The header line must name {', '.join(COLUMNS)} or {', '.join(SHAPE_COLUMNS)}."
        raise InputError([Problem(f"no column {', '.join(missing)}", cure, file=str(file), line=number)])
    return _coefficients(file, _sorted_rows(file, lines, header, COLUMNS))


def table_of(coefficients: Coefficients, beyond: Floats) -> Floats:
    """Return the table (2, 65) over the advance angle from rows of J, CT, CP.

    ``beyond`` is the table of a blade model; past the last row the model is used, shifted to meet the
    row and the shift fading to nothing at the stopped propeller. Below the first row CT and CP are
    held. Equation: ``CT* = 8 CT/(pi (J^2 + (0.7 pi)^2))``, ``CQ* = CT*(CP/(2 pi))``.
    """
    knots = knot_angles()
    last = float(advance_angle_of(coefficients.advance_ratio[-1:])[0])
    inside = knots <= last
    ratio = np.tan(knots[inside]) * REFERENCE_RADIUS * math.pi
    table = beyond.copy()
    rows = (coefficients.thrust, coefficients.power / (2.0 * math.pi))
    for row, values in enumerate(rows):
        table[row, inside] = np.interp(ratio, coefficients.advance_ratio, values) * star_factor(ratio)
        end = values[-1] * float(star_factor(coefficients.advance_ratio[-1:])[0])
        shift = end - float(np.interp(last, knots, beyond[row]))
        table[row, ~inside] += shift * (0.5 * math.pi - knots[~inside]) / (0.5 * math.pi - last)
    return table
