"""What a browser gets for the addresses of pages and their files, and that no address reaches anything else.

Held against RFC 9111 (caching), RFC 8246 (immutable), RFC 9110 (Accept-Encoding, Vary), IANA's media types.
"""

from __future__ import annotations

import asyncio
import gzip
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from overarm.app.built_pages import PAGES, PATHS
from tests.workbench import BASE, PORT, Inside

SCRIPT = b"export const odds = 0.5;\n" * 100
FILES = {
    "index-DTKaL84i.js": SCRIPT,
    "tiny-a0AnQzuD.js": b"1;",
    "index-DjtvuiWV.css": b"a { color: red }\n" * 100,
    "fira-66xCkunx.woff2": b"wOF2" + bytes(2000),
    "fira-66xCkunx.woff": b"wOFF" + bytes(2000),
    "mark-DJ-VMmTF.svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>" * 20,
    "wing-DJ-VMmTF.png": b"\x89PNG" + bytes(2000),
    "words-DJ-VMmTF.json": b'{"a": 1}' * 100,
}
TYPES = {  # IANA media types; WHATWG HTML asks for text/javascript
    ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".woff2": "font/woff2",
    ".woff": "font/woff", ".svg": "image/svg+xml", ".png": "image/png", ".json": "application/json",
}  # fmt: skip
PAGE = "<!doctype html><title>Built</title>"


@pytest.fixture(scope="module")
def inside(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Inside]:
    folder = tmp_path_factory.mktemp("pages")
    (folder / "assets" / "inner").mkdir(parents=True)
    (folder / "index.html").write_text(PAGE)
    (folder / "secret.js").write_text("secret")
    (folder / "assets" / "inner" / "secret.js").write_text("secret")
    (folder / "assets" / "secret.py").write_text("secret")
    for name, body in FILES.items():
        (folder / "assets" / name).write_bytes(body)
    made = Inside(tmp_path_factory.mktemp("data"), pages=folder)
    (folder / "assets" / "later-DTKaL84i.js").write_text("secret")
    yield made
    made.close()


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Inside]:
    made = Inside(tmp_path_factory.mktemp("bare"), pages=tmp_path_factory.mktemp("no-pages"))
    yield made
    made.close()


def got(inside: Inside, path: str, headers: dict[str, str] | None = None) -> httpx.Response:
    async def go() -> httpx.Response:
        async with inside.client({**inside.known, **(headers or {})}) as client:
            return await client.get(path)

    return asyncio.run(go())


def raw(inside: Inside, path: str) -> tuple[int, bytes]:
    """Ask for a path to the letter, as a program would that is no browser; the server has decoded it."""
    said: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        said.append(message)

    headers = [(b"host", f"127.0.0.1:{PORT}".encode()), (b"cookie", inside.cookie["cookie"].encode())]
    scope = {
        "type": "http", "method": "GET", "path": path, "raw_path": path.encode(), "query_string": b"",
        "headers": headers, "scheme": "http", "http_version": "1.1", "server": ("127.0.0.1", PORT),
        "client": ("127.0.0.1", 1), "root_path": "", "asgi": {"version": "3.0"},
    }  # fmt: skip
    asyncio.run(inside.app(scope, receive, send))
    return int(said[0]["status"]), b"".join(one.get("body", b"") for one in said)


@pytest.mark.parametrize("path", PATHS)
def test_every_room_has_the_page_and_nobody_keeps_it(inside: Inside, path: str) -> None:
    answer = got(inside, path)
    assert (answer.status_code, answer.text) == (200, PAGE)
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert answer.headers["cache-control"] == "no-store"


def test_the_rooms_are_those_of_the_page(project: Path) -> None:
    words = (project / "web/src/lib/state/place.svelte.ts").read_text("utf-8")
    assert {f"/{name}" for name in re.findall(r'\bname: "(\w+)"', words)} == set(PATHS) - {"/"}


@pytest.mark.parametrize("name", FILES)
def test_a_file_has_its_type_and_may_be_kept(inside: Inside, name: str) -> None:
    answer = got(inside, f"/assets/{name}", {"accept-encoding": "identity"})
    assert (answer.status_code, answer.content) == (200, FILES[name])
    assert answer.headers["content-type"] == TYPES[Path(name).suffix]
    assert answer.headers["cache-control"] == "private, max-age=31536000, immutable"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["content-security-policy"]
    assert answer.headers["vary"] == "accept-encoding"
    assert "content-encoding" not in answer.headers
    assert int(answer.headers["content-length"]) == len(FILES[name])


def test_what_packs_well_is_packed_for_who_takes_it(inside: Inside) -> None:
    packed = {}
    for name, body in FILES.items():
        answer = got(inside, f"/assets/{name}", {"accept-encoding": "gzip, deflate, br"})
        assert answer.content == body  # the client unpacks
        packed[name] = answer.headers.get("content-encoding") == "gzip"
        if packed[name]:
            assert int(answer.headers["content-length"]) == len(gzip.compress(body, 9, mtime=0))
            assert answer.headers["vary"] == "accept-encoding"
    assert {Path(name).suffix for name, yes in packed.items() if yes} == {".js", ".css", ".svg", ".json"}
    assert not packed["tiny-a0AnQzuD.js"]


