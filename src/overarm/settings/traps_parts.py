"""What a trap can be made of: settings, the installation, and conditions that do happen."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from overarm.describe.change import written
from overarm.odds.finding import Finding
from overarm.settings.choices import CHOICES, STYLES, Choice, value_in
from overarm.settings.usual import usual_settings

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

CLEAR_POINTS = 0.10  # a loss or gain that counts; own choice
TILT = "airframe.board.tilt"
WIND = "day.wind"
LEVEL_BOARD = "0 deg"
# A wind in which most settings work; common practice, no source.
PLAIN_WIND_MPS, PLAIN_WIND = 6.0, "6 m/s"
CALM = "0 m/s"
USED_VOLTS_PER_CELL = 0.35
COLD_RESISTANCE_TIMES = 1.7  # at 10 C, of one measured pack
BELONGS = "belongs to"
# The check that looks at one value, and the value it looks at.
LOOKS_AT = {
    "climb pitch": "settings.climb_pitch",
    "dwell": "settings.jerk_dwell",
    "trigger margin": "settings.jerk_level",
    "carry margin": "settings.jerk_level",
    "self-start tilt": "settings.jerk_level",
    "clear slack": "settings.start_wait",
    "speed gate": "settings.speed_gate",
    "throttle rise": "settings.throttle_rise",
}


class Part(NamedTuple):
    """One difference between a setup (in some conditions) and the usual."""

    key: str
    words: str
    value: str
    usual: str
    meaning: str
    actual: tuple[tuple[str, str], ...]  # changes that put it into the usual setup
    condition: bool = False  # nobody set it: it happens


def of_style(choice: Choice, value: float, style: str, usual: str) -> str:
    """Return what a value of a setting usually means."""
    said = f"a {choice.words} of {choice.text(value)}"
    if choice.range_of(style).holds(value):
        return f"{said} is within what {style} launches use, where {usual} is usual"
    others = [other for other in STYLES if other != style and choice.range_of(other).holds(value)]
    if others:
        return f"{said} {BELONGS} {' and '.join(others)}; for {style} {usual} is usual"
    return f"{said} is unusual for any style; for {style} {usual} is usual"


def setting_parts(setup: Setup, derived: Derived) -> tuple[tuple[Part, ...], dict[str, str]]:
    """Return the settings that differ from the usual ones, and the changes to the usual."""
    parts, usual = [], {}
    settings = usual_settings(setup, derived)
    for choice in CHOICES:
        value = value_in(setup, choice)
        if value is None or choice.key not in settings:
            continue
        key, common = f"settings.{choice.key}", choice.text(settings[choice.key])
        usual[key] = common
        if abs(value - settings[choice.key]) > 1e-9:
            text = written(setup, key)
            meaning = of_style(choice, value, setup.style, common)
            parts.append(Part(key, choice.words, text, common, meaning, ((key, text),)))
    tilt = setup.airframe.board.tilt_rad
    usual[TILT] = LEVEL_BOARD
    if tilt.value != 0.0:
        parts.append(tilt_part(setup))
    return tuple(parts), usual


def tilt_part(setup: Setup) -> Part:
    """Return the tilt of the sensor board."""
    text = written(setup, TILT)
    meaning = f"a board tilted {text} makes the cue feel gravity while the model is level"
    return Part(TILT, "board tilt", text, LEVEL_BOARD, meaning, ((TILT, text),))


def wind_part(wind: str) -> Part:
    """Return a light wind as a condition."""
    meaning = "light wind, in which the usual settings do well"
    if wind == CALM:
        meaning = "the wind may drop to calm, in which the usual settings do well"
    return Part(WIND, "wind", wind, PLAIN_WIND, meaning, ((WIND, wind),), condition=True)


def pack_part(setup: Setup, derived: Derived) -> Part:
    """Return a part-used, cold pack as a condition."""
    volts = derived.pack.open_volts - USED_VOLTS_PER_CELL * setup.power.cells
    ohm = COLD_RESISTANCE_TIMES * setup.power.pack_resistance_ohm.value
    changes = (("day.pack_volts", f"{volts:.4g} V"), ("power.pack_resistance", f"{1e3 * ohm:.4g} mohm"))
    meaning = "a pack that is part-used and cold gives less thrust"
    return Part("day.pack_volts", "pack", f"{volts:.1f} V and cold", "full and warm", meaning, changes, True)


def stopped(found: tuple[Finding, ...]) -> dict[str, str]:
    """Return the inputs to which a single check says stop, with its sentence: no trap, named already."""
    return {
        LOOKS_AT[item.name]: item.sentence
        for item in found
        if item.word == "stop" and not item.combined and item.name in LOOKS_AT
    }


def together(parts: tuple[Part, ...]) -> dict[str, str]:
    """Return the changes that put several parts into the usual setup."""
    return dict(pair for part in parts for pair in part.actual)
