"""The pages as the build of ``web/`` wrote them: one page for every room, and the files that it loads.

They are read once, at the start. A request can only name what was there then; no path of it is ever opened.
"""

from __future__ import annotations

import gzip
from functools import cached_property
from pathlib import Path

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from overarm.app.guard.headers import FOREVER
from overarm.app.problems import Refused

PAGES = Path(__file__).parent / "pages"
PAGE, ASSETS = "index.html", "assets"
# Each room has a path of its own, which the page itself looks at.
PATHS = (
    "/", "/describe", "/odds", "/settings", "/trigger", "/plan", "/field", "/review", "/learn", "/logbook",
    "/rehearsal", "/compare", "/jobs",
)  # fmt: skip
# What the build may write, and whether packing it saves anything.
TYPES = {
    ".js": ("text/javascript", True), ".css": ("text/css", True), ".svg": ("image/svg+xml", True),
    ".json": ("application/json", True), ".png": ("image/png", False), ".woff2": ("font/woff2", False),
    ".woff": ("font/woff", False),
}  # fmt: skip
PACK_FROM_BYTES = 500
NOT_FOUND = 404


class Asset:
    """A file that the page loads: its name has a hash of its content in it, so it never changes."""

    def __init__(self, file: Path) -> None:
        self.media, self.packable = TYPES[file.suffix]
        self.body = file.read_bytes()

    @cached_property
    def packed(self) -> bytes:
        """Return it as gzip (RFC 1952), packed when it is first asked for."""
        return gzip.compress(self.body, 9, mtime=0)

    def answer(self, taken: str) -> Response:
        """Return it for a browser that takes the encodings of an ``Accept-Encoding``."""
        headers = {"cache-control": FOREVER, "vary": "accept-encoding"}
        body = self.body
        if self.packable and len(body) >= PACK_FROM_BYTES and "gzip" in taken:
            headers["content-encoding"] = "gzip"
            body = self.packed
        return Response(body, media_type=self.media, headers=headers)


def is_built(folder: Path) -> bool:
    """Return whether a folder holds the pages."""
    return (folder / PAGE).is_file()


def pages_router(folder: Path) -> APIRouter:
    """Return the routes of the pages in a folder."""
    router = APIRouter(include_in_schema=False)
    page = (folder / PAGE).read_bytes()
    assets = {file.name: Asset(file) for file in (folder / ASSETS).iterdir() if file.suffix in TYPES}

    async def room() -> Response:
        return HTMLResponse(page)

    for path in PATHS:
        router.add_api_route(path, room, methods=["GET"])

    @router.get(f"/{ASSETS}/{{name}}")
    def asset(name: str, request: Request) -> Response:
        found = assets.get(name)
        if found is None:
            raise Refused(NOT_FOUND, "there is no such file", "Load the page again")
        return found.answer(request.headers.get("accept-encoding", ""))

    return router
