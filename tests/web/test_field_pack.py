"""The field pack in a real browser, from a file and without a network: a thumb, a keyboard, a reload.

Playwright drives the Chromium of the system; its clock is set forward, so that two minutes take no time.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest
from playwright.sync_api import Browser

from overarm.logbook.book import Book
from tests.fieldpacks import GRID, made_table
from tests.web.opened import GO, STOP, TYPED, WAITS, Opened

PLACES_AND_WORDS = "all => all.map(cell => [cell.dataset.place, cell.innerText])"
SCHEMA = Path(__file__).parents[2] / "docs" / "reference" / "field-notes.schema.json"


@pytest.fixture(scope="module")
def one_page(browser: Browser, packs: dict[str, Path]) -> Iterator[Opened]:
    """One page for tests that begin with an empty store and a reload."""
    with Opened(browser, packs["plain"]) as seen:
        yield seen


def test_all_checks_to_live_and_back_to_the_ground(
    browser: Browser, packs: dict[str, Path], tmp_path: Path
) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page
        seen.hold_until(14)
        assert seen.count() == "Check 15 of 17"
        assert page.inner_text("#caution") == "NO CLIMB = MOTOR OFF"
        page.get_by_role("button", name="It has left the hand").click()
        assert page.locator("#no-climb").is_hidden()
        page.clock.fast_forward(3200)
        assert page.inner_text("#no-climb") == "NO CLIMB = MOTOR OFF"
        assert page.inner_text("#said-now") == "NO CLIMB = MOTOR OFF"
        page.click("#climbs")
        page.select_option("#ended", "clean")
        page.fill("#felt", "Straight, a bit high.")
        seen.hold(17)
        told = seen.notes()
        jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text("utf-8"))).validate(told)
        (launch,) = told["launches"]
        assert [check["answer"] for check in launch["checks"]] == ["holds"] * 17
        assert launch["live_utc"].startswith("2031-05-20T16:3")
        assert (launch["climb"], launch["ended"], launch["today"]["word"]) == ("climbing", "clean", "go")
        assert launch["checks"][1]["evidence"][0] == {
            "what": "Mean wind at the hand",
            "value": 3,
            "unit": "m/s",
        }
        seen.view("checks")
        page.get_by_role("button", name="Keep this launch, begin the next").click()
        assert seen.count() == "Check 1 of 17"
        assert page.inner_text("#launch-number") == "Launch 2"
        assert len(seen.notes()["launches"]) == 1
    file = tmp_path / "notes.json"
    file.write_text(json.dumps(told), "utf-8")
    from overarm.logbook.carry import import_file

    with Book.open(str(tmp_path / "book.sqlite"), make=True) as book:
        assert import_file(book, file).new == {"notes": 1}
        assert import_file(book, file).new == {}
        (row,) = book.newest("notes", 5)
    assert row["about"] == told["pack"]["setup_hash"]
    assert "Ended: clean." in row["text"]
    assert "Today: wind 3 m/s, " in row["text"]
    assert "Straight, a bit high." in row["text"]


def test_the_way_to_live_by_keyboard_alone(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page

        def to(wanted: str) -> None:
            for _ in range(60):
                if page.evaluate("(css) => document.activeElement.matches(css)", wanted):
                    return
                page.keyboard.press("Tab")
            raise AssertionError(f"{wanted} is not reached by Tab")

        def press(wanted: str) -> None:
            to(wanted)
            page.keyboard.press("Enter")

        press("#go-checks")
        page.keyboard.press("Shift+Tab")
        page.evaluate("document.getElementById('step').focus()")
        for number in range(1, 15):
            assert seen.count() == f"Check {number} of 17"
            assert page.evaluate("document.activeElement.id") == "step"
            if number in WAITS:
                press("#wait")
                page.clock.fast_forward(WAITS[number] * 1000 + 300)
            asks = page.locator("#check input").evaluate_all("all => all.map(e => [e.id, e.type])")
            for id_, kind in asks:
                if kind == "text" and id_.split("-")[1] in TYPED.get(number, {}):
                    to(f"#{id_}")
                    page.keyboard.press("Control+A")
                    page.keyboard.type(TYPED[number][id_.split("-")[1]])
                elif kind == "radio" and not id_.endswith("-not-seen"):
                    to(f"#{id_}")
                    page.keyboard.press("Space")
            press("#hold")
        assert seen.count() == "Check 15 of 17"
        outline = page.evaluate("""() => { const b = document.querySelector('#check button'); b.focus();
          return getComputedStyle(b).outlineWidth; }""")
        assert outline in ("4px", "0px")


@pytest.mark.parametrize("against", ["typed", "not seen", "said", "wind", "table"])
def test_a_stop_bars_live(browser: Browser, packs: dict[str, Path], against: str) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page
        number = {"typed": 4, "not seen": 3, "said": 1, "wind": 2, "table": 9}[against]
        seen.held_until(number - 1)
        seen.evidence(number)
        if against == "said":
            page.locator("#check .halt").click()
        else:
            if against == "typed":
                page.fill("#c4-horizon", "3")
            elif against == "not seen":
                page.check("#c3-frame-not-seen")
            elif against == "wind":
                page.fill("#c2-gust", "9")
            else:
                page.fill("#c9-air", "40")
            page.click("#hold")
        assert page.inner_text("#stop-word") == "STOP"
        assert (
            page.evaluate("parseFloat(getComputedStyle(document.getElementById('stop-word')).fontSize)") >= 64
        )
        assert page.evaluate("document.activeElement.id") == "stop-word"
        assert page.inner_text("#said-now").startswith("STOP.")
        assert page.inner_text("#open-stop") == f"STOP open: check {number}"
        assert page.locator("#hold").count() == 0
        for later in (number + 1, 12, 14):
            page.locator("#all .row").nth(later - 1).click()
            assert page.locator("#hold").count() == 0
            assert f"Stop open at check {number}." in page.inner_text("#check")
        page.get_by_role("button", name="Go to the first of them").click()
        page.get_by_role("button", name="It is mended: check again").click()
        seen.hold(number)
        assert seen.count() == f"Check {number + 1} of 17"
        told = seen.notes()
        (stop,) = told["launches"][0]["stops"]
        assert stop["check"] == number
        assert stop["mended_utc"]
        assert re.search(rf"Stop at check {number}: [^\n]+[.!?] Mended\.", told["notes"][0]["text"])


def test_a_check_left_open_keeps_the_propeller_off(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page
        seen.held_until(5)
        page.get_by_role("button", name="Leave open, go on").click()
        for number in range(7, 12):
            assert page.inner_text("#caution") == "Propeller off until check 12."
            seen.hold(number)
        assert seen.count() == "Check 12 of 17"
        assert page.locator("#hold").count() == 0
        assert "Check 6 was left open." in page.inner_text("#check")
        page.get_by_role("button", name="Go to the first of them").click()
        seen.hold(6)
        assert seen.count() == "Check 12 of 17"
        assert page.locator("#hold").count() == 1


def test_a_stop_of_the_sheet_never_comes_to_live(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["stop"]) as seen:
        page = seen.page
        assert STOP in page.inner_text("#sheet-stop")
        seen.today(**GO)
        assert page.inner_text("#answer .chip").endswith("STOP")
        seen.view("checks")
        for number in (12, 14):
            page.locator("#all .row").nth(number - 1).click()
            assert page.locator("#hold").count() == 0
            assert f"The sheet says stop: {STOP}" in page.inner_text("#check")


def test_wind_that_turns_bad_after_its_check_stops(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["plain"]) as seen:
        seen.held_until(9)
        seen.today(wind="1")
        assert seen.page.inner_text("#open-stop") == "STOP open: check 2, 9"


def test_a_reload_loses_nothing_and_start_over_forgets(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page
        seen.hold_until(1)
        page.click("#wait")
        page.fill("#c2-swing", "12")
        page.fill("#note", "streamer on the fence")
        page.clock.fast_forward(30_000)
        page.reload()
        assert seen.count() == "Check 2 of 17"
        assert page.input_value("#c2-swing") == "12"
        assert page.input_value("#note") == "streamer on the fence"
        assert page.inner_text("#left") in ("1:30", "1:29", "1:28")
        assert "holds" in page.locator("#all .row").first.inner_text()
        seen.view("notes")
        page.click("#over")
        page.click("#over-no")
        assert page.locator("#launches li").count() == 1
        page.click("#over")
        page.click("#over-yes")
        assert page.locator("#launches li").count() == 0
        page.reload()
        seen.view("checks")
        assert seen.count() == "Check 1 of 17"


def test_words_of_the_table_are_those_of_python(browser: Browser, packs: dict[str, Path]) -> None:
    table = made_table()
    with Opened(browser, packs["plain"]) as seen:
        page, found = seen.page, {}
        for g, t in itertools.product(range(2), range(2)):
            page.check(f"#gusts-{g}")
            page.check(f"#airs-{t}")
            found |= dict(page.locator("td.cell").evaluate_all(PLACES_AND_WORDS))
        places = itertools.product(range(2), range(3), range(2), range(2))
        told = dict(
            zip((" ".join(map(str, place)) for place in places), table.to_dict()["cells"], strict=True)
        )
        assert set(found) == set(told)
        for place, text in found.items():
            assert f"{told[place]['word']} {told[place]['odds']}" in text.replace("\n", " "), place
        for (g, w, t, v), cell in zip(
            itertools.product(range(2), range(3), range(2), range(2)), table.cells, strict=True
        ):
            wind = sum(GRID.winds_mps[w : w + 2]) / 2
            gust = wind + (GRID.gust_ratios[g] - 1.1) * max(wind, 1.0)
            middle = (sum(GRID.air_c[t : t + 2]) / 2, sum(GRID.pack_volts[v : v + 2]) / 2)
            seen.today(wind=f"{wind}", gust=f"{gust:.3f}", air=f"{middle[0]}", volts=f"{middle[1]:.2f}")
            assert page.inner_text("#answer .chip").lower().endswith(cell.word)
            assert page.locator("td.now").get_attribute("data-place") == f"{g} {w} {t} {v}"


@pytest.mark.parametrize(
    ("change", "word", "told"),
    [
        ({}, "go", "97 % clean launches"),
        ({"wind": "6", "gust": "6"}, "go", "no longer go"),
        ({"wind": "6.1", "gust": "7"}, "not known", "wind of 0 to 6 m/s"),
        ({"gust": "11"}, "not known", "Gustier than the table knows: 2 times the mean."),
        ({"air": "-2"}, "not known", "air of 0 to 35 °C"),
        ({"volts": "15.2"}, "not known", "pack of 15.4 to 16.4 V"),
        ({"volts": "15.7"}, "change", "a pack of 16 to 16.4 V: 97 % clean"),
        ({"wind": "-1", "gust": "1"}, "stop", "A tailwind"),
        ({"gust": "2"}, "not known", "less than the mean"),
        ({"volts": "full"}, "not known", "Enter wind, gust, air and pack."),
    ],
)
def test_today(one_page: Opened, change: dict[str, str], word: str, told: str) -> None:
    one_page.page.evaluate("localStorage.clear()")
    one_page.page.reload()
    one_page.today(**{**GO, "wind": "5", "gust": "6", **change})
    answer = one_page.page.inner_text("#answer").replace("\u00a0", " ")
    assert one_page.page.inner_text("#answer .chip").lower().endswith(word)
    assert told in answer


def test_full_pull_not_felt_is_no_throw(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["spin"]) as seen:
        seen.hold_until(14)
        seen.page.get_by_role("button", name="Shaken: count aloud").click()
        seen.page.clock.fast_forward(5200)
        assert "DON'T THROW. Motor off at once." in seen.page.inner_text("#check")
        seen.page.locator("#check .halt").click()
        assert seen.page.inner_text("#stop-word") == "STOP"
        seen.page.get_by_role("button", name="It is mended: check again").click()
        assert seen.count() == "Check 14 of 17"


def test_notes_can_be_copied(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["plain"]) as seen:
        seen.context.grant_permissions(["clipboard-read", "clipboard-write"])
        seen.hold_until(1)
        seen.view("notes")
        seen.page.click("#copy")
        seen.page.wait_for_function("document.getElementById('gone').textContent === 'Copied.'")
        told = json.loads(seen.page.evaluate("navigator.clipboard.readText()"))
        assert told["launches"][0]["checks"][0]["answer"] == "holds"
        assert told["overarm_notes"] == 1
