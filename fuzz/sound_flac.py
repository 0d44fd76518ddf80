"""A sound as FLAC."""

from __future__ import annotations

from fuzz.door import given
from fuzz.sound_wav import hold, made
from overarm.recordings.sound.file import read_sound

LONGEST = 8_192
WORDS = (
    b"fLaC",
    b"\xff\xf8",
    b"\xff\xf9",
    b"\x80\x00\x00\x22",
    b"\x04\x00\x00\x28",
    b"\x0a\xc4\x42",
    b"OggS",
)


def seeds() -> list[bytes]:
    """Return half a second in two packings."""
    return made("FLAC", ("PCM_16", "PCM_S8"))


def run(data: bytes) -> None:
    """Read it."""
    hold(given(read_sound, data, "run.flac"))
