"""A first mapping of a recording: what its columns may be, and the file once they are confirmed."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.recordings.channels import CHANNELS
from overarm.recordings.columns import channel_of, factor_of, unit_text
from overarm.recordings.limits import MOST_TOLD
from overarm.recordings.mapping import FORM, KEY
from overarm.recordings.propose import NOTE_COLUMN, TIME_COLUMN, Proposals, propose
from overarm.units import TIME, UnitError, to_si

if TYPE_CHECKING:
    from overarm.recordings.table import Table


class Line(NamedTuple):
    """One confirmed column of the new mapping."""

    head: str
    channel: str  # without its unit, or "time" or "note"
    unit: str
    scale: float = 1.0
    offset: float = 0.0
    sign: int = 1


class Unknown(NamedTuple):
    """A table that waits for its mapping: its heads and what they may be."""

    file: str
    heads: tuple[str, ...]
    proposals: Proposals


def unknown_table(file: Path) -> Unknown:
    """Return the heads of a table and what they may be. Raises InputError for a file that is no table."""
    from overarm.recordings.parquet import ParquetTable
    from overarm.recordings.reading import form_of
    from overarm.recordings.reading_bytes import read_source
    from overarm.recordings.table_text import TableText

    source = read_source(Path(file))
    form = form_of(source)
    if form not in ("table", "Parquet"):
        cure = "Read it as it is"
        raise InputError([trouble(f"is {form}, which needs no mapping", cure, Place(source.file, 0, 0))])
    table: Table = ParquetTable(source) if form == "Parquet" else TableText(source)
    return Unknown(source.file, table.heads, proposals_of(table))


def proposals_of(table: Table) -> Proposals:
    """Return what the columns of a table may be."""
    sample = table.sample()
    return propose(table.heads, sample.numbers, sample.texts)


def needs_mapping(table: Table, known: Sequence[Problem], *, has_time: bool) -> list[Problem]:
    """Return that a table needs a mapping, and for each of its columns what it may be, or what is wrong."""
    place = Place(table.file, table.head_line, 0)
    reason = (
        "has columns that do not say what they are" if has_time else "has no column of times that is known"
    )
    cure = (
        f"Draft a mapping with `overarm review {table.file} --new-map mapping.yaml` and confirm each line, "
        "or rename the columns, such as time_s, force_x_mps2; docs/reference/recording-mapping.md says how"
    )
    problems = [trouble(reason, cure, place, "", f"{len(table.heads)} columns")]
    proposals = proposals_of(table)
    by_column = {item.column: item for item in proposals.found}
    for column, head in enumerate(table.heads[:MOST_TOLD]):
        item = by_column.get(column)
        told = [problem for problem in known if problem.key == head]
        if item is None and told:
            problems += told
            continue
        said = f"is {item.words}" if item is not None else "is like none of the channels"
        problems.append(trouble(said, "", Place(table.file, table.head_line, column + 1), head))
    if len(table.heads) > MOST_TOLD:
        problems.append(trouble(f"and {len(table.heads) - MOST_TOLD} more columns", "", place))
    if proposals.gravity_removed:
        cure = "If so, write gravity: removed into the mapping"
        problems.append(trouble(proposals.gravity_removed, cure, place))
    return problems


def problem_with(channel: str, unit: str) -> str | None:
    """Return what is wrong with a unit of a channel, "time" among them; None if it will do."""
    try:
        if channel == TIME_COLUMN:
            if unit.casefold() != "utc":
                to_si(f"1 {unit_text(unit, TIME)}", TIME)
        elif channel != NOTE_COLUMN:
            name = channel_of(channel)
            if name is None:
                return "is no channel"
            factor_of(unit, CHANNELS[name].dimension)
    except UnitError as error:
        return str(error)
    return None


def mapping_text(
    lines: Sequence[Line], ignored: Sequence[str], *, gravity_removed: bool = False, recorder: str = ""
) -> str:
    """Return the text of a mapping file. ``lines`` hold one of "time"."""
    said = [
        "# Which column of the recorder is which of our channels, and in which unit it writes it.",
        "# Check every unit against the recorder's own description.",
        f"{KEY}: {FORM}",
    ]
    if recorder:
        said.append(f"recorder: {_quoted(recorder)}")
    if gravity_removed:
        said.append("gravity: removed")
    for line in lines:
        if line.channel == TIME_COLUMN:
            said.append(f"time: {{column: {_quoted(line.head)}, unit: {_quoted(line.unit)}}}")
        elif line.channel == NOTE_COLUMN:
            said.append(f"note: {_quoted(line.head)}")
    said.append("channels:")
    for line in lines:
        if line.channel in (TIME_COLUMN, NOTE_COLUMN):
            continue
        parts = [f"channel: {line.channel}"]
        parts += [f"unit: {_quoted(line.unit)}"] if line.unit else []
        parts += [f"scale: {line.scale!r}"] if line.scale != 1.0 else []
        parts += [f"offset: {line.offset!r}"] if line.offset else []
        parts += ["sign: -1"] if line.sign < 0 else []
        said.append(f"  {_quoted(line.head)}: {{{', '.join(parts)}}}")
    if ignored:
        said += ["ignore:", *(f"  - {_quoted(head)}" for head in ignored)]
    return "\n".join(said) + "\n"


def _quoted(text: str) -> str:
    """Return text as YAML reads it back, whatever it holds."""
    return json.dumps(text)
