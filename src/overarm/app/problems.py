"""Answers that say what is wrong, as RFC 9457 asks: application/problem+json, with our list of problems."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from http import HTTPStatus
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from overarm.errors import Problem

MEDIA = "application/problem+json"
# The shape of each such answer, for the description of the interface.
_TEXT = {"type": "string"}
_COUNT = {"type": "integer", "minimum": 0}
PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "title": "Problem",
    "required": ["message", "cure", "file", "line", "column", "key", "value"],
    "properties": {
        "message": _TEXT, "cure": _TEXT, "file": _TEXT, "line": _COUNT, "column": _COUNT, "key": _TEXT,
        "value": _TEXT,
    },
    "additionalProperties": False,
}  # fmt: skip
ANSWER_SCHEMA: dict[str, Any] = {
    "type": "object",
    "title": "Refusal",
    "required": ["type", "title", "status", "detail", "problems"],
    "properties": {
        "type": _TEXT,
        "title": _TEXT,
        "status": {"type": "integer"},
        "detail": _TEXT,
        "problems": {"type": "array", "items": {"$ref": "#/components/schemas/Problem"}},
    },
}


class Refused(HTTPException):
    """A request that is not answered, with the reason and the cure."""

    def __init__(self, status: int, problems: Sequence[Problem] | str, cure: str = "") -> None:
        if isinstance(problems, str):
            problems = [Problem(problems, cure)]
        self.problems = tuple(problems)
        super().__init__(status, "; ".join(str(problem) for problem in self.problems))


def problem_body(status: int, problems: Sequence[Problem]) -> bytes:
    """Return the body of an answer that refuses."""
    answer = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": "; ".join(str(problem) for problem in problems),
        "problems": [asdict(problem) for problem in problems],
    }
    return json.dumps(answer).encode("utf-8")


def refusal(status: int, problems: Sequence[Problem] | str, cure: str = "") -> Response:
    """Return an answer that refuses."""
    found = [Problem(problems, cure)] if isinstance(problems, str) else problems
    return Response(problem_body(status, found), status, media_type=MEDIA)
