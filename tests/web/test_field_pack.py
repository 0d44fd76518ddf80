"""The field pack in a real browser, from a file and without a network: a thumb, a keyboard, a reload.

Playwright drives the Chromium of the system; its clock is set forward, so that two minutes take no time.
"""

from __future__ import annotations

import itertools
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from overarm.logbook.book import Book
from tests.fieldpacks import GRID, made_page, made_table

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
SIZES = {"phone": (390, 844), "desktop": (1440, 900)}
SCHEMA = Path(__file__).parents[2] / "docs" / "reference" / "field-notes.schema.json"
STOP = "The race is lost before it starts."
GO = {"wind": "3", "gust": "4", "air": "20", "volts": "16.2"}
# What is typed at each check; everything that is to be seen is seen.
TYPED = {
    1: {"pilot": "The one with the hat"},
    2: {"wind": "3,0", "gust": "4.2", "swing": "20"},
    4: {"horizon": "1"},
    5: {"differences": "0"}, 8: {"home": "2.5"}, 9: {"volts": "16.2", "pack": "21", "air": "18"},
    11: {"height": "60"},
}  # fmt: skip
WAITS = {2: 120, 4: 10, 8: 60, 12: 1}

# WCAG 2.2: relative luminance and contrast; 7:1 is the level AAA of criterion 1.4.6.
LOW_CONTRAST = """() => {
  const rgb = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const line = v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
  const lum = c => { const [r, g, b] = c.map(v => line(v / 255)); return .2126 * r + .7152 * g + .0722 * b; };
  const back = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0.99) return c.slice(0, 3); } return [255, 255, 255]; };
  const ratio = (c, e) => { const a = lum(rgb(c).slice(0, 3)), b = lum(back(e));
    return (Math.max(a, b) + .05) / (Math.min(a, b) + .05); };
  const bad = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let seen = 0;
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement, style = getComputedStyle(e);
    if (!walk.currentNode.textContent.trim() || !e.getClientRects().length) continue;
    const found = ratio(e.closest('svg') ? style.fill : style.color, e);
    seen += 1;
    if (found < 7) bad.push(found.toFixed(2) + ' ' + walk.currentNode.textContent.trim().slice(0, 30));
  }
  for (const e of document.querySelectorAll('input[type=text], textarea, select')) {
    if (e.offsetParent && ratio(getComputedStyle(e).color, e) < 7) bad.push('typed ' + e.id);
  }
  return {bad, seen};
}"""
SMALL = """() => [...document.querySelectorAll('button, label.pick, input[type=text], textarea, select')]
  .filter(e => e.offsetParent).map(e => [e.id || e.textContent, e.getBoundingClientRect()])
  .filter(([, b]) => b.height < 48 || b.width < 48).map(([name]) => name)"""
