"""Jobs by their setup, seed and launches, and each opened again in its room, whatever was asked since."""

from __future__ import annotations

from playwright.sync_api import Browser, Page, expect

from tests.examples import FILES
from tests.web.opened_app import OpenedApp

TEXT = FILES["b"].read_text("utf-8")
OTHER = TEXT.replace("name: B, larger foam wing", "name: Möwe von gestern").replace(
    "mass: 1.", "mass: 1.0", 1
)
ANSWER_MS = 60_000.0


def flown(opened: OpenedApp, text: str, seed: int) -> None:
    form = {"setup": {"text": text, "files": {}}, "launches": 300, "seed": seed}
    opened.server.answer("/api/odds/jobs", form)


def open_job(page: Page, words: str) -> None:
    page.get_by_role("link", name="Jobs", exact=True).click()
    line = page.get_by_role("listitem").filter(has_text=words)
    line.get_by_role("button", name="open its room").click()


def test_each_job_is_told_apart_and_opened_again(browser: Browser) -> None:
    with OpenedApp(browser, "describe") as opened:
        page = opened.page
        opened.example("B")
        for text, seed in ((TEXT, 9105), (TEXT, 9106), (OTHER, 9107)):
            flown(opened, text, seed)
        open_job(page, "B, larger foam wing; 300 launches, seed 9105")
        said = page.get_by_text("Seed 9105, setup")
        expect(said).to_be_visible(timeout=ANSWER_MS)
        page.reload()
        expect(said).to_be_visible()
        open_job(page, "seed 9106")
        expect(page.get_by_text("Seed 9106, setup")).to_be_visible()
        open_job(page, "seed 9105")
        expect(said).to_be_visible()
        expect(page.get_by_text("of another text of the setup")).to_have_count(0)


def test_an_answer_of_another_text_says_so_and_opens_it(browser: Browser) -> None:
    with OpenedApp(browser, "describe", "phone", "dark") as opened:
        page = opened.page
        opened.example("B")
        flown(opened, OTHER, 9107)
        open_job(page, "Möwe von gestern; 300 launches, seed 9107")
        note = page.get_by_text("of another text of the setup than the one that is open: Möwe von gestern")
        expect(note).to_be_visible(timeout=ANSWER_MS)
        expect(page.get_by_text("Seed 9107, setup")).to_be_visible()
        page.reload()
        expect(note).to_be_visible()
        assert opened.axe() == []
        assert opened.fits()
        page.get_by_role("button", name="Open that text").click()
        expect(note).to_have_count(0)
        expect(page.locator(".bar strong")).to_have_text("Möwe von gestern")
        expect(page.get_by_text("Seed 9107, setup")).to_be_visible()


def test_without_an_open_setup_that_of_the_job_is_opened(browser: Browser) -> None:
    with OpenedApp(browser, "jobs") as opened:
        flown(opened, OTHER, 9108)
        opened.page.reload()
        open_job(opened.page, "seed 9108")
        expect(opened.page.get_by_text("Seed 9108, setup")).to_be_visible(timeout=ANSWER_MS)
        expect(opened.page.locator(".bar strong")).to_have_text("Möwe von gestern")


def test_a_change_is_opened_with_its_pair_and_its_answer(browser: Browser) -> None:
    with OpenedApp(browser, "describe") as opened:
        page = opened.page
        opened.example("E")
        form = {"setup": {"text": OTHER, "files": {}}, "changes": {"day.wind": "1 m/s"}, "launches": 300}
        told = opened.server.answer("/api/odds/what-if", {**form, "seed": 9109})
        open_job(page, "300 launches, seed 9109")
        expect(page.get_by_text("over the same 300 launches flown both ways")).to_be_visible(
            timeout=ANSWER_MS
        )
        won = f"{told['difference']['won']} come out clean only on the right"
        expect(page.get_by_text(won)).to_be_visible()
        expect(page.get_by_role("heading", name="Möwe von gestern", exact=True)).to_be_visible()
        expect(page.get_by_role("row", name="Wind 4 m/s measured 1 m/s measured")).to_be_visible()
        head = page.locator("main p.head")
        expect(head).to_contain_text(
            "Möwe von gestern; with wind 1\u00a0m/s"
        )  # not of the setup that is open
        expect(head).to_contain_text("300 launches")
        page.reload()
        expect(page.get_by_text(won)).to_be_visible(timeout=ANSWER_MS)
        assert opened.axe() == []
        page.get_by_label("the same setup on another day").check()
        expect(page.get_by_text(won)).to_have_count(0)


def test_forms_come_back_with_what_they_taught(browser: Browser) -> None:
    with OpenedApp(browser, "learn") as opened:
        page = opened.page
        opened.example("B")
        text = opened.server.http.get("/api/learn/forms/swing").json()["text"]
        asked = {"forms": [text], "reviews": [], "launches": 0, "seed": 1}
        opened.server.answer("/api/learn/jobs", {"setup": {"text": TEXT, "files": {}}, **asked})
        page.get_by_role("button", name="Video of throws").click()
        page.get_by_label("frames, row 1").fill("31")
        page.get_by_label("frames, row 1").blur()
        page.get_by_role("link", name="Jobs", exact=True).click()
        lesson = page.get_by_role("listitem").filter(has_text="What launches and bench tests teach")
        lesson.get_by_role("button", name="open its room").first.click()
        expect(page.get_by_role("heading", name="Swing on two lines")).to_be_visible()
        expect(page.get_by_role("heading", name="What it teaches")).to_be_visible()
        expect(page.get_by_text("what is asked has changed")).to_have_count(0)
        page.get_by_role("button", name="Lay back what was here before").click()
        expect(page.get_by_label("frames, row 1")).to_have_value("31")


def test_a_refusal_stays_until_something_else_is_pressed(browser: Browser) -> None:
    with OpenedApp(browser, "jobs") as opened:
        page = opened.page
        for seed in (9110, 9111):
            flown(opened, TEXT, seed)
        page.reload()
        lines = [page.get_by_role("listitem").filter(has_text=f"seed {seed}") for seed in (9110, 9111)]
        expect(lines[0]).to_be_visible()
        (id_,) = (one["id"] for one in opened.server.http.get("/api/jobs").json() if one["seed"] == 9110)
        assert opened.server.http.delete(f"/api/jobs/{id_}").status_code == 204  # as from another window
        lines[0].get_by_role("button", name="remove").click()
        told = page.get_by_text("there is no such job")
        expect(told).to_be_visible()
        expect(lines[0]).to_have_count(0)
        page.wait_for_timeout(2000)  # the list is asked for every second where there is a reason to
        expect(told).to_be_visible()
        lines[1].get_by_role("button", name="remove").click()
        expect(lines[1]).to_have_count(0)
        expect(told).to_have_count(0)
        opened.complaints.clear()  # the browser tells of the 404
