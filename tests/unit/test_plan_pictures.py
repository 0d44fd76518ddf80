"""The pictures and the page of a plan: what is drawn, where it stands, and that it fits."""

from __future__ import annotations

import math
import re
import runpy
import shutil
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from overarm.describe.outlines import Outline
from overarm.earth import Ground, Spot
from overarm.odds.finding import Finding
from overarm.odds.intervals import Interval
from overarm.plan.result import DayWind
from overarm.sheets.canvas import Box, Size, prefixed, recoloured
from overarm.sheets.field import blocks_ahead, dense, home_spot, round_length_m, view_of
from overarm.sheets.page_pdf import best_fit, page_count, pages
from overarm.sheets.pictures import PHONE, draw_all, draw_plan
from overarm.sheets.plan_words import MOST_GAPS, MOST_REMARKS, plan_content
from overarm.sheets.rose import side_words
from overarm.sheets.side import stretch_of
from overarm.sheets.write import make_sheet
from tests.plans import GROUND, fan_of, gap_of, outlines_of, plan_of

SYNTHETIC = runpy.run_path(str(Path(__file__).parent / "synthetic.py"))
NASTY = '<b>&"oak" $x_1$ #let [z] {{ 7*7 }} \x00\u202e ' + "w" * 400
BOX = Box(0, 0, 150, 80)


def no_fan() -> Any:
    nothing = np.zeros(0)
    columns = ("ahead_m", "right_p5_m", "right_p50_m", "right_p95_m", "share_there")
    heights = ("height_p5_m", "height_p50_m", "height_p95_m")
    return replace(fan_of(), **dict.fromkeys((*columns, *heights), nothing), paths=(), handed_over_share=0.0)


CASES: dict[str, Any] = {
    "plain": {},
    "no ground": {"ground": None},
    "no obstacle": {"outlines": (), "gaps": ()},
    "no launch got away": {"fan": no_fan()},
    "calm": {"wind": DayWind(0.0, 0.0, 0.5, 0.4)},
    "nasty": {"name": NASTY, "outlines": outlines_of(NASTY), "gaps": (gap_of(NASTY, 140.0, 15.0, -3.0),) * 9},
    "low ceiling": {"ceiling": replace(plan_of().ceiling, legal_m=45.0)},
    "endless hedge": {"outlines": (Outline("hedge", np.array([[80.0, -1e4], [80.0, 1e4]]), 6.0, False),)},
    "behind": {
        "outlines": (Outline("barn", np.array([[-60.0, -5.0], [-60.0, 5.0], [-70.0, 0.0]]), 7.0, True),)
    },
    "far off": {"outlines": (Outline("mast", np.array([[4000.0, -5.0], [4000.0, 5.0]]), 90.0, False),)},
    "tall": {"outlines": (Outline("wood", np.array([[60.0, -40.0], [60.0, 40.0]]), 300.0, False),)},
    "deep": {
        "outlines": (
            Outline(
                "wood", np.array([[90.0, -80.0], [90.0, 80.0], [180.0, 80.0], [180.0, -80.0]]), 12.0, True
            ),
        )
    },
    "no route": {"route": ()},
}


@pytest.fixture(scope="module")
def made() -> Any:
    return SYNTHETIC["made"](count=12)


@pytest.mark.parametrize("case", list(CASES))
@pytest.mark.parametrize("narrow", [False, True])
def test_every_plan_is_drawn_well_formed_in_named_colours(case: str, narrow: bool) -> None:
    changes = dict(CASES[case])
    plan = plan_of(changes.pop("ground", GROUND), **changes)
    for picture in draw_plan(plan, narrow=narrow).values():
        ET.fromstring(picture.svg)
        left = set(re.findall(r"#[0-9a-f]{6}\b", recoloured(picture.svg))) - {"#ffffff", "#000000"}
        assert not left, f"{picture.name} uses colours outside the palette: {left}"
        ids = re.findall(r'\bid="([^"]+)"', prefixed(picture.svg, "p-"))
        assert all(name.startswith(f"p-{picture.name}-") for name in ids)
        assert "nan" not in picture.svg.lower().replace("nano", "")
        assert "not known m" not in picture.words


