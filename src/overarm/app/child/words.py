"""What a process and the server say to each other: one letter, then JSON."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import PurePath
from typing import Any

from overarm.errors import Problem

PROGRESS, ANSWER, REFUSED, CANCELLED, FAULT, NO_MEMORY = b"P", b"A", b"R", b"C", b"F", b"M"
# What a command tells to type, and what is done on the page instead.
_ON_THE_PAGE = (
    (r"Draft a mapping with `overarm review [^`]+` and confirm each line", "Say below what each column is"),
    (r"; docs/reference/recording-mapping\.md says how", ""),
    (
        r"Give --map MAPPING; draft one with overarm readback --new-map MAPPING",
        "Say first which name is which",
    ),
    (r"as `overarm readback --new-map` does", "as the ties above are written"),
    (r" into a new one with --book", ""),
)


def no_memory() -> Problem:
    """Return that there was too little memory."""
    return Problem("needs more memory than the workbench gives it", "Give a smaller file, or use the command")


def _on_the_page(text: str) -> str:
    for typed, pressed in _ON_THE_PAGE:
        text = re.sub(typed, pressed, text)
    return text


def told(problems: Sequence[Problem], folder: str) -> list[dict[str, Any]]:
    """Return problems for another machine: files by their names, nothing of where they lie here."""

    def bare(text: str) -> str:
        return _on_the_page(text.replace(f"{folder}/", "").replace(folder, ""))

    found = []
    for item in problems:
        name = PurePath(item.file).name if item.file else ""
        words = {key: bare(getattr(item, key)) for key in ("message", "cure", "value")}
        found.append({**asdict(item), **words, "file": name})
    return found
