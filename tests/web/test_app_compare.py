"""The compare room: one setup on two days with the mouse, two setups, and the keyboard alone on a phone."""

from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import Browser, Page, expect

from tests.examples import FILES
from tests.web.opened_app import OpenedApp, left_waiting

# The first fan of a server may have to compile.
FIRST_MS = 90_000


def asked(page: Page, path: str) -> list[dict[str, Any]]:
    """Return the list that fills with what the page asks of a path."""
    bodies: list[dict[str, Any]] = []
    page.on("request", lambda one: one.url.endswith(path) and bodies.append(json.loads(one.post_data or "")))
    return bodies


def test_two_days_are_flown_in_pairs(browser: Browser) -> None:
    with OpenedApp(browser, "compare") as seen:
        page, fans = seen.page, asked(seen.page, "/odds/fan")
        seen.example("B")
        page.get_by_label("Wind", exact=True).fill("1")
        page.get_by_label("Temperature", exact=True).fill("30")
        expect(page.get_by_role("heading", name="Launch fan")).to_have_count(2, timeout=FIRST_MS)
        assert fans[-1]["changes"] == {"day.wind": "1 m/s measured", "day.temperature": "30 C guessed"}
        paired = page.get_by_text("over the same 2,000 launches flown both ways")
        expect(paired).to_contain_text("points (")
        expect(page.get_by_role("row", name="Wind 4 m/s measured 1 m/s measured")).to_be_visible()
        expect(page.get_by_role("heading", name="release speed")).to_be_visible()
        assert seen.axe() == []
        page.get_by_role("button", name="Fly 10,000 both ways").click()
        expect(page.get_by_text("over the same 10,000 launches")).to_be_visible(timeout=FIRST_MS)
        page.reload()
        expect(page.get_by_label("Wind", exact=True)).to_have_value("1")


def test_two_setups_that_are_too_unlike_are_not_paired(browser: Browser) -> None:
    with OpenedApp(browser, "compare", scheme="dark") as seen:
        page, fans = seen.page, asked(seen.page, "/odds/fan")
        seen.example("B")
        page.get_by_label("another setup").check()
        page.get_by_label("Setup on the right").select_option(label="D, line-launched mapper")
        expect(page.get_by_role("heading", name="Launch fan")).to_have_count(2, timeout=FIRST_MS)
        assert [body.get("changes") for body in fans] == [None, None]
        expect(page.get_by_text("they are not paired")).to_be_visible()
        page.get_by_text("values differ").click()
        expect(page.get_by_role("row", name="Launch style throw-started line-launched")).to_be_visible()
        assert seen.axe() == []


def test_by_keyboard_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "compare", "phone") as seen:
        page = seen.page
        seen.example("A")
        seen.tab_to("[value='day']")
        page.keyboard.press("Tab")
        page.keyboard.type("6 m/s")
        expect(page.get_by_role("heading", name="Launch fan")).to_have_count(2, timeout=FIRST_MS)
        expect(page.locator("[data-side]")).to_have_count(2)
        assert seen.axe() == []
        assert seen.fits()


def test_what_comes_late_is_not_shown_beside_another_choice(browser: Browser) -> None:
    with OpenedApp(browser, "compare") as seen:
        page, text = seen.page, FILES["b"].read_text("utf-8")
        ids = []
        for name in ("Erste", "Zweite"):
            named = text.replace("name: B, larger foam wing", f"name: {name}")
            ids.append(seen.server.post("/api/drafts", {"name": name, "text": named}).json()["id"])
        seen.example("B")
        page.reload()
        late = left_waiting(page, f"**/api/drafts/{ids[0]}")
        page.get_by_label("another setup").check()
        right = page.get_by_label("Setup on the right")
        with page.expect_request(f"**/api/drafts/{ids[0]}"):
            right.select_option(f"draft:{ids[0]}")
        right.select_option(f"draft:{ids[1]}")
        fans = page.get_by_role("heading", name="Launch fan")
        expect(fans).to_have_count(2, timeout=FIRST_MS)
        late[0].continue_()
        page.wait_for_timeout(500)
        heading = page.get_by_role("region", name="Right").get_by_role("heading")
        expect(heading).to_have_text("Zweite")
        left_waiting(page, "**/api/describe/check")
        right.select_option(label="D, line-launched mapper")
        expect(page.get_by_text("Looking at both")).to_be_visible()
        expect(fans).to_have_count(0)
        expect(heading).to_have_count(0)
