"""The ordered field checks, the cautions and the fixed words of a launch sheet.

Wording and order: common practice, no source. The tool advises; it gives odds and never a promise.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.describe.outlines import HEIGHT_ERROR_M, HOME_ABOVE_M
from overarm.sheets.wording import fixed

ABORT = "NO CLIMB = MOTOR OFF"
ADVICE = (
    "The tool gives odds from a model; you decide. Local rules, your licence or club practice and the pilot "
    "in charge come first. If they disagree with this sheet, follow them."
)
HOME_OVER_M = HOME_ABOVE_M + HEIGHT_ERROR_M
PROPELLER_OFF = "Propeller off until check 12."


class Check(NamedTuple):
    """One field check: what to do, what shows it, and when to stop."""

    number: int
    step: str
    evidence: str
    stop: str


class Caution(NamedTuple):
    """One caution in the words of the trade."""

    about: str
    words: str


class Limits(NamedTuple):
    """The figures of this sheet that the checks name."""

    wind_words: str
    pack_words: str
    home_words: str
    balance_words: str
    style: str
    path_words: str = "level"  # how the card wants the throw: "9° above the horizon"


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "Propellers",
        "Treat every powered model as able to start. Never hold it with the disc toward you or anyone. Keep "
        "hair, sleeves, straps away. A glove won’t save a finger.",
    ),
    Caution(
        "Lithium packs",
        "Swollen, dented, hot or below 3.0 V/cell: don’t charge or fly; keep outdoors in sand/bag; don’t "
        "leave charging unattended.",
    ),
    Caution(
        "Bungee",
        "Stand beside the line, never in front or behind; eye protection; peg pulled sideways at twice the "
        "pull; nobody over the line; inspect for nicks; release by foot or long cord.",
    ),
    Caution(
        "People and airspace",
        "Stay within sight; below the height your rules allow; away from roads, animals, crowds, aircraft; "
        "insurance as your country asks.",
    ),
    Caution("Trial launches", "Grass at least 30 cm, no spectators, motor cut rehearsed."),
)

_THROW = {
    "throw-started": (
        "Throw {path}, hand down and away",
        "clean release",
        "grip slips or arm hurts: do not throw again, rest",
    ),
    "spin-in-hand": (
        "Shake, wait, count aloud, throw {path}",
        "full pull felt",
        "not felt by count 5: don’t throw; motor off at once",
    ),
    "line-launched": (
        "Stretch to the mark, stand beside the line, release by foot or cord",
        "paces counted, hook pulls free by hand",
        "short of the mark; nick in the line; anybody over it",
    ),
}


def field_checks(limits: Limits) -> tuple[Check, ...]:
    """Return the seventeen checks in order, with the figures of this sheet."""
    throw, *shown = _THROW[limits.style]
    rows = (
        ("Permission, airspace, people; 30 m clear ahead, 10 m around; spotter", "pilot in charge named",
         "anybody in the cone; any doubt about airspace"),
        ("Wind for 2 minutes at hand height", f"mean, gust, direction; {limits.wind_words}",
         "outside the band; swing over 45°; tailwind"),
        ("Frame: latches, pack strapped, hinges, propeller nicks, balance", limits.balance_words,
         "any crack; balance outside its range"),
        ("Power on, model still for 10 s", "status; horizon level within 2°", "horizon off; moved: restart"),
        ("Read settings back, compare with this sheet", "no difference", "any difference"),
        ("Read the route back; first point ahead; one height reference", "count and hash match", "mismatch"),
        ("Stick test, then disturb nose, roll, yaw by hand", "each direction seen", "any wrong way"),
        ("Position fix in 3-D for 60 s, home stored", "home within 5 m of where you stand", "otherwise"),
        ("Pack at rest", f"{limits.pack_words}; 15 °C or more", "lower"),
        ("Lost-link action and motor-off switch", "both seen to work", "either does not"),
        (f"Return height over the tallest obstacle + {HOME_OVER_M:.0f} m", limits.home_words, "lower"),
        ("Pack out; propeller on; pack in; model held; area clear; then blip 1 s at 30 %",
         "sound, no stutter, amps",
         "vibration; stutter; thrust the wrong way"),
        ("Grip: dry throw of the arm without the model; hand clear of the disc", "helper watches",
         "the disc crosses the arm"),
        ("In position, into wind, nose level, then start the launch system; call “LIVE”", "cue seen",
         "turned or moved: back to asleep"),
        (throw.format(path=limits.path_words), *shown),
        ("Hands off 5 s, watch; pilot’s hand on the switch", "climbing by 3 s",
         "not climbing at 3 s: motor off, wings level"),
        ("After landing: motor off, wait until the propeller stops, pack out", "propeller still",
         "a hand goes near before it stands"),
    )  # fmt: skip
    return tuple(Check(k, *row) for k, row in enumerate(rows, start=1))


def path_words(path_rad: float | None) -> str:
    """Return how steep the card wants the throw; "level" within half a degree, or where it does not say."""
    angle = 0 if path_rad is None else round(math.degrees(path_rad))
    if angle == 0:
        return "level"
    return f"{abs(angle)}° {'above' if angle > 0 else 'below'} the horizon"


def home_words(home_height_m: float | None, tallest_m: float) -> str:
    """Return the evidence of the return-height check."""
    needed = fixed(tallest_m + HOME_OVER_M, 0)
    if home_height_m is None:
        return f"needs {needed} m; not on the card"
    return f"set {fixed(home_height_m, 0)} m, needs {needed} m"
