"""The scripts of the field pack put into one, in the order in which they need each other.

The files in ``templates/field`` are plain modules: each can be read and tested alone. A page opened from
a file may load no other file, so `bundled` takes the import lines out and sets them one after another.
"""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

ROOM = Path(__file__).parent / "templates" / "field"
FIRST = "main.js"
_IMPORT = re.compile(r'^import \{[^}]*\} from "\./([a-z_]+\.js)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=function |const |let |async )", re.MULTILINE)
_NAME = re.compile(r"^(?:export )?(?:async )?(?:function|const|let) (\w+)", re.MULTILINE)


def modules(first: str = FIRST) -> dict[str, str]:
    """Return the text of each module that `first` needs, those that others need before them."""
    found: dict[str, str] = {}
    open_: list[str] = []

    def take(name: str) -> None:
        if name in found:
            return
        if name in open_:
            raise ValueError(f"{' > '.join([*open_, name])}: modules need each other in a circle")
        open_.append(name)
        text = (ROOM / name).read_text("utf-8")
        for needed in _IMPORT.findall(text):
            take(needed)
        open_.pop()
        found[name] = text

    take(first)
    return found


def bundled() -> str:
    """Return all modules as one. ValueError if two give the same name, or need each other in a circle."""
    owner: dict[str, str] = {}
    parts = []
    for name, text in modules().items():
        for given in _NAME.findall(text):
            if owner.setdefault(given, name) != name:
                raise ValueError(f"{given} is in {owner[given]} and in {name}")
        parts.append(_EXPORT.sub("", _IMPORT.sub("", text)).strip())
    return "\n".join(parts) + "\n"


def source_hash(text: str) -> str:
    """Return the hash of an inline script or style as a content security policy names it."""
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
