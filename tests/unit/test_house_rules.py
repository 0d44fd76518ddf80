"""The house rules that a linter does not hold: sizes of files, functions and argument lists.

Which room may import which is held by import-linter (``make lint``).
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

FILE_LINES = 400
FILE_LINES_AT_MOST = 600
FUNCTION_LINES = 60
ARGUMENTS = 8

# Files over FILE_LINES (never over FILE_LINES_AT_MOST), each with why it is better whole.
LONG_FILES: dict[str, str] = {}

PROJECT = Path(__file__).resolve().parents[2]
SOURCES = sorted(
    file
    for room in ("src", "tests", "benchmarks", "fuzz")
    for file in (PROJECT / room).rglob("*.py")
    if "__pycache__" not in file.parts
)

Function = ast.FunctionDef | ast.AsyncFunctionDef


def name_of(file: Path) -> str:
    return file.relative_to(PROJECT).as_posix()


def functions(tree: ast.AST) -> Iterator[Function]:
    return (node for node in ast.walk(tree) if isinstance(node, Function))


def statement_lines(function: Function) -> int:
    """Count the lines from `def` to the end, less the docstring."""
    first, last = function.lineno, function.end_lineno or function.lineno
    if ast.get_docstring(function, clean=False) is None:
        return last - first + 1
    words = function.body[0]
    return last - first + 1 - ((words.end_lineno or words.lineno) - words.lineno + 1)


def argument_count(function: Function) -> int:
    """Count the arguments a caller can give; `self` and `cls` are not given by a caller."""
    given = function.args
    named = [argument.arg for argument in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
    return len(named) - (1 if named[:1] in (["self"], ["cls"]) else 0)


def test_every_room_is_looked_at() -> None:
    assert (PROJECT / "src/overarm/__init__.py") in SOURCES
    assert Path(__file__).resolve() in SOURCES


@pytest.mark.parametrize("file", SOURCES, ids=name_of)
def test_sizes(file: Path) -> None:
    text = file.read_text("utf-8")
    lines = text.count("\n")
    most = FILE_LINES_AT_MOST if name_of(file) in LONG_FILES else FILE_LINES
    assert lines <= most, f"{name_of(file)} has {lines} lines; {most} at most: split it by what it is about"

    found = []
    for function in functions(ast.parse(text)):
        place = f"{name_of(file)}:{function.lineno} {function.name}"
        if statement_lines(function) > FUNCTION_LINES:
            found.append(f"{place}: {statement_lines(function)} lines, {FUNCTION_LINES} at most")
        is_test = function.name.startswith("test_")  # a test's arguments are fixtures
        if argument_count(function) > ARGUMENTS and not is_test:
            found.append(f"{place}: {argument_count(function)} arguments, {ARGUMENTS} at most: make a record")
    assert not found, "\n".join(found)


def test_long_files_are_still_long() -> None:
    """A file that has been split leaves the list of long ones."""
    short = [
        name
        for name in LONG_FILES
        if not (PROJECT / name).is_file() or (PROJECT / name).read_text("utf-8").count("\n") <= FILE_LINES
    ]
    assert not short


def test_the_counting() -> None:
    """The counters count what they say (an invented function, counted by hand)."""
    text = 'class A:\n def f(self, a, /, b, *, c):\n  """One\n  two."""\n  x = 1\n  return x\n'
    (function,) = functions(ast.parse(text))
    assert argument_count(function) == 3
    assert statement_lines(function) == 3
