"""A table with unit suffixes in its heads, or with a mapping, as a recording."""

from __future__ import annotations

from collections.abc import Mapping as Map
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.recordings.columns import NOTES, UTC, HeadFault, Tie, tie_of, time_factor
from overarm.recordings.limits import LONGEST_NOTE, MOST_NOTES, MOST_TOLD
from overarm.recordings.mapping import Mapping
from overarm.recordings.reading_bytes import Source
from overarm.recordings.recording import Channel, Label, Note, Recording
from overarm.recordings.table_sample import Sample
from overarm.recordings.table_time import Times, times_from_numbers, times_from_utc

if TYPE_CHECKING:
    import polars as pl

LABELS: tuple[Label, ...] = ("carry", "shake", "throw", "other")


class Table(Protocol):
    """What a text table and a Parquet file have in common."""

    file: str
    heads: tuple[str, ...]
    head_line: int
    settings: dict[str, str]

    def columns(self, numbers: Sequence[int], texts: Sequence[int] = ()) -> dict[int, pl.Series]:
        """Return columns by their places, numbers as Float64 and texts as String."""

    def begin(self, column: int) -> pl.Series:
        """Return the first rows of a column as String."""

    def sample(self) -> Sample:
        """Return what the columns hold, for guessing what they are."""

    def line_of(self, row: int) -> int:
        """Return the line of a row; 0 if there are no lines."""


class Plan(NamedTuple):
    """Which columns of a table are what."""

    time: int
    time_factor: float | None  # seconds in one; None for ISO 8601
    ties: tuple[Tie, ...]
    note: int | None
    unused: tuple[str, ...]
    gravity_felt: bool


def recording_of(table: Table, source: Source, form: str, mapping: Mapping | None) -> Recording:
    """Return the recording of a table.

    Parameters: the table; its file; what to call its form; the mapping, or None if its heads have suffixes.
    Raises InputError for what the table lacks, or with line, column and value of what is wrong in it.
    """
    plan = plan_of(table, mapping)
    words = _words_of_state(table, plan)
    numbers = [tie.column for tie in plan.ties if tie.column not in words]
    texts = [] if plan.note is None else [plan.note]
    (numbers if plan.time_factor is not None else texts).append(plan.time)
    cells = table.columns(numbers, [*texts, *words])
    settings = dict(table.settings)
    for column in words:
        cells[column] = _numbered(cells[column], settings)
    times = _times(table, plan, cells)
    channels = {tie.channel: _channel(table, tie, cells[tie.column], times) for tie in plan.ties}
    if all(channel.t_s.size == 0 for channel in channels.values()):
        cure = "Give a recording with samples"
        raise InputError([trouble("holds no sample of any channel", cure, Place(table.file, 0, 0))])
    return Recording(
        name=source.name,
        sha256=source.sha256,
        form=form,
        channels=channels,
        start_utc=times.start_utc or settings.get("start_utc", ""),
        notes=() if plan.note is None else _notes(cells[plan.note], times),
        gravity_felt=plan.gravity_felt,
        unused=plan.unused,
        label=label_of(table),
        settings={**settings, **times.remarks},
    )


def plan_of(table: Table, mapping: Mapping | None) -> Plan:
    """Return what each column is. Raises InputError, with proposals for a mapping, if that cannot be told."""
    if mapping is not None:
        return _mapped(table, mapping)
    ties: list[Tie] = []
    problems: list[Problem] = []
    unused: list[str] = []
    times: list[tuple[int, float | None]] = []
    note = None
    for k, head in enumerate(table.heads):
        folded = head.strip().casefold()
        factor = time_factor(head)
        try:
            tie = tie_of(k, head)
        except HeadFault as fault:
            problems.append(_at_head(table, k, str(fault)))
            continue
        if folded == UTC or factor is not None:
            times.append((k, factor))
        elif folded in NOTES and note is None:
            note = k
        elif tie is not None:
            ties.append(tie)
        else:
            unused.append(head)
    problems += _twice(table, ties)
    if len(times) > 1:
        first = table.heads[times[0][0]]
        problems.append(_at_head(table, times[1][0], f"is a second column of times beside {first}; keep one"))
    if problems or not ties or not times:
        from overarm.recordings.draft import needs_mapping

        if ties and times:
            raise InputError(problems[:MOST_TOLD])
        raise InputError(needs_mapping(table, problems, has_time=bool(times)))
    felt = table.settings.get("gravity", "felt").casefold() not in ("removed", "no", "off", "taken off")
    return Plan(*times[0], tuple(ties), note, tuple(unused), felt)


