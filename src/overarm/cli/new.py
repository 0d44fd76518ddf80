"""`overarm new`: a few questions, then a commented setup."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

MOST_ANSWER_BYTES = 100_000


def new(
    path: Annotated[Path, typer.Argument(help="Setup file to write (YAML).", show_default=False)],
    answers: Annotated[
        Path | None,
        typer.Option(help='File of answers, "mass: 640 g" on a line; nothing is asked.', show_default=False),
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Take every answer that is offered.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
) -> None:
    """Ask a few questions and write a commented setup. All else is guessed, and says so."""
    from overarm.cli.new_file import hold, put
    from overarm.describe.reader import load
    from overarm.describe.starter import setup_text
    from overarm.errors import InputError, Problem

    if path.exists() and not force:
        cure = "Give another name, or --force to write over it"
        raise InputError([Problem("is there already", cure, str(path))])
    try:
        told = _told(answers) if yes or answers is not None else _asked()
    except ValueError as error:
        reason, _, cure = str(error).partition("; ")
        line = _line_of(answers, reason.partition(":")[0])
        raise InputError([Problem(reason, cure[:1].upper() + cure[1:], str(answers or ""), line)]) from error
    text = setup_text(told)
    hold(text, path, load)
    put(text, path, over=force)
    typer.echo(f"{path}: written. Next: overarm check {path}")


def _told(file: Path | None) -> dict[str, str]:
    from overarm.describe.questions import answers_with

    return answers_with(_answer_lines(file) if file is not None else {})


def _answer_lines(file: Path) -> dict[str, str]:
    """Return the answers of a file with lines such as "mass: 640 g"; raises InputError."""
    from overarm.errors import InputError, Problem

    try:
        with file.open("rb") as source:
            data = source.read(MOST_ANSWER_BYTES + 1)
        text = data.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        problem = Problem("cannot be read as text", "Give a file of lines such as mass: 640 g", str(file))
        raise InputError([problem]) from error
    if len(data) > MOST_ANSWER_BYTES:
        raise InputError([Problem("is too large", "Give a few lines such as mass: 640 g", str(file))])
    found: dict[str, str] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        key, colon, answer = line.partition(":")
        if not colon:
            raise InputError([Problem("is not an answer", "Write it as mass: 640 g", str(file), number, 1)])
        found[key.strip()] = answer.strip()
    return found


def _line_of(file: Path | None, key: str) -> int:
    """Return the line on which a file of answers has a key; 0 if it has none."""
    lines = file.read_text("utf-8-sig").splitlines() if file is not None else []
    return next((k for k, line in enumerate(lines, 1) if line.partition(":")[0].strip() == key), 0)


def _asked() -> dict[str, str]:
    """Ask each question on the screen until its answer will do."""
    from overarm.describe.questions import STYLES, problem_with, questions

    typer.echo("Enter takes what stands in brackets. Write a number with its unit; add measured if it is.")
    found: dict[str, str] = {}
    for question in questions(found):
        if question.key == "style":
            for style, words in STYLES.items():
                typer.echo(f"  {style}: {words}")
        ask = f"{question.ask} ({', '.join(question.choices)})" if question.choices else question.ask
        while True:
            try:
                answer = str(typer.prompt(ask, default=question.offer(found))).strip()
            except typer.Abort:
                raise KeyboardInterrupt from None
            problem = problem_with(question, answer, found)
            if problem is None:
                found[question.key] = answer
                break
            typer.echo(f"  {answer}: {problem}")
    return found