def texts(svg: str) -> str:
    return " ".join("".join(ET.fromstring(svg).itertext()).split())


def test_the_plan_view_names_what_is_there() -> None:
    said = texts(draw_plan(plan_of(), narrow=False)["ground"].svg)
    for words in (
        "launch line",
        "handover, 35 m",
        "home circle, 45 m",
        "trees, 15 m",
        "barn, 7 m",
        "wind 4.0 m/s",
    ):
        assert words in said
    assert "250°" in said
    assert "north not known" in texts(draw_plan(plan_of(None), narrow=False)["ground"].svg)
    assert "no wind" in texts(draw_plan(plan_of(wind=DayWind(0.0, 0.0, 0.5, 0.4)), narrow=True)["ground"].svg)


def test_the_side_view_says_gaps_heights_and_ceiling() -> None:
    said = texts(draw_plan(plan_of(), narrow=False)["side"].svg)
    for words in ("wanted gap 19 m", "handover 35 m", "home height 40 m", "120 m, lies above this picture"):
        assert words in said
    low = plan_of(ceiling=replace(plan_of().ceiling, legal_m=45.0))
    assert "your ceiling 45 m" in texts(draw_plan(low, narrow=False)["side"].svg)


def test_page_directions() -> None:
    """On paper the launch line runs to the right, its right-hand side below; on a phone: up, right."""
    paper, phone = (view_of(plan_of(), BOX, up=up) for up in (False, True))
    assert [float(v) for v in paper.at(10.0, 3.0)] == [10.0, -3.0]
    assert [float(v) for v in phone.at(10.0, 3.0)] == [3.0, 10.0]
    quarter = 0.5 * math.pi  # a bearing to the right
    assert paper.turned(quarter) == pytest.approx((0.0, -1.0), abs=1e-12)
    assert phone.turned(quarter) == pytest.approx((1.0, 0.0), abs=1e-12)


@pytest.mark.parametrize("up", [False, True])
def test_the_view_holds_the_way_and_the_circle_at_one_scale(up: bool) -> None:
    plan = plan_of()
    view = view_of(plan, BOX, up=up)
    across, high = view.right_m - view.left_m, view.high_m - view.low_m
    assert across / BOX.width_mm == pytest.approx(high / BOX.height_mm)
    x, y = view.at(np.array([p.ahead_m for p in plan.route]), np.array([p.right_m for p in plan.route]))
    assert x.min() > view.left_m
    assert x.max() < view.right_m
    assert y.min() > view.low_m
    assert y.max() < view.high_m
    cx, cy = (float(v) for v in view.at(*home_spot(plan)))
    assert cx - plan.circle.radius_m > view.left_m
    assert cy + plan.circle.radius_m < view.high_m


def test_something_far_off_does_not_shrink_the_field() -> None:
    far = Outline("mast", np.array([[4000.0, -5.0], [4000.0, 5.0]]), 90.0, False)
    near, wide = (view_of(plan_of(outlines=o), BOX, up=False) for o in ((), (far,)))
    assert near == wide


def test_only_what_stands_in_the_way_is_in_the_side_view() -> None:
    def wall(ahead: float, right: float) -> Outline:
        return Outline("wall", np.array([[ahead, right - 5.0], [ahead, right + 5.0]]), 5.0, False)

    assert [b.from_m for b in blocks_ahead(plan_of(outlines=(wall(100.0, 0.0),)))] == [100.0]
    assert blocks_ahead(plan_of(outlines=(wall(100.0, 90.0),))) == []
    assert blocks_ahead(plan_of(outlines=(wall(-50.0, 0.0),))) == []
    endless = Outline("hedge", np.array([[80.0, -1e4], [80.0, 1e4]]), 6.0, False)
    assert len(dense(endless)) < 400
    assert [b.from_m for b in blocks_ahead(plan_of(outlines=(endless,)))] == pytest.approx([80.0])


