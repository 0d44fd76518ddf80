"""A user's own table of propeller coefficients: CSV with the columns J, CT, CP."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from overarm.describe.derived.blade import advance_angle_of, knot_angles, star_factor
from overarm.errors import InputError
from overarm.physics.propeller import REFERENCE_RADIUS

Floats = npt.NDArray[np.float64]

COLUMNS = ("J", "CT", "CP")
LARGEST_FILE_BYTES = 1_000_000
MOST_ROWS = 5000
HIGHEST_J, HIGHEST_COEFFICIENT = 5.0, 1.0


class Coefficients(NamedTuple):
    """Rows of rising J: ``CT = T/(rho n^2 D^4)``, ``CP = P/(rho n^3 D^5)``, ``J = V/(n D)``."""

    advance_ratio: Floats
    thrust: Floats
    power: Floats


def _number(text: str | None, place: str, column: str) -> float:
    try:
        value = float(text or "")
    except ValueError:
        value = math.nan
    limit = HIGHEST_J if column == "J" else HIGHEST_COEFFICIENT
    if not -limit <= value <= limit:
        raise InputError(
            f"{place}, column {column}: {text!r} is not a number within {-limit:g} to {limit:g}; "
            "write a plain decimal number"
        )
    return value


def read_coefficients(file: Path) -> Coefficients:
    """Read a table of J, CT, CP from a CSV file with a header line.

    Rows may stand in any order; lines that begin with # are left out. Raises InputError naming file,
    line and column.
    """
    try:
        if file.stat().st_size > LARGEST_FILE_BYTES:
            raise InputError(f"{file}: larger than 1 MB; a propeller table has a few dozen rows")
        lines = file.read_text("utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{file}: cannot be read as text ({error}); give a CSV file in UTF-8") from error
    numbered = [(place, line) for place, line in enumerate(lines, 1) if line.strip() and line[0] != "#"]
    rows = csv.reader(line for _, line in numbered)
    header = [name.strip() for name in next(rows, [])]
    missing = [name for name in COLUMNS if name not in header]
    if missing:
        raise InputError(
            f"{file}, line {numbered[0][0] if numbered else 1}: no column {', '.join(missing)}; "
            "the header line must name J, CT and CP"
        )
    found: dict[float, tuple[float, float]] = {}
    for (place, _), cells in zip(numbered[1 : MOST_ROWS + 1], rows, strict=False):
        row = dict(zip(header, cells, strict=False))
        where = f"{file}, line {place}"
        ratio, push, power = (_number(row.get(name), where, name) for name in COLUMNS)
        if ratio < 0.0:
            raise InputError(f"{where}, column J: {ratio:g} is below zero; J starts at 0 (standing still)")
        if ratio in found:
            raise InputError(f"{where}, column J: {ratio:g} stands twice; keep one row")
        found[ratio] = (push, power)
    if len(found) < 3 or min(found) > 0.2 or max(found) < 0.3:
        raise InputError(
            f"{file}: needs at least three rows, from J at most 0.2 to J at least 0.3; "
            "the launch begins at J = 0"
        )
    ordered = sorted(found)
    values = np.array([found[ratio] for ratio in ordered])
    if values[0, 0] <= 0.0 or values[0, 1] <= 0.0:
        raise InputError(f"{file}: CT and CP of the lowest J must be above zero")
    return Coefficients(np.array(ordered), values[:, 0], values[:, 1])


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
