"""Questions at a terminal for a new mapping."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import typer

from overarm.errors import InputError, Problem

NONE = "-"
Answer = TypeVar("Answer")


def ask(question: Callable[[], Answer], by_hand: str) -> Answer:
    """Return an answer.

    Parameters: what asks; what to do where nobody answers. Raises InputError if nobody is there to answer,
    KeyboardInterrupt if it was cancelled.
    """
    try:
        return question()
    except typer.Abort:
        if sys.stdin is not None and sys.stdin.isatty():
            raise KeyboardInterrupt from None
        raise InputError(
            [Problem("a new mapping needs answers, and nobody gives them here", by_hand)]
        ) from None


def ask_yes(question: str, by_hand: str, *, default: bool = False) -> bool:
    """Return True for yes. Raises as `ask`."""
    return ask(lambda: typer.confirm(question, default=default), by_hand)


def ask_text(question: str, default: str, by_hand: str) -> str:
    """Return a text without blanks around it. Raises as `ask`."""
    return str(ask(lambda: typer.prompt(question, default=default), by_hand)).strip()


def may_write(path: Path, by_hand: str) -> bool:
    """Return True if a file is there and may be written over, False if there is none.

    Raises InputError if it is there and must stay, or as `ask`.
    """
    force = path.exists()
    if force and not ask_yes(f"{path} is there already. Write over it?", by_hand):
        raise InputError([Problem("is there already", "Give another name", str(path))])
    return force
