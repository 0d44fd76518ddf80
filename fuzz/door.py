"""What all targets share: bytes laid down as a file, a reader called on it, and what may come of that."""

from __future__ import annotations

import atexit
import math
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from overarm.errors import InputError
from overarm.recordings.recording import Recording

MOST_SECONDS = 5.0  # of processor time; whatever takes longer counts as a hang
LONGEST_TOLD = 3_000  # letters of one problem, less its file
_MEMORY = Path("/dev/shm")
TALLY: Counter[str] = Counter()  # "refusals": how many there were in this process
PROJECT = Path(__file__).resolve().parent.parent


class Target(NamedTuple):
    """A door: what is done with bytes, whole inputs to begin with, words that mean something there."""

    name: str
    run: Callable[[bytes], None]
    seeds: Callable[[], list[bytes]]
    words: tuple[bytes, ...]
    longest: int  # bytes of an input


def target_of(name: str) -> Target:
    """Return the target that a file of this folder describes."""
    told = import_module(f"fuzz.{name}")
    return Target(name, told.run, told.seeds, getattr(told, "WORDS", ()), getattr(told, "LONGEST", 4_096))


def held(target: Target, data: bytes) -> None:
    """Give one input to a target. Raises whatever is not a clear refusal, and TimeoutError for a hang."""
    begun = time.process_time()
    with np.errstate(all="raise"):
        target.run(data)
    took_s = time.process_time() - begun
    if took_s > MOST_SECONDS:
        raise TimeoutError(f"{target.name} took {took_s:.1f} s for {len(data):,} bytes")


@cache
def folder() -> Path:
    """Return a folder of this process, in memory if there is such a disk; it goes with the process."""
    made = Path(tempfile.mkdtemp(prefix="overarm-fuzz-", dir=_MEMORY if _MEMORY.is_dir() else None))
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    return made


def laid(data: bytes, name: str) -> Path:
    """Return a file of this name that holds the bytes."""
    file = folder() / name
    file.write_bytes(data)
    return file


def given(read: Callable[[Path], Any], data: bytes, name: str) -> Any:
    """Return what a reader makes of bytes in a file; None if it refuses them in clear words."""
    file = laid(data, name)
    try:
        return read(file)
    except InputError as error:
        hold_words(error, str(file))
    return None


def hold_words(error: InputError, file: str = "") -> None:
    """Hold a refusal to what a person can use: problems that say where, printable lines, no novels."""
    TALLY["refusals"] += 1
    assert error.problems, "a refusal without a problem"
    for problem in error.problems:
        assert problem.message, "a problem without words"
        assert problem.file or problem.key or problem.line, f"a problem without a place: {problem}"
        line = str(problem)
        assert line.isprintable(), f"a problem that cannot be printed: {line!r}"
        assert len(line) < LONGEST_TOLD + len(file), f"a problem of {len(line)} letters"
        line.encode("utf-8")


def hold_recording(recording: Recording | None) -> None:
    """Hold a recording to arrays of one size and to finite numbers."""
    if recording is None:
        return
    for name, channel in recording.channels.items():
        assert channel.t_s.shape == channel.values.shape, name
        assert np.isfinite(channel.t_s).all(), f"{name} has a time that is none"
        assert np.isfinite(channel.values).all(), f"{name} has a value that is none"
    assert all(math.isfinite(note.t_s) for note in recording.notes)


def hold_plain(data: Any) -> None:
    """Hold data to numbers that are some."""
    if isinstance(data, float):
        assert math.isfinite(data), "a number that is none"
    elif isinstance(data, Mapping):
        for value in data.values():
            hold_plain(value)
    elif isinstance(data, list | tuple):
        for value in data:
            hold_plain(value)
