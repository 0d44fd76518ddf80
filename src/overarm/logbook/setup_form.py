"""A setup as a book keeps it: one text with its cards written in, and the files that it names."""

from __future__ import annotations

from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

WIDEST = 4000  # a long line stays one line
MOST_PART_BYTES = 256 * 2**20


class SetupForm(NamedTuple):
    """One YAML text that stands alone beside its parts, and the bytes of those by their names in it."""

    yaml: str
    parts: dict[str, bytes]


def form_of(setup: Setup) -> SetupForm:
    """Return the form of a setup that was read from a file.

    A setup that names no other file keeps its text byte for byte. Raises InputError if it was not read from
    a file, or its files cannot be read any more.
    """
    if not setup.origin.file:
        cure = "Write it into a file and read that with overarm.load"
        raise InputError([Problem("the setup has no file to be kept", cure, key=setup.name)])
    file = Path(setup.origin.file)
    try:
        return _resolved(file)
    except OSError as error:
        cure = "Put the file back, and add it again"
        message = f"cannot be read: {error.strerror or error}"
        raise InputError([Problem(message, cure, str(error.filename or file))]) from error


def _resolved(file: Path) -> SetupForm:
    from ruamel.yaml import YAML

    from overarm.describe.reader import CARD_SUFFIXES, FILE_KEYS
    from overarm.describe.together import CARDS

    yaml = YAML(typ="rt", pure=True)
    yaml.width = WIDEST
    yaml.preserve_quotes = True
    yaml.indent(mapping=2, sequence=4, offset=2)
    text = file.read_text("utf-8-sig")
    data = yaml.load(text)
    folders = dict.fromkeys(CARDS, file.parent)
    changed = False
    for key in CARDS:
        name = data.get(key)
        if isinstance(name, str) and name.lower().endswith(CARD_SUFFIXES):
            card = file.parent / name
            data[key] = yaml.load(card.read_text("utf-8-sig"))
            folders[key] = card.parent
            changed = True
    parts: dict[str, bytes] = {}
    for card_key, key in FILE_KEYS:
        card_data: Any = data.get(card_key)
        name = card_data.get(key) if hasattr(card_data, "get") else None
        if isinstance(name, str):
            kept = f"{card_key}-{key}{Path(name).suffix}"
            parts[kept] = _bytes(folders[card_key] / name)
            card_data[key] = kept
            changed = True
    if not changed:
        return SetupForm(text, {})
    out = StringIO()
    yaml.dump(data, out)
    return SetupForm(out.getvalue(), parts)


def _bytes(file: Path) -> bytes:
    with file.open("rb") as stream:
        data = stream.read(MOST_PART_BYTES + 1)
    if len(data) > MOST_PART_BYTES:
        message = f"is larger than {MOST_PART_BYTES // 2**20} MiB, too large for a logbook"
        raise InputError([Problem(message, "Cut it to the field", str(file))])
    return data


def day_of(setup: Setup) -> dict[str, float]:
    """Return the conditions of the day: each measured or guessed value in SI units."""
    return {
        name.removeprefix("day."): quantity.value
        for name, quantity in setup.inputs()
        if name.startswith("day.")
    }


def thrower_of(setup: Setup) -> str:
    """Return who throws, in the words of the card; empty for a line or a card without a name."""
    return setup.thrower.person if setup.thrower is not None else ""
