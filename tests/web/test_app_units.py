"""Imperial units on the pages: feet and miles an hour arrive as SI and come back as they were typed."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.web.opened_app import OpenedApp

# Source: the international yard and pound agreement of 1959; a mile is 5280 ft.
FOOT_M = 0.3048
MPH_MPS = 5280.0 * FOOT_M / 3600.0
# The first fan of a server may have to compile.
FIRST_MS = 90_000
# A figure with a metric unit behind it that an imperial reader would not expect.
METRIC = re.compile(r"\d\s?(?:mm|cm|m|m/s|m/s²|m/s2|km/h|N|kg|°C)(?![\w/²°])")


@pytest.fixture(scope="module")
def imperial(browser: Browser) -> Iterator[OpenedApp]:
    with OpenedApp(browser, "describe") as opened:
        opened.example("B")
        opened.page.get_by_role("contentinfo").get_by_label("Units").select_option("imperial")
        expect(opened.page.get_by_role("textbox", name="Span", exact=True)).to_have_value("4.43")
        yield opened


def text(page: Page) -> str:
    return str(json.loads(page.evaluate("localStorage['overarm.setup']"))["text"])


def numbers(marks: Locator) -> list[float]:
    said = (re.fullmatch(r"([-−]?[\d.]+)(?:\sft)?", one.strip()) for one in marks.all_text_contents())
    return [float(one[1].replace("−", "-")) for one in said if one]


def test_feet_and_miles_an_hour_arrive_as_si(imperial: OpenedApp) -> None:
    page = imperial.page
    page.get_by_role("button", name="The day").click()
    page.get_by_role("textbox", name="Wind", exact=True).fill("10")
    page.get_by_role("button", name="The settings").click()
    page.get_by_role("textbox", name="Handover height").fill("120")
    assert "  wind: 10 mph measured" in text(page)
    assert "  handover_height: 120 ft" in text(page)
    with page.expect_response(lambda one: one.url.endswith("/api/odds/scene") and one.ok) as got:
        imperial.room("Odds")
    site: dict[str, Any] = got.value.json()["site"]
    assert site["wind_10m_mps"] == pytest.approx(10.0 * MPH_MPS, rel=1e-12)
    assert site["handover_height_m"] == pytest.approx(120.0 * FOOT_M, rel=1e-12)
    fan = page.locator("figure", has_text="Launch fan")
    expect(fan.get_by_text("handover at 120 ft")).to_be_visible(timeout=FIRST_MS)
    found = numbers(fan.locator("svg text"))
    assert len(found) > 6
    assert all(one == round(one) for one in found), found
    imperial.room("Describe")
    expect(page.get_by_role("textbox", name="Handover height")).to_have_value("120")
    expect(page.get_by_role("textbox", name="Wind", exact=True)).to_have_value("10")


def test_a_value_that_is_looked_at_stays_as_it_was_written(imperial: OpenedApp) -> None:
    page = imperial.page
    imperial.room("Describe")
    before = text(page)
    assert "  mass: 1.60 kg measured " in before
    mass = page.get_by_role("textbox", name="All-up mass")
    expect(mass).to_have_value("3.53")  # 1.60 kg are 3.5274 lb
    mass.focus()
    mass.blur()
    mass.fill("3.5")
    assert "  mass: 3.5 lb measured " in text(page)
    mass.fill("3.53")
    assert text(page) == before
    mass.blur()
    page.get_by_role("button", name="All-up mass: spread").click()
    spread = page.get_by_label("All-up mass: one standard deviation")
    spread.fill("0.1")
    spread.blur()
    assert "  mass: 1.60 kg +- 0.1 lb measured " in text(page)
    page.get_by_role("button", name="Undo").click()
    assert text(page) == before


def test_sentences_of_the_server_have_the_units_of_the_pictures(imperial: OpenedApp) -> None:
    page = imperial.page
    imperial.room("Plan")
    page.get_by_role("button", name="Plan this launch").click()
    expect(page.get_by_role("heading", name="From the side")).to_be_visible(timeout=60_000)
    page.locator("main details").evaluate_all("all => all.forEach(one => (one.open = true))")
    told = page.locator("main").inner_text()
    # The server says whole metres: 37 of them stand for 119.8 to 123.0 ft.
    assert re.search(r"handover at 120\sft", told)
    assert METRIC.findall(told) == []
