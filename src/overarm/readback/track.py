"""What every kind of route file becomes: points in their order."""

from __future__ import annotations

import re
from typing import NamedTuple

from overarm.describe.document import one_line
from overarm.errors import InputError, Problem
from overarm.readback.mapping import Reference
from overarm.readback.text import FileText

MOST_POINTS = 500
MOST_TOLD = 20
_DECLARATION = re.compile(r"\s*<\?xml[^>]*\?>")


class TrackPoint(NamedTuple):
    """One route point as a file has it; a height of None is none."""

    name: str
    latitude_deg: float | None
    longitude_deg: float | None
    ahead_m: float | None
    right_m: float | None
    height_m: float | None
    line: int = 0


class Track(NamedTuple):
    """The points of a file in their order, and what their heights are counted from."""

    file: str
    points: tuple[TrackPoint, ...]
    height_from: Reference
    notes: tuple[str, ...] = ()


def bare(source: FileText) -> str:
    """Return the text without its declaration, whose encoding no longer holds; lines stay where they are."""
    return _DECLARATION.sub(lambda found: "\n" * found[0].count("\n"), source.text, count=1)


def broken(source: FileText, kind: str, error: Exception) -> InputError:
    """Return the error of a file that a reader of its kind trips over."""
    reason = f"is no {kind} that can be read: {one_line(str(error).strip() or type(error).__name__, 120)}"
    return InputError([Problem(reason, "Give the file as it was written", source.file)])
