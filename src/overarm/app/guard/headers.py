"""What every answer says to the browser: load nothing from elsewhere, run no inline script, keep nothing.

Only the files that a page loads may be kept: nothing of the user's is in them, and a changed one has another
name.
"""

from __future__ import annotations

from overarm.app.guard.asgi import App, Message, Receive, Scope, Send

# No inline script or style, no eval: neither 'unsafe-inline' nor 'unsafe-eval' stands anywhere here.
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
SENSORS = (
    "accelerometer=(self), gyroscope=(self), camera=(), microphone=(), geolocation=(), usb=(), serial=()"
)
FOREVER = "private, max-age=31536000, immutable"  # RFC 9111, 5.2.2; RFC 8246
MAY_BE_KEPT = "/assets/"
KEEP, FORGET = (b"cache-control", FOREVER.encode()), (b"cache-control", b"no-store")
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", SENSORS.encode()),
)


class Headers:
    """Puts the headers on every answer, errors too; what the answer says itself of them is replaced.

    The one exception: a file that a page loads may say that it can be kept.
    """

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on."""
        ours = {name for name, _ in (*HEADERS, FORGET)}

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                said = [(name.lower(), value) for name, value in message.get("headers", ())]
                kept = scope["path"].startswith(MAY_BE_KEPT) and KEEP in said
                others = (pair for pair in said if pair[0] not in ours)
                message["headers"] = [*others, *HEADERS, KEEP if kept else FORGET]
            await send(message)

        await self.app(scope, receive, with_headers)
