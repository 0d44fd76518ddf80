"""One thing that was measured, by a launch or at the bench, and which input of a card it speaks of."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal, NamedTuple

from overarm.recordings.launch import Estimate

EvidenceKind = Literal["launch", "bench"]
AT_LEAST = "; at least this"  # ends the method of a reading that is only a lower bound

# Which input an estimate of a launch speaks of. The others describe one launch and no card.
INPUT_OF: dict[str, str] = {
    "throw_speed_mps": "thrower.release_speed",
    "release_path_rad": "thrower.release_path",
    "release_pitch_rad": "thrower.release_pitch",
    "release_bank_rad": "thrower.release_bank",
    "start_delay_s": "power.start_delay",
    "static_thrust_n": "power.thrust",
    "drag_zero": "airframe.drag_zero",
}


class Evidence(NamedTuple):
    """One measurement of one input, in SI units.

    ``error``: one standard deviation of this one measurement. ``source``: sha256 of the recording or of
    the form. ``day``: ISO date, empty if nobody knows it.
    """

    input: str
    value: float
    error: float
    kind: EvidenceKind
    method: str
    source: str
    day: str

    @property
    def lower_bound(self) -> bool:
        """Return True if the truth is at least the value: a clipped sensor. The end of the method says so."""
        return self.method.endswith(AT_LEAST)


class LeftOut(NamedTuple):
    """Something that was read and teaches nothing, and why."""

    what: str
    why: str


class LaunchFigures(NamedTuple):
    """One launch as a review tells it: its number in the recording, and the estimates by name."""

    number: int
    kind: str
    source: str
    day: str
    estimates: Mapping[str, Estimate]


def evidence_of(launch: LaunchFigures) -> tuple[tuple[Evidence, ...], tuple[LeftOut, ...]]:
    """Return what one launch teaches, and which of its figures teach nothing although a card has them.

    Only figures that the launch tells are taken: an aborted throw, an estimate without a value or
    without an error gives nothing. A throw whose sensor was clipped is a lower bound of its speed.
    """
    if launch.kind != "launch":
        return (), (LeftOut(f"launch {launch.number}", f"it is no launch: {launch.kind}"),)
    found: list[Evidence] = []
    left: list[LeftOut] = []
    for name, key in INPUT_OF.items():
        told = launch.estimates.get(name)
        if told is None:
            continue
        what = f"launch {launch.number}, {name}"
        why = _why_not(told, name)
        if why:
            left.append(LeftOut(what, why))
            continue
        assert told.value is not None
        method = told.method.removesuffix(AT_LEAST) + (AT_LEAST if told.bound == "at least" else "")
        found.append(Evidence(key, told.value, told.error, "launch", method, launch.source, launch.day))
    return tuple(found), tuple(left)


def _why_not(told: Estimate, name: str) -> str:
    """Return why an estimate teaches nothing; empty if it does."""
    if told.value is None:
        return told.why_not or "it could not be told"
    if not (math.isfinite(told.value) and math.isfinite(told.error) and told.error > 0.0):
        return "it has no error, so nobody knows how much it says"
    if told.bound and (told.bound != "at least" or name != "throw_speed_mps"):
        return f"it is only a bound ({told.bound} this)"
    if name in ("static_thrust_n", "drag_zero") and told.value <= 0.0:
        return "it is not above zero"
    return ""
