"""Read what a review says of its launches: JSON files that `overarm review --json` printed."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from overarm.errors import InputError, Problem
from overarm.files import read_bytes
from overarm.learn.evidence import LaunchFigures
from overarm.recordings.launch import ESTIMATES, Estimate

MOST_BYTES = 50_000_000
LARGEST = 1e100  # no estimate is near it, in any unit
CURE = "Give the file that `overarm review --json` printed"
_DAY = re.compile(r"^\d{4}-\d{2}-\d{2}")
_HASH = re.compile(r"^[0-9a-f]{64}$")


def read_answer(file: Path, setup_name: str = "") -> tuple[LaunchFigures, ...]:
    """Return the launches of a review answer with their estimates.

    Wanted are ``launches``, each with ``number``, ``kind`` and ``estimates`` (by name: ``value``,
    ``error``, ``method``, ``why_not``, ``bound``), and of the recording ``sha256`` and ``start_utc``, at
    the top or under ``recording``. Everything else is passed over. Raises InputError, also
    for a review that was made with the setup of another aeroplane than ``setup_name``, if both are known:
    what it estimated rests on the mass, the polar and the style of that one.
    """
    raw = read_bytes(file, MOST_BYTES, CURE, CURE)
    try:
        data = json.loads(raw.decode("utf-8-sig"))
    except json.JSONDecodeError as error:
        raise InputError(
            [Problem(f"is not JSON: {error.msg}", CURE, str(file), error.lineno, error.colno)]
        ) from None
    except (ValueError, RecursionError):
        raise InputError([Problem("is not JSON text", CURE, str(file))]) from None
    if not isinstance(data, dict):
        raise InputError([Problem("holds no launches", CURE, str(file), key="launches")])
    flown = data.get("setup")
    if setup_name and isinstance(flown, str) and flown not in ("", setup_name):
        cure = f"Review the recording with the setup of {setup_name}, or learn for the one that flew"
        raise InputError(
            [Problem("is a review of another aeroplane", cure, str(file), key="setup", value=flown[:80])]
        )
    source = _told(data, "sha256")
    if not _HASH.match(source):
        source = hashlib.sha256(raw).hexdigest()
    day = _DAY.match(_told(data, "start_utc"))
    return figures_of(data, str(file), (source, day[0] if day else ""))


def figures_of(answer: Mapping[str, Any], file: str, about: tuple[str, str]) -> tuple[LaunchFigures, ...]:
    """Return the launches of a review answer that was read already.

    Parameters: the answer; the name of its file, for messages; SHA-256 of the recording and its day, an ISO
    date or nothing. Raises InputError.
    """
    launches = answer.get("launches")
    if not isinstance(launches, list):
        raise InputError([Problem("holds no launches", CURE, file, key="launches")])
    return tuple(_launch(item, k, Path(file), about) for k, item in enumerate(launches))


def _told(data: dict[str, Any], key: str) -> str:
    """Return a text of the recording, from the top of the answer or under ``recording``."""
    inside = data.get("recording")
    found = data.get(key, inside.get(key) if isinstance(inside, dict) else None)
    return found if isinstance(found, str) else ""


def _launch(item: Any, k: int, file: Path, about: tuple[str, str]) -> LaunchFigures:
    where = f"launches.{k}"
    estimates = item.get("estimates") if isinstance(item, dict) else None
    if isinstance(estimates, list):
        estimates = {str(entry.get("name")): entry for entry in estimates if isinstance(entry, dict)}
    if not isinstance(estimates, dict):
        raise InputError([Problem("has no estimates", CURE, str(file), key=where)])
    number = item.get("number", k + 1)
    found = {
        name: _estimate(name, entry, file, f"{where}.estimates.{name}")
        for name, entry in estimates.items()
        if name in ESTIMATES
    }
    kind = item.get("kind", "launch")
    return LaunchFigures(number if isinstance(number, int) else k + 1, str(kind), *about, found)


def _is_number(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return -LARGEST < value < LARGEST


def _estimate(name: str, entry: Any, file: Path, where: str) -> Estimate:
    if not isinstance(entry, dict):
        raise InputError([Problem("is no estimate", "Give its value and its error", str(file), key=where)])
    value: Any = entry.get("value")
    error: Any = entry.get("error", 0.0)
    for key, number in (("value", value), ("error", error)):
        if number is None and key == "value":
            continue
        if not _is_number(number) or (key == "error" and float(number) < 0.0):
            raise InputError(
                [
                    Problem(
                        "is no number that an estimate can have", CURE, str(file), key=f"{where}.{key}",
                        value=str(number)[:60],
                    )
                ]
            )  # fmt: skip
    bound = entry.get("bound", "")
    return Estimate(
        name,
        None if value is None else float(value),
        float(error),
        str(entry.get("method", "")),
        str(entry.get("why_not", "")),
        bound if bound in ("at least", "at most") else "",
    )
