"""What the logbook says on a screen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from overarm.logbook.batch import Added
from overarm.logbook.tidy import Tidied
from overarm.logbook.trends import Trend
from overarm.logbook.undo import Undone

SHORT = 12  # letters of an id in a list
LONGEST_CELL = 40
NOTHING = "–"

_LISTS: dict[str, tuple[tuple[str, str], ...]] = {
    "launches": (
        ("id", "id"),
        ("when (UTC)", "when"),
        ("no.", "number"),
        ("kind", "kind"),
        ("outcome", "outcome"),
        ("throw m/s", "throw_speed_mps"),
        ("setup", "setup"),
        ("recording", "recording"),
    ),
    "recordings": (
        ("id", "id"), ("begins (UTC)", "start_utc"), ("name", "name"), ("form", "form"), ("bytes", "bytes"),
    ),
    "setups": (("id", "id"), ("name", "name"), ("style", "style"), ("thrower", "thrower")),
    "predictions": (
        ("id", "id"), ("setup", "setup"), ("launches", "launches"), ("clean", "clean_share"),
        ("from", "clean_low"), ("to", "clean_high"), ("version", "version"),
    ),
    "evidence": (
        ("id", "id"), ("day", "day"), ("input", "input"), ("value (SI)", "value"), ("error", "error"),
        ("kind", "kind"), ("method", "method"),
    ),
    "notes": (("id", "id"), ("written (UTC)", "written_utc"), ("about", "about"), ("text", "text")),
    "imports": (
        ("no.", "number"), ("made (UTC)", "made_utc"), ("what", "what"), ("from", "source"),
        ("added", "added"),
    ),
}  # fmt: skip


def listing(kind: str, rows: Sequence[Mapping[str, Any]]) -> str:
    """Return rows of a kind as a table; ids are cut to their first letters."""
    if not rows:
        return f"no {kind} in this book"
    columns = _LISTS[kind]
    head = [title for title, _ in columns]
    return table([head, *([_cell(kind, key, row) for _, key in columns] for row in rows)])


def _cell(kind: str, key: str, row: Mapping[str, Any]) -> str:
    if key == "when":
        value: Any = row["flown_utc"] or f"added {row['added_utc']}"
    elif key == "recording":
        value = row.get("recording_name") or row["recording"][:SHORT]
    elif key == "setup" and row.get("setup_name"):
        value = row["setup_name"]
    elif key == "added" and kind == "imports":
        value = counted({name: len(ids) for name, ids in row["added"].items()})
    else:
        value = row[key]
    if key in ("id", "about") or (key == "setup" and not row.get("setup_name")):
        value = value and value[:SHORT]
    if key.startswith("clean_"):
        value = f"{100 * value:.0f} %"
    return _shown(value)


def _shown(value: Any) -> str:
    if value is None or value == "":
        return NOTHING
    text = f"{value:.4g}" if isinstance(value, float) else " ".join(str(value).split())
    printable = "".join(letter if letter.isprintable() else "?" for letter in text)
    return printable if len(printable) <= LONGEST_CELL else printable[: LONGEST_CELL - 1] + "…"


def table(rows: Sequence[Sequence[str]]) -> str:
    """Return rows of cells in columns as wide as their widest cell."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )


def counted(counts: Mapping[str, int]) -> str:
    """Return counts by kind in words, such as "1 recording, 3 launches"."""
    said = [f"{n} {kind if n != 1 or kind == 'evidence' else _ONE[kind]}" for kind, n in counts.items() if n]
    return ", ".join(said) or "nothing"


_ONE = {
    "setups": "setup",
    "recordings": "recording",
    "predictions": "prediction",
    "launches": "launch",
    "notes": "note",
    "imports": "import",
    "evidence": "evidence",
}


def added(done: Added) -> str:
    """Return what a batch did."""
    there = f"; {counted(done.already)} in the book already" if any(done.already.values()) else ""
    if done.id is None:
        return f"nothing new{there}"
    return f"{counted(done.new)} added{there}. To take it back: overarm logbook undo {done.number}"


