"""Token: only who has read the terminal. It is changed for a cookie that scripts cannot read."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qsl

from starlette.responses import HTMLResponse, RedirectResponse

from overarm.app.guard.asgi import API, App, Receive, Scope, Send, header, refuse

UNKNOWN = 401
LONGEST_COOKIES = 8000
CURE = "Open the address that the terminal shows, with its token"
LOCKED = (
    "<!doctype html><html lang='en'><meta charset='utf-8'><title>Overarm: locked</title>"
    "<h1>This workbench is locked</h1><p>Open the whole address that the terminal shows. "
    "Each start has a new one.</p></html>"
)


def same(given: bytes, kept: bytes) -> bool:
    """Return whether two secrets are equal, in a time that does not depend on them."""
    return hmac.compare_digest(hashlib.sha256(given).digest(), hashlib.sha256(kept).digest())


class Keys:
    """The secrets of one start: the token of the address, and the cookie that it is changed for."""

    def __init__(self, port: int, *, secure: bool) -> None:
        self.token = secrets.token_urlsafe(32)
        self.cookie = secrets.token_urlsafe(32)
        # Cookies do not know ports; a name with the port keeps two workbenches apart.
        self.cookie_name = f"{'__Host-' if secure else ''}overarm-{port}"
        self.secure = secure
        self._once: set[bytes] = set()

    def one_time_token(self) -> str:
        """Return a token that opens once: other users of the machine can see it in the list of processes."""
        token = secrets.token_urlsafe(32)
        self._once.add(hashlib.sha256(token.encode("ascii")).digest())
        return token

    def opens(self, token: str) -> bool:
        """Return whether a token is that of this start, or one that was good for once."""
        given = token.encode("utf-8", "replace")
        digest = hashlib.sha256(given).digest()
        if digest in self._once:
            self._once.discard(digest)
            return True
        return same(given, self.token.encode("ascii"))

    def knows(self, cookies: list[bytes]) -> bool:
        """Return whether one of the cookies of a request is ours."""
        text = "; ".join(cookie.decode("latin-1") for cookie in cookies)
        if len(text) > LONGEST_COOKIES:
            return False
        try:
            found = SimpleCookie(text).get(self.cookie_name)
        except CookieError:
            return False
        return found is not None and same(found.value.encode("utf-8"), self.cookie.encode("ascii"))


class Tokens:
    """Changes a right token for the cookie, and refuses whoever has neither."""

    def __init__(self, app: App, keys: Keys) -> None:
        self.app, self.keys = app, keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, change its token, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        token = _token_in(scope)
        if token is not None and self.keys.opens(token):
            answer = RedirectResponse("/", 303)
            answer.set_cookie(
                self.keys.cookie_name,
                self.keys.cookie,
                path="/",
                secure=self.keys.secure,
                httponly=True,
                samesite="strict",
            )
            await answer(scope, receive, send)
        elif token is None and self.keys.knows(header(scope, b"cookie")):
            await self.app(scope, receive, send)
        elif scope["path"].startswith(API):
            await refuse((scope, receive, send), UNKNOWN, "the workbench does not know you", CURE)
        else:
            await HTMLResponse(LOCKED, UNKNOWN)(scope, receive, send)


def _token_in(scope: Scope) -> str | None:
    """Return the token of an address that is opened; None if it has none."""
    if scope["method"] != "GET" or scope["path"].startswith(API) or b"token=" not in scope["query_string"]:
        return None
    pairs = parse_qsl(scope["query_string"].decode("latin-1"), max_num_fields=20)
    return next((value for key, value in pairs if key == "token"), None)
