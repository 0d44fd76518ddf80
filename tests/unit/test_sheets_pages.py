"""The two files of a sheet: pages, words, escaping, whole writes."""

from __future__ import annotations

import html
import math
import re
import runpy
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from overarm.odds.intervals import Interval
from overarm.sheets import evidence, write
from overarm.sheets.canvas import Size, prefixed, recoloured
from overarm.sheets.chain import Link, draw_chain
from overarm.sheets.checks import CAUTIONS, Limits, field_checks, path_words
from overarm.sheets.content import Remark, headline_word
from overarm.sheets.page_html import html_text
from overarm.sheets.page_pdf import Fit, best_fit, page_count, pdf_bytes
from overarm.sheets.palette import LIGHT, finding_of
from overarm.sheets.pictures import draw_all
from overarm.sheets.wording import (
    bare_percent,
    breakable,
    fixed,
    number,
    opened,
    percent,
    short,
    tied,
    trimmed,
    whole,
)

SYNTHETIC = runpy.run_path(str(Path(__file__).parent / "synthetic.py"))
NASTY = "<script>alert(1)</script> & \"q\" 's' #let x = 1 $y$ [z] *b* _i_ \\ @a {{ 7*7 }} "
SCRIPTS = "Чайка Γλάρος طائر 海鷗 ✈"


@pytest.fixture(scope="module")
def made() -> Any:
    return SYNTHETIC["made"](count=24)


@pytest.fixture(scope="module")
def bad() -> Any:
    return SYNTHETIC["made"](good=False, name=(NASTY + SCRIPTS) * 6, count=24)


@pytest.fixture(scope="module")
def sheet(made: Any) -> write.Sheet:
    return write.make_sheet(made.content, made.data)


@pytest.fixture(scope="module")
def bad_sheet(bad: Any) -> write.Sheet:
    return write.make_sheet(bad.content, bad.data)


def full(content: dict[str, Any], pictures: dict[str, Any]) -> dict[str, Any]:
    return {**content, "pictures": {n: p.words for n, p in pictures.items()}, "live": "x", "strip": "y"}


@pytest.mark.parametrize(
    ("share", "word"), [(0.95, "good"), (0.897, "good"), (0.894, "watch"), (0.76, "watch"), (0.5, "stop")]
)
def test_finding_follows_the_figure_that_is_printed(share: float, word: str) -> None:
    assert finding_of(share) == word


def test_words_for_numbers() -> None:
    assert percent(1.0) == "99 %"
    assert percent(0.0) == "1 %"
    assert percent(0.914) == "91 %"
    assert percent(float("nan")) == "not known"
    assert bare_percent(0.001) == "1"
    assert fixed(-0.001, 1) == "0.0"
    assert fixed(-1.5, 1) == "−1.5"
    assert number(1234.0) == "1234"
    assert number(0.0123) == "0.012"
    assert trimmed(9.0, 3) == "9"
    assert trimmed(4.5, 2) == "4.5"
    assert trimmed(100.0, 3) == "100"
    assert opened("éa") == "Éa"
    assert whole(10_000) == "10,000"
    assert tied("held for 0.10 s and 90 % of 3 sheets") == "held for 0.10\u00a0s and 90\u00a0% of 3 sheets"


@pytest.mark.parametrize(
    ("share", "words", "headline"),
    [
        (0.97, (), "good"),
        (0.97, ("good", "not known"), "good"),
        (0.97, ("watch",), "watch"),
        (0.97, ("watch", "stop"), "stop"),
        (0.80, (), "watch"),
        (0.70, (), "stop"),
        (0.70, ("watch",), "stop"),
    ],
)
def test_headline_is_never_better_than_odds_or_findings(
    share: float, words: tuple[str, ...], headline: str
) -> None:
    remarks = [Remark(word, "x") for word in words]
    assert headline_word(Interval(share, share, share), remarks) == headline


