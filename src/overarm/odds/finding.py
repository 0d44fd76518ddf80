"""What a finding is."""

from __future__ import annotations

from typing import Literal, NamedTuple

Word = Literal["good", "watch", "stop", "not known"]


class Finding(NamedTuple):
    """One check: its word, the numbers behind it, and a sentence for a person."""

    name: str
    word: Word
    sentence: str
    numbers: dict[str, float]
    combined: bool = False  # it looks at several settings together


def graded(value: float, good_from: float, watch_from: float) -> Word:
    """Return good, watch or stop for a figure of which more is better."""
    if value >= good_from:
        return "good"
    return "watch" if value >= watch_from else "stop"


def worst_word(*words: Word) -> Word:
    """Return the gravest of some words; not known is graver than good, and less than watch."""
    order: tuple[Word, ...] = ("stop", "watch", "not known", "good")
    return min(words, key=order.index)
