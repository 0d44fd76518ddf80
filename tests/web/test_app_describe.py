"""The describe room and the first view: forms, text, drawing, files, and what outlives the server."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.opened_app import OpenedApp
from tests.workbench import Server

OBSTACLES = json.dumps(
    {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": "Bäume", "height": "12 m"},
                "geometry": {"type": "Point", "coordinates": [8.0, 47.0]},
            }
        ],
    }
).encode()


def kept(page: Page) -> dict[str, Any]:
    """Return the setup as the browser keeps it."""
    found: dict[str, Any] = json.loads(page.evaluate("localStorage['overarm.setup']"))
    return found


def saved(page: Page) -> None:
    expect(page.locator(".bar [data-saved]")).to_have_attribute("data-saved", "saved")


@pytest.fixture(scope="module")
def desk(browser: Browser) -> Iterator[OpenedApp]:
    with OpenedApp(browser, "describe") as opened:
        opened.example("B")
        expect(opened.page.get_by_role("textbox", name="All-up mass")).to_be_visible()
        yield opened


def test_a_value_goes_into_the_text_and_the_drawing(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("textbox", name="Span").fill("1.36")
    expect(page.get_by_role("img", name="Three views of the aeroplane, span 1.36")).to_be_visible()
    page.get_by_role("textbox", name="All-up mass").fill("1720 g")
    page.get_by_role("group", name="All-up mass: how it is known").get_by_text("guessed").click()
    text = kept(page)["text"]
    assert "  mass: 1720 g guessed      # all-up, on scales, with the flight pack\n" in text
    assert "  span: 1.36 m measured\n" in text
    page.get_by_role("textbox", name="All-up mass").blur()
    page.get_by_label("Unit of All-up mass").select_option("lb")
    expect(page.get_by_role("textbox", name="All-up mass")).to_have_value("3.792")
    assert "mass: 1720 g guessed" in kept(page)["text"]
    page.get_by_role("textbox", name="All-up mass").fill("3.5")
    assert "mass: 3.5 lb guessed      # all-up" in kept(page)["text"]
    page.get_by_label("Unit of All-up mass").select_option("kg")


def test_what_is_taken_out_falls_back_to_its_default(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("button", name="take it out: Sweep").click()
    assert "sweep:" not in kept(page)["text"]
    expect(page.locator("#field-airframe-sweep-help")).to_contain_text("Left out: 0°, unswept.")
    page.get_by_role("button", name="Undo").click()
    assert "  sweep: 26 deg          # of the leading edge\n" in kept(page)["text"]
    expect(page.get_by_role("textbox", name="Sweep")).to_have_value("26")


def test_a_problem_stands_at_its_field_and_at_its_line(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("textbox", name="Root chord").fill("40000")
    field = page.locator("#field-airframe-root_chord-help")
    expect(field).to_contain_text("is outside")
    expect(page.get_by_text("1 problem to mend")).to_be_visible()
    page.get_by_role("button", name="As text").click()
    line = kept(page)["text"].split("\n").index("  root_chord: 40000 mm") + 1
    page.get_by_role("button", name=f"line {line}", exact=True).click()
    area = page.get_by_role("textbox", name="As text")
    chosen = area.evaluate("one => one.value.slice(one.selectionStart, one.selectionEnd)")
    assert chosen == "  root_chord: 40000 mm"
    area.fill(kept(page)["text"].replace("40000 mm", "39.9 cm  # neu"))
    page.get_by_role("button", name="As a form").click()
    expect(page.get_by_role("textbox", name="Root chord")).to_have_value("39.9")
    expect(page.get_by_text("problem to mend")).to_have_count(0)


def test_rows_and_cards_are_put_in_and_taken_out(desk: OpenedApp) -> None:
    page = desk.page
    page.get_by_role("button", name="One more obstacle").click()
    page.get_by_role("textbox", name="obstacle 2: Name").fill("Gehöft: Süd")
    assert '    - {name: "Gehöft: Süd", distance: 80 m, height: 8 m}\n' in kept(page)["text"]
    page.get_by_role("button", name="Remove obstacle 2").click()
    page.get_by_label("Launch style").select_option("line-launched")
    expect(page.locator("#field-thrower")).to_contain_text("a line-launched setup has no thrower")
    page.get_by_role("button", name="take the card out: The thrower").click()
    page.locator("#field-line").get_by_role("button", name="Begin this card").click()
    expect(page.get_by_text("to mend")).to_have_count(0)
    assert kept(page)["text"].endswith("line:\n  stretch: 8 m\n  stiffness: 10 N/m\n")
    assert desk.axe() == []


def test_a_file_is_tied_to_the_setup(desk: OpenedApp) -> None:
    page = desk.page
    page.locator("summary").filter(has_text="On the map").click()
    page.get_by_role("button", name="Put in a launch point").click()
    page.get_by_role("textbox", name="Launch direction").fill("250")
    chooser = page.locator("#field-site-obstacle_file input[type=file]")
    chooser.set_input_files({"name": "bäume.geojson", "mimeType": "application/json", "buffer": OBSTACLES})
    expect(page.locator("#field-site-obstacle_file")).to_contain_text("lies beside the setup")
    saved(page)
    draft = desk.server.http.get(f"/api/drafts/{kept(page)['id']}").json()
    assert list(draft["files"]) == ["bäume.geojson"]
    assert "obstacle_file: bäume.geojson" in draft["text"]


def test_a_file_is_opened_with_what_lies_beside_it(browser: Browser) -> None:
    example = Path(__file__).parents[2] / "examples" / "c-trainer.yaml"
    with OpenedApp(browser, "describe") as seen:
        files = [
            {"name": "eigene.yaml", "mimeType": "application/yaml", "buffer": example.read_bytes()},
            {"name": "bäume.geojson", "mimeType": "application/json", "buffer": OBSTACLES},
        ]
        seen.page.locator("input[type=file]").set_input_files(files)
        expect(seen.page.get_by_role("textbox", name="Name")).to_have_value("C, tractor trainer")
        assert kept(seen.page)["text"] == example.read_text("utf-8")
        assert list(kept(seen.page)["files"]) == ["bäume.geojson"]


def test_nothing_typed_is_lost_when_the_server_is_killed(browser: Browser, tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    first = Server(tmp_path, "--port", port)
    with OpenedApp(browser, "describe", server=first) as seen:
        page = seen.page
        seen.example("A")
        page.get_by_role("textbox", name="All-up mass").fill("0.64")
        saved(page)
        first.kill()
        page.get_by_role("textbox", name="All-up mass").fill("0.66")
        page.get_by_role("textbox", name="Name").first.fill("A, geändert")
        expect(page.locator(".bar [data-saved]")).to_have_attribute("data-saved", "not saved")
        second = Server(tmp_path, "--port", port)
        expect(page.get_by_text("The workbench was started anew and does not know this page")).to_be_visible()
        # The address of the new start is opened beside it: the page goes on by itself.
        seen.context.new_page().goto(f"{second.base}/?token={second.token}")
        saved(page)
        expect(page.get_by_role("textbox", name="All-up mass")).to_have_value("0.66")
        expect(page.get_by_text("not checked")).to_have_count(0)
        draft = second.http.get(f"/api/drafts/{kept(page)['id']}").json()
        assert draft["name"] == "A, geändert"
        assert "mass: 0.66 kg measured      # all-up" in draft["text"]
        page.wait_for_load_state("networkidle")
        seen.complaints.clear()  # a server that is gone is told in the console
    second.kill()


def test_a_new_setup_by_keyboard_on_a_phone(browser: Browser) -> None:
    with OpenedApp(browser, "describe", "phone", "dark") as seen:
        page = seen.page
        assert seen.axe() == []
        seen.tab_to("button.main")
        page.keyboard.press("Enter")
        expect(page.locator("#ask-style")).to_be_focused()
        seen.tab_to("#ask-name")
        page.keyboard.type("Möwe, sehr klein")
        assert seen.axe() == []
        seen.tab_to("form button.main")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="Describe")).to_be_visible()
        seen.tab_to("#field-airframe-mass")
        page.keyboard.type("720 g")
        seen.tab_to("[name='field-airframe-mass-known']")
        page.keyboard.press("ArrowLeft")
        saved(page)
        draft = seen.server.http.get(f"/api/drafts/{kept(page)['id']}").json()
        assert draft["name"] == "Möwe, sehr klein"
        assert "mass: 720 g measured" in draft["text"]
        assert seen.axe() == []
        assert seen.fits()
