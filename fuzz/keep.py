"""Keep the least of what the fuzzing found: `python -m fuzz.keep` fills tests/fuzz_corpus from build/fuzz.

Of the inputs that were kept before and those found now, in the order of their size, each stays that goes from
one line of our code to another where none before it went. Faults are looked at by a person: they are put into
the folder of their target by hand, under a name that says what they broke.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
from collections.abc import Callable
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

from fuzz import TARGETS
from fuzz.door import Target, held, target_of
from fuzz.run import KEPT, WORK

OURS = str(Path(__file__).resolve().parent.parent / "src" / "overarm")
MOST_BYTES = 48_000  # of one target
MOST_INPUTS = 150
BROKE = "broke-"  # inputs that a person named stay whatever they reach

Step = tuple[CodeType, int, int]


def steps_of(target: Target, data: bytes) -> set[Step]:
    """Return every step from a line of our code to a line of it that an input makes."""
    found: set[Step] = set()
    last: dict[int, int] = {}

    def watch(frame: FrameType, event: str, _given: Any) -> Callable[..., Any] | None:
        if not frame.f_code.co_filename.startswith(OURS):
            return None
        if event == "line":
            key, line = id(frame), frame.f_lineno
            found.add((frame.f_code, last.get(key, 0), line))
            last[key] = line
        elif event == "call":
            last.pop(id(frame), None)
        return watch

    sys.settrace(watch)
    try:
        held(target, data)
    finally:
        sys.settrace(None)
    return found


def least(target: Target, inputs: list[bytes]) -> list[bytes]:
    """Return those of the inputs that reach something which no shorter one does."""
    for data in inputs[:3]:
        held(target, data)  # what is imported late is no reach
    reached: set[Step] = set()
    kept: list[bytes] = []
    for data in sorted(set(inputs), key=lambda one: (len(one), one)):
        if len(kept) >= MOST_INPUTS or sum(map(len, kept)) + len(data) > MOST_BYTES:
            break
        try:
            new = steps_of(target, data) - reached
        except Exception as error:
            print(f"{target.name}: {hashlib.sha1(data, usedforsecurity=False).hexdigest()}: {error!r}")
            continue
        if new:
            reached |= new
            kept.append(data)
    return kept


def main() -> None:
    """Fill the folder of each target that is named, or of all."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("targets", nargs="*", help="all if none is named")
    for name in asked.parse_args().targets or TARGETS:
        folder, target = KEPT / name, target_of(name)
        folder.mkdir(parents=True, exist_ok=True)
        before = [file for file in sorted(folder.iterdir()) if not file.name.startswith(BROKE)]
        found = [file for file in sorted((WORK / name / "corpus").glob("*")) if file.is_file()]
        kept = least(target, [file.read_bytes() for file in (*before, *found)])
        for file in before:
            file.unlink()
        for data in kept:
            (folder / hashlib.sha1(data, usedforsecurity=False).hexdigest()[:12]).write_bytes(data)
        print(f"{name}: {len(kept)} of {len(before) + len(found)}, {sum(map(len, kept)):,} bytes", flush=True)


if __name__ == "__main__":
    main()
