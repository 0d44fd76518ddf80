"""Write docs/reference/formulas.md from the docstrings of the physics and from the tests: `make docs`."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

PROJECT = Path(__file__).parent.parent
PAGE = Path(__file__).parent / "reference" / "formulas.md"
GROUND = ("air", "earth", "frames")
TESTS = ("verification", "property", "validation", "unit")
HEAD = """\
# Formulas: every function of the physics

Written from the code by `make docs`; do not edit. A symbol is named with its unit at its end (`airspeed_mps`,
`pitch_rad`); one without is a plain number or a record of them. *Held by* are the test files that call it,
those that compare with sources outside first; a function that only others call is held through these. How far
each effect holds: [Symbols and valid ranges](../theory/ranges.md).

{count} functions in {modules} files; {held} are called by a test themselves.
"""


def modules() -> list[str]:
    """Return the dotted names of the modules that hold formulas."""
    physics = sorted((PROJECT / "src/overarm/physics").glob("[a-z]*.py"))
    return [*(f"overarm.{name}" for name in GROUND), *(f"overarm.physics.{file.stem}" for file in physics)]


def tree_of(module: str) -> ast.Module:
    """Return the syntax tree of a module of ours."""
    return ast.parse((PROJECT / "src" / (module.replace(".", "/") + ".py")).read_text("utf-8"))


def functions(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    """Yield the public functions of a module."""
    return (node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name[0] != "_")


def called(tree: ast.Module) -> set[tuple[str, str]]:
    """Return (module, name) of whatever of ours a test file takes."""
    found: set[tuple[str, str]] = set()
    short: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("overarm"):
            for name in node.names:
                found.add((node.module or "", name.name))
                short[name.asname or name.name] = f"{node.module}.{name.name}"
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in short:
            found.add((short[node.value.id], node.attr))
    return found


def holders() -> dict[tuple[str, str], list[str]]:
    """Return (module, function) -> names of the test files that call it."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for folder in TESTS:
        for file in sorted((PROJECT / "tests" / folder).glob("test_*.py")):
            for key in called(ast.parse(file.read_text("utf-8"))):
                found[key].append(f"{folder}/{file.stem}")
    return found


def plain(text: str) -> str:
    """Return text for an entry of a list: one line, code as code, a star as a star."""
    return re.sub(r"\s+", " ", text).strip().replace("``", "`").replace(" * ", " \\* ")


def said(function: ast.FunctionDef) -> str:
    """Return what a docstring says, without the headings of sections."""
    words = (ast.get_docstring(function) or "").removeprefix("Return ")
    return plain(re.sub(r"\n\n(Raises|Parameters|Returns|Notes)\n-+\n.*", "", words, flags=re.DOTALL))


def symbols(function: ast.FunctionDef) -> str:
    """Return the function with the names of its arguments."""
    return f"`{function.name}({', '.join(argument.arg for argument in function.args.args)})`"


def formulas_page() -> str:
    """Return the whole page."""
    tests, parts, count, held, files = holders(), [], 0, 0, 0
    for module in modules():
        tree = tree_of(module)
        lines = []
        for function in functions(tree):
            by = tests.get((module, function.name), [])
            names = ", ".join(f"`{name}`" for name in by[:3]) or "its callers."
            lines.append(f"- {symbols(function)}: {said(function)}\n  *Held by* {names}")
            count, held = count + 1, held + bool(by)
        if lines:
            files += 1
            about = (ast.get_docstring(tree) or "").replace("``", "`")
            parts.append(f"## `{module}`\n\n{about}\n\n" + "\n".join(lines) + "\n")
    return "\n".join([HEAD.format(count=count, modules=files, held=held), *parts])


if __name__ == "__main__":
    PAGE.write_text(formulas_page(), "utf-8")