def test_heights_fill_the_room_and_never_leave_it() -> None:
    for scale in (0.3, 1.0, 2.0, 10.0):
        for top in (20.0, 60.0, 400.0):
            stretch = stretch_of(scale, top, 45.0)
            assert stretch * top / scale <= 45.0 * 1.000001


@pytest.mark.parametrize(("span", "bar"), [(300.0, 50.0), (80.0, 20.0), (2.0, 1.0), (4000.0, 1000.0)])
def test_scale_bar_is_round(span: float, bar: float) -> None:
    assert round_length_m(span) == bar


@pytest.mark.parametrize(
    ("angle_deg", "words"),
    [
        (0.0, "today's line"),
        (30.0, "30° to the right"),
        (330.0, "30° to the left"),
        (180.0, "the opposite way"),
    ],
)
def test_directions_in_words(angle_deg: float, words: str) -> None:
    assert side_words(math.radians(angle_deg)) == words


def test_rose_shows_each_share_and_marks_a_better_direction() -> None:
    plan = plan_of()
    said = texts(draw_plan(plan, narrow=False)["rose"].svg).split()
    assert "88" in said  # today, from the made-up plan
    assert "N" in said
    assert "N" not in texts(draw_plan(plan_of(None), narrow=False)["rose"].svg).split()
    better = plan_of(rose=replace(plan.rose, best_rad=math.radians(30.0), gain=Interval(0.02, 0.01, 0.03)))
    assert "30° to the right" in draw_plan(better, narrow=False)["rose"].words
    many = replace(
        plan.rose, angles_rad=np.radians(np.arange(0.0, 360.0, 10.0)), odds=(plan.rose.odds[0],) * 36,
        headwind_mps=np.zeros(36), struck_share=np.zeros(36),
    )  # fmt: skip
    crowded = draw_plan(plan_of(rose=many), narrow=False)["rose"].svg.partition("</desc>")[2]
    assert len(re.findall(r">88</text>", crowded)) == 12  # a figure on every third wedge


def test_words_of_the_page_are_those_of_the_plan() -> None:
    content = plan_content(plan_of())
    assert content["word"] == "Watch"
    assert [gap["name"] for gap in content["gaps"]] == ["trees", "barn"]  # the worst first
    assert content["gaps"][0]["p5"].replace("\u00a0", " ") == "9 m"
    values = {fact["label"]: fact["value"].replace("\u00a0", " ") for fact in content["facts"]}
    assert values["Handover at"] == "35 m"
    assert values["Your ceiling"] == "120 m"
    assert values["Pack left"] == "92 %"
    assert {c["about"] for c in content["cautions"]} == {"People", "Airspace", "Rules", "Heights"}
    good = plan_content(plan_of(findings=()))
    assert good["word"] == "Good"


def test_many_gaps_keep_the_worst_and_count_the_rest() -> None:
    gaps = tuple(gap_of(f"tree {k}", 50.0 + k, 10.0, 20.0 - 3 * k) for k in range(10))
    content = plan_content(plan_of(gaps=gaps))
    assert content["gaps"][0]["word"] == "Stop"
    assert len(content["gaps"]) == MOST_GAPS
    assert content["more_gaps"] == 10 - MOST_GAPS


def test_nothing_is_called_harmless(made: Any) -> None:
    page = make_sheet(made.content, made.data, plan=plan_of()).html
    words = set(re.findall(r"[a-z]+", re.sub(r"<[^>]+>|data:[^)]*", " ", page.lower())))
    assert words.isdisjoint({"safe", "safely", "safety"})


