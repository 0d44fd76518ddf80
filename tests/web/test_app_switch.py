"""Another setup in place of the one that is open: nothing typed is lost, nothing of the old one is shown."""

from __future__ import annotations

import json
import re
from typing import Any

from playwright.sync_api import Browser, Page, expect

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
