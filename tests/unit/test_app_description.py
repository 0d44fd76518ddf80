"""The description of the workbench's interface: whole, closed in itself, and always the same bytes.

OpenAPI 3.1.0, section 4.8.30 (schemas) and 4.8.23 (references).
"""

from __future__ import annotations

import os
import runpy
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from overarm.app.api.answers import OWN, PUBLISHED
from overarm.app.build import interface

SHAPES = "#/components/schemas/"


@cache
def described() -> dict[str, Any]:
    return interface().openapi()


def parts(part: Any, place: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every object in the description with its place."""
    if isinstance(part, dict):
        yield place, part
        for key, inner in part.items():
            yield from parts(inner, f"{place}/{key}")
    elif isinstance(part, list):
        for number, inner in enumerate(part):
            yield from parts(inner, f"{place}/{number}")


def test_every_answer_has_its_shape() -> None:
    shapes = described()["components"]["schemas"]
    assert {*PUBLISHED, *OWN, "Job", "Problem", "Refusal", "AnyAnswer"} <= set(shapes)
    for name in PUBLISHED:
        assert shapes[name].get("properties") or shapes[name].get("oneOf"), name


def test_every_route_says_what_it_answers() -> None:
    for path, item in described()["paths"].items():
        for method, operation in item.items():
            good = [answer for status, answer in operation["responses"].items() if status.startswith("2")]
            assert good, f"{method} {path}"
            for answer in good:
                for content in answer.get("content", {}).values():
                    assert content["schema"], f"{method} {path}: an answer without a shape"


def test_every_reference_leads_somewhere() -> None:
    shapes = described()["components"]["schemas"]
    named = {part["$ref"] for _, part in parts(described()) if isinstance(part.get("$ref"), str)}
    assert {name.removeprefix(SHAPES) for name in named} <= set(shapes)


def test_no_object_is_left_without_a_shape() -> None:
    """A program that makes types of the description takes such an object for one that is always empty."""
    says = ("properties", "additionalProperties", "patternProperties", "oneOf", "anyOf", "allOf", "$ref")
    bare = [
        place
        for place, part in parts(described()["components"]["schemas"])
        if part.get("type") in ("object", ["object", "null"]) and not any(key in part for key in says)
    ]
    assert bare == []


def test_it_is_always_the_same(project: Path, tmp_path: Path) -> None:
    """Sets of texts come in another order with another hash seed; the description does not."""
    file = tmp_path / "openapi.json"
    words = [sys.executable, "docs/make_api.py", str(file)]
    subprocess.run(words, cwd=project, env={**os.environ, "PYTHONHASHSEED": "7"}, check=True)
    make = runpy.run_path(str(project / "docs" / "make_api.py"))["description"]
    assert file.read_text("utf-8") == make()
