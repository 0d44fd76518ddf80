"""Hostile inputs over all doors, from a seed: `python -m fuzz.hostile --inputs 24000`. No fuzzer is needed.

Input number i depends on the seed, on i and on the kept corpus. Each must end in an answer, or in a refusal
that is printable words and names a file, a line or a key; within the time of `fuzz.door.MOST_SECONDS`, and
without the process growing by more than MOST_MIB. A fault is told with its number; `--only` does it again.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import sys
import time
from collections import Counter
from functools import cache
from pathlib import Path
from typing import NamedTuple

from fuzz import TARGETS, door
from fuzz.bodies import body
from fuzz.mutate import damaged

SEED = 20_261_126
INPUTS = 24_000
MOST_MIB = 400  # by which the process may grow in one input
LARGE = 8  # an input is at most so many times as long as one of the fuzzer
CORPUS = door.PROJECT / "tests" / "fuzz_corpus"
# Which door has its turn: as often in a round as its share in a run of the fuzzer.
ROUND = [name for name, share in TARGETS.items() for _ in range(share)]


class Tried(NamedTuple):
    """What came of an input."""

    door: str
    refused: bool
    took_s: float
    fault: str  # "" if there is none


@cache
def _target(name: str) -> door.Target:
    return door.target_of(name)


@cache
def _whole(name: str) -> list[bytes]:
    """Return the inputs that are damaged: those which the fuzzer begins with, and those that it kept."""
    kept = sorted(file for file in (CORPUS / name).glob("*") if file.is_file())
    return [*_target(name).seeds() * 4, *(file.read_bytes() for file in kept)]


def input_of(seed: int, number: int) -> tuple[str, bytes]:
    """Return the door and the bytes of an input."""
    luck = random.Random(f"{seed}:{number}")
    name = ROUND[number % len(ROUND)]
    if name == "api_bodies" and luck.random() < 0.7:
        return name, body(luck)
    if luck.random() < 0.03:
        return name, luck.randbytes(luck.randint(0, 300))
    target = _target(name)
    return name, damaged(_whole(name), target.words, LARGE * target.longest, luck)


def tried(seed: int, number: int) -> Tried:
    """Give an input to its door."""
    name, data = input_of(seed, number)
    refusals, begun, before = door.TALLY["refusals"], time.process_time(), _mib()
    fault = ""
    try:
        door.held(_target(name), data)
    except Exception as error:
        fault = f"{type(error).__name__}: {error}"[:300]
    grown = _mib() - before
    if grown > MOST_MIB:
        fault = fault or f"the process grew by {grown:.0f} MiB"
    return Tried(name, door.TALLY["refusals"] > refusals, time.process_time() - begun, fault)


def _mib() -> float:
    """Return the most memory that this process ever had [MiB]."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 1024.0 if sys.platform == "linux" else most / 1024.0**2


def main() -> None:
    """Try them all, say what came of it, and end with 1 if there was a fault."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--inputs", type=int, default=INPUTS)
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--only", type=int, help="do the input of this number again")
    given = asked.parse_args()
    for name in TARGETS:
        for data in _target(name).seeds():
            door.held(_target(name), data)  # what is compiled or imported late takes no input's time
    if given.only is not None:
        name, data = input_of(given.seed, given.only)
        print(name, data[:2_000])
        door.held(_target(name), data)
        return
    begun, cpu = time.monotonic(), time.process_time()
    count, refused, faults = Counter[str](), Counter[str](), []
    longest = dict.fromkeys(TARGETS, 0.0)
    for number in range(given.inputs):
        found = tried(given.seed, number)
        count[found.door] += 1
        refused[found.door] += found.refused
        longest[found.door] = max(longest[found.door], found.took_s)
        if found.fault:
            faults.append((number, found.door, found.fault))
            print(f"FAULT {number} {found.door}: {found.fault}", flush=True)
        if number % 2_000 == 1_999:
            print(f"{number + 1} tried, {time.monotonic() - begun:.0f} s", flush=True)
    for name in TARGETS:
        print(f"{name:18} {count[name]:6} tried {refused[name]:6} refused {longest[name]:6.2f} s the longest")
    took = (
        f"{time.process_time() - cpu:.0f} s of processor, {time.monotonic() - begun:.0f} s, {_mib():.0f} MiB"
    )
    print(f"{given.inputs} inputs from seed {given.seed}: {sum(refused.values())} refused, {took}")
    print(f"faults: {len(faults)}")
    Path("build").mkdir(exist_ok=True)
    Path("build/hostile-faults.json").write_text(json.dumps(faults, indent=1), "utf-8")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
