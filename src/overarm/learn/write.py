"""Write a new setup with what was learned; the old one is never touched."""

from __future__ import annotations

from pathlib import Path

from overarm.describe.rewrite import check_new, rewritten, write_new
from overarm.errors import InputError, Problem
from overarm.learn.result import LearnResult


def check_target(setup_file: Path, target: Path) -> None:
    """Refuse a new setup that could not be written, before anything is computed. Raises InputError."""
    check_new(setup_file, target)


def write_setup(setup_file: Path, target: Path, result: LearnResult) -> None:
    """Write a setup with the learned values, each with a comment that says what stands behind it.

    Comments, order and everything else stay. Raises InputError if there is nothing to write, or if the
    file cannot be written.
    """
    cards = result.cards
    if not cards.changes:
        cure = "Give evidence that speaks of a card"
        raise InputError([Problem("would hold nothing new", cure, str(target))])
    write_new(setup_file, target, rewritten(setup_file, cards.changes, cards.comments))
