"""The text of a table, comma, semicolon or tab separated: its head, its comments, its columns."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from io import StringIO
from typing import TYPE_CHECKING, Any

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.recordings.limits import (
    LONGEST_LINE,
    LONGEST_SETTING,
    MOST_COLUMNS,
    MOST_SETTINGS,
    MOST_TOLD,
)
from overarm.recordings.reading_bytes import AGAIN, Source, text_of
from overarm.recordings.table_sample import MOST_LOOKED_AT, Sample, sample_of

if TYPE_CHECKING:
    import polars as pl

SEPARATORS = (",", ";", "\t", "|")
NO_SAMPLE = ("nan", "NaN", "NAN", "na", "NA", "N/A", "null", "NULL", "none", "None", "-")
_COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+(?:[eE][+-]?[0-9]+)?")
_POINT = re.compile(r"[+-]?[0-9]*\.[0-9]+(?:[eE][+-]?[0-9]+)?")
_COMMAS = re.compile(r"(?:^|,)[+-]?[0-9]+,[0-9]+(?:,|$)")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_SNIFFED_LINES = 200


class TableText:
    """A table as text: the columns are parsed when they are asked for."""

    def __init__(self, source: Source, decimal_comma: bool | None = None) -> None:
        """Find the head of a table.

        Parameters: the bytes of the file; whether decimals have a comma, None to find out.
        Raises InputError for what is no text or no table.
        """
        text = text_of(source)
        self.file = source.file
        self.settings = dict(text.remarks)
        self._commented = ""
        start, self.head_line, head = self._head(text.raw)
        self.separator = max(SEPARATORS, key=head.count)
        self.heads = self._heads(head)
        self.body = text.raw[start:]
        self.comments = self.body.startswith(b"#") or b"\n#" in self.body
        self._drop_cut_line()
        if not self.body[:LONGEST_LINE].strip() and not self.body.strip():
            place = Place(self.file, self.head_line, 0)
            raise InputError([trouble("has a head and no rows below it", AGAIN, place)])
        self.decimal_comma = self._has_comma() if decimal_comma is None else decimal_comma

    def _head(self, raw: bytes) -> tuple[int, int, str]:
        """Return where the rows begin, the line of the head, and the head; keep what stands before it."""
        start, number = 0, 0
        while start < len(raw):
            end = raw.find(b"\n", start)
            end = len(raw) if end < 0 else end
            line = raw[start:end].decode("utf-8").strip()
            start, number = end + 1, number + 1
            if line and not line.startswith("#"):
                return start, number, line
            self._keep(line.lstrip("# \t"))
            self._commented = line or self._commented
        raise InputError([Problem("has comments and no table", AGAIN, self.file)])

    def _keep(self, comment: str) -> None:
        key, colon, value = comment.partition(":")
        if colon and key.strip() and len(self.settings) < MOST_SETTINGS:
            self.settings[one_line(key.strip().casefold(), 60)] = one_line(value.strip(), LONGEST_SETTING)

    def _heads(self, line: str) -> tuple[str, ...]:
        place = Place(self.file, self.head_line, 1)
        try:
            heads = [cell.strip() for cell in next(csv.reader(StringIO(line), delimiter=self.separator))]
        except csv.Error as error:
            raise InputError([trouble(f"has a head that is no list: {error}", AGAIN, place)]) from None
        shown = one_line(line, 60)
        if len(heads) > MOST_COLUMNS:
            reason = f"has {len(heads):,} columns; {MOST_COLUMNS} at most are read"
            raise InputError([trouble(reason, "Leave out what no launch needs", place)])
        if len(heads) < 2:
            cure = "Give a table with a head and a column of times, separated by comma, semicolon or tab"
            raise InputError([trouble("is no table: its first line has one column", cure, place, "", shown)])
        if all(_NUMBER.fullmatch(head) for head in heads):
            cure = "Put the names of the columns into the first line, such as time_s,force_x_mps2"
            if self._commented.count(self.separator) == line.count(self.separator):
                cure = "Take the # off the names of the columns in the line above"
            raise InputError([trouble("has no head: its first line is numbers", cure, place, "", shown)])
        problems = []
        seen: dict[str, int] = {}
        for k, head in enumerate(heads, 1):
            first = seen.setdefault(head.casefold(), k) if head else k
            if first != k:
                reason = f"has two columns of this name, columns {first} and {k}"
                problems.append(trouble(reason, "Rename one or take it out", place, head))
        if problems:
            raise InputError(problems[:MOST_TOLD])
        return tuple(head or f"(column {k})" for k, head in enumerate(heads, 1))

    def _drop_cut_line(self) -> None:
        """Leave out a last line that was cut off, as when a recorder loses its power."""
        if self.body.endswith(b"\n") or not self.body:
            return
        start = self.body.rfind(b"\n") + 1
        last = self.body[start:].decode("utf-8")
        try:
            fields = len(next(csv.reader(StringIO(last), delimiter=self.separator)))
        except (csv.Error, StopIteration):
            fields = 0
        if fields < len(self.heads) and not last.startswith("#"):
            line = self.head_line + 1 + self.body.count(b"\n")
            self.settings["last line"] = f"line {line} is cut off and left out"
            self.body = self.body[:start]

    def _has_comma(self) -> bool:
        """Return True if the numbers of the first rows have a decimal comma."""
        if self.separator == ",":
            return False
        lines = self.body[: _SNIFFED_LINES * 400].decode("utf-8", "ignore").splitlines()[:_SNIFFED_LINES]
        found: dict[bool, int] = {}
        for number, line in enumerate(lines, self.head_line + 1):
            for cell in (cell.strip().strip('"') for cell in line.split(self.separator)):
                comma = _COMMA.fullmatch(cell) is not None
                if comma or _POINT.fullmatch(cell):
                    found.setdefault(comma, number)
        if len(found) == 2:
            reason = (
                f"writes decimals with a point on line {found[False]} and with a comma on line {found[True]}"
            )
            cure = "Write them one way, with nothing between thousands, or say decimal: in a mapping"
            raise InputError([trouble(reason, cure, Place(self.file, max(found.values()), 0))])
        return True in found

    def columns(self, numbers: Sequence[int], texts: Sequence[int] = ()) -> dict[int, pl.Series]:
        """Return columns by their places from 0: numbers as Float64, texts as String; null for no sample.

        Raises InputError with line, column and value of each cell that is no number, and of each line that
        has too few or too many cells.
        """
        import polars as pl

        wanted = sorted({*numbers, *texts})
        try:
            frame = self._parse({k: pl.Float64() for k in numbers}, wanted)
            self._hold_rows(frame)
        except (pl.exceptions.PolarsError, pl.exceptions.PanicException):
            self._hold_lines()
            try:
                frame = self._parse({}, wanted)
            except (pl.exceptions.PolarsError, pl.exceptions.PanicException) as error:
                raise self._unread(error) from None
            self._hold_rows(frame)
            frame = frame.with_columns(self._cast(frame[str(k)], k) for k in numbers)
        return {k: frame[str(k)] for k in wanted}

    def begin(self, column: int) -> pl.Series:
        """Return the first rows of a column as String. Raises InputError as `columns`."""
        return self._begin([column])[str(column)]

    def _begin(self, wanted: Sequence[int]) -> pl.DataFrame:
        import polars as pl

        try:
            return self._parse({}, wanted, MOST_LOOKED_AT)
        except (pl.exceptions.PolarsError, pl.exceptions.PanicException) as error:
            raise self._unread(error) from None

    def sample(self) -> Sample:
        """Return what the columns hold in the first rows. Raises InputError as `columns`."""
        wanted = range(len(self.heads))
        frame = self._begin(wanted)
        return sample_of({k: self._plain(frame[str(k)]) for k in wanted})

    def line_of(self, row: int) -> int:
        """Return the line in the file of a row, from 0."""
        if not self.comments:
            return self.head_line + 1 + row
        lines = self.body.split(b"\n")
        rows = (k for k, line in enumerate(lines) if not line.startswith(b"#"))
        return self.head_line + 1 + next((k for n, k in enumerate(rows) if n == row), 0)

    def _unread(self, error: BaseException) -> InputError:
        """Return that a table cannot be read, with each line that does not fit if there are such lines."""
        try:
            self._hold_lines()
        except InputError as told:
            return told
        said = one_line(str(error).splitlines()[0] if str(error) else type(error).__name__, 120)
        return InputError([trouble(f"cannot be read: {said}", AGAIN, Place(self.file, 0, 0))])

    def _parse(self, dtypes: dict[int, Any], wanted: Sequence[int], rows: int | None = None) -> pl.DataFrame:
        import polars as pl

        schema = {str(k): dtypes.get(k, pl.String()) for k in range(len(self.heads))}
        return pl.read_csv(
            self.body,
            has_header=False,
            schema=schema,
            columns=[*wanted, *([] if len(self.heads) - 1 in wanted else [len(self.heads) - 1])],
            separator=self.separator,
            comment_prefix="#" if self.comments else None,
            null_values=list(NO_SAMPLE),
            decimal_comma=self.decimal_comma,
            n_rows=rows,
        )

    def _hold_rows(self, frame: pl.DataFrame) -> None:
        """Refuse rows with too few cells, and quotes that swallow lines."""
        lines = self.body.count(b"\n") + (not self.body.endswith(b"\n"))
        if self.comments:
            lines -= self.body.count(b"\n#") + self.body.startswith(b"#")
        full = frame.height * (len(self.heads) - 1)
        if frame.height == lines and (
            not frame[str(len(self.heads) - 1)].null_count()
            or (b'"' not in self.body and self.body.count(self.separator.encode()) == full)
        ):
            return
        self._hold_lines()

    def _hold_lines(self) -> None:
        """Raise InputError with each line that has too few or too many cells. Slow; for what seems wrong."""
        problems: list[Problem] = []
        text = StringIO(self.body.decode("utf-8"), newline="\n")
        for number, line in enumerate(text, self.head_line + 1):
            if line.startswith("#") or not line.strip("\n"):
                continue
            place = Place(self.file, number, 0)
            wrong = self._fault_of(line)
            if wrong is not None:
                problems.append(trouble(*wrong, place, "", one_line(line.strip(), 60)))
                if len(problems) == MOST_TOLD:
                    break
        if problems:
            raise InputError(problems)

    def _fault_of(self, line: str) -> tuple[str, str] | None:
        """Return reason and cure for a line that does not fit the head; None if it does."""
        if line.count('"') % 2:
            return "has a quote that is not closed", "Close it on the same line; a note has one line"
        fields = (
            len(next(csv.reader(StringIO(line), delimiter=self.separator)))
            if '"' in line
            else line.count(self.separator) + 1
        )
        if fields == len(self.heads):
            return None
        reason = f"has {fields} {'cell' if fields == 1 else 'cells'}, where the head has {len(self.heads)}"
        if self.separator == "," and fields > len(self.heads) and _COMMAS.search(line):
            cure = (
                "If commas are its decimals, write it again with ; or tabs between cells, or decimal points"
            )
            return reason, f"{cure}; else mend the line"
        return reason, "Mend or take out the line; a cell without a sample stays empty between its separators"

    def _plain(self, series: pl.Series) -> pl.Series:
        """Return cells without blanks and with a decimal point; null for those without a sample."""
        cells = series.str.strip_chars()
        if self.decimal_comma:
            cells = cells.str.replace(",", ".", literal=True)
        return cells.set(cells.is_in(["", *NO_SAMPLE]), None)

    def _cast(self, series: pl.Series, k: int) -> pl.Series:
        import polars as pl

        cells = self._plain(series)
        numbers = cells.cast(pl.Float64, strict=False)
        wrong = (numbers.is_null() & cells.is_not_null()).arg_true()
        if wrong.len():
            raise InputError(
                trouble(
                    "is not a number",
                    "Write a number with a decimal point, or leave the cell empty",
                    Place(self.file, self.line_of(row), k + 1),
                    self.heads[k],
                    str(series[row]),
                )
                for row in wrong.head(MOST_TOLD).to_list()
            )
        return numbers.rename(str(k))
