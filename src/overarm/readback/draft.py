"""A first mapping: which of the aircraft's names may be which of our keys, and the text of the file."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from rapidfuzz import fuzz

from overarm.readback.keys import SettingKey, setting_keys, value_in
from overarm.readback.mapping import FORM
from overarm.readback.report import Reported
from overarm.readback.scale import scale_of
from overarm.readback.suspect import UNITS
from overarm.readback.value import ValueFault, number_of
from overarm.units import UnitError, unit_of

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

LEAST_ALIKE = 75.0
FITS, FITS_SHARE = 20.0, 0.005
# What a key may be called in plain words; only to offer a name, which the person takes or not.
CALLED = {
    "jerk_level": ("kick", "jerk threshold", "shake strength", "start acceleration"),
    "jerk_dwell": ("kick time", "jerk time", "shake time"),
    "start_wait": ("start delay", "motor delay", "wait"),
    "throttle_rise": ("throttle ramp", "throttle rate", "full power after"),
    "launch_ceiling": ("launch throttle", "launch power", "top power"),
    "cruise_ceiling": ("cruise throttle", "cruise power"),
    "climb_pitch": ("climb angle", "nose up"),
    "early_pitch": ("first pitch",),
    "early_speed": ("first speed",),
    "speed_gate": ("least speed", "start speed"),
    "handover_height": ("climb height", "climb until"),
    "give_up_time": ("give up after", "time limit"),
    "after_task": ("next job", "then do", "after launch"),
    "home_height": ("return height",),
    "home_circle_radius": ("circle radius",),
}
_COMMA = re.compile(r"[-+]?\d+,\d+")
_BREAKS = re.compile(r"[^a-z0-9]+")


class Proposal(NamedTuple):
    """A name that may be one of our keys, and the unit with which its number agrees with the sheet."""

    name: str
    unit: str  # "" if none is known
    agrees: bool


class Line(NamedTuple):
    """One entry of the new mapping."""

    name: str
    key: str
    unit: str
    words: dict[str, str]  # the aircraft's word, ours


def asked_keys(setup: Setup | None) -> list[SettingKey]:
    """Return the keys to ask for: those that the sheet has, or all."""
    keys = list(setting_keys().values())
    return keys if setup is None else [key for key in keys if value_in(setup, key) is not None]


def propose(
    key: SettingKey, values: Sequence[Reported], taken: Iterable[str], setup: Setup | None
) -> Proposal | None:
    """Return the name that is most like a key, by its letters and by its value against the sheet."""
    used = set(taken)
    best: tuple[float, Proposal] | None = None
    for item in values:
        if item.name in used:
            continue
        unit = fitting_unit(key, item.text, setup)
        score = alike(key.key, item.name) + (FITS if unit is not None else 0.0)
        if score >= LEAST_ALIKE and (best is None or score > best[0]):
            best = score, Proposal(item.name, unit or "", unit is not None)
    return best[1] if best is not None else None


def alike(key: str, name: str) -> float:
    """Return how alike a key, or what else it is called, and a name are: 0 to 100."""
    there = _plain(name)
    return max(fuzz.token_set_ratio(_plain(text), there) for text in (key, *CALLED.get(key, ())))


def _plain(name: str) -> str:
    return _BREAKS.sub(" ", name.casefold()).strip()


def fitting_unit(key: SettingKey, text: str, setup: Setup | None) -> str | None:
    """Return the unit with which a reported number is what the sheet has; None if there is none."""
    wanted = value_in(setup, key) if setup is not None else None
    if key.amount is None or not isinstance(wanted, float) or wanted == 0.0:
        return None
    try:
        number = number_of(text, "," in text)[0]
    except ValueFault:
        return None
    for unit in UNITS.get(key.amount.dimension.name, ()):
        try:
            value = scale_of(unit, key.amount.dimension).to_si(number)
        except UnitError:
            continue
        if abs(value / wanted - 1.0) <= FITS_SHARE:
            return unit
    return None


def usual_unit(key: SettingKey) -> str:
    """Return the unit in which our cards show a key."""
    return unit_of(key.amount.example) if key.amount is not None else ""


def problem_with_unit(key: SettingKey, unit: str) -> str | None:
    """Return what is wrong with a unit; None if it will do."""
    if key.amount is None:
        return None
    try:
        scale_of(unit, key.amount.dimension)
    except UnitError as error:
        return str(error)
    return None


def with_comma(values: Iterable[Reported]) -> str:
    """Return the first value that looks like a number with a decimal comma; "" if there is none."""
    return next((item.text for item in values if _COMMA.fullmatch(item.text.strip())), "")


def mapping_text(
    lines: Sequence[Line], ignored: Sequence[str], aircraft: str, *, decimal_comma: bool = False
) -> str:
    """Return the text of a mapping file."""
    said = [
        "# Which name of the aircraft is which of our settings, and in which unit it reports it.",
        "# Check every unit against the aircraft's own description: one that was chosen because the",
        "# number then agrees hides a number that was typed in the wrong unit.",
        f"overarm_map: {FORM}",
        f"aircraft: {_quoted(aircraft)}",
        *(["decimal: comma"] if decimal_comma else []),
        "settings:" if lines else "settings: {}",
    ]
    for line in lines:
        parts = [f"key: {line.key}"]
        if line.unit:
            parts.append(f"unit: {_quoted(line.unit)}")
        if line.words:
            inside = ", ".join(f"{_quoted(theirs)}: {_quoted(ours)}" for theirs, ours in line.words.items())
            parts.append(f"words: {{{inside}}}")
        said.append(f"  {_quoted(line.name)}: {{{', '.join(parts)}}}")
    if ignored:
        said += ["ignore:", *(f"  - {_quoted(name)}" for name in ignored)]
    return "\n".join(said) + "\n"


def _quoted(text: str) -> str:
    """Return text as YAML reads it back, whatever it holds."""
    return json.dumps(text)
