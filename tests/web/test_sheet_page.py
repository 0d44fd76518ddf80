"""The page of a sheet in a real browser: no network, no error, no sideways scroll, keyboard, contrast.

Playwright drives the Chromium of the system.
"""

from __future__ import annotations

import runpy
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from overarm.sheets.write import make_sheet, save_sheet

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
NASTY = '<img src=x onerror=alert(1)> & "q" #let $y$ [z] {{ 7*7 }} ' + "w" * 120
SIZES = {"desktop": (1280, 900), "phone": (360, 740), "small phone": (320, 568)}

# Every visible text must stand out from what is behind it, and every control must fit a thumb.
SMALL_CONTROLS = """() => [...document.querySelectorAll('label, a, button, input:not([type=checkbox])')]
  .filter(e => e.offsetParent && e.getBoundingClientRect().height < 48).length"""
LOW_CONTRAST = """() => {
  const rgb = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const line = v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
  const lum = c => { const [r, g, b] = c.map(v => line(v / 255));
    return .2126 * r + .7152 * g + .0722 * b; };
  const back = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0.99) return c.slice(0, 3); } return [255, 255, 255]; };
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), bad = [];
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.textContent.trim() || e.closest('svg') || !e.offsetParent) continue;
    const a = lum(rgb(getComputedStyle(e).color).slice(0, 3)), b = lum(back(e));
    const ratio = (Math.max(a, b) + .05) / (Math.min(a, b) + .05);
    if (ratio < 6.95) bad.push(ratio.toFixed(2) + ' ' + walk.currentNode.textContent.trim().slice(0, 30));
  }
  return bad;
}"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    assert CHROMIUM is not None, "these tests need Chromium: apt-get install chromium"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    synthetic: dict[str, Any] = runpy.run_path(str(Path(__file__).parents[1] / "unit" / "synthetic.py"))
    folder = tmp_path_factory.mktemp("sheet")
    plain = synthetic["made"](count=16)
    nasty = synthetic["made"](good=False, name=NASTY, count=16)
    return {
        "plain": save_sheet(make_sheet(plain.content, plain.data), folder, "plain").html,
        "nasty": save_sheet(make_sheet(nasty.content, nasty.data), folder, "nasty").html,
    }


class Opened:
    """A page with everything that it asked for or complained about."""

    def __init__(self, browser: Browser, path: Path, size: str, scheme: Any = "light") -> None:
        width, height = SIZES[size]
        self.context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        self.context.set_offline(True)
        self.page: Page = self.context.new_page()
        self.complaints: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(path.as_uri())

    def __enter__(self) -> Opened:
        return self

    def __exit__(self, *_: object) -> None:
        self.context.close()


@pytest.mark.parametrize("which", ["plain", "nasty"])
@pytest.mark.parametrize("size", list(SIZES))
def test_page_opens_alone_and_fits(browser: Browser, pages: dict[str, Path], which: str, size: str) -> None:
    with Opened(browser, pages[which], size) as seen:
        assert [url for url in seen.asked if not url.startswith("data:")] == [pages[which].as_uri()]
        assert seen.complaints == []
        wide, room = seen.page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= room
        bars = seen.page.locator(".abort")
        assert bars.count() == 2
        top = bars.first.bounding_box()
        assert top is not None
        assert top["y"] < (0.25 if size == "desktop" else 1.0) * seen.page.evaluate(
            "document.documentElement.scrollHeight"
        )
        assert seen.page.locator("img, script, iframe").count() == 0
        assert seen.page.evaluate("document.fonts.check('16px \"Fira Sans\"')")


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_one_picture_of_each_kind_is_shown(browser: Browser, pages: dict[str, Path], size: str) -> None:
    with Opened(browser, pages["plain"], size) as seen:
        shown = [s for s in seen.page.locator("figure svg").all() if s.is_visible()]
        assert len(shown) == 6
        for picture in shown:
            box = picture.bounding_box()
            assert box is not None
            assert box["width"] > 150
            assert box["height"] > 60
            size_px = picture.evaluate(
                "s => Math.min(...[...s.querySelectorAll('text')].map(t => t.getBoundingClientRect().height))"
            )
            assert size_px >= 10, "text in a picture too small to read"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("which", ["plain", "nasty"])
def test_text_stands_out_and_controls_fit_a_thumb(
    browser: Browser, pages: dict[str, Path], which: str, scheme: str
) -> None:
    with Opened(browser, pages[which], "phone", scheme) as seen:
        assert seen.page.evaluate(LOW_CONTRAST) == []
        assert seen.page.evaluate(SMALL_CONTROLS) == 0


def test_dark_page_is_dark_and_its_pictures_follow(browser: Browser, pages: dict[str, Path]) -> None:
    with Opened(browser, pages["plain"], "desktop", "dark") as seen:
        ground = seen.page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert ground == "rgb(28, 25, 22)"
        ink = seen.page.evaluate("getComputedStyle(document.querySelector('figure svg text')).fill")
        assert ink != "rgb(34, 30, 26)"


def test_checks_are_reached_and_ticked_by_keyboard(browser: Browser, pages: dict[str, Path]) -> None:
    with Opened(browser, pages["plain"], "phone") as seen:
        for _ in range(3):
            seen.page.keyboard.press("Tab")
        seen.page.keyboard.press("Space")
        boxes = seen.page.locator("input[type=checkbox]")
        assert boxes.count() == 17
        assert [boxes.nth(k).is_checked() for k in range(4)] == [False, False, True, False]
        outline = seen.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline == "solid"


def test_headings_and_pictures_have_words(browser: Browser, pages: dict[str, Path]) -> None:
    with Opened(browser, pages["nasty"], "desktop") as seen:
        assert seen.page.locator("h1").count() == 1
        assert "<img src=x" in seen.page.locator("h1").inner_text()
        for picture in seen.page.locator("figure svg").all():
            label = picture.get_attribute("aria-labelledby") or ""
            words = [seen.page.locator(f"[id='{part}']").text_content() or "" for part in label.split()]
            assert len(words) == 2
            assert all(words)
        assert "NO CLIMB = MOTOR OFF" in seen.page.inner_text("body")


def test_it_prints_without_losing_anything(browser: Browser, pages: dict[str, Path]) -> None:
    with Opened(browser, pages["plain"], "phone") as seen:
        seen.page.emulate_media(media="print")
        shown = [s for s in seen.page.locator("figure svg").all() if s.is_visible()]
        assert len(shown) == 6
        assert seen.page.evaluate("getComputedStyle(document.body).color") == "rgb(34, 30, 26)"