def full(made: Any, plan: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    wide = draw_all(made.data, narrow=False) | draw_plan(plan, narrow=False)
    words = {name: picture.words for name, picture in wide.items()}
    return {**made.content, "pictures": words, "live": "x", "strip": "y", "plan": plan_content(plan)}, wide


def test_a_plan_is_the_third_page(made: Any) -> None:
    content, wide = full(made, plan_of())
    assert pages(content) == 3
    assert page_count(content, wide, best_fit(content, wide)) == 3
    assert pages({**content, "plan": None}) == 2


def test_the_page_of_a_plan_stays_one_page_with_the_longest_words(made: Any) -> None:
    long = "longest " * 100
    gaps = tuple(gap_of("w" * 200, 1234.0 + k, 299.0, -100.0) for k in range(20))
    findings = tuple(Finding("x", "stop", long, {}) for _ in range(12))
    plan = plan_of(name="w" * 400, gaps=gaps, findings=findings)
    content, wide = full(made, replace(plan, rose=replace(plan.rose, sentence=long)))
    assert content["plan"]["on_paper"] == MOST_REMARKS
    for fact in content["plan"]["facts"]:
        fact["note"] = long[:170]
    assert page_count(content, wide, best_fit(content, wide)) == 3


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext of poppler")
def test_the_pdf_says_it(made: Any, tmp_path: Path) -> None:
    file = tmp_path / "plan.pdf"
    file.write_bytes(make_sheet(made.content, made.data, plan=plan_of()).pdf)
    done = subprocess.run(
        ["pdftotext", "-f", "3", "-l", "3", str(file), "-"], capture_output=True, text=True, check=True
    )
    said = " ".join(done.stdout.split())
    assert "page 3 of 3" in said
    assert "Nobody stands, walks or rides below" in said
    first = subprocess.run(
        ["pdftotext", "-l", "1", str(file), "-"], capture_output=True, text=True, check=True
    )
    assert "page 1 of 3" in " ".join(first.stdout.split())


def test_the_first_two_pages_are_the_same_with_and_without_a_plan(made: Any) -> None:
    without, with_plan = (make_sheet(made.content, made.data, plan=p).html for p in (None, plan_of()))
    assert re.sub(r'<section class="plan">.*?</section>\n', "", with_plan, flags=re.DOTALL) == without


def test_same_plan_same_picture() -> None:
    for name, picture in draw_plan(plan_of(), narrow=True).items():
        assert picture.svg == draw_plan(plan_of(), narrow=True)[name].svg
    assert PHONE["ground"] == Size(70, 112, narrow=True)


def test_a_launch_to_the_north_points_north() -> None:
    """With the launch line due north, north on the page is where the launch line runs."""
    view = view_of(plan_of(Ground(Spot(47.0, 8.0), 0.0)), BOX, up=True)
    assert view.turned(-0.0) == pytest.approx((0.0, 1.0))
    east = math.radians(90.0)  # launch to the east, up the page: north lies to the left
    assert view.turned(-east) == pytest.approx((-1.0, 0.0), abs=1e-12)


def test_a_stop_of_the_plan_stands_on_the_first_page() -> None:
    from overarm.sheets.content import Answer, Odds, Trail, headline_word
    from overarm.sheets.write import _with_stops

    odds = Odds(Interval(0.97, 0.95, 0.98), 3, 40, ())
    answer = Answer(odds, Trail("0.1.0", "ab", 1, 1_000, "1 May 2030"), [])
    stop = plan_of(findings=(Finding("gap", "stop", "Too low over the trees.", {}),))
    told = _with_stops(answer, stop, "")
    assert [(r.word, r.words) for r in told.remarks] == [("stop", "Too low over the trees. (page 3)")]
    assert headline_word(odds.clean, told.remarks) == "stop"
    (other,) = _with_stops(answer, plan_of(), "").remarks
    seen = "1 check of the plan is watch or not known: see Plan, page 3 of the launch sheet."
    assert (other.word, other.words) == ("watch", seen)
    assert _with_stops(answer, plan_of(findings=()), "").remarks == []
    assert _with_stops(answer, None, "") is answer