ELSEWHERE = (
    "/assets/../index.html", "/assets/../../build.py", "/assets/..", "/assets/.", "/assets/", "/assets",
    "/assets/../secret.js", "/assets/inner/secret.js", "/assets/inner", "/assets/secret.py", "/secret.js",
    "/index.html", "/assets/\x00", "/assets/index-DTKaL84i.js\x00", "/assets/index-DTKaL84i.js\x00.css",
    "/assets/..\\secret.js", "/assets//etc/passwd", "//etc/passwd", "/assets/index-dtkal84i.js",
    "/assets/index-DTKaL84i.js/", "/assets/index-DTKaL84i.js/..", "/assets/later-DTKaL84i.js",
    "/assets/ü.js", "/assets/" + "a" * 5000, "/Odds", "/odds/", "/odds/more", "/nothing", "/assets/~",
    "/assets/C:\\secret.js", "/assets/%2e%2e/secret.js",
)  # fmt: skip


@pytest.mark.parametrize("path", ELSEWHERE, ids=range(len(ELSEWHERE)))
def test_no_other_path_reaches_anything(inside: Inside, path: str) -> None:
    """The paths are what the server hands on, after it has taken the percent signs out of an address."""
    status, body = raw(inside, path)
    assert status == 404
    assert b"secret" not in body
    assert b"passwd" not in body


@pytest.mark.parametrize(
    "path",
    [
        "/assets/%2e%2e/secret.js",
        "/assets/%2e%2e%2f%2e%2e%2fbuild.py",
        "/assets/..%2fsecret.js",
        "/assets/..%5csecret.js",
        "/assets/inner%2fsecret.js",
        "/assets/%00",
        "/assets/index-DTKaL84i.js%00",
        "/assets/%252e%252e%252fsecret.js",
        "/assets/%ff%fe",
    ],
)
def test_no_encoded_path_reaches_anything(inside: Inside, path: str) -> None:
    answer = got(inside, path)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["cache-control"] == "no-store"
    assert "secret" not in answer.text


@pytest.mark.parametrize("path", ["/", "/odds", "/assets/index-DTKaL84i.js", "/assets/nothing.js"])
def test_nothing_without_the_cookie_and_nothing_of_that_is_kept(inside: Inside, path: str) -> None:
    answer = got(inside, path, {"cookie": ""})
    assert answer.status_code == 401
    assert answer.headers["cache-control"] == "no-store"
    assert "locked" in answer.text


def test_only_files_of_pages_may_be_kept(inside: Inside) -> None:
    for path in ("/", "/api/about", "/api/openapi.json", "/assets/nothing.js", "/start.css"):
        assert got(inside, path).headers["cache-control"] == "no-store"


def test_pages_take_no_other_method(inside: Inside) -> None:
    async def go(method: str, path: str) -> int:
        async with inside.client() as client:
            return (await client.request(method, path)).status_code

    for path in ("/", "/odds", "/assets/index-DTKaL84i.js"):
        for method in ("POST", "PUT", "DELETE"):
            assert asyncio.run(go(method, path)) == 405


@pytest.mark.parametrize("path", PATHS)
def test_without_built_pages_it_says_how_to_build_them(bare: Inside, path: str) -> None:
    answer = got(bare, path)
    assert answer.status_code == 200
    assert "make web" in answer.text
    assert got(bare, "/start.css").headers["content-type"].startswith("text/css")
    assert got(bare, "/assets/index-DTKaL84i.js").status_code == 404


@pytest.mark.parametrize("built", [True, False])
def test_the_pages_need_nothing_that_the_policy_forbids(bare: Inside, built: bool) -> None:
    """No inline script, style or handler, nothing from elsewhere: W3C CSP 3, section 4.2.3."""
    page = (PAGES / "index.html").read_text("utf-8") if built else got(bare, "/").text
    assert re.findall(r"<script(?![^>]* src=\"/assets/)", page) == []
    assert re.search(r"<script[^>]*>[^<]", page) is None
    assert re.search(r"<style|\sstyle=|\son\w+=", page) is None
    assert re.findall(r"(?:src|href)=\"(?!/assets/|/start\.css|/api/)", page) == []
    assert "//" not in page.replace(f"{BASE}/api", "")


def test_everything_that_the_built_page_names_is_there(tmp_path: Path) -> None:
    inside = Inside(tmp_path)
    named = re.findall(r"(?:src|href)=\"(/assets/[^\"]+)\"", got(inside, "/").text)
    assert named
    for path in named:
        assert got(inside, path).status_code == 200
    for file in (PAGES / "assets").iterdir():
        assert got(inside, f"/assets/{file.name}").status_code == 200
    inside.close()