def undone(done: Undone) -> str:
    """Return what an undo did."""
    said = [f"batch {done.number} taken back: {counted(done.removed)} removed"]
    said += [
        f"kept: {_ONE[item.table]} {item.id[:SHORT]}, which batch {item.batch} uses or brought too"
        for item in done.kept
    ]
    return "\n".join(said)


def tidied(found: Tidied) -> str:
    """Return what was found when the book was looked over."""
    said = [f"STOP   missing file: {name}" for name in found.missing]
    said += [f"STOP   damaged file: {name}" for name in found.damaged]
    said += [f"STOP   database: {line}" for line in found.database]
    if not said:
        said = ["good   every file is there and is what was put in"]
    else:
        said.append("       bring the files back from a copy, or import an export of the book")
    spare = len(found.unused) + len(found.unfinished)
    if found.removed:
        said.append(f"{len(found.removed)} files that nothing names were removed")
    elif spare:
        said.append(f"{spare} files that nothing names; they do no harm; remove them with --remove")
    return "\n".join(said)


def trend_table(days: Sequence[Trend], whole: Trend) -> str:
    """Return the trends as a table, a line a day and one for all of them."""
    if not whole.launches:
        return "no launches in this book"
    head = [
        "day",
        "launches",
        "throw m/s",
        "start delay s",
        "foretold",
        "clean expected",
        "clean happened",
        "Brier",
    ]
    lines = [head, *(_trend_row(day.day, day) for day in days), _trend_row("all", whole)]
    said = [table(lines), ""]
    said.append(
        "Throw and delay: mean ± scatter from launch to launch. Foretold: launches with odds and a "
        "known outcome."
    )
    if whole.foretold:
        said.append(
            f"Of {whole.foretold} foretold launches {_share(whole.happened_clean)} were clean; the odds said"
        )
        said[-1] += f" {_share(whole.expected_clean)} on average."
    return "\n".join(said)


def _trend_row(title: str, found: Trend) -> list[str]:
    return [
        title,
        str(found.launches),
        _spread(found.throw_speed_mps, found.throw_speed_scatter_mps, 1),
        _spread(found.start_delay_s, found.start_delay_scatter_s, 2),
        str(found.foretold),
        _share(found.expected_clean),
        _share(found.happened_clean),
        NOTHING if found.brier is None else f"{found.brier:.3f}",
    ]


def _spread(mean: float | None, scatter: float | None, digits: int) -> str:
    if mean is None:
        return NOTHING
    return f"{mean:.{digits}f}" + ("" if scatter is None else f" ± {scatter:.{digits}f}")


def _share(value: float | None) -> str:
    return NOTHING if value is None else f"{100 * value:.0f} %"


def one(found: Mapping[str, Any]) -> str:
    """Return one thing with what belongs to it."""
    row = found["row"]
    said = [f"{_ONE[found['kind']]} {row['id']}"]
    for key, value in row.items():
        if key == "id":
            continue
        if key == "yaml":
            said += ["  yaml", *(f"    {line}" for line in str(value).splitlines())]
        elif isinstance(value, Mapping | list) and value:
            said += [f"  {key}", *_lines(value, "    ")]
        else:
            said.append(f"  {key}  {_shown(value)}")
    for kind, rows in found["related"].items():
        said += ["", f"{kind}:", *(f"  {line}" for line in listing(kind, rows).splitlines())]
    return "\n".join(said)


def _lines(value: Any, head: str) -> Iterable[str]:
    """Yield plain data a line a leaf, or a line a flat table."""
    pairs = value.items() if isinstance(value, Mapping) else enumerate(value, 1)
    for key, item in pairs:
        if isinstance(item, Mapping | list) and any(
            isinstance(leaf, Mapping | list) for leaf in _leaves(item)
        ):
            yield f"{head}{_shown(key)}"
            yield from _lines(item, head + "  ")
        elif isinstance(item, Mapping):
            yield f"{head}{_shown(key)}  " + ", ".join(f"{_shown(k)} {_shown(v)}" for k, v in item.items())
        elif isinstance(item, list):
            yield f"{head}{_shown(key)}  " + ", ".join(_shown(v) for v in item)
        else:
            yield f"{head}{_shown(key)}  {_shown(item)}"


def _leaves(value: Any) -> Iterable[Any]:
    return value.values() if isinstance(value, Mapping) else value