def test_odds_say_what_wrong_guesses_would_do(made: Any, sheet: write.Sheet) -> None:
    assert made.content["odds"]["unsure"] == ""  # too few worlds to say
    told = {**made.content, "odds": {**made.content["odds"], "unsure": "If our guesses are off: 25 to 99 %"}}
    assert "If our guesses are off: 25 to 99" in write.make_sheet(told, made.data).html
    assert "guesses are off" not in sheet.html


def test_one_stop_makes_the_whole_sheet_a_stop(made: Any) -> None:
    assert made.content["odds"]["word"] == "Watch"
    assert made.content["gate"] == "Go only if all hold"
    content = SYNTHETIC["made"](count=6, stop="No wait fits.").content
    assert content["odds"]["word"] == "Stop"
    assert content["gate"].startswith("Mend the stop first")
    assert content["remarks"][0]["words"] == "No wait fits."


def test_short_makes_one_clean_line() -> None:
    assert short("a\n\tb\x00\u202ec", 20) == "a b c"
    assert short("x" * 500, 70) == "x" * 69 + "…"


def test_checks_are_seventeen_in_order_with_a_stop_rule_each() -> None:
    for style in ("throw-started", "spin-in-hand", "line-launched"):
        checks = field_checks(Limits("band 2 to 6 m/s", "16.0 V or more", "set 60 m", "203 mm", style))
        assert [c.number for c in checks] == list(range(1, 18))
        assert all(c.stop.strip() and c.evidence.strip() for c in checks)
        order = ("pack out", "propeller on", "pack in", "model held", "area clear", "blip")
        places = [checks[11].step.lower().index(step) for step in order]
        assert places == sorted(places)


@pytest.mark.parametrize("style", ["throw-started", "spin-in-hand"])
def test_the_throw_of_the_checks_is_that_of_the_card(style: str) -> None:
    steep = Limits("", "", "", "", style, path_words(math.radians(9.2)))
    assert "throw 9° above the horizon" in field_checks(steep)[14].step.lower()
    assert "throw level" in field_checks(steep._replace(path_words=path_words(None)))[14].step.lower()
    assert path_words(math.radians(-4.0)) == "4° below the horizon"


def test_line_caution_is_for_line_launches() -> None:
    assert "Bungee" in {c.about for c in CAUTIONS}
    assert "Bungee" not in {c["about"] for c in SYNTHETIC["made"](count=6).content["cautions"]}


def test_nothing_is_called_harmless(sheet: write.Sheet, bad_sheet: write.Sheet) -> None:
    for text in (sheet.html, bad_sheet.html):
        words = set(re.findall(r"[a-z]+", re.sub(r"<[^>]+>|data:[^)]*", " ", text.lower())))
        assert words.isdisjoint({"safe", "safely", "safety"})


@pytest.mark.parametrize("which", ["good", "bad"])
def test_pdf_is_two_a4_pages(which: str, made: Any, bad: Any) -> None:
    case = made if which == "good" else bad
    wide = draw_all(case.data, narrow=False)
    content = full(case.content, wide)
    assert page_count(content, wide, best_fit(content, wide)) == 2
    pdf = pdf_bytes(content, wide)
    assert pdf.startswith(b"%PDF-")
    assert b"/MediaBox[0 0 595.2756 841.8898]" in pdf.replace(b"/MediaBox [", b"/MediaBox[")


def test_long_words_push_findings_off_before_a_third_page(bad: Any) -> None:
    wide = draw_all(bad.data, narrow=False)
    long = "w" * 30 + " "
    remark = {"word": "Watch", "kind": "watch", "ink": "ink", "sign": "x", "words": short(long * 10, 220)}
    lines = [short(long * 10, 110)] * 3
    content = {**full(bad.content, wide), "remarks": [remark] * 12, "lines": lines, "site": lines[0]}
    content["weakest"] = short(long * 10, 200)
    assert page_count(content, wide, Fit(12, 100)) > 2  # so the case is a hard one
    assert page_count(content, wide, best_fit(content, wide)) == 2


