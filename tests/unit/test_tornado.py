"""The tornado: what it shows, in both widths, and what it says where there is nothing to show."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from overarm.odds.intervals import Interval
from overarm.odds.layers import OddsSpread
from overarm.odds.measured import Bar, MeasureResult
from overarm.odds.names import OWN_GUESS, plain_name
from overarm.sheets.tornado import draw_tornado, picture_bytes, size_of, tornado_data

BARS = (
    Bar("day.wind", "day, wind", "1.5 m/s", -15.6, 1.0, 14.1, 1.2),
    Bar("airframe.drag_zero", "airframe, drag zero", "20 %", 3.5, 0.5, -3.3, 0.6),
    *(Bar(name, plain_name(name), "", -0.04, 0.1, -1.0, 0.1) for name in OWN_GUESS),
)


def result(bars: tuple[Bar, ...], reason: str = "") -> MeasureResult:
    return MeasureResult(
        setup_name="made up", setup_hash="0", version="0", seed=1, launches=10_000,
        clean=Interval(0.8, 0.7, 0.9), over_worlds=OddsSpread(0.2, 0.8, 0.99, 0.2, 0.4), guessed=3,
        measurable=2, indices=None, inputs=(), works=(), bars=bars, reason=reason,
    )  # fmt: skip


def texts(svg: str) -> list[str]:
    return ["".join(node.itertext()) for node in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize("narrow", [False, True])
def test_every_bar_has_its_name_and_value(narrow: bool) -> None:
    data = tornado_data(result(BARS))
    size = size_of(data, narrow=narrow)
    picture = draw_tornado(data, size)
    said = " ".join(texts(picture.svg))
    assert size.width_mm == (70.0 if narrow else 150.0)
    for words in ("day, wind (sd 1.5 m/s)", "−15.6", "+14.1", "+3.5", "−3.3", "0.0", "one sd below"):
        assert words in said
    assert "odds now 80 %; change in points, give or take 2.4" in said
    assert "day, wind (sd 1.5 m/s): −15.6 one standard deviation below, +14.1 above" in picture.words


@pytest.mark.parametrize("narrow", [False, True])
def test_nothing_is_written_off_the_paper(narrow: bool) -> None:
    """Each text, as wide as the house font sets it, lies within the picture."""
    from overarm.sheets.canvas import SMALL_PT

    data = tornado_data(result(BARS))
    size = size_of(data, narrow=narrow)
    names = [words for words in texts(draw_tornado(data, size).svg) if "guess" in words or "wing" in words]
    assert names
    room_mm = size.width_mm if narrow else 62.0
    letter_mm = 0.47 * SMALL_PT * 25.4 / 72.0  # mean width of a letter of the house font, measured
    assert max(len(words) for words in names) * letter_mm <= room_mm


def test_a_picture_without_bars_says_why() -> None:
    data = tornado_data(result((), "Every launch was clean: nothing to measure."))
    picture = draw_tornado(data, size_of(data, narrow=False))
    assert "Every launch was clean" in picture.words


def test_files_are_what_their_ending_says() -> None:
    svg = picture_bytes(result(BARS), ".svg", narrow=False)
    root = ET.fromstring(svg.decode())
    assert root.tag.endswith("svg")
    assert b'<rect width="100%" height="100%" fill="#fbf8f1"/>' in svg
    png = picture_bytes(result(BARS), ".png", narrow=True)
    assert png.startswith(b"\x89PNG\r\n")
    assert png == picture_bytes(result(BARS), ".png", narrow=True)
