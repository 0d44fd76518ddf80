"""A room on paper: its head, the cautions, no controls, light in any theme, pictures of its width."""

from __future__ import annotations

import re

from playwright.sync_api import Browser, expect

from overarm import __version__
from tests.examples import FILES
from tests.web.opened_app import OpenedApp


def test_a_dark_room_is_printed_light_with_its_head_and_without_controls(browser: Browser) -> None:
    with OpenedApp(browser, "describe", "desk", "dark") as opened:
        page = opened.page
        opened.example("B")
        head = page.locator("main p", has_text=__version__).first
        expect(page.get_by_role("button", name="Print this page")).to_be_visible()
        expect(head).to_be_hidden()
        page.emulate_media(media="print")
        expect(head).to_be_visible()
        expect(head).to_contain_text(re.compile(r"B, larger foam wing.*\d{4}-\d\d-\d\d"))
        assert "B, larger foam wing" in FILES["b"].read_text("utf-8")
        for control in ("Print this page", "Undo", "As text"):
            expect(page.get_by_role("button", name=control, exact=True)).to_be_hidden()
        expect(page.get_by_text("A propeller cuts and does not let go")).to_be_visible()
        paper = page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--paper')")
        assert paper == "#fbf8f1"


def test_pictures_take_the_width_of_the_paper(browser: Browser) -> None:
    """What stands over the whole desk is drawn anew for a sheet, so that its text is not shrunk with it."""
    with OpenedApp(browser, "plan") as opened:
        page = opened.page
        opened.example("B")
        page.get_by_role("button", name="Plan this launch").click()
        side = page.locator("figure", has_text="From the side").locator("svg")
        expect(side).to_be_visible(timeout=120_000)
        wide = "one => one.viewBox.baseVal.width"
        assert side.evaluate(wide) > 1000
        # A4 is 210 mm wide, 12 mm are left free at each side, and CSS has 96 px to the inch of 25.4 mm.
        paper = side.evaluate("one => (dispatchEvent(new Event('beforeprint')), one.viewBox.baseVal.width)")
        assert abs(paper - (210 - 2 * 12) / 25.4 * 96) < 1
        page.evaluate("dispatchEvent(new Event('afterprint'))")
        assert side.evaluate(wide) > 1000
