"""The start page where the pages are not built: plain HTML that says so, and where the interface is."""

from __future__ import annotations

import html

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

import overarm
from overarm.app.built_pages import PATHS

router = APIRouter(include_in_schema=False)

STYLE = """\
:root { color-scheme: light dark; --paper: #f7f3ea; --ink: #23211d; --rust: #9c3b16; }
@media (prefers-color-scheme: dark) { :root { --paper: #1d1b18; --ink: #ece6da; --rust: #f0946a; } }
body { margin: 0 auto; max-width: 42rem; padding: 2rem 1.2rem; background: var(--paper); color: var(--ink);
  font: 1.05rem/1.55 system-ui, sans-serif; }
a { color: var(--rust); }
code { overflow-wrap: anywhere; }
"""
PAGE = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Overarm workbench</title>
<link rel="stylesheet" href="/start.css">
</head>
<body>
<main>
<h1>Overarm workbench</h1>
<p>Version {version}. This server runs on one machine and asks nothing of any other.</p>
<p>It gives the answers of the commands as an interface for programs, at <code>{api}</code>;
its description is <a href="/api/openapi.json">/api/openapi.json</a>.</p>
<p>The pages of the rooms are not built here. Run <code>make web</code> in the folder of the sources, end this
server and start it again; or use the commands, or a program that speaks to the interface.</p>
<p>Setups, uploads and answers stay in your data folder. Ctrl-C in the terminal ends it.</p>
<p>The tool gives odds from a model; you decide.</p>
</main>
</body>
</html>
"""


def start(request: Request) -> Response:
    """Give the page."""
    api = html.escape(f"{request.url.scheme}://{request.url.netloc}/api")
    return HTMLResponse(PAGE.format(version=html.escape(overarm.__version__), api=api))


for path in PATHS:
    router.add_api_route(path, start, methods=["GET"])


@router.get("/start.css")
def style() -> Response:
    """Give its style."""
    return Response(STYLE, media_type="text/css")
