"""The settings room as a user works in it: with a mouse at a desk, with the keyboard alone on a phone."""

from __future__ import annotations

import json

from playwright.sync_api import Browser, expect

from tests.web.opened_app import OpenedApp


def traps_looked_for(opened: OpenedApp) -> None:
    """Let the room find a look for traps that fewer launches answer than its own button asks for."""
    text = json.loads(opened.page.evaluate("localStorage['overarm.setup']"))["text"]
    asked = {"setup": {"text": text, "files": {}}, "launches": 500}
    job = opened.server.post("/api/settings/traps", asked).json()
    kept = json.dumps({"id": job["id"], "asked": json.dumps(asked)})
    opened.page.evaluate("kept => localStorage.setItem('overarm.task.traps', kept)", kept)
    opened.page.reload()


def test_what_is_found_is_written_into_the_setup(browser: Browser) -> None:
    with OpenedApp(browser, "settings") as seen:
        page = seen.page
        seen.example("A")
        before = json.loads(page.evaluate("localStorage['overarm.setup']"))["text"]
        page.get_by_role("button", name="Find the settings").click()
        expect(page.get_by_role("heading", name="Where each may stand")).to_be_visible(timeout=240_000)
        assert seen.axe() == []
        moved = page.locator(".windows li").filter(has=page.locator("s"))
        told = {one.locator("h3").inner_text(): one.locator("strong").inner_text() for one in moved.all()}
        page.get_by_role("button", name="Write these into the setup").click()
        expect(page.get_by_role("button", name="They stand in the setup")).to_be_visible()
        text = json.loads(page.evaluate("localStorage['overarm.setup']"))["text"]
        assert told
        for name, value in told.items():
            number = value.split()[0].removesuffix("°")
            assert f"{name.replace(' ', '_')}: {number} " in text
        page.get_by_role("button", name="Undo").click()
        assert json.loads(page.evaluate("localStorage['overarm.setup']"))["text"] == before


def test_a_search_is_found_again_and_ended(browser: Browser) -> None:
    with OpenedApp(browser, "settings") as seen:
        page = seen.page
        seen.example("E")
        page.get_by_role("button", name="Find the settings").click()
        expect(page.get_by_role("progressbar")).to_be_visible()
        page.reload()
        expect(page.get_by_role("progressbar")).to_be_visible()
        page.get_by_role("button", name="End it").click()
        expect(page.get_by_text("Ended before it was done.")).to_be_visible()


def test_a_trap_is_cured_in_one_click(browser: Browser) -> None:
    with OpenedApp(browser, "settings") as seen:
        page = seen.page
        seen.example("E")
        traps_looked_for(seen)
        page.get_by_role("button", name="Write it: throttle rise 150 %/s").click(timeout=90_000)
        assert "throttle_rise: 150 %/s" in page.evaluate("localStorage['overarm.setup']")
        page.get_by_role("button", name="Undo").click()
        assert "throttle_rise: 25 %/s" in page.evaluate("localStorage['overarm.setup']")


def test_keyboard_alone_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "settings", "phone", "dark") as seen:
        page = seen.page
        seen.example("E")
        seen.press(page.get_by_role("button", name="Find the settings"))
        expect(page.get_by_role("progressbar")).to_be_visible()
        seen.press(page.get_by_role("button", name="End it"))
        expect(page.get_by_text("Ended before it was done.")).to_be_visible()
        traps_looked_for(seen)
        cure = page.get_by_role("button", name="Write it: throttle rise 150 %/s")
        expect(cure).to_be_visible(timeout=90_000)
        assert seen.axe() == []
        assert seen.fits()
        seen.press(cure)
        assert "throttle_rise: 150 %/s" in page.evaluate("localStorage['overarm.setup']")
