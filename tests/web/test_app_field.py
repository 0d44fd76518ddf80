"""The field room as a user works in it: sheet, pack, the aircraft read back, notes into the book."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, FilePayload, Page, Route, expect

from tests.examples import setup_of
from tests.reported import mapping_text, report_of, text_of
from tests.web.opened_app import OpenedApp

FLOWN_MS = 120_000.0
LAUNCHES = "2000"
FEW = 400  # are flown in place of them
# The part of a field pack's notes that the logbook takes; see docs/reference/field-notes.md.
NOTES = {"overarm_notes": 1, "notes": [{"text": "Streamer on the fence, ruhig", "about": ""}]}


def given(name: str, text: str, media: str = "text/plain") -> FilePayload:
    return {"name": name, "mimeType": media, "buffer": text.encode()}


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return what an aircraft reports that waits 200 ms in place of 600, and has a name of its own."""
    file = tmp_path_factory.mktemp("map") / "map.yaml"
    file.write_text(mapping_text())
    return text_of(report_of(setup_of("b"), file) | {"motor_delay": "200", "serial": "17"})


def quick(page: Page) -> None:
    """Let every job of the room fly a few launches, whatever is asked for."""

    def fewer(route: Route) -> None:
        asked = json.loads(route.request.post_data or "")
        assert asked["launches"] == int(LAUNCHES)
        route.continue_(post_data=json.dumps(asked | {"launches": FEW}))

    page.route(re.compile("/api/field/(sheet|pack|readback)$"), fewer)
    page.get_by_label("Launches behind the odds").select_option(LAUNCHES)


def tie(page: Page, key: str, name: str, unit: str = "") -> None:
    page.get_by_label(f"Name of {key} in the aircraft").select_option(name)
    if unit:
        page.get_by_label(f"Unit of {name}").fill(unit)


def say_yes(page: Page) -> None:
    for box in page.get_by_role("checkbox", name=re.compile("^yes")).all():
        box.check()


def test_an_aircraft_is_read_back(browser: Browser, report: str) -> None:
    with OpenedApp(browser, "field") as opened:
        page = opened.page
        opened.example("B")
        expect(page.get_by_role("heading", level=2).first).to_have_text("First")
        quick(page)
        page.get_by_label("Choose the report").set_input_files(given("report.txt", report))
        expect(page.get_by_role("heading", name="Which name is which setting?")).to_be_visible()
        expect(page.get_by_label("Name of throttle rise in the aircraft")).to_have_value("full_power_after")
        expect(page.get_by_label("Unit of full_power_after")).to_have_value("s to full")
        take = page.get_by_role("button", name="Take these ties")
        expect(take).to_be_disabled()
        tie(page, "start wait", "motor_delay", "ms")
        page.get_by_label("for “come home and circle” it reports").fill("back")
        page.get_by_label("for “carry on” it reports").fill("onward")
        say_yes(page)
        assert opened.axe() == []
        take.click()
        expect(page.get_by_label("Text of the mapping")).to_have_value(re.compile("motor_delay"))
        page.get_by_role("button", name="Compare with the sheet").click()
        expect(page.get_by_role("heading", name="do not fly it like this")).to_be_visible(timeout=FLOWN_MS)
        expect(page.get_by_role("heading", name="Points of clean launches")).to_be_visible()
        page.get_by_text("value by value").click()
        row = page.get_by_role("row", name="start wait")
        expect(row).to_contain_text("0.6 s")
        expect(row).to_contain_text("different")
        assert opened.axe() == []
        with page.expect_download() as got:
            page.get_by_role("button", name="Save it as a file").click()
        assert "motor_delay" in Path(got.value.path()).read_text("utf-8")
        page.reload()
        expect(page.get_by_label("Text of the mapping")).to_have_value(re.compile("motor_delay"))
        expect(page.get_by_role("heading", name="do not fly it like this")).to_be_visible()


def test_a_pack_by_keyboard_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "field", "phone", "dark") as opened:
        page = opened.page
        opened.example("B")
        quick(page)
        opened.tab_to("section[aria-labelledby=pack] button.main")
        page.keyboard.press("Enter")
        save = page.get_by_role("button", name="Save the page")
        expect(save).to_be_visible(timeout=FLOWN_MS)
        expect(page.get_by_text("cells of wind, air and pack:")).to_be_visible()
        opened.tab_to("section[aria-labelledby=pack] .row button")
        with page.expect_download() as got:
            page.keyboard.press("Enter")
        assert Path(got.value.path()).read_text("utf-8").startswith("<!doctype html>")
        assert opened.axe() == []
        assert opened.fits()


def test_a_sheet_is_taken_along_and_notes_come_back(browser: Browser) -> None:
    with OpenedApp(browser, "field") as opened:
        page = opened.page
        opened.example("E")
        quick(page)
        page.get_by_label("Date on the sheet").fill("1. März 2027")
        page.get_by_role("button", name="Make the sheet").click()
        taking = page.get_by_label("Take in notes")
        taking.set_input_files(given("notes.json", json.dumps(NOTES), "application/json"))
        with page.expect_download(timeout=FLOWN_MS) as got:
            page.get_by_role("button", name="Save the PDF").click(timeout=FLOWN_MS)
        assert Path(got.value.path()).read_bytes().startswith(b"%PDF")
        with page.expect_download() as other:
            page.get_by_role("button", name="Save it as a page").click()
        assert "1. März 2027" in Path(other.value.path()).read_text("utf-8")
        expect(page.get_by_text("In the book now: 1 notes.")).to_be_visible(timeout=FLOWN_MS)
