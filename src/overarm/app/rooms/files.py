"""Where the files of a task lie in its folder: names that the server gives, never the browser."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

SETUP = Path("setup.yaml")


def setup_of(changes: Mapping[str, str] | None = None) -> Setup:
    """Return the setup of a task, with some inputs changed. Raises InputError."""
    from overarm.describe.change import changed
    from overarm.describe.reader import load

    card = load(SETUP)
    return changed(card, changes) if changes else card


def setup_if_any() -> Setup | None:
    """Return the setup of a task, None if it has none. Raises InputError."""
    return setup_of() if SETUP.exists() else None


def given(options: Mapping[str, Any], role: str) -> list[Path]:
    """Return the files that were given in a role, such as "recording", in order."""
    return [Path(name) for name in options["files"].get(role, ())]


def one_given(options: Mapping[str, Any], role: str) -> Path | None:
    """Return the file that was given in a role; None if none was."""
    found = given(options, role)
    return found[0] if found else None
