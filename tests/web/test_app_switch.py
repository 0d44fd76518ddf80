"""Another setup in place of the one that is open: nothing typed is lost, nothing of the old one is shown."""

from __future__ import annotations

import json
import re
from typing import Any

from playwright.sync_api import Browser, Page, Route, expect

from tests.web.opened_app import OpenedApp

TYPED = "# typed last\n"


def kept(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(page.evaluate("localStorage['overarm.setup']"))
    return found


def switch(page: Page, letter: str) -> None:
    page.get_by_role("button", name="Open or begin").click()
    page.get_by_role("dialog").get_by_role("button", name=re.compile(f"^{letter}, ")).first.click()
    expect(page.locator("dialog")).to_have_count(0)


def test_what_was_typed_last_is_saved_before_another_setup_is_opened(browser: Browser) -> None:
    with OpenedApp(browser, "describe") as seen:
        page = seen.page
        seen.example("B")
        first = kept(page)["id"]
        page.get_by_role("button", name="Text").first.click()
        area = page.locator("textarea").first
        area.fill(area.input_value() + TYPED)
        switch(page, "E")
        assert kept(page)["id"] != first
        said = seen.server.http.get(f"/api/drafts/{first}").json()
        assert said["text"].endswith(TYPED)


def test_an_answer_is_not_shown_under_another_setup(browser: Browser) -> None:
    with OpenedApp(browser, "plan") as seen:
        page = seen.page
        seen.example("B")
        drawn = page.get_by_role("heading", name="From the side")
        page.get_by_role("button", name="Plan this launch").click()
        expect(drawn).to_be_visible(timeout=60_000)
        page.reload()
        expect(drawn).to_be_visible()
        switch(page, "E")
        expect(page.get_by_text("The last answer was of another setup.")).to_be_visible()
        expect(drawn).to_have_count(0)


def test_a_text_whose_answer_was_lost_is_known_again(browser: Browser) -> None:
    """The server kept it and went before it could say so; what was typed then never reached it."""
    with OpenedApp(browser, "describe") as seen:
        page = seen.page
        seen.example("B")
        bar = page.locator(".bar [data-saved]")
        expect(bar).to_have_attribute("data-saved", "saved")
        page.get_by_role("button", name="Text").first.click()
        area = page.locator("textarea").first
        reached: list[str] = []

        def lost(route: Route) -> None:
            if not reached:
                route.fetch()
            reached.append(route.request.method)
            route.abort("connectionrefused")

        page.route("**/api/drafts/*", lost)
        for words in (TYPED, "# typed after\n"):
            before = len(reached)
            area.fill(area.input_value() + words)
            expect(bar).to_have_attribute("data-saved", "saving")
            expect(bar).to_have_attribute("data-saved", "not saved")
            assert len(reached) > before
        page.unroute("**/api/drafts/*")
        expect(bar).to_have_attribute("data-saved", "saved")
        said = seen.server.http.get(f"/api/drafts/{kept(page)['id']}").json()
        assert said["text"].endswith(f"{TYPED}# typed after\n")
        told = [
            words
            for words in seen.complaints
            if not re.search(r"ERR_CONNECTION_REFUSED|status of 409", words)
        ]
        assert told == []
        seen.complaints.clear()
