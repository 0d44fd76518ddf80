"""Throws and shakes in synthetic launches, against the truth that their maker keeps beside them.

The maker of these recordings shares nothing with the room: it flies a launch and writes what instruments
would have said of it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from overarm.recordings.reading import opened
from overarm.specimens import make
from overarm.trigger.hear import hear
from overarm.trigger.settings import listening_of
from tests.examples import derived_of, inputs_of, setup_of


@pytest.mark.parametrize(
    ("letter", "event", "within_s"),
    [("a", "stroke", 0.03), ("c", "shake", 0.15), ("d", "stroke", 0.03), ("e", "stroke", 0.03)],
)
def test_the_gesture_of_a_launch_is_found(letter: str, event: str, within_s: float, tmp_path: Path) -> None:
    """By its looks alone; the swing of a shake is first back, so it is seen half a swing late."""
    setup, listening = setup_of(letter), listening_of(setup_of(letter))
    for launch in range(2):
        made = make(setup, derived_of(letter), seed=3, launch=launch, inputs=inputs_of(letter))
        file = tmp_path / f"log{launch}.csv"
        file.write_bytes(made.csv)
        found = hear(opened(file), listening)
        assert found.label.label == ("shake" if event == "shake" else "throw")
        (gesture,) = found.gestures
        (truth,) = made.truth["launches"]
        assert gesture.at_s == pytest.approx(truth.get("events", truth)[event], abs=within_s)
