"""What the field pack asks for at each check: what was seen, what was read, and how long to wait.

The steps, their order and their stop rules are those of `overarm.sheets.checks`; here is how each is
answered on a phone. Common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from overarm.sheets.checks import HOME_OVER_M
from overarm.sheets.field_corners import LEAST_PACK_C
from overarm.sheets.wording import fixed, span, tied

if TYPE_CHECKING:
    from overarm.sheets.subject import Subject

FIRST_WITH_PROPELLER = 12
LIVE_CHECK, THROW_CHECK, CLIMB_CHECK = 14, 15, 16
CLIMB_S, PULL_S = 3, 5
MOST_SWING_DEG, MOST_HORIZON_DEG, MOST_HOME_M = 45.0, 2.0, 5.0


class Ask(NamedTuple):
    """One piece of evidence."""

    key: str
    kind: Literal["seen", "number", "text"]
    label: str
    unit: str = ""
    low: float | None = None  # under it, or over `high`, the stop rule is met
    high: float | None = None
    today: str = ""  # the figure of the day that it is
    needed: bool = True


class Wait(NamedTuple):
    """A time that must pass."""

    seconds: int
    label: str


WAITS: dict[int, Wait] = {
    2: Wait(120, "Watch the wind for 2 minutes"),
    4: Wait(10, "Model still for 10 seconds"),
    8: Wait(60, "Hold the fix for 60 seconds"),
    12: Wait(1, "Blip for 1 second at 30 %"),
}


def _seen(key: str, label: str) -> Ask:
    return Ask(key, "seen", label)


def _before_power(subject: Subject, band: tuple[float, float] | None) -> dict[int, tuple[Ask, ...]]:
    low, high = (None, None) if band is None else (round(band[0], 1), round(band[1], 1))
    mass = span(*subject.mass_band_kg, 2, "kg")
    return {
        1: (
            Ask("pilot", "text", "Pilot in charge"),
            _seen("airspace", "Permission, and no doubt about the airspace"),
            _seen("clear", "30 m clear ahead, 10 m around"),
            _seen("spotter", "Spotter in place"),
        ),
        2: (
            Ask("wind", "number", "Mean wind at the hand", "m/s", low, high, "wind"),
            Ask("gust", "number", "Highest gust", "m/s", today="gust"),
            Ask("swing", "number", "Direction swings over", "°", None, MOST_SWING_DEG),
            _seen("ahead", "Wind from ahead, no tailwind"),
        ),
        3: (
            _seen("frame", "No crack; latches and hinges hold"),
            _seen("pack", "Pack strapped"),
            _seen("propeller", "Propeller without a nick, and off the model"),
            _seen("balance", f"Balances {subject.balance_words}"),
            _seen("mass", f"Mass {mass}, pack in"),
        ),
        4: (
            Ask("horizon", "number", "Horizon off by", "°", None, MOST_HORIZON_DEG),
            _seen("status", "Status as it should be, model not moved"),
        ),
        5: (Ask("differences", "number", "Settings that differ from the sheet", "", None, 0.0),),
        6: (
            _seen("mission", "Count and hash of the route match"),
            _seen("first", "First point lies ahead"),
            _seen("heights", "One height reference for all points"),
        ),
        7: (
            _seen("stick", "Stick: every surface moves the right way"),
            _seen("nose", "Nose pushed up and down: surfaces push back"),
            _seen("roll", "Rolled by hand: surfaces push back"),
            _seen("yaw", "Turned by hand: surfaces as they should be"),
        ),
    }  # fmt: skip


def _before_live(subject: Subject) -> dict[int, tuple[Ask, ...]]:
    needed_m = round(subject.tallest_m + HOME_OVER_M)
    return {
        8: (
            _seen("fix", "Fix in 3-D all the time, home stored"),
            Ask("home", "number", "Home is off by", "m", None, MOST_HOME_M),
        ),
        9: (
            Ask("volts", "number", "Pack at rest", "V", round(subject.least_volts, 1), None, "volts"),
            Ask("pack", "number", "Pack temperature", "°C", LEAST_PACK_C),
            Ask("air", "number", "Air temperature", "°C", today="air"),
        ),
        10: (
            _seen("lost", "Lost-link action works"),
            _seen("off", "Motor-off switch works"),
        ),
        11: (Ask("height", "number", "Return height that is set", "m", float(needed_m)),),
        12: (
            _seen("order", "Pack out, propeller on, pack in, in this order"),
            _seen("held", "Model held, area clear"),
            _seen("sound", "Even sound, no stutter, thrust the right way"),
            Ask("amps", "number", "Current at 30 %", "A", needed=False),
        ),
        13: (_seen("arm", "Helper saw it: the hand stays clear of the disc"),),
        14: (
            _seen("place", "In position, into wind, nose level"),
            _seen("cue", "Launch system started here, cue seen"),
        ),
        17: (
            _seen("still", "Motor off, propeller stands still"),
            _seen("out", "Pack out"),
        ),
    }  # fmt: skip


def asks_of(subject: Subject, band: tuple[float, float] | None) -> dict[int, tuple[Ask, ...]]:
    """Return what is asked for at each check, with the limits of this setup."""
    asks = _before_power(subject, band) | _before_live(subject) | {15: (), 16: ()}
    if subject.by_line:
        asks[15] = (
            Ask("paces", "number", "Stretch in paces", "", needed=False),
            _seen("hook", "Hook pulls free by hand, no nick in the line"),
            _seen("beside", "Nobody over, in front of or behind the line"),
        )
    return asks


def ask_dict(ask: Ask) -> dict[str, Any]:
    """Return one piece of evidence as JSON-ready data, with its limit in words."""
    words = ""
    if ask.low is not None and ask.high is not None:
        words = span(ask.low, ask.high, 1, ask.unit)
    elif ask.low is not None:
        words = f"{fixed(ask.low, 1).removesuffix('.0')} {ask.unit} or more"
    elif ask.high is not None:
        most = f"{fixed(ask.high, 0)} {ask.unit}".strip().replace(" °", "°")
        words = f"{most} at most" if ask.high else "none"
    return {**ask._asdict(), "limit": tied(words)}
