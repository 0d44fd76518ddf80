"""A sound as WAV, and what is heard in it."""

from __future__ import annotations

import io

import numpy as np

from fuzz.door import given
from overarm.recordings.sound.file import Sound, read_sound

LONGEST = 17_000
RATE_HZ = 8_000
WORDS = (
    b"RIFF", b"WAVE", b"fmt ", b"data", b"LIST", b"fact", b"\x03\x00", b"\xfe\xff", b"\x40\x1f\x00\x00",
    b"\xff\xff\xff\xff", b"\x00\x00\x00\x00", b"RF64", b"ds64", b"JUNK", b"\x11\x00", b"\x06\x00",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return half a second in several packings."""
    return made("WAV", ("PCM_16", "PCM_U8", "ULAW"))


def made(form: str, packings: tuple[str, ...]) -> list[bytes]:
    """Return sounds of one form."""
    import soundfile

    t_s = np.arange(RATE_HZ // 2 + 80) / RATE_HZ
    samples = 0.5 * np.sin(2.0 * np.pi * 200.0 * t_s)
    found = []
    for packing in packings:
        out = io.BytesIO()
        soundfile.write(out, samples, RATE_HZ, format=form, subtype=packing)
        found.append(out.getvalue())
    return found


def hold(sound: Sound | None) -> None:
    """Hold a sound to finite samples."""
    if sound is not None:
        assert np.isfinite(sound.samples).all()
        assert sound.seconds > 0.0


def run(data: bytes) -> None:
    """Read it."""
    hold(given(read_sound, data, "run.wav"))