def _mapped(table: Table, mapping: Mapping) -> Plan:
    at = {head.casefold(): k for k, head in enumerate(table.heads)}
    wanted = [
        mapping.time.head,
        *(tie.head for tie in mapping.ties),
        *([mapping.note] if mapping.note else []),
    ]
    lacking = [head for head in wanted if head.casefold() not in at]
    if lacking:
        there = one_line(", ".join(table.heads), 200)
        place = Place(table.file, table.head_line, 0)
        cure = f"Correct {mapping.file}; the columns are {there}"
        raise InputError(
            trouble(f"has no such column, which {mapping.file} names", cure, place, head) for head in lacking
        )
    ties = tuple(tie._replace(column=at[tie.head.casefold()]) for tie in mapping.ties)
    used = {head.casefold() for head in wanted}
    unused = tuple(
        head for head in table.heads if head.casefold() not in used and head.casefold() not in mapping.ignore
    )
    note = at[mapping.note.casefold()] if mapping.note else None
    time = at[mapping.time.head.casefold()]
    return Plan(time, mapping.time.factor, ties, note, unused, mapping.gravity_felt)


def _at_head(table: Table, column: int, fault: str) -> Problem:
    reason, _, cure = fault.partition("; ")
    place = Place(table.file, table.head_line, column + 1)
    return trouble(reason, f"{cure[:1].upper()}{cure[1:]}", place, table.heads[column])


def _twice(table: Table, ties: Sequence[Tie]) -> list[Problem]:
    problems = []
    seen: dict[str, Tie] = {}
    for tie in ties:
        first = seen.setdefault(tie.channel, tie)
        if first is not tie:
            fault = f"is {tie.channel} like {first.head}; take one out, or tie one in a mapping"
            problems.append(_at_head(table, tie.column, fault))
    return problems


def _times(table: Table, plan: Plan, cells: Map[int, pl.Series]) -> Times:
    series = cells[plan.time]
    blank = series.is_nan() if plan.time_factor is not None else series.str.strip_chars() == ""
    empty = series.is_null() | blank.fill_null(value=True)
    if empty.all():
        raise InputError([_at_head(table, plan.time, "has no times; give each row its time")])
    rows = empty.arg_true()
    # A line with nothing in it is no sample; a sample without a time is told.
    held = [*(tie.column for tie in plan.ties), *([plan.note] if plan.note is not None else [])]
    wrong = [row for row in rows.to_list() if any(cells[k][row] is not None for k in held)]
    if wrong:
        cure = "Give every row its time, or take the row out"
        raise InputError(
            trouble(
                "has no time",
                cure,
                Place(table.file, table.line_of(row), plan.time + 1),
                table.heads[plan.time],
            )
            for row in wrong[:MOST_TOLD]
        )
    if plan.time_factor is None:
        return times_from_utc(table, plan.time, series)
    return times_from_numbers(table, plan.time, series.to_numpy(), plan.time_factor)


def _channel(table: Table, tie: Tie, series: pl.Series, times: Times) -> Channel:
    numbers = series.to_numpy()
    values = tie.to_si(numbers)
    there = ~np.isnan(numbers)
    endless = np.isinf(values) & there
    if endless.any():
        rows = np.flatnonzero(endless)[:MOST_TOLD].tolist()
        cure = "Write a finite number, or leave the cell empty"
        raise InputError(
            trouble(
                "is no finite number",
                cure,
                Place(table.file, table.line_of(row), tie.column + 1),
                tie.head,
                f"{numbers[row]:g}",
            )
            for row in rows
        )
    if there.all():
        return Channel(times.t_s, values, tie.source)
    return Channel(times.t_s[there], values[there], tie.source)


def _words_of_state(table: Table, plan: Plan) -> tuple[int, ...]:
    """Return the column of the state if it holds words."""
    import polars as pl

    for tie in plan.ties:
        if tie.channel == "state":
            cells = table.begin(tie.column).drop_nulls().str.strip_chars()
            cells = cells.filter(cells != "").str.replace(",", ".", literal=True)
            if cells.len() and not cells.cast(pl.Float64, strict=False).count():
                return (tie.column,)
    return ()


def _numbered(series: pl.Series, settings: dict[str, str]) -> pl.Series:
    """Return words as numbers from 0, in the order in which they first appear, and tell which is which."""
    import polars as pl

    cells = series.str.strip_chars()
    words = [word for word in cells.unique(maintain_order=True).to_list() if word]
    settings.update({f"state {k}": one_line(word, 60) for k, word in enumerate(words[:100])})
    return cells.replace_strict(
        words, [float(k) for k in range(len(words))], default=None, return_dtype=pl.Float64()
    )


def _notes(series: pl.Series, times: Times) -> tuple[Note, ...]:
    cells = series.str.strip_chars()
    rows = (cells.is_not_null() & (cells != "")).arg_true().to_list()[:MOST_NOTES]
    return tuple(Note(float(times.t_s[row]), one_line(str(cells[row]), LONGEST_NOTE)) for row in rows)


def label_of(table: Table) -> Label:
    """Return what the comments say the recording is of. Raises InputError for a word that is none."""
    said = table.settings.get("label", "").casefold()
    for label in ("", *LABELS):
        if said == label:
            return label
    cure = f"Write one of {', '.join(LABELS)}"
    raise InputError([trouble("is no label of a recording", cure, Place(table.file, 0, 0), "label", said)])
