"""Things to put into a logbook: small invented recordings, reviews, odds and evidence."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np

from overarm.learn.evidence import Evidence
from overarm.logbook.book import Book
from overarm.recordings.recording import Channel, Note, Recording, Repair
from tests.examples import setup_of

ODDS_B = {
    "overarm_odds": 1,
    "launches": 10_000,
    "seed": 1,
    "version": "0.1.0",
    "clean": {"low": 0.84, "share": 0.91, "high": 0.95, "level": 0.95},
    "low_point_height_m": {"p5": 0.9, "p50": 1.4, "p95": 1.9},
}
EVIDENCE = (
    Evidence("thrower.release_speed", 8.25, 0.4, "launch", "integrated", "a" * 64, "2031-05-20"),
    Evidence("power.thrust", 15.1, 0.2, "bench", "spring scale", "b" * 64, "2031-05-19"),
    Evidence("power.thrust", 15.1, 0.2, "bench", "spring scale", "b" * 64, "2031-05-19"),
)


def original_of(number: int) -> bytes:
    """Return the bytes of an invented recording; they need not be readable."""
    return f"time_s,force_x_mps2\r\n0.0,{number}.25\n".encode() + bytes([0, 255, number % 256])


def recording_of(number: int = 1, start_utc: str = "2031-05-20T18:30:00Z") -> Recording:
    """Return an invented recording of those bytes."""
    t_s = np.arange(20) * 0.02
    channels = {
        "force_x_mps2": Channel(t_s, np.sin(t_s + number), "column force_x_mps2"),
        "volts_v": Channel(t_s[::4] + 1e-9, np.full(5, 15.7 - 0.1 * number), "column volts_v"),
    }
    return Recording(
        name=f"flight-{number}.csv",
        sha256=hashlib.sha256(original_of(number)).hexdigest(),
        form="table",
        channels=channels,
        start_utc=start_utc,
        notes=(Note(0.1, "eine Böe"),),
        repairs=(Repair("gap", "volts_v", 1, "One gap was left open.", "watch", 0.1, 0.3),),
        breaks_s=(0.2,),
        unused=("serial",),
        label="throw",
        settings={"rate": "50"},
    )


def review_of(number: int = 1, outcome: str = "clean", speed_mps: float = 8.4) -> dict[str, Any]:
    """Return a review with one launch and one aborted throw."""
    estimate = {"value": speed_mps, "error": 0.3, "method": "integrated", "why_not": "", "bound": ""}
    delay = {"value": 0.14, "error": 0.05, "method": "current", "why_not": "", "bound": ""}
    lost = {"value": None, "error": 0.0, "method": "", "why_not": "no airspeed", "bound": ""}
    launch = {
        "number": 1,
        "kind": "launch",
        "from_s": 0.05,
        "to_s": 0.35,
        "ended": "handed over",
        "spans": [{"phase": "stroke", "from_s": 0.05, "to_s": 0.1, "sure": 0.98}],
        "events": {"release": {"t_s": 0.1, "error_s": 0.02, "method": "crossing"}},
        "estimates": {"throw_speed_mps": estimate, "start_delay_s": delay, "low_speed_ratio": lost},
        "verdict": {"word": "good", "sentence": f"Flight {number} left the hand well."},
        "outcome": outcome,
        "advice": "Change nothing.",
    }
    aborted = {
        "number": 2,
        "kind": "aborted throw",
        "from_s": 0.36,
        "to_s": 0.38,
        "ended": "in the hand",
        "estimates": {},
    }
    return {"version": "0.1.0", "launches": [launch, aborted]}


def odds_of_b() -> dict[str, Any]:
    """Return odds of the example setup b, as the odds command tells them."""
    return {**ODDS_B, "setup_hash": setup_of("b").hash()}


def put(book: Book, number: int = 1, outcome: str = "clean", speed_mps: float = 8.4, **more: Any) -> str:
    """Put in one flight with all that belongs to it, as one batch; return the hash of its recording."""
    start = more.pop("start_utc", f"2031-05-{19 + number:02d}T18:30:00Z")
    card = setup_of("b")
    review = {**review_of(number, outcome, speed_mps), "prediction": odds_of_b()}
    recording = recording_of(number, start)
    with book.batch("add", recording.name) as batch:
        batch.setup(card)
        batch.recording(recording, original_of(number))
        batch.review(review, recording.sha256, card)
        batch.evidence([item._replace(source=recording.sha256) for item in EVIDENCE])
        batch.note(f"gusty, throw {number}", recording.sha256, "2031-05-20T19:00:00.000Z")
    return recording.sha256


def content_of(book: Book, *, batches: bool = False) -> dict[str, Any]:
    """Return everything that a book holds: rows by table, and the bytes of its files."""
    from sqlalchemy import select

    from overarm.logbook.look import LISTED

    found: dict[str, Any] = {}
    with book.reading() as connection:
        for name, table in LISTED.items():
            if batches or name != "imports":
                rows = connection.execute(select(table).order_by(table.c.id)).mappings()
                found[name] = [dict(row) for row in rows]
    found["files"] = {name: book.store.read(name) for name in book.store.files()}
    return found


def same_channels(one: Recording, other: Recording) -> bool:
    """Return True if the channels of two recordings are equal to the last bit."""
    return set(one.channels) == set(other.channels) and all(
        found.source == other.channels[name].source
        and np.array_equal(found.t_s, other.channels[name].t_s)
        and np.array_equal(found.values, other.channels[name].values)
        for name, found in one.channels.items()
    )


def sqlite_book(folder: Path, name: str = "logbook.sqlite") -> Book:
    """Return a book in a folder."""
    return Book.open(folder / name)
