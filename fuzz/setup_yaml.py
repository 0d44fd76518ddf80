"""A setup in YAML: the door of most commands."""

from __future__ import annotations

import math
from pathlib import Path

import overarm
from fuzz.door import PROJECT, given
from overarm.describe.cards import Setup
from overarm.describe.quantity import Quantity

LONGEST = 6_144
WORDS = (
    b"overarm: 1\n", b"style: ", b"throw-started", b"line-launched", b"spin-in-hand", b"airframe:\n",
    b"power:\n", b"thrower:\n", b"settings:\n", b"site:\n", b"day:\n", b"line:\n", b"obstacles:",
    b"measured", b"guessed", b"+- ", b" kg", b" mm", b" deg", b" m/s", b" %", b" to ", b".nan", b"-.inf",
    b"1e999", b"~", b"&a ", b"*a", b"!!x ", b"? ", b"<<: ", b"%YAML", b"---\n", b"| ", b"> ",
    b"coefficient_table: ", b"obstacle_file: ", b"height_model: ", b"../",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return the example setups without their comments."""
    found = []
    for file in sorted((PROJECT / "examples").glob("*.yaml")):
        lines = (line.partition("  #")[0].rstrip() for line in file.read_text("utf-8").splitlines())
        found.append(
            "".join(f"{line}\n" for line in lines if line and not line.startswith("#")).encode("utf-8")
        )
    return found


def hold(setup: Setup | None) -> None:
    """Hold a setup that loaded to what every setup is."""
    if setup is None:
        return
    for path, item in setup.inputs():
        assert isinstance(item, Quantity), path
        assert math.isfinite(item.value), path
        assert math.isfinite(item.spread), path
        assert item.spread >= 0.0, path
    assert len(setup.hash()) == 16


def load(file: Path) -> Setup:
    """Return the setup of a file."""
    return overarm.load(file)


def run(data: bytes) -> None:
    """Load it."""
    hold(given(load, data, "setup.yaml"))
