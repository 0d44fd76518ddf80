"""How the interface is described: refusals that every route may give, and the answers of the commands."""

from __future__ import annotations

from typing import Any

from overarm.app.jobs.record import Job
from overarm.app.problems import MEDIA

_REFUSAL = {MEDIA: {"schema": {"$ref": "#/components/schemas/Refusal"}}}
_REASONS = {
    400: "The request cannot be read.",
    401: "The workbench does not know you.",
    403: "The request comes from elsewhere.",
    404: "There is no such thing.",
    405: "That cannot be done to it.",
    408: "The body comes too slowly.",
    409: "It is in another state.",
    413: "The body is too large.",
    421: "This is not a name of the workbench.",
    422: "The input cannot be used; problems say why, where, and what would be right.",
    500: "It failed for a reason that is not your input.",
    503: "Too much waits.",
    507: "There is no room.",
}
Said = dict[int | str, dict[str, Any]]
REFUSALS: Said = {status: {"description": why, "content": _REFUSAL} for status, why in _REASONS.items()}
STARTED: Said = {
    200: {"model": Job, "description": "The same work was asked for before: its job."},
    202: {"model": Job, "description": "A new job."},
}


def answer(schema: str, words: str = "The answer.") -> Said:
    """Return the description of an answer by the name of its schema."""
    content = {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}}
    return {200: {"description": words, "content": content}}


def download(media: str = "application/octet-stream") -> Said:
    """Return the description of a file."""
    content = {media: {"schema": {"type": "string", "format": "binary"}}}
    return {200: {"description": "The file.", "content": content}}
