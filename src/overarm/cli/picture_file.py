"""A picture that a command writes: looked at before the work, written whole after it."""

from __future__ import annotations

from pathlib import Path

ENDINGS = (".svg", ".png")


def check_picture(picture: Path) -> None:
    """Raise InputError if the picture could not be written, before anything is computed."""
    import tempfile

    from overarm.errors import InputError, Problem

    if picture.suffix.lower() not in ENDINGS:
        cure = f"End it with {' or '.join(ENDINGS)}"
        raise InputError(
            [Problem("is no kind of picture that can be drawn", cure, key="picture", value=str(picture))]
        )
    if picture.is_dir():
        raise InputError([Problem("is a folder", "Name a file in it", key="picture", value=str(picture))])
    try:
        with tempfile.TemporaryFile(prefix=".overarm-", dir=picture.parent):
            pass
    except OSError as error:
        said = f"cannot be written: {error.strerror}"
        cure = "Choose a folder that is there and that you may write to"
        raise InputError([Problem(said, cure, key="picture", value=str(picture))]) from error


def write_picture(picture: Path, data: bytes) -> None:
    """Write the whole picture. Raises InputError if that fails."""
    from overarm.errors import InputError
    from overarm.files import write_whole

    try:
        write_whole(picture, data)
    except OSError as error:
        raise InputError(f"{picture}: the picture cannot be written: {error.strerror}") from error
