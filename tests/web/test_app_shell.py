"""Every room of the workbench as it is first seen, in both sizes and themes; the way between them."""

from __future__ import annotations

import json
from typing import Literal

import pytest
from playwright.sync_api import Browser, expect

from tests.web.opened_app import SIZES, OpenedApp

ROOMS = (
    "Describe", "Odds", "Settings", "Trigger", "Plan", "Field", "Review", "Learn",
    "Logbook", "Rehearsal", "Compare", "Jobs",
)  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", list(SIZES))
def test_each_room_is_clean(browser: Browser, size: str, scheme: Literal["light", "dark"]) -> None:
    with OpenedApp(browser, "", size, scheme) as seen:
        expect(seen.page.get_by_role("heading", level=1)).to_be_visible()
        assert seen.axe() == []
        assert seen.fits()
        seen.example("E")
        found = {}
        for room in ROOMS:
            seen.room(room)
            expect(seen.page.locator("main h1")).to_have_count(1)
            seen.page.wait_for_load_state("networkidle")
            found[room] = [*seen.axe(), *([] if seen.fits() else ["wider than the screen"])]
        assert found == {room: [] for room in ROOMS}


def test_the_address_names_the_room_and_back_goes_back(browser: Browser) -> None:
    with OpenedApp(browser, "plan") as seen:
        seen.example("B")
        assert seen.page.url.endswith("/plan")
        seen.room("Odds")
        assert seen.page.url.endswith("/odds")
        seen.page.go_back()
        expect(seen.page.get_by_role("heading", level=1)).to_have_text("Plan")


def test_theme_and_units_are_kept(browser: Browser) -> None:
    with OpenedApp(browser, "describe") as seen:
        page = seen.page
        page.get_by_label("Page").select_option("dark")
        page.get_by_label("Units").select_option("imperial")
        page.reload()
        expect(page.locator("html")).to_have_attribute("data-theme", "dark")
        expect(page.get_by_label("Units")).to_have_value("imperial")


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
        text = json.loads(page.evaluate("localStorage['overarm.setup']"))["text"]
        asked = {"setup": {"text": text, "files": {}}, "launches": 500}
        job = seen.server.post("/api/settings/traps", asked).json()
        kept = json.dumps({"id": job["id"], "asked": json.dumps(asked)})
        page.evaluate("kept => localStorage.setItem('overarm.task.traps', kept)", kept)
        page.reload()
        cure = page.get_by_role("button", name="Write it: throttle rise 150 %/s")
        cure.click(timeout=90_000)
        assert "throttle_rise: 150 %/s" in page.evaluate("localStorage['overarm.setup']")
        page.get_by_role("button", name="Undo").click()
        assert "throttle_rise: 25 %/s" in page.evaluate("localStorage['overarm.setup']")


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
