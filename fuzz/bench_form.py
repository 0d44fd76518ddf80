"""A bench form in YAML, and the evidence that follows from it."""

from __future__ import annotations

from pathlib import Path

from fuzz.door import given
from overarm.learn.bench.empty import empty_form
from overarm.learn.bench.read import read_form

LONGEST = 2_048
NAMES = ("pull", "swing", "glide", "tilt", "clear", "history")
WORDS = (
    b"overarm_bench: 1\n", b"test: ", b"day: 2031-05-17", b"remark: ", b"readings:\n", b"throttle: ",
    b"pull: ", b"axis: ", b"glides:\n", b"throws:\n", b"launches:\n", b"figures:", b"clean: true",
    b"odds: ", b" +- ", b" s", b" %", b" N", b"~", b"- {", b"}", b".nan", b"1e999", b"-1", b"0",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return the empty forms without their comments."""
    found = []
    for name in NAMES:
        lines = (line.partition("#")[0].rstrip() for line in empty_form(name, "2031-05-17").splitlines())
        found.append("".join(f"{line}\n" for line in lines if line).encode("utf-8"))
    return found


def read(file: Path) -> object:
    """Return the form of a file."""
    return read_form(file)


def run(data: bytes) -> None:
    """Read it."""
    given(read, data, "form.yaml")
