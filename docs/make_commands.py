"""Write docs/reference/options.md from what each command prints: `make docs`. A test holds the page to it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import typer
from typer.testing import CliRunner

from overarm.cli import app

PAGE = Path(__file__).parent / "reference" / "options.md"
HEAD = """\
# Options: every command in full

Written from the commands by `make docs`; do not edit. It is what `--help` prints. What the commands are for,
and their exit codes: [Commands and exit codes](commands.md).
"""


def names() -> Iterator[tuple[str, ...]]:
    """Yield the words of each command in the order of the work, the logbook's own commands after it."""
    commands = typer.main.get_group(app)
    for name in commands.list_commands(typer.Context(commands)):
        yield (name,)
        inner = getattr(commands.commands[name], "commands", {})
        yield from ((name, each) for each in inner)


def help_of(words: tuple[str, ...]) -> str:
    """Return what a command prints with --help, 96 letters wide."""
    shown = CliRunner().invoke(app, [*words, "--help"], prog_name="overarm", terminal_width=96, color=False)
    return shown.output.strip()


def options_page() -> str:
    """Return the whole page."""
    parts = [f"## overarm {' '.join(words)}\n\n```text\n{help_of(words)}\n```\n" for words in names()]
    return "\n".join([HEAD, *parts])


if __name__ == "__main__":
    PAGE.write_text(options_page(), "utf-8")
