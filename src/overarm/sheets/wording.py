"""Numbers and choices in the words of the sheet."""

from __future__ import annotations

import math
import re
import unicodedata
from typing import Any

_BEFORE_UNIT = re.compile(r"(\d) (?=(?:%|%/s|m|m²|m/s|m/s²|s|kg|g|V|J|W|N|mm|cm|in|Vs|°C|Ah)(?![\w/]))")


def short(text: str, limit: int) -> str:
    """Return `text` on one line, without control characters, cut to `limit` characters with an ellipsis."""
    clean = "".join(" " if unicodedata.category(c)[0] in "CZ" else c for c in text)
    clean = " ".join(clean.split())
    return clean if len(clean) <= limit else clean[: limit - 1].rstrip() + "…"


def number(value: float, digits: int = 2) -> str:
    """Return a number with `digits` significant figures, no exponent, and a true minus sign."""
    if not math.isfinite(value):
        return "not known"
    if value == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.replace("-", "−")


def trimmed(value: float, digits: int) -> str:
    """Return a number with at most `digits` significant figures and no zeros at its end."""
    text = number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def opened(text: str) -> str:
    """Return the text with its first letter in upper case."""
    return text[:1].upper() + text[1:]


def span(low: float, high: float, digits: int, unit: str) -> str:
    """Return "low to high unit"."""
    return f"{fixed(low, digits)} to {fixed(high, digits)} {unit}"


def fixed(value: float, digits: int) -> str:
    """Return a number with `digits` decimals and a true minus sign; never "-0"."""
    if not math.isfinite(value):
        return "not known"
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def percent(share: float) -> str:
    """Return a share in whole percent, held between 1 and 99.

    The small counts behind a cell or a band never earn certainty, so 0 and 100 are not printed.
    """
    if not math.isfinite(share):
        return "not known"
    return f"{min(99, max(1, round(100 * share)))} %"


def bare_percent(share: float) -> str:
    """Return the figure of `percent` for a table cell: "1", "45", "99"."""
    return percent(share).removesuffix(" %")


_LONG_WORD = re.compile(r"\S{24,}")
_PIECE = re.compile(r"(\S{8})(?=\S)")


def breakable(value: Any) -> Any:
    """Return text (or lists and dicts of it) in which words of 24 letters or more may break on paper."""
    if isinstance(value, str):
        return _LONG_WORD.sub(lambda hit: _PIECE.sub("\\1\u200b", hit.group()), value)
    if isinstance(value, list):
        return [breakable(item) for item in value]
    if isinstance(value, dict):
        return {key: breakable(item) for key, item in value.items()}
    return value


def whole(value: int) -> str:
    """Return a whole number with commas between thousands."""
    return f"{value:,}"


def tied(value: Any) -> Any:
    """Return text (or lists and dicts of it) with each number tied to its unit by a no-break space."""
    if isinstance(value, str):
        return _BEFORE_UNIT.sub("\\1\u00a0", value)
    if isinstance(value, list):
        return [tied(item) for item in value]
    if isinstance(value, dict):
        return {key: tied(item) for key, item in value.items()}
    return value
