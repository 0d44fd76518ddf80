"""Uploads as a user sees them: listed with what uses them, used again, removed, gone, cut off by a kill."""

from __future__ import annotations

import json
import re
import socket
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Locator, Page, expect

from tests.examples import FILES
from tests.recorded import walked
from tests.unit.test_app_uploads import jammed
from tests.web.opened_app import OpenedApp, left_waiting
from tests.web.test_app_trigger import choose, table
from tests.workbench import PATIENCE_S, Server

BIG = 200_000_000  # bytes: it is on its way for long enough
TARGET_PX = 48.0  # of what is pressed at the field, by our own rule; WCAG 2.2 asks for 24, 44 at level AAA
NOT_KEPT = "is not kept by the workbench any more"


def kept(page: Page, name: str) -> Locator:
    """Open the list of what is kept and return the line of a file."""
    if not page.locator("details[open] > summary", has_text="Kept by the workbench").count():
        page.locator("summary", has_text="Kept by the workbench").click()
    return page.locator("details li", has_text=name)


def stored(page: Page, key: str) -> Any:
    return json.loads(page.evaluate("key => localStorage.getItem(key)", key))


def test_one_is_used_in_another_room_and_removed_from_both(browser: Browser) -> None:
    with OpenedApp(browser, "trigger") as opened:
        page, server = opened.page, opened.server
        opened.example("B")
        choose(page, [table("Weg über die Wiese.csv", walked(10.0)), table("stays.csv", walked(10.0))])
        opened.room("Learn")
        kept(page, "Weg über").get_by_role("button", name="Review it").click()
        expect(page.get_by_role("button", name="Read it", exact=True)).to_be_visible()
        line = kept(page, "Weg über")
        expect(line).to_contain_text("chosen in the rooms Trigger and Review")
        id_ = stored(page, "overarm.review")["upload"]
        assert opened.axe() == []

        long = jammed(server)
        waits = server.post("/api/trigger/jobs", {"recordings": [{"upload": id_}]}).json()["id"]
        line.get_by_role("button", name="remove").click()
        question = page.get_by_role("dialog")
        expect(question.get_by_role("button", name="Keep it")).to_be_focused()
        question.get_by_role("button", name="Remove it for good").click()
        expect(question).to_contain_text(
            'is needed by a job that is waiting: "Recordings through the trigger". End that job'
        )
        assert opened.axe() == []
        for job in (waits, *long):
            server.http.post(f"/api/jobs/{job}/cancel")
        question.get_by_role("button", name="Remove it for good").click()
        expect(line).to_have_count(0)
        expect(page.get_by_text(f"Weg über die Wiese.csv {NOT_KEPT}")).to_be_visible()
        assert stored(page, "overarm.review")["upload"] == ""
        assert [one["name"] for one in stored(page, "overarm.trigger")["list"]] == ["stays.csv"]
        assert server.http.get(f"/api/uploads/{id_}").status_code == 404
        opened.complaints.clear()  # the browser tells of the 409


def test_a_job_whose_recording_is_gone_is_read_and_not_asked_again(browser: Browser) -> None:
    with OpenedApp(browser, "jobs", "phone", "dark") as opened:
        page, server = opened.page, opened.server
        recording = table("gone.csv", walked(12.0))
        id_ = server.upload("gone.csv", recording["buffer"])
        form = {
            "setup": {"text": FILES["b"].read_text("utf-8"), "files": {}},
            "recordings": [{"upload": id_}],
        }
        server.answer("/api/trigger/jobs", form)
        assert server.http.delete(f"/api/uploads/{id_}").status_code == 204
        page.reload()
        line = page.get_by_role("listitem").filter(has_text="gone.csv")
        line.get_by_role("button", name="open its room").click()
        expect(page.get_by_text(f"gone.csv {NOT_KEPT}, and has left this room")).to_be_visible()
        expect(page.get_by_role("heading", name="What each recording shows")).to_be_visible()
        assert stored(page, "overarm.trigger")["list"] == []

        choose(page, [recording])
        line = kept(page, "gone.csv")
        expect(line).to_contain_text(re.compile(r"kB, \d{4}-\d\d-\d\d \d\d:\d\d"))
        press = line.get_by_role("button", name="remove")
        box = press.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= TARGET_PX
        press.click()
        asked = page.get_by_role("dialog")
        expect(asked).to_be_visible()
        assert opened.axe() == []
        assert opened.fits()
        asked.get_by_role("button", name="Keep it").click()
        expect(press).to_be_focused()
        again = stored(page, "overarm.trigger")["list"][0]["upload"]
        assert server.http.delete(f"/api/uploads/{again}").status_code == 204  # as from another window
        page.get_by_role("button", name="Run them through the trigger").click()
        expect(page.get_by_role("alert").get_by_text("Choose the file again, then ask again")).to_be_visible()
        expect(page.get_by_text(f"gone.csv {NOT_KEPT}, and has left this room")).to_be_visible()
        assert stored(page, "overarm.trigger")["list"] == []
        assert opened.axe() == []
        assert opened.fits()
        opened.complaints.clear()  # the browser tells of the 404


