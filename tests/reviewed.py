"""Synthetic recordings of launches whose outcome is known, read and estimated, made once a test run."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.describe.derived import Derived, derive
from overarm.recordings.estimates import estimates_of, with_estimated_events
from overarm.recordings.estimates.taken import take
from overarm.recordings.phases import phases_of
from overarm.recordings.reading import opened
from overarm.recordings.recording import Recording
from overarm.review.seen import Seen
from overarm.specimens import make
from overarm.specimens.options import Options, Rates
from tests.examples import derived_of, setup_of

SEED = 3


class Known(NamedTuple):
    """A launch of an example, with changes that bring its outcome about."""

    letter: str
    launch: int
    outcome: str
    changes: tuple[tuple[str, str], ...] = ()
    airspeed_hz: float = 0.0


CLEAN = Known("b", 0, "clean")
DIPPED = Known("b", 67, "dipped")
GROUNDED = Known("e", 57, "grounded")
SHORT = Known("e", 426, "grounded")  # steady enough to tell when thrust covered drag and climb
HASTY = Known("b", 0, "hand at risk", (("settings.start_wait", "0.1 s"),))
TAILWIND = (("day.wind", "2.5 m/s"), ("day.wind_angle", "180 deg"))
KNOWN = (
    CLEAN,
    DIPPED,
    GROUNDED,
    HASTY,
    Known("a", 75, "stalled", TAILWIND, 10.0),
    Known("a", 0, "mushed", (("settings.launch_ceiling", "40 %"),)),
    Known("b", 0, "no start", (("settings.jerk_level", "45 m/s2"),)),
    Known("b", 0, "power lost", (("power.pack_resistance", "1 ohm"),)),
    Known("c", 0, "false start", (("settings.jerk_level", "2 m/s2"),)),
    Known("d", 0, "clean"),
    Known(
        "b",
        0,
        "struck obstacle",
        (("site.obstacles.0.distance", "25 m"), ("site.obstacles.0.height", "20 m")),
    ),
)


@cache
def cards_of(known: Known) -> tuple[Setup, Derived]:
    """Return the setup that was flown, and its derived figures."""
    if not known.changes:
        return setup_of(known.letter), derived_of(known.letter)
    setup = changed(setup_of(known.letter), dict(known.changes))
    return setup, derive(setup)


@cache
def csv_of(known: Known) -> bytes:
    """Return the recording as it was written."""
    options = Options(rates=Rates(airspeed_hz=known.airspeed_hz))
    made = make(*cards_of(known), seed=SEED, launch=known.launch, options=options)
    assert made.truth["launches"][0]["outcome"] == known.outcome
    return made.csv


@cache
def recording_of(known: Known) -> Recording:
    """Return the recording, read and cleaned."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"{known.letter}{known.launch}.csv"
        file.write_bytes(csv_of(known))
        return opened(file)


def seen_of(known: Known, setup: Setup | None, derived: Derived | None) -> Seen:
    """Return the launch of a recording, estimated with a setup, or with none."""
    recording = recording_of(known)
    launch = phases_of(recording, setup).launches[0]
    launch = with_estimated_events(recording, launch, setup, derived)
    return Seen(take(recording, launch, setup, derived), estimates_of(recording, launch, setup, derived))


@cache
def flown_seen(known: Known) -> Seen:
    """Return the launch, estimated with the setup that was flown."""
    return seen_of(known, *cards_of(known))
