"""The finding on the speed gate: a gate that the launch does not reach starts nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from overarm.odds.finding import Finding
from overarm.odds.findings import findings
from tests.examples import derived_of, setup_of


def gate_finding(letter: str, gate_mps: float | None) -> Finding:
    setup = setup_of(letter)
    if gate_mps is not None:
        gate = setup.settings.speed_gate_mps
        assert gate is not None
        settings = setup.settings.model_copy(update={"speed_gate_mps": replace(gate, value=gate_mps)})
        setup = setup.model_copy(update={"settings": settings})
    return next(item for item in findings(setup, derived_of(letter)) if item.name == "speed gate")


@pytest.mark.parametrize(("gate_mps", "word"), [(7.0, "good"), (10.5, "watch"), (20.0, "stop")])
def test_a_gate_against_the_speed_of_the_line(gate_mps: float, word: str) -> None:
    """The line of example D gives about 11.5 m/s."""
    found = gate_finding("d", gate_mps)
    assert found.word == word
    assert ("lower the gate" in found.sentence) == (word != "good")


def test_no_gate_is_good() -> None:
    assert gate_finding("b", None).word == "good"
