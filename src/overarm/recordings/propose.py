"""What the columns of an unknown table may be: offers for a mapping, never taken without a person's yes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from rapidfuzz import fuzz

from overarm.recordings.channels import CHANNELS
from overarm.recordings.columns import channel_of, factor_of, stems, unit_text
from overarm.recordings.propose_units import Guess, Seen, gravity_of, guess_time, guess_unit
from overarm.recordings.recording import Numbers
from overarm.units import TIME, UnitError, to_si

LEAST_ALIKE = 78.0
FEWEST_ROWS = 20  # that rise, before a column of an unknown name is offered as the time
_ABSURD = 1e20  # no recorder writes a number like that; not even the time since 1970 in ns
TIME_COLUMN, NOTE_COLUMN = "time", "note"
# What a channel may be called in plain words; only to offer it, which the person takes or not.
CALLED: dict[str, tuple[str, ...]] = {
    "force_x": ("acceleration x", "ax", "forward acceleration", "force x", "specific force x"),
    "force_y": ("acceleration y", "ay", "sideways acceleration", "force y", "specific force y"),
    "force_z": ("acceleration z", "az", "vertical acceleration", "force z", "specific force z"),
    "roll_rate": ("roll rate", "gyro x", "rate x", "gx", "turn rate x", "angular speed x", "p"),
    "pitch_rate": ("pitch rate", "gyro y", "rate y", "gy", "turn rate y", "angular speed y", "q"),
    "yaw_rate": ("yaw rate", "gyro z", "rate z", "gz", "turn rate z", "angular speed z", "r"),
    "bank": ("bank", "roll", "roll angle", "bank angle", "phi"),
    "pitch": ("pitch", "pitch angle", "nose up", "theta"),
    "heading": ("heading", "yaw", "yaw angle", "psi"),
    "airspeed": ("airspeed", "air speed", "indicated airspeed", "true airspeed"),
    "ground_speed": ("ground speed", "satellite speed", "speed over ground", "speed"),
    "course": ("course", "course over ground", "ground course", "track", "satellite course"),
    "climb": ("climb", "climb rate", "vertical speed", "speed up"),
    "latitude": ("latitude", "satellite latitude"),
    "longitude": ("longitude", "satellite longitude"),
    "satellite_height": ("satellite height", "satellite altitude", "altitude", "height"),
    "baro_height": ("barometer height", "barometer altitude", "pressure altitude", "pressure height"),
    "throttle": ("throttle", "motor output", "motor throttle", "throttle output"),
    "left_surface": ("left surface", "left elevon", "left aileron"),
    "right_surface": ("right surface", "right elevon", "right aileron"),
    "volts": ("volts", "battery volts", "pack volts"),
    "current": ("current", "battery current", "pack current", "amps", "battery amps"),
    "propeller": ("propeller", "propeller speed", "motor speed", "rpm", "motor rpm"),
    "state": ("state", "mode", "flight state", "flight mode"),
    TIME_COLUMN: ("time", "timestamp", "elapsed time", "time stamp", "clock", "seconds"),
    NOTE_COLUMN: ("note", "event", "message", "text", "remark", "comment"),
}
_LONG = {
    "acc": "acceleration", "accel": "acceleration", "alt": "altitude", "baro": "barometer",
    "bat": "battery", "batt": "battery", "gnss": "satellite", "gps": "satellite", "gyr": "gyro",
    "hdg": "heading", "lat": "latitude", "lng": "longitude", "lon": "longitude", "prop": "propeller",
    "spd": "speed", "thr": "throttle", "vel": "speed", "velocity": "speed", "volt": "volts",
    "voltage": "volts", "amp": "amps", "cur": "current", "groundspeed": "ground speed",
}  # fmt: skip
_FILLING = {"raw", "value", "measured", "filtered", "board", "sensor", "estimated", "actual"}
_BRACKETED = re.compile(r"(.*\S)\s*[\[(]([^\[\]()]+)[\])]")
_HUMP = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Za-z])(?=[0-9])|(?<=[A-Z])(?=[A-Z][a-z])")
_BREAKS = re.compile(r"[^a-z0-9]+")


class Proposal(NamedTuple):
    """What a column may be, why, and how sure that is (0..1)."""

    column: int
    head: str
    channel: str  # without its unit, or "time" or "note"
    unit: str
    scale: float
    offset: float
    reasons: tuple[str, ...]
    sure: float

    @property
    def words(self) -> str:
        """Return the offer in words."""
        how = "surely" if self.sure >= 0.9 else "likely" if self.sure >= 0.6 else "perhaps"
        unit = f" in {self.unit}" if self.unit else ""
        scaled = f" after times {self.scale:g}" if self.scale != 1.0 else ""
        scaled += f" plus {self.offset:g}" if self.offset else ""
        return f"{how} {self.channel}{unit}{scaled}: {'; '.join(self.reasons)}"


class Proposals(NamedTuple):
    """Offers for the columns of a table."""

    found: tuple[Proposal, ...]  # in the order of the columns
    gravity_removed: str  # why the forces seem to have no gravity in them; "" if they have


def propose(
    heads: Sequence[str], numbers: Mapping[int, Numbers], texts: Mapping[int, str] | None = None
) -> Proposals:
    """Return what columns may be, by their names, the ranges of their values and how they hang together.

    Parameters: the heads; the columns that hold numbers, by their places, shape (n,), NaN for no sample; a
    first cell of each column of text.
    """
    texts = texts or {}
    with np.errstate(all="ignore"):
        numbers = {k: np.where(np.abs(row) < _ABSURD, row, np.nan) for k, row in numbers.items()}
    named = _named(heads, numbers, texts)
    time = next((column for column, channel in named.items() if channel == TIME_COLUMN), None)
    seen = Seen(
        {channel: numbers[column] for column, channel in named.items() if column in numbers},
        _seconds(heads, numbers, time),
    )
    found = []
    for column, channel in sorted(named.items()):
        head = heads[column]
        alike = _likeness(channel, head)
        reasons = [f"it is called {head}" if alike >= LEAST_ALIKE else "it alone rises from row to row"]
        guess = _guess(channel, column, heads[column], numbers, texts, seen)
        found.append(
            Proposal(
                column,
                head,
                channel,
                guess.unit,
                guess.scale,
                guess.offset,
                (*reasons, guess.why),
                round(guess.sure * alike / 100.0, 2),
            )
        )
    return Proposals(tuple(found), gravity_of(seen))


def _guess(
    channel: str,
    column: int,
    head: str,
    numbers: Mapping[int, Numbers],
    texts: Mapping[int, str],
    seen: Seen,
) -> Guess:
    """Return the unit that the name has, if the numbers can be that; else what they seem to be in."""
    told = _told_unit(head, channel)
    if told is None or column not in numbers or channel not in stems():
        return told or _guessed(channel, column, numbers, texts, seen)
    kind = CHANNELS[stems()[channel]]
    known = numbers[column][np.isfinite(numbers[column])]
    with np.errstate(under="ignore"):
        top = float(np.quantile(np.abs(known), 0.999)) if known.size else 0.0
    si = top * float(factor_of(told.unit, kind.dimension))
    if si <= max(abs(kind.low), abs(kind.high)) * 1.01:
        return told
    guess = _guessed(channel, column, numbers, texts, seen)
    if guess.unit == told.unit and guess.scale == 1.0:
        return told
    why = f"{guess.why}; {told.why}, but then it would reach {si:.4g} {kind.dimension.si}"
    return guess._replace(why=why.rstrip(), sure=min(guess.sure, 0.7))


def _guessed(
    channel: str, column: int, numbers: Mapping[int, Numbers], texts: Mapping[int, str], seen: Seen
) -> Guess:
    if column not in numbers:
        if channel == TIME_COLUMN:
            return Guess("utc", f"its cells are times of day, such as {texts.get(column, '')}", 0.9)
        return Guess("", f"its cells are words, such as {texts.get(column, '')}", 0.8)
    if channel == TIME_COLUMN:
        return guess_time(numbers[column])
    return guess_unit(channel, seen)


def _seconds(heads: Sequence[str], numbers: Mapping[int, Numbers], time: int | None) -> Numbers | None:
    """Return the times [s] by the unit that they seem to have."""
    if time is None or time not in numbers:
        return None
    guess = _told_unit(heads[time], TIME_COLUMN) or guess_time(numbers[time])
    try:
        with np.errstate(all="ignore"):
            return numbers[time] * to_si(f"1 {unit_text(guess.unit, TIME)}", TIME)
    except UnitError:
        return None


def _named(heads: Sequence[str], numbers: Mapping[int, Numbers], texts: Mapping[int, str]) -> dict[int, str]:
    """Return the channel of each column whose name is like one, the likest first, each channel once."""
    pairs = []
    for column, head in enumerate(heads):
        for channel in CALLED:
            fits = (
                channel != NOTE_COLUMN
                if column in numbers
                else column in texts and channel in (TIME_COLUMN, NOTE_COLUMN, "state")
            )
            score = _likeness(channel, head) if fits else 0.0
            if score >= LEAST_ALIKE:
                pairs.append((-score, column, channel))
    named: dict[int, str] = {}
    for _, column, channel in sorted(pairs):
        if column not in named and channel not in named.values():
            named[column] = channel
    if TIME_COLUMN not in named.values():
        rising = [k for k, row in numbers.items() if k not in named and _rises(row)]
        if len(rising) == 1:
            named[rising[0]] = TIME_COLUMN
    return named


def _rises(row: Numbers) -> bool:
    """Return True for many numbers, each larger than the one before: a clock, whatever its name."""
    return row.size >= FEWEST_ROWS and bool(np.isfinite(row).all()) and bool((np.diff(row) > 0.0).all())


def _likeness(channel: str, head: str) -> float:
    """Return how alike a head, with or without its unit, and what a channel is called are: 0 to 100."""
    if channel_of(head) is not None:
        return 100.0 if channel_of(head) == channel_of(channel) else 0.0
    told = _told_unit(head, channel)
    forms = {_words(head, 0), _words(head, told.why.rpartition(" ")[2].count("_") + 1 if told else 0)}
    return max(float(fuzz.token_sort_ratio(text, words)) for text in CALLED[channel] for words in forms)


def _words(head: str, unit_parts: int) -> str:
    """Return a head in plain long words, without as many parts at its end as its unit has."""
    bracketed = _BRACKETED.fullmatch(head.strip())
    humps = _HUMP.sub(" ", bracketed[1] if bracketed else head)
    parts = [part for part in _BREAKS.split(humps.casefold()) if part]
    if unit_parts and not bracketed and len(parts) > unit_parts:
        parts = parts[:-unit_parts]
    return " ".join(_LONG.get(part, part) for part in parts if part not in _FILLING)


def _told_unit(head: str, channel: str) -> Guess | None:
    """Return the unit that a head names, in brackets or at its end; None if it names none."""
    bracketed = _BRACKETED.fullmatch(head.strip())
    parts = [part for part in re.split(r"[_\s.]+", head.strip()) if part]
    texts = [bracketed[2].strip()] if bracketed else ["_".join(parts[-n:]) for n in (2, 1) if len(parts) > n]
    dimension = TIME if channel == TIME_COLUMN else None
    if channel in stems():
        dimension = CHANNELS[stems()[channel]].dimension
    if dimension is None:
        return None
    for text in texts:
        try:
            factor_of(text, dimension)
        except UnitError:
            continue
        if text:
            return Guess(text, f"its name ends in {text}", 1.0)
    return None
