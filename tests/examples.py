"""The five example setups with their derived figures and campaign inputs, made once a test run."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import overarm
from overarm.describe.cards import Setup
from overarm.describe.derived import Derived, derive
from overarm.flight import inputs as flight_inputs
from overarm.flight.campaign import Inputs

FOLDER = Path(__file__).resolve().parent.parent / "examples"
FILES = {path.name[0]: path for path in sorted(FOLDER.glob("[a-e]-*.yaml"))}


@cache
def setup_of(letter: str) -> Setup:
    """Return the example setup a to e."""
    return overarm.load(FILES[letter])


@cache
def derived_of(letter: str) -> Derived:
    """Return its derived figures."""
    return derive(setup_of(letter))


@cache
def inputs_of(letter: str) -> Inputs:
    """Return its campaign inputs."""
    return flight_inputs.inputs_of(setup_of(letter), derived_of(letter))
