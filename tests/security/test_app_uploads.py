"""Uploads against the workbench: too big, too slow, cut off, with names that are paths, on a full disk."""

from __future__ import annotations

import asyncio
import hashlib
import shutil
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import httpx
import pytest

from overarm.app.limits import LIMITS
from overarm.app.store.uploads import Uploads
from tests.workbench import PORT, Inside

SMALL = LIMITS._replace(
    body_bytes=3000,
    upload_bytes=5000,
    uploads_bytes=9000,
    uploads=4,
)
HASTY = SMALL._replace(
    body_wait_s=0.15, least_rate_bytes_s=1e5
)  # what a busy machine sends may come too late


@pytest.fixture
def inside(tmp_path: Path) -> Iterator[Inside]:
    made = Inside(tmp_path, SMALL)
    yield made
    made.close()


@pytest.fixture
def hasty(tmp_path: Path) -> Iterator[Inside]:
    made = Inside(tmp_path, HASTY)
    yield made
    made.close()


def sent(inside: Inside, content: Any, name: str = "flight.csv") -> httpx.Response:
    async def go() -> httpx.Response:
        async with inside.client() as client:
            return await client.post("/api/uploads", params={"name": name}, content=content)

    return asyncio.run(go())


def left(inside: Inside) -> list[str]:
    return [path.name for path in inside.folders.uploads.rglob("*") if path.is_file()]


async def pieces(count: int, size: int, wait_s: float = 0.0) -> AsyncIterator[bytes]:
    for _ in range(count):
        await asyncio.sleep(wait_s)
        yield b"x" * size


def test_a_file_is_kept_byte_for_byte_and_given_an_id(inside: Inside) -> None:
    data = bytes(range(256)) * 10
    answer = sent(inside, data)
    assert answer.status_code == 201
    said = answer.json()
    assert (said["bytes"], said["sha256"]) == (len(data), hashlib.sha256(data).hexdigest())
    assert inside.workbench.uploads.file(said["id"]).read_bytes() == data
    again = Uploads(inside.folders.uploads, SMALL)  # as after a restart
    assert [one.id for one in again.every()] == [said["id"]]


def test_too_big_by_its_length(inside: Inside) -> None:
    assert sent(inside, b"x" * 5001).status_code == 413
    assert not left(inside)


def test_too_big_without_a_length(inside: Inside) -> None:
    answer = sent(inside, pieces(10, 1000))
    assert answer.status_code == 413
    assert answer.headers["content-type"] == "application/problem+json"
    assert not left(inside)


def test_a_body_that_is_no_upload_is_smaller(inside: Inside) -> None:
    async def go() -> list[int]:
        async with inside.client() as client:
            form = {"name": "x", "text": "y" * 4000}
            whole = await client.post("/api/drafts", json=form)
            streamed = await client.post("/api/drafts", content=pieces(4, 1000))
            return [whole.status_code, streamed.status_code]

    assert asyncio.run(go()) == [413, 413]


def test_a_body_that_stops_coming(hasty: Inside) -> None:
    assert sent(hasty, pieces(2, 10, wait_s=0.3)).status_code == 408
    assert not left(hasty)


def test_a_body_that_trickles(hasty: Inside) -> None:
    """Each piece comes in time, all of them together far too slowly."""
    assert sent(hasty, pieces(40, 1, wait_s=0.02)).status_code == 408
    assert not left(hasty)


def test_a_body_that_is_cut_off(inside: Inside) -> None:
    said: list[Any] = []
    coming = [{"type": "http.request", "body": b"half", "more_body": True}, {"type": "http.disconnect"}]

    async def receive() -> Any:
        return coming.pop(0) if coming else {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        said.append(message)

    headers = [(key.encode(), value.encode()) for key, value in inside.known.items()]
    scope = {
        "type": "http", "method": "POST", "path": "/api/uploads", "raw_path": b"/api/uploads",
        "query_string": b"name=a.csv", "headers": [*headers, (b"host", f"127.0.0.1:{PORT}".encode())],
        "scheme": "http", "http_version": "1.1", "server": ("127.0.0.1", PORT), "client": ("127.0.0.1", 1),
        "root_path": "", "asgi": {"version": "3.0"},
    }  # fmt: skip
    asyncio.run(inside.app(scope, receive, send))
    assert not left(inside)
    assert not inside.workbench.uploads.every()
    assert not said or said[0]["status"] == 400


def test_all_uploads_together_have_a_bound(inside: Inside) -> None:
    assert sent(inside, b"x" * 5000).status_code == 201
    answer = sent(inside, b"x" * 4500)
    assert answer.status_code == 507
    assert "uploads" in answer.json()["problems"][0]["message"]
    assert sent(inside, b"x" * 3000).status_code == 201
    assert len(left(inside)) == 4  # two files, each with what is known of it


def test_the_disk_is_not_filled(inside: Inside, monkeypatch: pytest.MonkeyPatch) -> None:
    class Usage(NamedTuple):
        total: int
        used: int
        free: int

    monkeypatch.setattr(shutil, "disk_usage", lambda _path: Usage(10**12, 10**12, 10**6))
    assert sent(inside, b"abc").status_code == 507
    assert not left(inside)


NAMES = (
    "../x", "..", ".", "/etc/passwd", "a/b", "a\\b", "C:x", ".hidden", "a\0b", "a\nb", "a\x1b[2J", "",
    "x" * 121, "\u202etxt.exe", "%2e%2e%2fx/",
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_no_path(inside: Inside, name: str) -> None:
    answer = sent(inside, b"abc", name)
    assert answer.status_code == 422, answer.text
    assert not left(inside)


IDS = (
    "../../etc/passwd", "%2e%2e%2f%2e%2e%2fetc%2fpasswd", "..%5c..%5cx", "x" * 32, "0" * 31, "0" * 33,
    "0" * 32, "%00", "ABCDEF" + "0" * 26,
)  # fmt: skip
ROUTES = (
    "GET /api/uploads/{}", "DELETE /api/uploads/{}", "GET /api/drafts/{}", "DELETE /api/drafts/{}",
    "GET /api/jobs/{}", "GET /api/jobs/{}/answer", "GET /api/jobs/{}/events", "GET /api/jobs/{}/files/x",
    "DELETE /api/jobs/{}", "POST /api/jobs/{}/cancel", "GET /{}", "GET /start.css/{}",
)  # fmt: skip


@pytest.mark.parametrize("id_", IDS)
def test_an_id_is_no_path(inside: Inside, id_: str) -> None:
    (inside.folders.root / "secret").write_text("secret")

    async def go() -> list[httpx.Response]:
        async with inside.client() as client:
            return [await client.request(*route.format(id_).split(" ", 1)) for route in ROUTES]

    for answer in asyncio.run(go()):
        assert answer.status_code in (404, 405, 422), answer.url
        assert "secret" not in answer.text
    assert (inside.folders.root / "secret").exists()
