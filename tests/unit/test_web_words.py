"""The words of the review room in the pages are those of the command."""

from __future__ import annotations

import math
import re
from pathlib import Path

from overarm.review.shown import EVENT_NAMES, LINK_NAMES, SHOWN

WORDS = (Path(__file__).parents[2] / "web/src/rooms/review/words.ts").read_text("utf-8")
UNITS = {"deg": ("deg", math.degrees(1.0)), "%/s": ("%/s", 100.0), "%": ("%", 100.0), "m/s2": ("m/s²", 1.0)}


def part(name: str) -> str:
    return WORDS.split(f"const {name}: ")[1].split("};")[0]


def test_figures_have_the_same_names_units_and_digits() -> None:
    found = re.findall(r'  (\w+): \["([^"]*)", "([^"]*)", (\d)\],', part("SHOWN"))
    told = {key: (name, *UNITS.get(unit, (unit, 1.0)), int(digits)) for key, name, unit, digits in found}
    assert told == {key: tuple(one) for key, one in SHOWN.items()}


def test_events_and_links_have_the_same_names() -> None:
    assert dict(re.findall(r'  (\w+): "([^"]*)",', part("EVENTS"))) == EVENT_NAMES
    assert dict(re.findall(r'  (\w+): "([^"]*)",', part("LINKS"))) == LINK_NAMES
