"""Errors that a person can act on: where, what, and what would be right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with an input."""

    message: str
    cure: str
    file: str = ""
    line: int = 0  # from 1; 0 if there is none
    column: int = 0
    key: str = ""
    value: str = ""

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line, self.column) if part)
        got = f" (got {self.value})" if self.value else ""
        said = ": ".join(part for part in (place, self.key, f"{self.message}{got}") if part)
        whole = f"{said}. {self.cure}".strip() if self.cure else said
        # What was read may hold anything; a screen gets one line of letters.
        return "".join(letter if letter.isprintable() else "?" for letter in whole)


class InputError(Exception):
    """Input that cannot be used; carries every problem found."""

    def __init__(self, problems: Iterable[Problem] | str) -> None:
        if isinstance(problems, str):
            problems = [Problem(problems, "")]
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UnphysicalError(InputError):
    """Input that is well written but describes something that cannot be or fly."""


class Cancelled(Exception):
    """Somebody asked long work to end before it had anything to say."""
