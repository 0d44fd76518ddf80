"""The rehearsal room: motion that the browser is made to feel, recorded, and through the trigger at once."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Route, expect

from tests.web.opened_app import OpenedApp
from tests.web.phone_motion import Phone, throw, walk

RUN_MS = 30_000.0
UPLOADS = "**/api/uploads?**"
W3C = [
    "timeStamp",
    *(f"{force}.{axis}" for force in ("acceleration", "accelerationIncludingGravity") for axis in "xyz"),
    "rotationRate.alpha", "rotationRate.beta", "rotationRate.gamma", "interval",
]  # fmt: skip


def sent(opened: OpenedApp) -> list[dict[str, Any]]:
    kept = opened.page.evaluate("localStorage['overarm.rehearsal'] ?? '[]'")
    return list(json.loads(kept))


@pytest.fixture(scope="module")
def phone(browser: Browser) -> Iterator[tuple[OpenedApp, Phone]]:
    with OpenedApp(browser, "rehearsal", "phone") as opened:
        opened.example("B")
        yield opened, Phone(opened.page)


def test_nothing_starts_before_the_propeller_is_off(phone: tuple[OpenedApp, Phone]) -> None:
    opened, _ = phone
    page = opened.page
    expect(page.get_by_role("heading", name="Propeller off the motor")).to_be_visible()
    expect(page.get_by_role("button", name="Start the carry")).to_be_disabled()
    assert page.locator("h2").first.inner_text() == "Propeller off the motor"
    page.get_by_label("Yes, the propeller is off").check()
    expect(page.get_by_role("button", name="Start the carry")).to_be_enabled()
    page.get_by_label("Yes, the propeller is off").uncheck()
    expect(page.get_by_role("button", name="Start the carry")).to_be_disabled()


def test_a_calm_carry_does_not_fire(phone: tuple[OpenedApp, Phone]) -> None:
    opened, felt = phone
    page = opened.page
    page.get_by_label("Yes, the propeller is off").check()
    page.get_by_label("Count without sound").check()
    page.get_by_role("button", name="Start the carry").click()
    felt.until("counting")
    expect(page.get_by_text("Propeller off the motor.")).to_be_visible()
    felt.until("on")
    felt.move(1.5, walk)
    assert opened.axe() == []
    assert opened.fits()
    page.get_by_role("button", name="Stop and keep").click()
    expect(page.locator("main .said")).to_have_text("Not fired", timeout=RUN_MS)
    expect(page.get_by_text("a carry does not start the motor")).to_be_visible()
    assert [(one["label"], bool(one["upload"])) for one in sent(opened)] == [("carry", True)]
    assert opened.axe() == []
    page.get_by_text("More: carry").click()
    page.get_by_role("button", name="Keep in the logbook").click()
    expect(page.get_by_role("button", name="It is in the logbook")).to_be_visible()
    page.get_by_role("button", name="For the thrower card").click()
    expect(page.get_by_text("no figure: no carry of 10 s or more was recorded").first).to_be_visible()


def test_a_throw_by_keyboard_waits_for_the_server_and_fires(browser: Browser) -> None:
    with OpenedApp(browser, "rehearsal", "phone", "dark") as opened:
        page = opened.page
        opened.example("B")
        felt = Phone(page)
        tables: list[str] = []

        def refuse(route: Route) -> None:
            tables.append(route.request.post_data or "")
            route.abort()

        page.route(UPLOADS, refuse)
        opened.tab_to(".off input")
        page.keyboard.press("Space")
        opened.tab_to("input[name=kind]")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowDown")
        opened.tab_to("button.start")
        expect(page.locator("button.start")).to_have_text("Start the throw")
        page.keyboard.press("Enter")
        felt.until("on")
        expect(page.locator(".live button.main")).to_be_focused()
        felt.move(1.9, throw)
        page.keyboard.press("Enter")
        waits = page.get_by_text("kept here, not sent yet")
        expect(waits).to_be_visible()
        expect(page.get_by_text("The workbench does not answer")).to_be_visible()
        lines = tables[0].splitlines()
        assert lines[0] == "# label: throw"
        assert lines[3].split(",") == W3C
        page.reload()
        expect(waits).to_be_visible()
        page.unroute(UPLOADS)
        expect(page.locator("main .said")).to_have_text("Fired", timeout=RUN_MS)
        one = sent(opened)[0]
        assert one["upload"] in [item["id"] for item in opened.server.http.get("/api/uploads").json()]
        assert re.fullmatch(r"throw-\d{8}-\d{6}\.csv", one["name"])
        assert opened.axe() == []
        assert opened.fits()
        page.get_by_text("More: throw").click()
        page.get_by_label("It is").select_option("carry")
        expect(page.locator("main .said")).to_have_text("False start", timeout=RUN_MS)
        opened.complaints[:] = [one for one in opened.complaints if "ERR_FAILED" not in one]


def test_without_sensors_it_says_how_to_use_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "rehearsal") as opened:
        page = opened.page
        opened.example("B")
        page.get_by_label("Yes, the propeller is off").check()
        page.get_by_role("button", name="Start the carry").click()
        expect(page.get_by_role("alert").get_by_text("overarm app --lan")).to_be_visible()
        assert sent(opened) == []
