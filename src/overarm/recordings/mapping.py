"""The mapping of a recording: which of its columns is which of our channels, in which unit.

A YAML file that the builder writes or confirms; every fault is told at once with its line and cure.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, Literal, NamedTuple

from pydantic import Field, ValidationError
from rapidfuzz import process

from overarm.describe.card import Card
from overarm.describe.document import Document, read_document, trouble
from overarm.describe.entries import entries
from overarm.describe.faults import in_words
from overarm.describe.places import Place
from overarm.errors import InputError
from overarm.recordings.channels import CHANNELS
from overarm.recordings.columns import Tie, channel_of, factor_of, stems, unit_text
from overarm.recordings.limits import MOST_COLUMNS
from overarm.units import TIME, UnitError, to_si

FORM = 1
KEY = "overarm_recording_map"
LEAST_ALIKE = 60.0


class _Time(Card):
    """The column of the times."""

    column: str = Field(max_length=200, description="The head of the column of times.")
    unit: str = Field(max_length=20, description="s, ms, us, min or h; utc for ISO 8601.")


class _Entry(Card):
    """What one column is."""

    channel: str = Field(max_length=60, description="The channel, such as force_x.")
    unit: str = Field(default="", max_length=60, description="The unit that the column is in.")
    scale: float = Field(default=1.0, strict=False, description="What to multiply by, before the unit.")
    offset: float = Field(default=0.0, strict=False, description="What to add then, before the unit.")
    sign: Literal[1, -1] = Field(default=1, description="-1 turns the direction round.")


class _File(Card):
    """A mapping of a recording."""

    form: Literal[1] = Field(alias="overarm_recording_map", description="Version of this file's form.")
    recorder: str = Field(default="", max_length=200, description="The recorder in your own words.")
    decimal: Literal["point", "comma"] | None = Field(default=None, description="How decimals are written.")
    gravity: Literal["felt", "removed"] = Field(
        default="felt", description="Whether the forces have gravity in them, as an accelerometer feels it."
    )
    time: _Time = Field(description="The column of the times and its unit.")
    note: str | None = Field(default=None, max_length=200, description="The head of the column of texts.")
    channels: dict[str, Any] = Field(
        max_length=MOST_COLUMNS, description="Heads of columns, each with our channel and its unit."
    )
    ignore: tuple[str, ...] = Field(
        default=(), max_length=MOST_COLUMNS, strict=False, description="Heads of columns that are not ours."
    )


class TimeColumn(NamedTuple):
    """The head of the column of times, and the seconds in one; None for ISO 8601."""

    head: str
    factor: float | None


class Mapping(NamedTuple):
    """A mapping as it is used; the columns of the ties are not yet known."""

    file: str
    recorder: str
    decimal_comma: bool | None
    gravity_felt: bool
    time: TimeColumn
    note: str | None
    ties: tuple[Tie, ...]
    ignore: frozenset[str]


def load_mapping(file: Path) -> Mapping:
    """Return the mapping of a file. Raises InputError with every fault of it."""
    document = read_document(file)
    start = Place(str(file), 1, 1)
    _check_form(document, start)
    problems = document.problems
    found = None
    try:
        found = _File.model_validate(document.data)
    except ValidationError as error:
        problems += in_words(_File, error, document, start)
    raw = document.data.get("channels")
    ties = _ties(document, raw if isinstance(raw, dict) else {})
    if not ties and not problems:
        cure = "Tie a column under channels:, such as ax: {channel: force_x, unit: m/s2}"
        problems.append(trouble("ties nothing", cure, start, "channels"))
    factor = _time_factor(document, found)
    if problems or found is None:
        raise InputError(sorted(problems, key=lambda item: (item.line, item.column)))
    return Mapping(
        file=str(file),
        recorder=found.recorder,
        decimal_comma=None if found.decimal is None else found.decimal == "comma",
        gravity_felt=found.gravity == "felt",
        time=TimeColumn(found.time.column, factor),
        note=found.note,
        ties=tuple(ties),
        ignore=frozenset(head.casefold() for head in found.ignore),
    )


def _check_form(document: Document, start: Place) -> None:
    """Refuse a file that is no mapping of a recording; nothing else in it could be judged."""
    cure = f"Begin the mapping with `{KEY}: {FORM}`"
    if not isinstance(document.data, dict):
        raise InputError([trouble("is not a mapping of a recording", cure, start)])
    form = document.data.get(KEY)
    if type(form) is int and form == FORM:
        return
    if form is None:
        reason = "is a setup, no mapping" if "overarm" in document.data else "is not a mapping of a recording"
        reason = "is the mapping of a read-back" if "overarm_map" in document.data else reason
        raise InputError([trouble(reason, cure, start, KEY)])
    reason = "is a form that this version does not read"
    raise InputError([trouble(reason, cure, document.values[(KEY,)], KEY, str(form))])


def _time_factor(document: Document, found: _File | None) -> float | None:
    if found is None or found.time.unit.casefold() == "utc":
        return None
    try:
        return to_si(f"1 {unit_text(found.time.unit, TIME)}", TIME)
    except UnitError:
        place = document.place_of(("time", "unit")) or Place("", 1, 1)
        cure = "Write s, ms, us, min or h, or utc for ISO 8601"
        document.problems.append(trouble("is no unit of time", cure, place, "time.unit", found.time.unit))
        return None


def _ties(document: Document, channels: dict[str, Any]) -> list[Tie]:
    ties: list[Tie] = []
    seen: dict[str, tuple[str, int]] = {}
    form = "{channel: force_x, unit: m/s2}"
    for head, entry, place in entries(document, "channels", channels, _Entry, form):
        tie = _tie(document, head, entry, place)
        if tie is None:
            continue
        first = seen.setdefault(tie.channel, (head, place.line))
        if first[0] != head:
            reason = f"is {tie.channel} like {first[0]} on line {first[1]}"
            document.problems.append(trouble(reason, "Keep one of them", place, f"channels.{head}"))
        ties.append(tie)
    return ties


def _tie(document: Document, head: str, entry: _Entry, place: Place) -> Tie | None:
    def refuse(part: str, message: str, cure: str, value: str) -> None:
        where = document.place_of(("channels", head, part)) or place
        document.problems.append(trouble(message, cure, where, f"channels.{head}.{part}", value))

    channel = channel_of(entry.channel)
    if channel is None:
        near = process.extractOne(entry.channel.casefold(), list(stems()), score_cutoff=LEAST_ALIKE)
        cure = f"Did you mean {near[0]}?" if near else f"The channels are {', '.join(stems())}"
        refuse("channel", "is no channel", cure, entry.channel)
        return None
    if entry.scale == 0.0 or not math.isfinite(entry.scale):
        refuse("scale", "is no scale", "Leave it out if there is none", str(entry.scale))
        return None
    try:
        factor = factor_of(entry.unit, CHANNELS[channel].dimension)
    except UnitError:
        dimension = CHANNELS[channel].dimension
        said = f"is not {dimension.with_article}" if entry.unit else "has no unit"
        refuse("unit", said, f"Use {dimension.units}", entry.unit)
        return None
    return Tie(-1, head, channel, entry.unit, factor, entry.scale, entry.offset, entry.sign)
