"""Bodies of requests to the workbench: what each path makes of any JSON, and tasks that are done at once."""

from __future__ import annotations

import json
import os
from functools import cache
from pathlib import Path
from typing import Any

from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from pydantic import BaseModel, TypeAdapter, ValidationError

from fuzz.door import PROJECT, TALLY, folder, hold_words
from overarm.errors import InputError

LONGEST = 2_048
TASKS = ("convert", "rewrite", "questions", "start")  # of `overarm.app.rooms.describe`
WORDS = (
    b'"setup": ', b'"text": ', b'"files": ', b'"changes": ', b'"comments": ', b'"answers": ', b'"amount": ',
    b'"dimension": ', b'"unit": ', b'"digits": ', b'"seed": ', b'"launches": ', b'"settings.start_wait"',
    b'"0.7 s"', b'"none"', b"null", b"1e999", b"9007199254740993", b"\\ud800", b"\\u0000", b'"mass"',
    b'"640 g"', b'"name"', b"true", b"[]", b"{}",
)  # fmt: skip


@cache
def forms() -> tuple[tuple[str, TypeAdapter[Any]], ...]:
    """Return the path and the form of every request that has a body."""
    from overarm.app.build import ROOMS

    routes = [route for room in ROOMS for route in room.router.routes if isinstance(route, APIRoute)]
    found = [
        (route.path, TypeAdapter(route.body_field.field_info.annotation))
        for route in routes
        if route.body_field is not None
    ]
    return tuple(sorted(found, key=lambda item: item[0]))


def seeds() -> list[bytes]:
    """Return bodies: the first byte says which path, or which task."""
    setup = {"text": (PROJECT / "examples/a-sparrow.yaml").read_text("utf-8")[:700], "files": {}}
    bodies: list[Any] = [
        {"setup": setup, "changes": {"settings.start_wait": "0.7 s"}, "comments": {}},
        {"amount": "640 g", "dimension": "mass", "unit": "oz", "digits": 4},
        {"answers": {"name": "x", "style": "throw-started", "mass": "0.6 kg"}},
        {"setup": setup, "changes": {}, "seed": 1, "launches": 100},
        {"name": "x", "text": "y", "files": {"a.csv": "0" * 32}, "revision": 3},
    ]
    told = [json.dumps(body).encode("utf-8") for body in bodies]
    return [bytes([k % 256]) + told[k % len(told)] for k in range(40)]


def run(data: bytes) -> None:
    """Hold the refusal of a path, or do a task with options that have its form."""
    which, body = (data[0] if data else 0), data[1:]
    path, form = forms()[which % len(forms())]
    try:
        made = form.validate_json(body)
    except ValidationError as error:
        _hold_refusal(error)
        return
    if isinstance(made, BaseModel):
        json.dumps(made.model_dump(mode="json"), allow_nan=False).encode("utf-8")
    task = path.removeprefix("/api/describe/")
    if task in TASKS:
        _do(task, made.model_dump())


def _hold_refusal(error: ValidationError) -> None:
    """Hold what the application says of a body that has not the form."""
    import asyncio

    from overarm.app.build import _unusable

    told = RequestValidationError([{**item, "loc": ("body", *item["loc"])} for item in error.errors()])
    answer = asyncio.run(_unusable(None, told))  # type: ignore[arg-type]
    TALLY["refusals"] += 1
    assert answer.status_code == 422
    problems = json.loads(bytes(answer.body))["problems"]
    assert problems
    assert all(problem["message"] for problem in problems)


def _do(task: str, options: dict[str, Any]) -> None:
    """Do a task as a process of the workbench does it, in a folder of its own."""
    from overarm.app.rooms import describe

    setup = options.pop("setup", None)
    here = Path.cwd()
    os.chdir(folder())
    try:
        if setup is not None:
            Path("setup.yaml").write_bytes(setup["text"].encode("utf-8"))
        answer = getattr(describe, task)(None, options)
        json.dumps(answer.data, allow_nan=False).encode("utf-8")
    except InputError as error:
        hold_words(error)
    finally:
        os.chdir(here)
