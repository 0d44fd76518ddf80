"""A room on paper: its head, the cautions, no controls, light in any theme, pictures of its width."""

from __future__ import annotations

import re

from playwright.sync_api import Browser, Page, expect

from overarm import __version__
from tests.examples import FILES
from tests.web.opened_app import OpenedApp

CAUTION = "A propeller cuts and does not let go"
ROOMS = ("describe", "settings", "trigger", "field", "learn", "logbook", "rehearsal", "jobs")
# What one presses or moves; a field tells its value and stays.
CONTROLS = "button:not(.on-paper), .button, input[type=range], input[type=file], nav, progress"


def head_of(page: Page) -> str:
    head = page.locator("main p.head")
    expect(head).to_be_visible()
    expect(page.locator("main").get_by_text(CAUTION)).to_be_visible()
    return head.inner_text()


def seen(page: Page, selector: str) -> list[str]:
    """Return what of a selector shows on the page, in words."""
    found: list[str] = page.locator(selector).evaluate_all(
        "all => all.filter(one => one.checkVisibility() && one.getClientRects().length"
        " && !one.matches('.unseen')).map(one => one.textContent)"
    )
    return found


def test_every_room_has_a_head_and_cautions_and_no_controls(browser: Browser) -> None:
    with OpenedApp(browser, "describe") as opened:
        page = opened.page
        opened.example("B")
        page.emulate_media(media="print")
        for room in ROOMS:
            page.goto(f"{opened.server.base}/{room}")
            expect(page.get_by_role("heading", level=1)).to_be_visible()
            expect(page.locator("main p.head")).to_contain_text(__version__)
            of = {"logbook": "Logbook", "jobs": "Jobs of this workbench"}.get(room, "B, larger foam wing")
            assert re.search(rf"{of}.*\d{{4}}-\d\d-\d\d", head_of(page), re.DOTALL), room
            assert seen(page, CONTROLS) == [], room


def test_what_is_folded_is_not_printed_but_a_count_that_tells_something_is(browser: Browser) -> None:
    with OpenedApp(browser, "describe") as opened:
        page = opened.page
        opened.example("B")
        spread = page.get_by_role("button", name="All-up mass: spread")
        expect(page.get_by_text("5 left out").first).to_be_visible()
        expect(page.get_by_text(re.compile(r"^\d+ good$"))).to_be_visible()
        page.emulate_media(media="print")
        expect(page.get_by_text("5 left out").first).to_be_hidden()
        expect(page.get_by_text(re.compile(r"^\d+ good$"))).to_be_visible()
        expect(spread).to_be_visible()


def test_a_dark_room_is_printed_light_with_its_head_and_without_controls(browser: Browser) -> None:
    with OpenedApp(browser, "describe", "desk", "dark") as opened:
        page = opened.page
        opened.example("B")
        head = page.locator("main p.head")
        expect(page.get_by_role("button", name="Print this page")).to_be_visible()
        expect(head).to_be_hidden()
        page.emulate_media(media="print")
        expect(head).to_be_visible()
        expect(head).to_contain_text(re.compile(r"B, larger foam wing.*\d{4}-\d\d-\d\d"))
        assert "B, larger foam wing" in FILES["b"].read_text("utf-8")
        for control in ("Print this page", "Undo", "As text"):
            expect(page.get_by_role("button", name=control, exact=True)).to_be_hidden()
        expect(page.locator("main").get_by_text(CAUTION)).to_be_visible()
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
