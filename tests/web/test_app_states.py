"""In the way: a text that is no setup, a check without an answer, a browser that keeps nothing."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Route, expect

from tests.web.opened_app import OpenedApp

CHECK = "**/api/describe/check"
CARDS = "**/api/describe/cards"
# A store that is full refuses to be written (WHATWG, "HTML", 12.2); one that is forbidden refuses everything.
NO_STORE = """for (const what of ["getItem", "setItem", "removeItem"])
    Storage.prototype[what] = () => { throw new DOMException("no", "QuotaExceededError") }"""
TOLD = re.compile("ERR_CONNECTION_REFUSED|status of 500")


@pytest.fixture(scope="module")
def written(browser: Browser) -> Iterator[OpenedApp]:
    with OpenedApp(browser, "describe") as opened:
        opened.example("B")
        opened.page.get_by_role("button", name="As text").click()
        yield opened


def held(_: Route) -> None:
    """Leave a request without an answer."""


def wrong(opened: OpenedApp, text: str, said: str) -> None:
    """Put in a text that cannot be read: it says what is wrong, and one can go on from there."""
    page = opened.page
    area = page.get_by_role("textbox", name="As text")
    area.fill(text)
    expect(page.locator(".alerts").get_by_text(said)).to_be_visible()
    expect(page.get_by_text("It cannot be read as a setup yet")).to_be_visible()
    expect(page.get_by_role("button", name="As a form")).to_be_disabled()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("p.short")).to_contain_text("It stalls at")


def test_a_text_that_is_no_setup_stays_open_and_says_so(written: OpenedApp) -> None:
    wrong(written, "", "is empty")
    wrong(written, "- a\n- b\n", "is not a setup")
    wrong(written, "\x00\x01", "holds the character U+0000")


def test_a_text_that_is_too_long_is_not_sent_and_not_lost(written: OpenedApp) -> None:
    page, long = written.page, "# " + 200_000 * "x"
    wrong(written, long, "The text has 200,002 characters; the workbench takes 200,000")
    page.get_by_role("textbox", name="As text").fill(long)
    page.get_by_role("button", name="Open or begin").click()
    page.get_by_role("dialog").get_by_role("button", name="A, ").first.click()
    expect(page.get_by_role("dialog").get_by_text("The open text is too long to be kept")).to_be_visible()
    page.get_by_role("button", name="Close").click()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".bar [data-saved]")).to_have_attribute("data-saved", "saved")


def test_what_is_not_answered_is_asked_for_again(browser: Browser) -> None:
    with OpenedApp(browser, "describe", "phone") as opened:
        page = opened.page
        opened.example("B")
        fault: dict[str, object] = dict.fromkeys(("cure", "file", "key", "value"), "")
        fault |= {"message": "went wrong", "line": 0, "column": 0}
        page.clock.install()
        page.route(CARDS, lambda route: route.abort("connectionrefused"))
        page.route(CHECK, lambda route: route.fulfill(status=500, body=json.dumps({"problems": [fault]})))
        page.reload()
        said = page.get_by_text("It is not checked yet: the workbench did not answer.")
        expect(said).to_be_visible()
        expect(page.get_by_text("went wrong")).to_be_visible()
        expect(page.get_by_text("not checked", exact=True)).to_be_visible()
        expect(page.get_by_text("The workbench does not answer")).to_be_visible()
        assert opened.axe() == []
        assert opened.fits()
        page.unroute(CARDS)
        page.unroute(CHECK)
        page.clock.fast_forward(3000)  # it asks by itself
        expect(page.locator("p.short")).to_contain_text("It stalls at")
        expect(page.get_by_role("textbox", name="All-up mass")).to_be_visible()
        page.route(CHECK, held)
        with page.expect_request(CHECK):
            page.reload()
        expect(page.get_by_text("Reading the setup")).to_be_visible()
        page.clock.fast_forward(10_000)
        expect(said).to_be_visible()
        with page.expect_request(CHECK):
            page.get_by_role("button", name="Ask again").click()
        page.unroute(CHECK)
        expect(page.locator("p.short")).to_contain_text("It stalls at")
        expect(page.get_by_role("button", name="Ask again")).to_have_count(0)
        opened.complaints[:] = [one for one in opened.complaints if not TOLD.search(one)]


def test_a_browser_that_keeps_nothing_is_told_once(browser: Browser) -> None:
    with OpenedApp(browser, "plan", "phone") as opened:
        page = opened.page
        page.add_init_script(NO_STORE)
        page.reload()
        told = page.get_by_text("This browser keeps nothing of these pages")
        expect(told).to_be_visible()
        opened.example("B")
        expect(page.locator("main h1")).to_have_text("Plan")
        assert opened.axe() == []
        assert opened.fits()
        with page.expect_download() as got:
            page.get_by_role("button", name="Save the setup as a file").click()
        assert got.value.suggested_filename.endswith(".yaml")
        page.get_by_role("button", name="I have read it").click()
        page.get_by_role("button", name="Plan this launch").click()
        expect(page.get_by_role("heading", name="From the side")).to_be_visible(timeout=60_000)
        opened.room("Learn")
        expect(page.locator("main h1")).to_have_text("Learn")
        opened.room("Plan")
        expect(page.get_by_role("heading", name="From the side")).to_be_visible()
        expect(told).to_have_count(0)