class Reader(HTMLParser):
    """Tags, ids and text of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(str(value))
            if name in ("src", "href", "xlink:href", "action", "srcset", "poster", "background"):
                self.links.append(str(value))


def test_user_text_is_never_markup(bad_sheet: write.Sheet, bad: Any) -> None:
    reader = Reader()
    reader.feed(bad_sheet.html)
    assert "script" not in reader.tags
    assert (
        html.escape(bad.content["full_name"]).replace("&#x27;", "&#39;").replace("&quot;", "&#34;")
        in bad_sheet.html
    )
    assert "{{ 7*7 }}" in bad_sheet.html  # a template inside the text is text


def test_page_asks_for_nothing_from_outside(sheet: write.Sheet) -> None:
    reader = Reader()
    reader.feed(sheet.html)
    assert all(link.startswith("#") for link in reader.links)
    assert len(reader.ids) == len(set(reader.ids))
    outside = [url for url in re.findall(r"url\(([^)]*)\)", sheet.html) if not url.startswith(("#", "data:"))]
    assert outside == []
    assert "@import" not in sheet.html
    assert "script" not in reader.tags


def test_obstacle_names_are_escaped_in_the_drawing(made: Any) -> None:
    from overarm.sheets.fan import Obstacle, draw_fan

    fan = made.data.fan._replace(obstacles=(Obstacle('<b>&"oak" $x_1$', 60.0, 8.0),))
    svg = draw_fan(fan, Size(186, 92)).svg
    words = "".join(ET.fromstring(svg).itertext())
    assert '<b>&"oak" $x_1$, 8 m' in words


def test_pictures_are_well_formed_and_name_every_colour(made: Any) -> None:
    for narrow in (False, True):
        for picture in draw_all(made.data, narrow=narrow).values():
            ET.fromstring(picture.svg)
            assert picture.words
            assert picture.title in picture.svg
            named = recoloured(picture.svg)
            left = set(re.findall(r"#[0-9a-f]{6}\b", named)) - {"#ffffff", "#000000"}
            assert not left, f"{picture.name} uses colours outside the palette: {left}"
            ids = re.findall(r'\bid="([^"]+)"', prefixed(picture.svg, "p-"))
            assert all(i.startswith(f"p-{picture.name}-") for i in ids)


def test_same_input_gives_the_same_bytes(made: Any, sheet: write.Sheet) -> None:
    again = write.make_sheet(made.content, made.data)
    assert again.html == sheet.html
    assert again.pdf == sheet.pdf


def test_a_sheet_of_launches_that_never_start_still_says_so(made: Any) -> None:
    traces = []
    for trace in made.traces[:5]:
        carried = trace["t_s"] < 1.4  # before the throw
        traces.append({name: column[carried] for name, column in trace.items()})
    table = made.table[:5].copy()
    for name in ("detection_s", "release_s", "clear_s"):
        table[name] = -1.0
    table["outcome"] = 5
    data = made.data._replace(
        fan=evidence.fan_data(made.subject, traces),
        race=evidence.race_data(made.subject, table, traces),
        blade=evidence.blade_data(made.subject, table, traces),
        strip=evidence.strip_data(made.subject, traces, [5] * 5),
    )
    sheet = write.make_sheet({**made.content, "race": "x"}, data)
    assert "left the hand" in sheet.html
    assert "no start" in sheet.html
    assert sheet.pdf.startswith(b"%PDF-")


def test_weaker_links_are_drawn_thinner(made: Any) -> None:
    chain = made.data.chain
    svg = draw_chain(chain, Size(186, 14.5)).svg
    assert "stroke-dasharray" in svg  # the weak link
    strong = draw_chain(chain._replace(links=chain.links[:3]), Size(186, 14.5)).svg
    assert "stroke-dasharray" not in strong


def test_a_link_that_no_launch_reached_is_said_to_be_so(made: Any) -> None:
    links = (Link("cue", 0.98, "98 %"), Link("sink", 1.0, ">99 %", reached=False))
    picture = draw_chain(made.data.chain._replace(links=links), Size(186, 14.5))
    words = " ".join(ET.fromstring(picture.svg).itertext())
    assert "sink not reached" in picture.words
    assert ">99" not in words
    assert "not" in words.split()
    assert "reached" in words.split()


def test_the_weakest_link_is_marked_even_at_98_percent(made: Any) -> None:
    links = (Link("cue", 0.98, "98 %"), Link("sink", 0.99, "99 %"))
    chain = made.data.chain._replace(links=links)
    whole_ones = chain._replace(links=tuple(link._replace(share=1.0) for link in links))
    marks = [draw_chain(c, Size(186, 14.5)).svg.count(LIGHT["rust"]) for c in (chain, whole_ones)]
    assert marks[0] > 0
    assert marks[1] == 0


def test_every_stop_and_watch_is_printed_while_it_fits_and_the_rest_are_counted(made: Any) -> None:
    wide = draw_all(made.data, narrow=False)
    remark = made.content["remarks"][0]
    assert remark["kind"] == "watch"
    content = {**full(made.content, wide), "remarks": [remark] * 3 + [{**remark, "kind": "not-known"}] * 9}
    fit = best_fit(content, wide)
    assert fit.remarks >= 3
    assert page_count(content, wide, fit) == 2


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext of poppler")
@pytest.mark.parametrize("letters", ["w" * 400, "ж" * 400, "two words " * 40])
def test_a_name_of_400_letters_stays_on_the_page(made: Any, letters: str, tmp_path: Path) -> None:
    wide = draw_all(made.data, narrow=False)
    content = {**full(made.content, wide), "name": letters, "full_name": letters}
    file = tmp_path / "long.pdf"
    file.write_bytes(pdf_bytes(content, wide))
    boxes = subprocess.run(["pdftotext", "-bbox", str(file), "-"], capture_output=True, text=True, check=True)
    right = [float(x) for x in re.findall(r'xMax="([0-9.]+)"', boxes.stdout)]
    assert max(right) <= 595.3 - 30.0
    assert page_count(content, wide, best_fit(content, wide)) == 2


def test_long_words_may_break_and_short_ones_may_not() -> None:
    assert breakable(["x" * 30, {"a": "short words stay"}])[1] == {"a": "short words stay"}
    assert breakable("x" * 30).replace("\u200b", "") == "x" * 30
    assert max(map(len, breakable("x" * 400).split("\u200b"))) <= 8


def test_html_needs_every_word(made: Any) -> None:
    from jinja2 import UndefinedError

    wide = draw_all(made.data, narrow=False)
    content = full(made.content, wide)
    del content["abort"]
    with pytest.raises(UndefinedError):
        html_text(content, wide, wide)


def test_files_are_written_whole_or_not_at_all(
    sheet: write.Sheet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = write.save_sheet(sheet, tmp_path / "new" / "folder", "a")
    assert paths.pdf.read_bytes() == sheet.pdf
    assert paths.html.read_text("utf-8") == sheet.html

    move = Path.replace

    def second_fails(part: Path, target: Path) -> Path:
        if target == paths.html and target.exists() and part != target:
            raise OSError("disk full")
        return move(part, target)

    monkeypatch.setattr(Path, "replace", second_fails)
    with pytest.raises(OSError, match="disk full"):
        write.save_sheet(write.Sheet(b"other", "other"), paths.pdf.parent, "a")
    assert paths.pdf.read_bytes() == sheet.pdf
    assert paths.html.read_text("utf-8") == sheet.html
    assert sorted(p.name for p in paths.pdf.parent.iterdir()) == ["a.html", "a.pdf"]


def test_plotting_is_not_imported_until_it_is_needed() -> None:
    code = "import sys, overarm.sheets.write; print('matplotlib' in sys.modules or 'typst' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
