"""A sound file (WAV, FLAC): one channel of samples, with its hash. Read by libsndfile (`soundfile`)."""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from overarm.errors import InputError, Problem
from overarm.files import read_bytes

MOST_BYTES = 200_000_000
MOST_SECONDS = 600.0
LEAST_RATE_HZ, MOST_RATE_HZ = 8_000, 384_000
LEAST_SECONDS = 0.5
FULL_SCALE = 0.999
CURE = "Record a WAV or FLAC file of 0.5 s to 10 min, 8 kHz or more, 44.1 kHz is usual"


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Samples of one microphone, full scale 1."""

    name: str
    sha256: str
    rate_hz: float
    samples: NDArray[np.float64]  # (n,)
    clipped_share: float  # of the samples, at full scale
    notes: tuple[str, ...]

    @property
    def seconds(self) -> float:
        """Return how long it is [s]."""
        return self.samples.size / self.rate_hz


def _refused(file: Path, message: str, value: str = "") -> InputError:
    return InputError([Problem(message, CURE, str(file), value=value)])


def _bytes(file: Path) -> bytes:
    raw = read_bytes(file, MOST_BYTES, CURE, CURE)
    if not raw:
        raise _refused(file, "is empty")
    return raw


def read_sound(file: Path) -> Sound:
    """Return the samples of a sound file; of several channels the loudest.

    Raises InputError for a file that is no sound, is cut off, too short, too long or of too low a rate.
    """
    import soundfile

    raw = _bytes(file)
    try:
        with soundfile.SoundFile(io.BytesIO(raw)) as stream:
            rate_hz, frames, kind = int(stream.samplerate), int(stream.frames), str(stream.format)
            if not LEAST_RATE_HZ <= rate_hz <= MOST_RATE_HZ:
                raise _refused(file, "has a sample rate that does not do", f"{rate_hz} Hz")
            if frames > MOST_SECONDS * rate_hz:
                raise _refused(file, "is too long", f"{frames / rate_hz:.0f} s")
            data = stream.read(dtype="float64", always_2d=True)
    except (soundfile.SoundFileError, RuntimeError, TypeError) as error:
        said = str(error).splitlines()[0].rpartition(">: ")[2].rstrip(". ")
        raise _refused(file, f"is no sound that can be read: {said}") from None
    return _sound(file, raw, (rate_hz, frames, kind), np.asarray(data))


def _sound(file: Path, raw: bytes, head: tuple[int, int, str], data: NDArray[np.float64]) -> Sound:
    rate_hz, frames, kind = head
    if data.shape[0] < LEAST_SECONDS * rate_hz:
        raise _refused(file, "is too short", f"{data.shape[0] / rate_hz:.2f} s")
    if not np.isfinite(data).all():
        raise _refused(file, "holds samples that are no numbers")
    notes = [f"{kind}, {rate_hz} Hz, {data.shape[0] / rate_hz:.1f} s"]
    if data.shape[0] < frames:
        notes.append(f"It is cut off: {frames} samples were promised, {data.shape[0]} are there.")
    loudest = int(np.argmax(np.mean(data**2, axis=0)))
    if data.shape[1] > 1:
        notes.append(f"Channel {loudest + 1} of {data.shape[1]}, the loudest, was taken.")
    samples = data[:, loudest] - float(np.mean(data[:, loudest]))
    if not np.any(samples):
        raise _refused(file, "is silent: every sample is the same")
    clipped = float(np.mean(np.abs(data[:, loudest]) >= FULL_SCALE))
    if clipped > 0.0:
        notes.append(f"{100.0 * clipped:.2g} % of the samples are at full scale: it was too loud.")
    return Sound(file.name, hashlib.sha256(raw).hexdigest(), float(rate_hz), samples, clipped, tuple(notes))
