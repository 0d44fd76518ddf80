"""Write a launch sheet: two printed pages and one page for a phone, whole or not at all."""

from __future__ import annotations

import os
import re
import tempfile
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from overarm.sheets.blade import live_words
from overarm.sheets.page_html import html_text
from overarm.sheets.page_pdf import pdf_bytes
from overarm.sheets.pictures import PictureData, draw_all
from overarm.sheets.wording import tied

LONGEST_STEM = 60

Progress = Callable[[str, float], None]


class SheetPaths(NamedTuple):
    """Where the two files of a sheet are."""

    pdf: Path
    html: Path


class Sheet(NamedTuple):
    """A finished sheet in memory."""

    pdf: bytes
    html: str


def file_stem(name: str) -> str:
    """Return a file name for a setup name: letters, figures and hyphens of any script, never empty."""
    flat = unicodedata.normalize("NFC", name).casefold()
    words = re.sub(r"[^\w]+", "-", flat).strip("-_")
    kept = words.encode("utf-8")[: 2 * LONGEST_STEM].decode("utf-8", "ignore")[:LONGEST_STEM].strip("-_")
    return (kept or "setup") + "-launch-sheet"


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that a reader sees the old one or the whole new one. OSError if that fails."""
    handle, name = tempfile.mkstemp(prefix=".overarm-", dir=path.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(0o644)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def make_sheet(content: dict[str, Any], data: PictureData, progress: Progress | None = None) -> Sheet:
    """Draw the pictures in both sizes and set both files."""

    def tell(what: str, share: float) -> None:
        if progress is not None:
            progress(what, share)

    tell("drawing", 0.0)
    wide = draw_all(data, narrow=False)
    tell("drawing for a phone", 0.35)
    phone = draw_all(data, narrow=True)
    bad = data.strip.bad
    middle = "solid: the middle launch"
    full = tied(
        {
            **content,
            "pictures": {name: picture.words for name, picture in wide.items()},
            "live": live_words(data.blade),
            "strip": middle if bad is None else f"{middle}; dashed: one that ended {bad.outcome}",
        }
    )
    tell("setting the pages", 0.7)
    sheet = Sheet(pdf_bytes(full, wide), html_text(full, wide, phone))
    tell("done", 1.0)
    return sheet


def save_sheet(sheet: Sheet, folder: Path, stem: str) -> SheetPaths:
    """Write both files into `folder`, which is made if missing. OSError if that cannot be done."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = SheetPaths(folder / f"{stem}.pdf", folder / f"{stem}.html")
    write_whole(paths.pdf, sheet.pdf)
    write_whole(paths.html, sheet.html.encode("utf-8"))
    return paths
