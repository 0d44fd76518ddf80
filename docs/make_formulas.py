"""Write both pages of formulas in docs/reference from the docstrings and the tests: `make docs`."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

PROJECT = Path(__file__).parent.parent
PAGE = Path(__file__).parent / "reference" / "formulas.md"
ABOVE = Path(__file__).parent / "reference" / "formulas-above.md"
GROUND = ("air", "earth", "exponent", "frames", "trig")
TESTS = ("verification", "property", "validation", "unit", "acceptance")
# The theory page of each room above the physics, or of a part of it: the longest beginning counts.
THEORY = {
    "describe.derived": "aerodynamics",
    "describe.derived.blade": "propeller",
    "describe.derived.propeller_file": "propeller",
    "describe.derived.drivetrain": "motor",
    "describe.derived.propulsion": "motor",
    "describe.derived.figures": "motor",
    "flight": "launch",
    "flight.draw": "random",
    "flight.rules": "random",
    "flight.inputs": "random",
    "flight.drive": "motor",
    "flight.forces": "flight",
    "flight.groups": "wind",
    "flight.paths": "way-home",
    "odds": "odds",
    "odds.checks": "checks",
    "odds.clear": "checks",
    "odds.facts": "checks",
    "odds.gather": "checks",
    "odds.closeness": "rare",
    "odds.measure": "sensitivity",
    "odds.mixture": "rare",
    "odds.rare": "rare",
    "odds.rerun": "sensitivity",
    "odds.sobol": "sensitivity",
    "gpu": "gpu",
    "settings": "settings",
    "settings.minimal": "traps",
    "settings.traps": "traps",
    "plan": "way-home",
    "recordings": "phases",
    "recordings.cue": "estimates",
    "recordings.cues": "phases",
    "recordings.estimates": "estimates",
    "recordings.mend": "cleaning",
    "recordings.propose": "cleaning",
    "recordings.replay": "trigger-room",
    "recordings.sound": "sound",
    "specimens": "specimens",
    "trigger": "trigger-room",
    "review": "review",
    "learn": "learning",
}
LEAST_SIGNS = 3  # products, quotients, powers, roots, angles: fewer are no formula
FUNCTIONS = {
    "arccos",
    "arcsin",
    "arctan2",
    "acos",
    "asin",
    "atan2",
    "cos",
    "exp",
    "hypot",
    "log",
    "log1p",
    "sin",
    "sqrt",
    "tan",
}
HEAD = """\
# Formulas: every function of the physics

Written from the code by `make docs`; do not edit. A symbol is named with its unit at its end (`airspeed_mps`,
`pitch_rad`); one without is a plain number or a record of them. *Held by* are the test files that call it,
those that compare with sources outside first; *held through* those that call what stands beside it, or what
uses it. How far each effect holds: [Symbols and valid ranges](../theory/ranges.md). The rooms above have
[a page of their own](formulas-above.md).

{count} functions in {modules} files; {held} are called by a test themselves.
"""


HEAD_ABOVE = """\
# Formulas of the rooms above the physics

Written from the code by `make docs`; do not edit. Each public function of these rooms with a formula in it
stands here with what it says of itself; the theory page of each file has equations, sources and ranges in one
piece. How it is written: [Formulas](formulas.md).

