"""A setup file with some of its values written anew; comments, order and everything else stay."""

from __future__ import annotations

from collections.abc import Mapping
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from overarm import files
from overarm.describe.reader import CARD_SUFFIXES
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from ruamel.yaml import YAML

WIDEST = 4000  # a long line stays one line


def rewritten(file: Path, changes: Mapping[str, Any], comments: Mapping[str, str] | None = None) -> str:
    """Return the text of a setup file with some values changed.

    Parameters
    ----------
    file : Path
        A setup that `overarm.load` reads; a card with a file of its own is written into the text.
    changes : mapping
        Path of each value, such as ``settings.start_wait`` or ``power.bench.0.pull``, to what is written
        there: text, or a list of entries.
    comments : mapping, optional
        Path of a value of a card to a comment of one line: behind it, before an old comment; above a list.

    Raises
    ------
    InputError
        If a change leads to something that is not a card.
    """
    yaml = _yaml()
    data = yaml.load(file.read_text("utf-8-sig"))
    for path, value in changes.items():
        here, last = _reached(yaml, data, file, path)
        here[last] = value
    for path, text in (comments or {}).items():
        here, last = _reached(yaml, data, file, path)
        if last in here:
            _comment(here, last, text)
    out = StringIO()
    yaml.dump(data, out)
    return out.getvalue()


def _reached(yaml: YAML, data: Any, file: Path, path: str) -> tuple[Any, str]:
    """Return what holds the value at a path, and its key there; a missing card is made."""
    *rooms, last = path.split(".")
    here = data
    for room in rooms:
        if isinstance(here, list) and room.isdigit() and int(room) < len(here):
            inside: Any = here[int(room)]
        else:
            inside = here.get(room) if hasattr(here, "get") else ""
        if isinstance(inside, str) and inside.lower().endswith(CARD_SUFFIXES):
            inside = here[room] = yaml.load((file.parent / inside).read_text("utf-8-sig"))
        elif inside is None:
            inside = here[room] = yaml.map()
        if not isinstance(inside, list) and not hasattr(inside, "get"):
            cure = "Change values of cards, such as settings.start_wait"
            raise InputError([Problem("cannot be changed there", cure, str(file), key=path)])
        here = inside
    return here, last


def _comment(card: Any, key: str, text: str) -> None:
    """Put a comment to a key; what stands behind or below it already stays."""
    if isinstance(card[key], list):
        card.yaml_set_comment_before_after_key(key, before=text, indent=card.lc.col or 0)
        return
    there = card.ca.items.get(key)
    token = there[2] if there else None
    if token is None:
        card.yaml_add_eol_comment(text, key)
        return
    old = token.value
    token.value = (
        f"# {text}{old}" if old.startswith("\n") else f"# {text}; {old.removeprefix('#').lstrip(' ')}"
    )


def _yaml() -> YAML:
    from ruamel.yaml import YAML

    yaml = YAML(typ="rt", pure=True)
    yaml.width = WIDEST
    yaml.preserve_quotes = True
    yaml.indent(mapping=2, sequence=4, offset=2)
    return yaml


def check_new(setup_file: Path, target: Path) -> None:
    """Refuse a target that is there already, lies in another folder than the setup, or is no YAML file."""
    if target.suffix.lower() not in CARD_SUFFIXES:
        raise InputError([Problem("is no name of a setup", "Let it end in .yaml", str(target))])
    if target.resolve().parent != setup_file.resolve().parent:
        cure = "Write it beside the setup, whose files it may name"
        raise InputError([Problem("is in another folder than the setup", cure, str(target))])
    if target.exists():
        raise InputError([Problem("is there already", "Choose another name", str(target))])


def write_new(setup_file: Path, target: Path, text: str) -> None:
    """Write a changed setup beside the old one, whole or not at all; an existing file is never touched.

    Raises InputError if `check_new` refuses the file or it cannot be written.
    """
    check_new(setup_file, target)
    try:
        files.write_new(target, text.encode("utf-8"))
    except FileExistsError:
        raise InputError([Problem("is there already", "Choose another name", str(target))]) from None
    except OSError as error:
        message = f"cannot be written: {error.strerror}"
        raise InputError([Problem(message, "Choose another name or folder", str(target))]) from error
