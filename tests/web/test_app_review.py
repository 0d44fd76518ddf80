"""The review room and the room of jobs as a user works in them, at a desk and on a phone."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, FilePayload, Page, expect

from overarm.describe.derived import derive
from overarm.specimens import Options, make
from overarm.specimens.options import Rates
from tests.examples import setup_of
from tests.sounds import clock, propeller, wav
from tests.web.opened_app import OpenedApp
from tests.web.test_app_trigger import tab_to

READ_MS = 60_000.0


@cache
def launch() -> FilePayload:
    setup = setup_of("b")
    wanted = Options(extras=("shake",), rates=Rates(inertial_hz=50.0))
    made = make(setup, derive(setup), seed=1, launch=0, options=wanted)
    return {"name": "launch über der Wiese.csv", "mimeType": "text/csv", "buffer": made.csv}


def foreign() -> FilePayload:
    """Return a launch whose columns are called as another recorder might call them."""
    head, _, rest = launch()["buffer"].decode().partition("\n")
    named = head.replace("time_s", "Zeit").replace("force_x_mps2", "vorwaerts")
    return {"name": "board.csv", "mimeType": "text/csv", "buffer": f"{named}\n{rest}".encode()}


def give(page: Page, file: FilePayload | Path) -> None:
    page.locator("main input[type=file]").set_input_files(file)


@pytest.fixture(scope="module")
def desk(browser: Browser) -> Iterator[OpenedApp]:
    with OpenedApp(browser, "review") as opened:
        opened.example("B")
        yield opened


def test_a_launch_is_dropped_read_zoomed_and_kept(desk: OpenedApp) -> None:
    page = desk.page
    give(page, launch())
    expect(page.get_by_role("heading", name="What happened")).to_be_visible(timeout=READ_MS)
    expect(page.get_by_text("Clean", exact=True)).to_be_visible()
    strip = page.locator("figure", has=page.get_by_role("heading", name="Timeline strip"))
    expect(strip.get_by_text("hand clear", exact=True)).to_be_visible()
    expect(strip.locator("svg").first).to_have_attribute("aria-label", re.compile(r"hand clear at .* ± .* s"))
    page.get_by_role("button", name="the throw").click()
    expect(strip.get_by_text("to 1.5 s")).to_be_visible()
    strip.locator("svg").scroll_into_view_if_needed()
    box = strip.locator("svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 500, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] + 800, box["y"] + 40, steps=3)
    page.mouse.up()
    expect(strip.get_by_text("to 1.5 s")).to_have_count(0)
    expect(page.get_by_role("link", name="Report to print (PDF)")).to_be_visible()
    page.get_by_label("A note for the logbook").fill("steady, from the left")
    page.get_by_role("button", name="Keep it in the logbook").click()
    expect(page.get_by_text("It is in the logbook.")).to_be_visible()
    kept = desk.server.http.get("/api/logbook", params={"what": "recordings"}).json()
    assert "über der Wiese" in json.dumps(kept, ensure_ascii=False)
    assert desk.axe() == []


def test_it_leads_to_learning(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("button", name="Learn from it").click()
    expect(page.get_by_role("heading", name="Learn", exact=True)).to_be_visible()
    assert len(page.evaluate("JSON.parse(localStorage.getItem('overarm.learn')).reviews")) == 1


def test_jobs_say_what_ran_and_remove_it(desk: OpenedApp) -> None:
    page = desk.page
    desk.room("Jobs")
    rows = page.locator("li", has=page.get_by_role("heading", name="Review of a recording"))
    expect(rows.first.get_by_text("done")).to_be_visible()
    assert desk.axe() == []
    before = rows.count()
    rows.first.get_by_role("button", name="remove Review").click()
    expect(rows).to_have_count(before - 1)


def test_unknown_columns_are_confirmed_with_the_keyboard_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "review", size="phone", scheme="dark") as opened:
        opened.example("B")
        page = opened.page
        give(page, foreign())
        button = "Look at the columns of board.csv"
        expect(page.get_by_role("button", name=button)).to_be_visible(timeout=READ_MS)
        assert opened.axe() == []
        tab_to(page, button)
        page.keyboard.press("Enter")
        expect(page.get_by_label("Zeit is")).to_be_visible()
        tab_to(page, "Zeit is")
        page.keyboard.type("time")
        tab_to(page, "Unit of Zeit")
        page.keyboard.type("s")
        page.get_by_label("vorwaerts is").select_option("force_x")
        page.get_by_label("Unit of vorwaerts").fill("m/s2")
        tab_to(page, "Read it so")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="What happened")).to_be_visible(timeout=READ_MS)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert opened.axe() == []


def test_sound_of_a_run(browser: Browser, tmp_path: Path) -> None:
    t_s = clock(4.0)
    turns = np.where((t_s > 1.0) & (t_s < 3.5), np.minimum(1.0, (t_s - 1.0) / 0.6) * 150.0, 0.0)
    with OpenedApp(browser, "review") as opened:
        opened.example("B")
        give(opened.page, wav(tmp_path / "run.wav", propeller(turns, 2, 14.0)))
        expect(opened.page.get_by_role("heading", name="Speed of the propeller")).to_be_visible(
            timeout=READ_MS
        )
        expect(opened.page.get_by_text("rpm at the top", exact=False).first).to_contain_text("9,000")
        assert opened.axe() == []
