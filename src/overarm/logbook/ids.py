"""Names of things in a book: by what they hold, or sortable by when they were made."""

from __future__ import annotations

import hashlib
import json
import secrets
import time
from datetime import UTC, datetime, timedelta
from typing import Any

ID_LETTERS = 32


def canonical(data: Any) -> str:
    """Return JSON that is the same for equal data: sorted keys, no spaces. ValueError for NaN or infinity."""
    return json.dumps(data, sort_keys=True, separators=(",", ":"), allow_nan=False)


def content_id(kind: str, data: Any) -> str:
    """Return 32 hexadecimal letters (128 bits of SHA-256) that follow from what a thing holds."""
    return hashlib.sha256(f"{kind}:{canonical(data)}".encode()).hexdigest()[:ID_LETTERS]


def file_id(data: bytes) -> str:
    """Return the SHA-256 of the bytes of a file, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def time_id() -> str:
    """Return a UUID of version 7 (RFC 9562, section 5.7): 48 bits of milliseconds, then chance."""
    number = (time.time_ns() // 1_000_000) << 80 | secrets.randbits(80)
    number = number & ~(0xF << 76) | 0x7 << 76
    number = number & ~(0x3 << 62) | 0x2 << 62
    text = f"{number:032x}"
    return "-".join((text[:8], text[8:12], text[12:16], text[16:20], text[20:]))


def now_utc() -> str:
    """Return the time as ISO 8601 in UTC, to the millisecond."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def just_after(utc: str) -> str:
    """Return a time a millisecond after another, as `now_utc` writes it; the same at the end of time."""
    try:
        later = datetime.fromisoformat(utc) + timedelta(milliseconds=1)
    except (ValueError, OverflowError):
        return utc
    return later.isoformat(timespec="milliseconds").replace("+00:00", "Z")
