"""The trigger room as a user works in it: with a mouse at a desk, with the keyboard alone on a phone."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, FilePayload, Page, expect

from overarm.recordings.recording import Recording
from tests.recorded import shaken, thrown, walked
from tests.web.opened_app import OpenedApp

RUN = "Run them through the trigger"
MOST_TABS = 80
READ_MS = 60_000.0


def table(name: str, recording: Recording) -> FilePayload:
    """Return a recording as the CSV file that a board would write."""
    channels = recording.channels
    times = next(iter(channels.values())).t_s
    rows = np.column_stack([times, *(one.values for one in channels.values())])
    lines = [",".join(["time_s", *channels]), *(",".join(f"{x:.3f}" for x in row) for row in rows)]
    return {"name": name, "mimeType": "text/csv", "buffer": "\n".join(lines).encode()}


FILES = [table("walk.csv", walked(30.0)), table("throws.csv", thrown()), table("shakes.csv", shaken())]


def choose(page: Page, files: list[FilePayload]) -> None:
    page.get_by_label("Choose recordings").set_input_files(files)
    expect(page.get_by_label(f"What {files[-1]['name']} shows")).to_be_visible()


def asked(page: Page) -> list[dict[str, Any]]:
    """Return the list that fills with what the page asks of the trigger."""
    bodies: list[dict[str, Any]] = []
    page.on(
        "request",
        lambda one: one.url.endswith("/trigger/jobs") and bodies.append(json.loads(one.post_data or "")),
    )
    return bodies


def tab_to(page: Page, name: str) -> None:
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        told = page.evaluate(
            "() => (document.activeElement.labels?.[0] ?? document.activeElement).textContent.trim()"
        )
        if told.startswith(name):
            return
    raise AssertionError(f"the keyboard does not reach {name}")


@pytest.fixture(scope="module")
def desk(browser: Browser) -> Iterator[OpenedApp]:
    with OpenedApp(browser, "trigger") as opened:
        opened.example("B")
        yield opened


def test_without_recordings_it_says_what_to_record(desk: OpenedApp) -> None:
    page = desk.page
    expect(page.get_by_text("The propeller is off the motor")).to_be_visible()
    expect(page.get_by_text("At rest it starts by itself 53° nose-up.")).to_be_visible()
    assert desk.axe() == []


def run(page: Page) -> None:
    choose(page, FILES)
    page.get_by_label("What walk.csv shows").select_option("carry")
    page.get_by_role("button", name=RUN).click()
    expect(page.get_by_role("heading", name="Level 8 m/s² for 0.10 s")).to_be_visible(timeout=READ_MS)


def test_level_is_dragged_on_the_ladder_and_written(desk: OpenedApp) -> None:
    page, bodies = desk.page, asked(desk.page)
    run(page)
    assert [one["label"] for one in bodies[0]["recordings"]] == ["carry", "throw", "shake"]
    expect(page.get_by_text("false starts an hour of carrying")).to_be_visible()
    page.get_by_label("Level", exact=True).scroll_into_view_if_needed()
    grip = page.locator(".grip").bounding_box()
    assert grip is not None
    x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 70)
    page.mouse.up()
    lower = page.get_by_role("heading", name="would have given")
    expect(lower).not_to_contain_text("Level 8 ")
    level = lower.inner_text().split()[1]
    page.get_by_role("button", name="Write into the setup").click()
    expect(page.get_by_role("button", name="It stands in the setup")).to_be_visible()
    expect(page.get_by_text("has changed since this answer")).to_be_visible()
    assert float(level) < 8.0
    assert f"jerk_level: {level} m/s2" in page.evaluate("localStorage.getItem('overarm.setup')")
    assert desk.axe() == []


def test_map_is_pressed_where_the_advice_lies(desk: OpenedApp) -> None:
    page = desk.page
    if not page.get_by_label("Dwell", exact=True).count():  # the test before may have run elsewhere
        run(page)
    page.get_by_label("Dwell", exact=True).scroll_into_view_if_needed()
    ring = page.locator("circle.advised").bounding_box()
    assert ring is not None
    page.mouse.click(ring["x"] + ring["width"] / 2, ring["y"] + ring["height"] / 2)
    advised = page.locator("section", has=page.get_by_role("heading", name="Advised")).locator(".big")
    expect(page.get_by_role("heading", name=f"{advised.inner_text()} would have given")).to_be_visible()


def test_keyboard_alone_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "trigger", size="phone", scheme="dark") as opened:
        opened.example("B")
        page = opened.page
        choose(page, FILES[:2])
        tab_to(page, "What walk.csv shows")
        page.keyboard.press("ArrowDown")
        expect(page.get_by_label("What walk.csv shows")).to_have_value("carry")
        tab_to(page, RUN)
        page.keyboard.press("Enter")
        reading = page.get_by_role("heading", name="would have given")
        expect(reading).to_be_visible(timeout=READ_MS)
        before = reading.inner_text()
        tab_to(page, "Level")
        page.keyboard.press("ArrowRight")
        expect(reading).not_to_have_text(before)
        tab_to(page, "Dwell")
        page.keyboard.press("ArrowRight")
        expect(reading).to_contain_text("for 0.11 s")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert opened.axe() == []