NAMELESS = """() => [...document.querySelectorAll('button, input, textarea, select')].filter(e => !(
  e.textContent.trim() || e.labels?.length || e.getAttribute('aria-label'))).map(e => e.outerHTML)"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    assert CHROMIUM is not None, "these tests need Chromium: apt-get install chromium"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def packs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pack")
    pages = {
        "plain": made_page(),
        "stop": made_page(stop=STOP),
        "spin": made_page(style="spin-in-hand"),
        "nasty": made_page(name="<img src=x onerror=alert(1)> " + "w" * 90),
    }
    for name, page in pages.items():
        (folder / f"{name}.html").write_text(page, "utf-8")
    return {name: folder / f"{name}.html" for name in pages}


class Opened:
    """A pack in a browser of its own, with everything that it asked for or complained about."""

    def __init__(self, browser: Browser, path: Path, size: str = "phone", scheme: Any = "light") -> None:
        width, height = SIZES[size]
        self.context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        self.context.set_offline(True)
        self.context.set_default_timeout(5000)
        self.page: Page = self.context.new_page()
        self.page.clock.install(time="2031-05-20T16:30:00Z")
        self.complaints: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.phone = size == "phone"
        self.path = path
        self.page.goto(path.as_uri())

    def __enter__(self) -> Opened:
        return self

    def __exit__(self, *problem: object) -> None:
        complaints, asked = self.complaints, self.asked
        self.context.close()
        if problem[0] is None:
            assert complaints == []
            assert {url.split(":")[0] for url in asked} <= {"file", "data", "blob"}
            assert {url for url in asked if url.startswith("file:")} == {self.path.as_uri()}

    def view(self, name: str) -> None:
        if self.phone:
            self.page.click(f"#go-{name}")

    def today(self, **figures: str) -> None:
        self.view("today")
        for name, value in figures.items():
            self.page.fill(f"#today-{name}", value)

    def count(self) -> str:
        return self.page.inner_text(".count")

    def evidence(self, number: int) -> None:
        assert self.count() == f"Check {number} of 17"
        if number in WAITS:
            self.page.click("#wait")
            self.page.clock.fast_forward(WAITS[number] * 1000 + 300)
            assert self.page.inner_text("#left") == "done"
        for key, value in TYPED.get(number, {}).items():
            self.page.fill(f"#c{number}-{key}", value)
        for radio in self.page.locator("#check input[value], #check input[id$='-seen']").all():
            if not (radio.get_attribute("id") or "").endswith("-not-seen"):
                radio.check()

    def hold(self, number: int) -> None:
        self.evidence(number)
        self.page.click("#hold")

    def hold_until(self, last: int) -> None:
        self.view("checks")
        for number in range(1, last + 1):
            self.hold(number)

    def notes(self) -> dict[str, Any]:
        self.view("notes")
        with self.page.expect_download() as got:
            self.page.click("#save")
        assert re.fullmatch(r"field-notes-\d{8}-\d{4}\.json", got.value.suggested_filename)
        told: dict[str, Any] = json.loads(Path(got.value.path()).read_text("utf-8"))
        return told


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
        seen.hold_until(number - 1)
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
        (stop,) = seen.notes()["launches"][0]["stops"]
        assert stop["check"] == number
        assert stop["mended_utc"]


def test_a_check_left_open_keeps_the_propeller_off(browser: Browser, packs: dict[str, Path]) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page
        seen.hold_until(5)
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
        seen.hold_until(9)
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
            for cell in page.locator("td.cell").all():
                found[cell.get_attribute("data-place")] = cell.inner_text()
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
def test_today(
    browser: Browser, packs: dict[str, Path], change: dict[str, str], word: str, told: str
) -> None:
    with Opened(browser, packs["plain"]) as seen:
        seen.today(**{**GO, "wind": "5", "gust": "6", **change})
        answer = seen.page.inner_text("#answer").replace("\u00a0", " ")
        assert seen.page.inner_text("#answer .chip").lower().endswith(word)
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


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", list(SIZES))
def test_text_stands_out_and_targets_fit_a_thumb(
    browser: Browser, packs: dict[str, Path], size: str, scheme: str
) -> None:
    with Opened(browser, packs["nasty"], size, scheme) as seen:
        page = seen.page

        def fine() -> None:
            found = page.evaluate(LOW_CONTRAST)
            assert found["bad"] == []
            assert found["seen"] > 20
            assert page.evaluate(SMALL) == []
            assert page.evaluate(NAMELESS) == []
            wide, room = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
            assert wide <= room

        assert page.evaluate("document.fonts.check('16px \"Fira Sans\"')")
        fine()
        for day in (GO, {**GO, "wind": "1", "gust": "1"}, {**GO, "air": "50"}):
            seen.today(**day)
            fine()
        seen.view("checks")
        fine()
        page.click("#hold")
        assert "Still missing" in page.inner_text("#missing")
        page.locator("#check .halt").click()
        fine()
        for view in ("sheet", "notes"):
            seen.view(view)
            fine()
        page.click("#over")
        fine()
        assert page.locator("h1").count() == 1
        assert page.locator("h1 img").count() == 0


def test_theme_is_chosen_by_hand_and_nothing_moves_if_unwanted(
    browser: Browser, packs: dict[str, Path]
) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page
        ground = "getComputedStyle(document.body).backgroundColor"
        before = page.evaluate(ground)
        seen.view("notes")
        page.click("#theme")
        assert page.evaluate(ground) == "rgb(28, 25, 22)"
        page.click("#theme")
        assert page.evaluate(ground) == before
        page.emulate_media(reduced_motion="reduce")
        assert page.evaluate("document.getAnimations().length") == 0


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
