"""The logbook as a user works in it: with a mouse at a desk, with the keyboard alone on a phone."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from tests.web.opened_app import OpenedApp


def test_a_note_goes_into_the_book_and_out_again(browser: Browser) -> None:
    with OpenedApp(browser, "logbook") as seen:
        page = seen.page
        page.get_by_role("textbox", name="Note").fill("Fog over the ditch, ruhige Luft über dem Stoppelfeld")
        page.get_by_role("button", name="Put it in").click()
        expect(page.get_by_text("The note is in the book.")).to_be_visible()
        page.get_by_role("group", name="What is listed").get_by_role("button", name="notes").click()
        expect(page.get_by_role("button", name="Fog over the ditch")).to_be_visible()
        page.get_by_role("button", name="Take the last batch back").click()
        expect(page.get_by_role("button", name="Fog over the ditch")).to_have_count(0)
        page.get_by_role("button", name="Look every file over").click()
        expect(page.get_by_text("Every file is there")).to_be_visible()


def test_keyboard_alone_on_a_phone(browser: Browser) -> None:
    words = "Böen am Waldrand, 4 m/s"
    with OpenedApp(browser, "logbook", "phone", "dark") as opened:
        page = opened.page
        opened.tab_to(page.get_by_role("textbox", name="Note"))
        page.keyboard.type(words)
        opened.press(page.get_by_role("button", name="Put it in"))
        expect(page.get_by_text("The note is in the book.")).to_be_visible()
        listed = page.get_by_role("group", name="What is listed")
        opened.press(listed.get_by_role("button", name="notes"))
        expect(page.get_by_role("button", name=words)).to_be_visible()
        assert opened.axe() == []
        assert opened.fits()
        opened.press(page.get_by_role("button", name="Take the last batch back"))
        expect(page.get_by_role("button", name=words)).to_have_count(0)