def test_a_file_that_arrives_late_does_not_go_to_another_setup(browser: Browser) -> None:
    with OpenedApp(browser, "describe") as opened:
        page = opened.page
        opened.example("B")
        first = stored(page, "overarm.setup")["id"]
        on_its_way = left_waiting(page, "**/api/uploads?**")
        trees = {"name": "trees.geojson", "mimeType": "application/geo+json", "buffer": b"{}"}
        with page.expect_request("**/api/uploads?**"):
            page.locator("#field-site-obstacle_file input[type=file]").set_input_files(trees)
        page.get_by_role("button", name="Open or begin").click()
        page.get_by_role("dialog").get_by_role("button", name="A, ").first.click()
        expect(page.get_by_role("dialog")).to_have_count(0)
        on_its_way[0].continue_()
        told = page.locator("#field-site-obstacle_file").get_by_text("arrived when another setup was open")
        expect(told).to_have_count(1)
        now = stored(page, "overarm.setup")
        assert now["id"] != first
        assert now["files"] == {}
        assert "trees.geojson" not in now["text"]
        assert opened.server.http.get(f"/api/drafts/{first}").json()["files"] == {}


def half(folder: Path) -> None:
    """Wait until some of an upload is on the disk."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        if any(file.stat().st_size > 0 for file in folder.glob("*/data")):
            return
        time.sleep(0.005)
    raise AssertionError("nothing arrives")


def test_a_kill_in_the_middle_of_an_upload(browser: Browser, tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    file, folder = tmp_path / "lang.csv", tmp_path / "overarm/workbench/uploads"
    with file.open("wb") as big:
        big.truncate(BIG)  # a hole: it takes no room
    first = Server(tmp_path, "--port", port)
    with OpenedApp(browser, "review", server=first) as opened:
        page = opened.page
        opened.example("B")
        page.get_by_label("Choose a recording").set_input_files(file)
        half(folder)
        first.kill()
        assert list(folder.glob("*/data"))
        assert not list(folder.glob("*/about.json"))
        expect(page.get_by_text("did not arrive: the workbench ended")).to_be_visible()
        expect(page.get_by_role("button", name="Send lang.csv again")).to_be_visible()
        expect(page.locator(".bar strong")).to_have_text("B, larger foam wing")
        with file.open("wb") as small:
            small.write(table("lang.csv", walked(10.0))["buffer"])

        second = Server(tmp_path, "--port", port)
        assert list(folder.iterdir()) == []
        assert second.http.get("/api/uploads").json() == []
        page.goto(f"{second.base}/review?token={second.token}")
        page.goto(f"{second.base}/review")
        expect(page.get_by_text("lang.csv did not arrive: the workbench ended")).to_be_visible()
        expect(page.locator(".bar strong")).to_have_text("B, larger foam wing")
        assert opened.axe() == []
        page.get_by_label("Choose a recording").set_input_files(file)
        expect(page.get_by_text("Kept by the workbench: 1 file")).to_be_visible()
        expect(page.get_by_text("did not arrive")).to_have_count(0)
        opened.complaints.clear()  # a server that is gone is told in the console
    second.kill()
