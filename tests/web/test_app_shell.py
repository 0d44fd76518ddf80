"""Every room of the workbench as it is first seen, in both sizes and themes; the way between them."""

from __future__ import annotations

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
