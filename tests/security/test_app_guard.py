"""The guard of the workbench: host, origin, token, cookie, headers.

What a browser sends and what a header means is held against the standards: WHATWG Fetch (Origin), W3C Fetch
Metadata (Sec-Fetch-Site), RFC 6265bis (cookies), W3C CSP 3, RFC 9457 (problem details).
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any

import httpx
import pytest

from overarm.app.guard.token import same
from overarm.app.guard.wall import Address
from tests.workbench import BASE, PORT, Inside

DRAFT = {"name": "one", "text": "overarm: 1\n"}


@pytest.fixture(scope="module")
def inside(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Inside]:
    made = Inside(tmp_path_factory.mktemp("guard"))
    yield made
    made.close()


def sent(inside: Inside, method: str, path: str, headers: dict[str, str], **more: Any) -> httpx.Response:
    async def go() -> httpx.Response:
        async with inside.client(headers) as client:
            return await client.request(method, path, **more)

    return asyncio.run(go())


def raw(inside: Inside, headers: list[tuple[bytes, bytes]], path: str = "/api/about") -> int:
    """Send a request that httpx would not, and return the status."""
    said: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        said.append(message)

    scope = {
        "type": "http", "method": "GET", "path": path, "raw_path": path.encode(), "query_string": b"",
        "headers": headers, "scheme": "http", "http_version": "1.1", "server": ("127.0.0.1", PORT),
        "client": ("127.0.0.1", 1), "root_path": "", "asgi": {"version": "3.0"},
    }  # fmt: skip
    asyncio.run(inside.app(scope, receive, send))
    return int(said[0]["status"])


HOSTS = (
    "evil.example", f"evil.example:{PORT}", "127.0.0.1", "localhost", "127.0.0.1:1", f"127.1:{PORT}", "",
    f"127.0.0.1:{PORT}.evil.example", f"127.0.0.1.:{PORT}", f"127.0.0.1:{PORT}@evil.example",
    f"0.0.0.0:{PORT}", f"[::1]:{PORT}", f"2130706433:{PORT}",
)  # fmt: skip


@pytest.mark.parametrize("host", HOSTS)
def test_another_host_gets_no_answer(inside: Inside, host: str) -> None:
    for path in ("/", "/api/about", f"/?token={inside.keys.token}"):
        answer = sent(inside, "GET", path, {**inside.known, "host": host})
        assert answer.status_code == 421
        assert "set-cookie" not in answer.headers


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"LocalHost:{PORT}"])
def test_our_hosts_do(inside: Inside, host: str) -> None:
    assert sent(inside, "GET", "/api/about", {**inside.cookie, "host": host}).status_code == 200


def test_two_hosts_or_none_get_no_answer(inside: Inside) -> None:
    good, cookie = (b"host", f"127.0.0.1:{PORT}".encode()), (b"cookie", inside.cookie["cookie"].encode())
    assert raw(inside, [good, cookie]) == 200
    assert raw(inside, [good, good, cookie]) == 421
    assert raw(inside, [good, (b"host", b"evil.example"), cookie]) == 421
    assert raw(inside, [cookie]) == 421


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 403),
        ({"origin": "https://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": f"https://127.0.0.1:{PORT}"}, 403),
        ({"origin": "http://127.0.0.1:3000"}, 403),
        ({"origin": f"{BASE}/"}, 403),
        ({"origin": BASE, "sec-fetch-site": "same-site"}, 403),
        ({"origin": BASE, "sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "none"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"origin": "https://evil.example", "sec-fetch-site": "same-origin"}, 403),
        ({"origin": BASE}, 201),
        ({"sec-fetch-site": "same-origin"}, 201),
        ({"origin": BASE, "sec-fetch-site": "same-origin"}, 201),
    ],
)
def test_what_changes_something_comes_from_our_pages(
    inside: Inside, headers: dict[str, str], status: int
) -> None:
    before = len(inside.workbench.drafts.every())
    answer = sent(inside, "POST", "/api/drafts", {**inside.cookie, **headers}, json=DRAFT)
    assert answer.status_code == status
    assert len(inside.workbench.drafts.every()) == before + (status == 201)


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "MERGE", "post"])
def test_every_unsafe_method_is_looked_at(inside: Inside, method: str) -> None:
    for path in ("/", "/api/drafts", "/api/nothing"):
        assert sent(inside, method, path, {**inside.cookie, "origin": "null"}).status_code == 403


@pytest.mark.parametrize(
    ("site", "status"), [("cross-site", 403), ("same-site", 403), ("none", 200), ("same-origin", 200)]
)
def test_other_sites_read_nothing_of_the_interface(inside: Inside, site: str, status: int) -> None:
    """A page on another port of this host is "same-site": the browser would send our cookie along."""
    answer = sent(inside, "GET", "/api/about", {**inside.cookie, "sec-fetch-site": site})
    assert answer.status_code == status


def test_nothing_without_the_cookie(inside: Inside) -> None:
    name, value = inside.keys.cookie_name, inside.keys.cookie
    ours = (f"{name}={text}" for text in ("", inside.keys.token, value[:-1], f"{value}x"))
    for cookie in (*ours, "", f"other={value}", "=;;=", "\\", "a" * 9000):
        for path in (
            "/",
            "/odds",
            "/assets/x.js",
            "/api/about",
            "/api/openapi.json",
            "/api/nothing",
            "/nothing",
        ):
            assert sent(inside, "GET", path, {"cookie": cookie, "origin": BASE}).status_code == 401
        assert (
            sent(inside, "POST", "/api/drafts", {"cookie": cookie, "origin": BASE}, json=DRAFT).status_code
            == 401
        )


@pytest.mark.parametrize("token", ["", "x", "%00", "%F0%9F%98%80", "a" * 5000])
def test_a_wrong_token_opens_nothing(inside: Inside, token: str) -> None:
    for headers in ({}, inside.cookie):
        answer = sent(inside, "GET", f"/?token={token}", headers)
        assert answer.status_code in ((401,) if token else (401, 200))
        assert "set-cookie" not in answer.headers


def test_the_token_becomes_a_cookie_that_scripts_cannot_read(inside: Inside) -> None:
    answer = sent(inside, "GET", f"/?token={inside.keys.token}", {})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert inside.keys.token not in str(answer.headers)
    (cookie,) = SimpleCookie(answer.headers["set-cookie"]).values()
    assert cookie.value == inside.keys.cookie
    assert cookie["httponly"]
    assert cookie["samesite"].lower() == "strict"
    assert cookie["path"] == "/"
    assert not cookie["domain"]
    assert not cookie["secure"]  # http on this machine
    assert str(PORT) in cookie.key


def test_over_the_network_the_cookie_is_for_https_alone(tmp_path: Path) -> None:
    """The prefix __Host- makes the browser insist on Secure, Path=/ and no Domain (RFC 6265bis, 4.1.3.2)."""
    inside = Inside(tmp_path, address=Address("https", ("127.0.0.1",), PORT))
    answer = sent(inside, "GET", f"/?token={inside.keys.token}", {"host": f"127.0.0.1:{PORT}"})
    inside.close()
    (cookie,) = SimpleCookie(answer.headers["set-cookie"]).values()
    assert cookie["secure"]
    assert cookie.key.startswith("__Host-")


def test_a_token_for_the_browser_opens_once(inside: Inside) -> None:
    once = inside.keys.one_time_token()
    assert sent(inside, "GET", f"/?token={once}", {}).status_code == 303
    assert sent(inside, "GET", f"/?token={once}", {}).status_code == 401


@pytest.mark.parametrize("path", ["//evil.example/", "//evil.example", "/\\evil.example", "/x"])
def test_the_token_leads_nowhere_else(inside: Inside, path: str) -> None:
    answer = sent(inside, "GET", f"{BASE}{path}?token={inside.keys.token}", {})
    assert answer.headers["location"] == "/"


def test_the_interface_takes_no_token(inside: Inside) -> None:
    assert sent(inside, "GET", f"/api/about?token={inside.keys.token}", {}).status_code == 401


ASKED = (
    ("GET", "/", {}, 200),
    ("GET", "/odds", {}, 200),
    ("GET", "/assets/nothing.js", {}, 404),
    ("GET", "/api/about", {}, 200),
    ("GET", "/api/openapi.json", {}, 200),
    ("GET", "/nothing", {}, 404),
    ("PUT", "/api/about", {}, 405),
    ("GET", "/api/jobs/0123", {}, 422),
    ("GET", "/api/about", {"host": "evil.example"}, 421),
    ("POST", "/api/drafts", {"origin": "null"}, 403),
    ("GET", "/api/about", {"cookie": ""}, 401),
    ("GET", "/", {"cookie": ""}, 401),
    ("POST", "/api/drafts", {"content-length": "99999999999"}, 413),
    ("POST", "/api/drafts", {"content-length": "-1"}, 400),
)  # fmt: skip


@pytest.mark.parametrize(("method", "path", "headers", "status"), ASKED)
def test_every_answer_has_the_headers(
    inside: Inside, method: str, path: str, headers: dict[str, str], status: int
) -> None:
    answer = sent(inside, method, path, {**inside.known, **headers})
    assert answer.status_code == status
    head = answer.headers
    policy = dict(part.split(" ", 1) for part in head["content-security-policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert "unsafe" not in head["content-security-policy"]
    assert "http" not in head["content-security-policy"]
    assert head["x-content-type-options"] == "nosniff"
    assert head["referrer-policy"] == "no-referrer"
    assert head["cache-control"] == "no-store"
    assert head["cross-origin-opener-policy"] == head["cross-origin-resource-policy"] == "same-origin"
    assert not [name for name in head if name.startswith("access-control-")]
    if path.startswith("/api") and status >= 400:
        assert head["content-type"] == "application/problem+json"
        body = answer.json()
        assert body["status"] == status
        assert body["problems"][0]["message"]
        assert body["problems"][0]["cure"]


def test_no_other_site_is_let_in_by_a_preflight(inside: Inside) -> None:
    headers = {**inside.cookie, "origin": "https://evil.example", "access-control-request-method": "POST"}
    answer = sent(inside, "OPTIONS", "/api/drafts", headers)
    assert answer.status_code == 403
    assert not [name for name in answer.headers if name.startswith("access-control-")]


def test_there_are_no_web_sockets(inside: Inside) -> None:
    said: list[Any] = []

    async def receive() -> dict[str, str]:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        said.append(message)

    scope = {
        "type": "websocket",
        "path": "/api/about",
        "headers": [(b"cookie", inside.cookie["cookie"].encode())],
    }
    asyncio.run(inside.app(scope, receive, send))
    assert said == [{"type": "websocket.close", "code": 1008}]


def test_secrets_are_compared_whole() -> None:
    assert same(b"abc", b"abc")
    assert not same(b"abc", b"abd")
    assert not same(b"", b"abc")


def test_usual_ports_stand_in_no_host() -> None:
    """A browser leaves the usual port out of Host and Origin (WHATWG URL, default ports)."""
    assert Address("http", ("127.0.0.1",), 80).origins == {"http://127.0.0.1", "http://127.0.0.1:80"}
    assert Address("https", ("127.0.0.1",), 80).hosts == {"127.0.0.1:80"}
