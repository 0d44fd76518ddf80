"""The plan room as a user works in it, with the keyboard alone on a phone."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from tests.web.opened_app import OpenedApp


def test_a_plan_by_keyboard_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "plan", "phone") as seen:
        page = seen.page
        seen.example("B")
        seen.tab_to("button.main")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="From the side")).to_be_visible(timeout=60_000)
        assert seen.axe() == []
        assert seen.fits()
        with page.expect_download() as got:
            page.get_by_text("take along: From the side").click()
            page.get_by_role("button", name="CSV").click()
        assert got.value.suggested_filename == "From the side.csv"
