"""Channels of any times and values, cleaned, and looked through for launches.

The bytes are not a file: they say which channels there are and what stands in them, so that the cleaning
meets what no reader would let through.
"""

from __future__ import annotations

import random
import struct

import numpy as np

from fuzz.door import hold_plain, hold_recording
from overarm.recordings.channels import CHANNELS
from overarm.recordings.cleaning import clean
from overarm.recordings.phases import phases_of
from overarm.recordings.recording import Channel, Note, Recording

LONGEST = 1_024
WORDS = (b"\x00\x00", b"\xff\xff", b"\x7f\x80", b"\x01\x01\x01\x01", b"\x20\x00\x00")
NAMES = tuple(CHANNELS)
STEPS_S = (0.0, 0.01, 0.02, 0.02, 0.02, 0.1, 1.0, 30.0, -0.02, -1.0, 1e-9, 1e6, 0.02, 0.02, 0.005, 0.04)
ODD = (
    0.0,
    1.0,
    -1.0,
    9.80665,
    -9.80665,
    1e-300,
    1e300,
    -1e300,
    5e-324,
    1e9,
    47.0,
    360.0,
    3.141592653589793,
    100.0,
)


class _Bytes:
    """Bytes that are taken one after the other; zero when they are used up."""

    def __init__(self, data: bytes) -> None:
        self.data, self.at = data, 0

    def one(self) -> int:
        self.at += 1
        return self.data[self.at - 1] if self.at <= len(self.data) else 0

    @property
    def left(self) -> bool:
        return self.at < len(self.data)


def recording_of(data: bytes) -> Recording:
    """Return the recording that bytes describe."""
    told = _Bytes(data)
    felt = told.one() < 128
    channels: dict[str, Channel] = {}
    while told.left and len(channels) < 8:
        name = NAMES[told.one() % len(NAMES)]
        count, kind = told.one(), told.one()
        at, times, values = float(told.one()), [], []
        for _ in range(count * (1 + kind // 64)):
            step, value = (told.one(), told.one()) if told.left else (kind, count)
            at += STEPS_S[step % 16]
            times.append(at)
            values.append(_value(step // 16, value, at))
        channels[name] = Channel(np.array(times, float), np.array(values, float), f"column {name}")
    notes = (Note(0.5, "thrown"),) if not felt else ()
    return Recording("made.csv", "0" * 64, "table", channels, gravity_felt=felt, notes=notes)


def _value(how: int, value: int, at: float) -> float:
    """Return a value: odd ones, small ones, a wave over time."""
    if how < 2:
        return ODD[value % len(ODD)]
    if how < 8:
        return struct.unpack("b", bytes([value]))[0] / 4.0
    if how < 12:
        return float(np.sin(at * (1 + value % 50)) * value)
    return value * 10.0 - 1_000.0


def seeds() -> list[bytes]:
    """Return channels drawn at random, some of them regular."""
    found = []
    for number in range(6):
        luck = random.Random(number)
        data = bytearray([luck.randrange(256)])
        for name in luck.sample(range(len(NAMES)), 3):
            steps = [luck.randrange(256) if number % 2 else 16 * luck.randrange(2, 16) + 2 for _ in range(40)]
            data += bytes([name, 40, luck.randrange(256), 0])
            data += bytes(part for step in steps for part in (step, luck.randrange(256)))
        found.append(bytes(data))
    return found


def run(data: bytes) -> None:
    """Clean it, hold what comes out, and look for phases."""
    cleaned = clean(recording_of(data))
    hold_recording(cleaned)
    for name, channel in cleaned.channels.items():
        assert (np.diff(channel.t_s) > 0.0).all(), f"the times of {name} do not rise"
    for repair in cleaned.repairs:
        hold_plain(tuple(repair))
        assert repair.sentence.isprintable()
    again = clean(cleaned)
    assert again.repairs == cleaned.repairs, "cleaned again, something else is found"
    with np.errstate(under="ignore"):  # as outside of tests: numbers next to nothing are nothing
        found = phases_of(cleaned)
    for launch in found.launches:
        assert np.isfinite([launch.from_s, launch.to_s]).all()
