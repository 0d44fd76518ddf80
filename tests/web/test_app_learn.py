"""The learn room as a user works in it: with a mouse at a desk, with the keyboard alone on a phone."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from tests.web.opened_app import OpenedApp


def test_a_bench_test_teaches(browser: Browser) -> None:
    with OpenedApp(browser, "learn") as seen:
        page = seen.page
        seen.example("B")
        page.get_by_role("button", name="Video of throws").click()
        page.get_by_label("frames, row 1").fill("31")
        page.get_by_label("frames, row 1").blur()
        page.get_by_role("button", name="Another row").click()
        expect(page.get_by_label("frames, row 6")).to_have_value("33")
        page.get_by_role("button", name="Remove row 6").click()
        page.get_by_role("button", name="Learn", exact=True).click()
        expect(page.get_by_role("heading", name="Deceleration of the hand")).to_be_visible(timeout=60_000)
        assert seen.axe() == []
        page.get_by_role("button", name="Write what was learned into the setup").click()
        expect(page.locator(".bar [data-saved]")).to_have_attribute("data-saved", "saved")
        page.reload()
        expect(page.get_by_label("frames, row 1")).to_have_value("31")


def test_keyboard_alone_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "learn", "phone", "dark") as opened:
        page = opened.page
        opened.example("B")
        opened.press(page.get_by_role("button", name="Spring scale"))
        expect(page.get_by_label("volts, row 2")).to_be_attached()
        assert opened.fits()  # four columns scroll within their own box
        pull = page.get_by_label("pull, row 2")
        opened.tab_to(pull)
        page.keyboard.press("Control+a")
        page.keyboard.type("14.4 N")
        opened.press(page.get_by_role("button", name="Learn", exact=True))
        expect(page.get_by_role("heading", name="Thrust", exact=True)).to_be_visible(timeout=90_000)
        assert opened.axe() == []
        assert opened.fits()
        opened.press(page.get_by_role("button", name="Write what was learned into the setup"))
        expect(page.locator(".bar [data-saved]")).to_have_attribute("data-saved", "saved")
        assert "14.4 N" in str(page.evaluate("localStorage['overarm.learn']"))
