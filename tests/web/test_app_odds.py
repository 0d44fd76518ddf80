"""The odds room as a user works in it: with a mouse at a desk, with the keyboard alone on a phone."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.opened_app import OpenedApp

# The first fan of a server may have to compile.
FIRST_MS = 90_000
REDRAWN = """slider => new Promise(done => {
  const sum = document.querySelector('[data-delta]');
  new MutationObserver((_, watch) => {
    if (!sum.dataset.delta) return;
    watch.disconnect();
    requestAnimationFrame(() => done());
  }).observe(sum, {attributes: true, subtree: true, childList: true});
  slider.value = 1.2;
  slider.dispatchEvent(new Event('input', {bubbles: true}));
})"""


@pytest.fixture(scope="module")
def desk(browser: Browser) -> Iterator[OpenedApp]:
    with OpenedApp(browser, "odds") as opened:
        opened.example("B")
        expect(opened.page.get_by_role("heading", name="What if")).to_be_visible(timeout=FIRST_MS)
        yield opened


def asked(page: Page) -> list[dict[str, Any]]:
    """Return the list that fills with what the page asks of the fan."""
    bodies: list[dict[str, Any]] = []
    page.on(
        "request",
        lambda one: one.url.endswith("/odds/fan") and bodies.append(json.loads(one.post_data or "")),
    )
    return bodies


def test_first_look_has_an_interval_and_the_fan_chooses_a_launch(desk: OpenedApp) -> None:
    page = desk.page
    expect(page.locator("[data-odds]")).to_contain_text("(")
    fan = page.get_by_role("slider", name="Launch fan")
    box = fan.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.45 * box["width"], box["y"] + 0.8 * box["height"])
    chosen = int(fan.get_attribute("aria-valuenow") or 0)
    expect(page.get_by_label("Launch", exact=True)).to_have_value(str(chosen))
    expect(page.get_by_role("img", name=f"Launch {chosen} (")).to_be_visible()


def test_the_next_that_failed_lies_beyond_the_fan(desk: OpenedApp) -> None:
    page = desk.page
    expect(page.get_by_text(re.compile(r"^[\d,]+ of [\d,]+ launches failed"))).to_be_visible(timeout=FIRST_MS)
    launch = page.get_by_label("Launch", exact=True)
    launch.select_option(label=launch.locator("option").last.inner_text())
    page.get_by_role("button", name="Next that failed").click()
    fan = page.get_by_role("slider", name="Launch fan")
    expect(fan).not_to_have_attribute("aria-valuetext", re.compile("clean|never|not among"))
    assert int(launch.input_value()) >= 50
    assert int(fan.get_attribute("aria-valuemax") or 0) >= int(launch.input_value())


def test_a_slider_redraws_the_fan_and_tells_the_paired_difference(desk: OpenedApp) -> None:
    page, bodies = desk.page, asked(desk.page)
    wait = page.get_by_role("slider", name="Start wait")
    wait.evaluate(REDRAWN)
    expect(page.locator(".gain")).to_contain_text("points (")
    moved = next(body for body in bodies if body["changes"])
    assert moved["changes"] == {"settings.start_wait": "1.2 s"}
    assert moved["launches"] == 50
    expect(page.get_by_text("middle before the change")).to_be_visible()
    expect(page.locator("[data-knob='settings.start_wait']")).to_contain_text("alone:")
    page.get_by_role("button", name="Put Start wait back").click()
    expect(page.get_by_role("button", name="Put all back")).to_be_disabled()


def test_what_was_moved_is_written_into_the_setup_and_taken_back(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("slider", name="Throw speed").fill("9.2")
    page.get_by_role("button", name="Write these into the setup").click()
    expect(page.get_by_role("button", name="Put all back")).to_be_disabled()
    kept = json.loads(page.evaluate("localStorage.getItem('overarm.setup')"))["text"]
    assert "release_speed: 9.2 m/s measured" in kept
    assert "style: throw-started   # throw-started" in kept
    page.get_by_role("button", name="Undo").click()


def test_the_launches_are_flown_and_the_chain_stands_there(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("combobox", name="Launches", exact=True).select_option(label="2,000")
    page.get_by_role("button", name="Fly the launches").click()
    expect(page.get_by_role("heading", name="Weakest link")).to_be_visible(timeout=FIRST_MS)
    expect(page.get_by_role("heading", name="Findings")).to_be_visible()
    page.get_by_label("launches in each cell").select_option("200")
    page.get_by_role("button", name="Fly the carpet").click()
    expect(page.get_by_role("img", name="Odds of a clean launch by headwind")).to_be_visible(timeout=FIRST_MS)
    assert desk.axe() == []


def test_the_replay_plays_and_says_where_the_aeroplane_is(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("button", name="Watch launch").click()
    moment = page.locator("[data-moment]")
    expect(moment).to_contain_text("from detection")
    before = moment.inner_text()
    page.get_by_role("button", name="Play", exact=True).click()
    expect(moment).not_to_have_text(before)
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("radio", name="behind").check()
    assert desk.axe() == []


def test_on_a_phone_with_the_keyboard_alone_in_the_dark(browser: Browser) -> None:
    with OpenedApp(browser, "odds", "phone", "dark") as opened:
        opened.example("B")
        page, bodies = opened.page, asked(opened.page)
        fan = page.get_by_role("slider", name="Launch fan")
        expect(fan).to_be_visible(timeout=FIRST_MS)
        opened.tab_to(fan)
        before = int(fan.get_attribute("aria-valuenow") or 0)
        page.keyboard.press("ArrowRight")
        expect(fan).not_to_have_attribute("aria-valuenow", str(before))
        opened.tab_to(page.get_by_role("slider", name="Start wait"))
        page.keyboard.press("ArrowRight")
        expect(page.locator(".gain")).to_contain_text("points")
        assert bodies[-1]["changes"] == {"settings.start_wait": "0.62 s"}
        opened.tab_to(page.get_by_role("button", name="Put Start wait back"))
        page.keyboard.press("Enter")
        expect(page.locator(".gain")).to_have_count(0)
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        assert opened.axe() == []
