"""The page of a review in a real browser: no network, no error, no sideways scroll, contrast, print.

Playwright drives the Chromium of the system.
"""

from __future__ import annotations

import dataclasses
import runpy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

from overarm.review.result import Review
from overarm.review.run import review
from overarm.sheets.review_report import write_report
from tests.examples import derived_of, setup_of
from tests.reviewed import DIPPED, recording_of

_SHEET: dict[str, Any] = runpy.run_path(str(Path(__file__).with_name("test_sheet_page.py")))
CHROMIUM, LOW_CONTRAST, SMALL_CONTROLS, SIZES = (
    _SHEET[name] for name in ("CHROMIUM", "LOW_CONTRAST", "SMALL_CONTROLS", "SIZES")
)
Opened = _SHEET["Opened"]
NASTY = '<img src=x onerror=alert(1)> & "q" #let $y$ [z] {{ 7*7 }} ' + "w" * 120


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    assert CHROMIUM is not None, "these tests need Chromium: apt-get install chromium"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def done() -> Review:
    return review(recording_of(DIPPED), setup_of("b"), derived_of("b"), launches=50)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory, done: Review) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("review")
    launch = done.launches[0]
    second = dataclasses.replace(
        launch, record=launch.record._replace(number=2), prediction=None, again=None, margins=(), trials=()
    )
    nasty = dataclasses.replace(
        done, name=NASTY, setup_name=NASTY, remarks=(NASTY,), launches=(launch, second), repairs=()
    )
    empty = dataclasses.replace(done, name="empty.csv", launches=())
    return {
        "plain": write_report(done, folder)[0],
        "nasty": write_report(nasty, folder)[0],
        "empty": write_report(empty, folder)[0],
    }


@pytest.mark.parametrize("which", ["plain", "nasty", "empty"])
@pytest.mark.parametrize("size", list(SIZES))
def test_page_opens_alone_and_fits(browser: Browser, pages: dict[str, Path], which: str, size: str) -> None:
    with Opened(browser, pages[which], size) as opened:
        assert opened.complaints == []
        assert opened.asked == [pages[which].as_uri()]
        wide = opened.page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide[0] <= wide[1]
        assert opened.page.evaluate(SMALL_CONTROLS) == 0
        assert opened.page.locator("img").count() == 0


@pytest.mark.parametrize("size", list(SIZES))
def test_no_caption_is_squeezed_into_a_column_of_letters(
    browser: Browser, pages: dict[str, Path], size: str
) -> None:
    """A caption is wider than it is high, also where the rows of its table are stacked."""
    with Opened(browser, pages["plain"], size) as opened:
        captions = opened.page.locator("caption")
        boxes = [captions.nth(k).bounding_box() for k in range(captions.count())]
        assert len(boxes) == 2
        assert all(box is not None and box["width"] > 3.0 * box["height"] for box in boxes)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_stands_out(browser: Browser, pages: dict[str, Path], scheme: str) -> None:
    with Opened(browser, pages["nasty"], "phone", scheme) as opened:
        assert opened.page.evaluate(LOW_CONTRAST) == []


def test_the_verdict_and_the_change_are_on_the_first_screen(browser: Browser, pages: dict[str, Path]) -> None:
    for size in ("desktop", "phone"):
        with Opened(browser, pages["plain"], size) as opened:
            for css in (".outcome", ".change .what"):
                box = opened.page.locator(css).bounding_box()
                assert box is not None
                assert box["y"] + box["height"] <= SIZES[size][1]


def test_pictures_have_words_and_their_own_ids(browser: Browser, pages: dict[str, Path]) -> None:
    with Opened(browser, pages["nasty"], "desktop") as opened:
        ids = opened.page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
        assert len(ids) == len(set(ids))
        words = opened.page.evaluate("[...document.querySelectorAll('svg > desc')].map(e => e.textContent)")
        assert words
        assert all(len(text) > 30 for text in words)
        links = opened.page.evaluate("[...document.querySelectorAll('nav a')].map(e => e.hash)")
        assert links == ["#launch-1", "#launch-2"]


def test_it_prints(browser: Browser, pages: dict[str, Path]) -> None:
    with Opened(browser, pages["plain"], "desktop") as opened:
        opened.page.emulate_media(media="print")
        assert opened.page.locator(".wide svg").first.is_visible()
        assert not opened.page.locator(".phone svg").first.is_visible()
        assert opened.page.pdf(format="A4").startswith(b"%PDF-")


def test_the_same_review_gives_the_same_bytes(done: Review, tmp_path: Path) -> None:
    first, second = (write_report(done, tmp_path / name) for name in ("one", "two"))
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]
