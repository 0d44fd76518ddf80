"""Where a book is: a SQLite file, or a PostgreSQL database by its URL, and the folder of its files."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Literal, NamedTuple

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from overarm.errors import InputError, Problem

BOOK_VARIABLE = "OVERARM_BOOK"
FILES_VARIABLE = "OVERARM_BOOK_FILES"
URL_FORM = "Give a file, or a URL such as postgresql://person@host/database"
_POSTGRES = ("postgresql", "postgres", "postgresql+psycopg")


class Place(NamedTuple):
    """Where a book is."""

    kind: Literal["sqlite", "postgresql"]
    url: URL
    files: Path | None  # None: a folder named after the book, in the user's data folder

    @property
    def shown(self) -> str:
        """Return the place in words, without a password."""
        if self.kind == "sqlite":
            return str(self.url.database)
        return self.url.set(drivername="postgresql").render_as_string(hide_password=True)

    @property
    def file(self) -> Path:
        """Return the file of a SQLite book."""
        return Path(str(self.url.database))


def place_of(told: str | Path | None = None, files: str | Path | None = None) -> Place:
    """Return where a book is.

    Parameters
    ----------
    told : path or URL, optional
        Otherwise the variable OVERARM_BOOK, otherwise a file in the user's data folder.
    files : path, optional
        Folder of the files; otherwise OVERARM_BOOK_FILES, otherwise beside a SQLite book.

    Raises
    ------
    InputError
        For a URL of another kind.
    """
    name = str(told) if told else os.environ.get(BOOK_VARIABLE, "")
    folder = str(files) if files else os.environ.get(FILES_VARIABLE, "")
    if "://" in name:
        return Place("postgresql", _postgres(name), Path(folder) if folder else None)
    path = Path(name).expanduser() if name else data_folder() / "logbook.sqlite"
    if path.is_dir():
        raise InputError([Problem("is a folder", "Give the file of a logbook", str(path))])
    beside = Path(folder) if folder else path.with_name(f"{path.stem}-files")
    return Place("sqlite", URL.create("sqlite", database=str(path)), beside)


def data_folder() -> Path:
    """Return the folder of this tool among the user's data."""
    import platformdirs

    return Path(platformdirs.user_data_dir("overarm"))


def _postgres(text: str) -> URL:
    scheme = text.partition("://")[0]
    if scheme not in _POSTGRES:
        raise InputError([Problem("is no URL of a logbook", URL_FORM, value=f"{scheme}://")])
    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as error:
        raise InputError([Problem("is no URL of a database", URL_FORM, value=f"{scheme}://")]) from error
    return url.set(drivername="postgresql+psycopg")