{count} functions in {modules} files; {held} are called by a test themselves.
"""


def modules() -> list[str]:
    """Return the dotted names of the modules of the physics."""
    physics = sorted((PROJECT / "src/overarm/physics").glob("[a-z]*.py"))
    return [*(f"overarm.{name}" for name in GROUND), *(f"overarm.physics.{file.stem}" for file in physics)]


def modules_above() -> list[str]:
    """Return the dotted names of the modules of the rooms above, in the order of `THEORY`."""
    rooms = dict.fromkeys(
        "describe.derived" if "." in name and name[:8] == "describe" else name.split(".")[0]
        for name in THEORY
    )
    source = PROJECT / "src"
    files = (
        file
        for room in rooms
        for file in sorted((source / "overarm" / room.replace(".", "/")).rglob("[a-z]*.py"))
    )
    return [".".join(file.relative_to(source).with_suffix("").parts) for file in files]


def theory_of(module: str) -> str:
    """Return the name of the theory page of a module of a room above."""
    name = module.removeprefix("overarm.")
    return THEORY[max((key for key in THEORY if name.startswith(key)), key=len)]


def signs(function: ast.FunctionDef) -> int:
    """Return how many products, quotients, powers and functions of mathematics a function has."""
    found = 0
    for node in ast.walk(function):
        if isinstance(node, ast.BinOp):
            found += isinstance(node.op, ast.Mult | ast.Div | ast.Pow | ast.MatMult)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            found += node.func.attr in FUNCTIONS
    return found


def tree_of(module: str) -> ast.Module:
    """Return the syntax tree of a module of ours."""
    return ast.parse((PROJECT / "src" / (module.replace(".", "/") + ".py")).read_text("utf-8"))


def functions(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    """Yield the public functions of a module."""
    return (node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name[0] != "_")


Holders = dict[tuple[str, str], list[str]]


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


@cache
def holders() -> Holders:
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


@cache
def users() -> dict[str, set[str]]:
    """Return module -> the modules of ours that take something from it."""
    found: dict[str, set[str]] = defaultdict(set)
    for file in (PROJECT / "src/overarm").rglob("*.py"):
        name = ".".join(file.relative_to(PROJECT / "src").with_suffix("").parts).removesuffix(".__init__")
        for module, part in called(ast.parse(file.read_text("utf-8"))):
            found[module].add(name)
            found[f"{module}.{part}"].add(name)
    return found


def through(module: str, tests: Holders) -> list[str]:
    """Return the test files that call what stands beside a function, or else what uses its module."""
    seen: set[str] = set()
    level = {module}
    while level:
        by = {
            name
            for (place, part), names in tests.items()
            if place in level and part.islower()
            for name in names
        }
        if by:
            return sorted(by, key=lambda name: (TESTS.index(name.split("/")[0]), name))
        seen |= level
        level = {user for one in level for user in users()[one]} - seen
    return []


class Written(NamedTuple):
    """The lines of one module: how many functions, and how many of them a test calls itself."""

    lines: list[str]
    held: int


def written(module: str, chosen: Iterable[ast.FunctionDef], tests: Holders) -> Written:
    """Return what a page says of some functions of a module."""
    lines, held = [], 0
    for function in chosen:
        by = tests.get((module, function.name), [])
        names = ", ".join(f"`{name}`" for name in (by or through(module, tests))[:3])
        how = "by" if by else "through"
        lines.append(f"- {symbols(function)}: {said(function)}\n  *Held {how}* {names}")
        held += bool(by)
    return Written(lines, held)


def page_of(head: str, found: dict[str, Written], about: Callable[[str], str]) -> str:
    """Return a whole page: its head, and a part for each module that has something."""
    found = {module: part for module, part in found.items() if part.lines}
    counts = {
        "count": sum(len(part.lines) for part in found.values()),
        "held": sum(part.held for part in found.values()),
        "modules": len(found),
    }
    parts = (
        f"## `{name}`\n\n{about(name)}\n\n" + "\n".join(part.lines) + "\n" for name, part in found.items()
    )
    return "\n".join([head.format(**counts), *parts])


def described(module: str) -> str:
    """Return the docstring of a module."""
    return (ast.get_docstring(tree_of(module)) or "").replace("``", "`")


def formulas_page() -> str:
    """Return the page of the physics."""
    tests = holders()
    return page_of(
        HEAD, {name: written(name, functions(tree_of(name)), tests) for name in modules()}, described
    )


def above_page() -> str:
    """Return the page of the rooms above."""
    tests, found = holders(), {}
    for name in modules_above():
        chosen = (function for function in functions(tree_of(name)) if signs(function) >= LEAST_SIGNS)
        found[name] = written(name, chosen, tests)

    def about(name: str) -> str:
        page = theory_of(name)
        first = described(name).split("\n\n")[0]
        return f"{first}\n\n*Theory*: [{page.replace('-', ' ')}](../theory/{page}.md)"

    return page_of(HEAD_ABOVE, found, about)


if __name__ == "__main__":
    PAGE.write_text(formulas_page(), "utf-8")
    ABOVE.write_text(above_page(), "utf-8")
