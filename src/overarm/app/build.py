"""The application: rooms of the interface, errors in one form, its description, the guard around it."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.types import Lifespan

import overarm
from overarm.app import start_page
from overarm.app.api import (
    about,
    describe,
    drafts,
    field,
    jobs,
    learn,
    logbook,
    odds,
    plan,
    review,
    settings,
    trigger,
    uploads,
)
from overarm.app.api.answers import answer_schemas
from overarm.app.api.described import REFUSALS
from overarm.app.bench import Workbench
from overarm.app.built_pages import PAGES, is_built, pages_router
from overarm.app.guard.asgi import App
from overarm.app.guard.token import Keys
from overarm.app.guard.wall import Address, guarded
from overarm.app.jobs.queue import OURS
from overarm.app.problems import ANSWER_SCHEMA, PROBLEM_SCHEMA, Refused, refusal
from overarm.errors import Problem

ROOMS = (
    about, describe, odds, settings, trigger, plan, field, review, learn, logbook, uploads, drafts, jobs,
)  # fmt: skip
UNUSABLE, OUR_FAULT = 422, 500
LONGEST_VALUE, MOST_TOLD = 60, 40


def build(workbench: Workbench, address: Address, keys: Keys, pages: Path = PAGES) -> App:
    """Return the whole application behind its guard; it ends the workbench's processes when it ends."""

    @asynccontextmanager
    async def life(_app: FastAPI) -> AsyncIterator[None]:
        yield
        workbench.close()

    app = interface(life)
    app.state.workbench = workbench
    app.include_router(pages_router(pages) if is_built(pages) else start_page.router)
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _unusable)
    app.add_exception_handler(Exception, _our_fault)
    return guarded(app, address, keys, workbench.limits)


def interface(life: Lifespan[FastAPI] | None = None) -> FastAPI:
    """Return the interface of every room, as it describes itself; without a workbench it answers nothing."""
    app = FastAPI(
        title="Overarm workbench",
        version=overarm.__version__,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        responses=REFUSALS,
        lifespan=life,
    )
    for room in ROOMS:
        app.include_router(room.router)
    _describe(app)
    return app


def _describe(app: FastAPI) -> None:
    """Put the shapes of answers and refusals into the description."""
    plain = app.openapi

    def whole() -> dict[str, Any]:
        if app.openapi_schema is None:
            described = plain()
            shapes = described.setdefault("components", {}).setdefault("schemas", {})
            shapes |= {"Problem": PROBLEM_SCHEMA, "Refusal": ANSWER_SCHEMA, **answer_schemas()}
        assert app.openapi_schema is not None
        return app.openapi_schema

    app.openapi = whole  # type: ignore[method-assign]


async def _refused(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if isinstance(error, Refused):
        return refusal(error.status_code, error.problems)
    answer = refusal(error.status_code, str(error.detail), "See /api/openapi.json")
    answer.headers.update(error.headers or {})
    return answer


async def _unusable(_request: Request, error: Exception) -> Response:
    """Say what of a request does not have the form that is described."""
    assert isinstance(error, RequestValidationError)
    problems = []
    for item in error.errors()[:MOST_TOLD]:
        key = ".".join(str(part) for part in item["loc"][1:])
        value = item.get("input")
        shown = "" if isinstance(value, dict | list | bytes) or value is None else str(value)[:LONGEST_VALUE]
        problems.append(Problem(item["msg"], "See /api/openapi.json", key=_plain(key), value=_plain(shown)))
    return refusal(UNUSABLE, problems)


async def _our_fault(_request: Request, _error: Exception) -> Response:
    return refusal(OUR_FAULT, [OURS])


def _plain(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)
