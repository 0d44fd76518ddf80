"""The field pack: its table from its corners, what it never says, and that its page is closed in itself."""

from __future__ import annotations

import itertools
import json
import math
import re
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from overarm import cli
from overarm.errors import InputError
from overarm.flight.inputs import inputs_of
from overarm.odds.assess import clean_share
from overarm.odds.intervals import Interval
from overarm.physics.wind import Air, gust_sigmas, mean_wind
from overarm.sheets import field_corners as corners
from overarm.sheets import field_evidence, field_script
from overarm.sheets.checks import Limits, field_checks
from overarm.sheets.field_corners import Corner, Grid
from overarm.sheets.field_pack import Pack, save_pack
from overarm.sheets.field_table import Bounds, Cell, cell_of
from overarm.sheets.reading import subject_of
from tests.examples import derived_of, setup_of
from tests.fieldpacks import GRID, bounds, made_page, made_table, share_at

BAND = (2.0, 6.0)


def corner(share: float, risky: int = 0, launches: int = 500) -> Corner:
    return Corner(Interval(share, share - 0.02, share + 0.01), launches, risky)


def cell(*shares: float, wind: tuple[float, float] = (2.0, 4.0), volts: float = 16.0, **bound: Any) -> Cell:
    given = {"band": BAND, "least_volts": 16.0, "stops": (), "hands_known": True, **bound}
    return cell_of([corner(share) for share in shares], wind, volts, Bounds(**given))


@pytest.mark.parametrize(
    ("share", "word"), [(0.97, "go"), (0.90, "go"), (0.89, "change"), (0.75, "change"), (0.74, "stop")]
)
def test_a_cell_is_as_good_as_its_worst_corner(share: float, word: str) -> None:
    """90 and 75 % are the limits of the sheet (common practice, no source)."""
    found = cell(0.99, share, 0.98)
    assert found.word == word
    assert found.clean.share == share
    assert bool(found.why) == (word != "go")


@pytest.mark.parametrize(("low", "word"), [(0.75, "go"), (0.749, "change"), (0.61, "change")])
def test_a_few_clean_launches_are_no_go(low: float, word: str) -> None:
    """50 of 50 clean still leave odds that nobody would launch at (interval of a table of 1,000 launches)."""
    few = Corner(Interval(1.0, low, 1.0), 50, 0)
    found = cell_of([few, few], (2.0, 4.0), 16.0, bounds())
    assert found.word == word
    assert any("with more of them" in words for words in found.why) == (word != "go")


@pytest.mark.parametrize(
    ("bound", "word", "told"),
    [
        ({"stops": ("The race is lost.",)}, "stop", "The race is lost."),
        ({"hands_known": False}, "change", "Too few launches"),
        ({"band": None}, "change", "no wind band"),
        ({"band": (2.5, 6.0)}, "change", "Outside the wind band of the sheet, 2.5 to 6.0 m/s"),
        ({"least_volts": 16.2}, "change", "16.2 V or more"),
    ],
)
def test_no_cell_is_better_than_the_sheet(bound: dict[str, Any], word: str, told: str) -> None:
    found = cell(0.99, 0.99, **bound)
    assert found.word == word
    assert any(told in words for words in found.why)


def test_a_hand_at_risk_in_more_than_one_launch_of_1000_stops() -> None:
    flown = [corner(0.99), corner(0.99, risky=1)]
    assert cell_of(flown, (2.0, 4.0), 16.0, bounds()).word == "go"  # 1 of 1000
    more = cell_of([corner(0.99, risky=1)] * 2, (2.0, 4.0), 16.0, bounds())
    assert more.word == "stop"
    assert more.why == ("The disc turned near a hand in 2 of 1000 launches.",)


def test_the_table_has_the_worst_of_eight_corners_at_the_top_of_its_gusts() -> None:
    table = made_table()
    places = itertools.product(range(2), range(3), range(2), range(2))
    for (g, w, t, v), found in zip(places, table.cells, strict=True):
        around = itertools.product(
            GRID.winds_mps[w : w + 2], GRID.air_c[t : t + 2], GRID.pack_volts[v : v + 2]
        )
        assert found.clean.share == min(share_at(GRID.gust_ratios[g], *place) for place in around)
        if found.word == "go":
            assert GRID.winds_mps[w] >= 2.0
            assert GRID.pack_volts[v] >= 16.0
    assert {found.word for found in table.cells} == {"go", "change", "stop"}


def test_highest_gust_is_about_that_of_davenport() -> None:
    """With 24 crossings ``sqrt(2 ln 24) = 2.5212`` and 0.5772 of its inverse, on paper."""
    assert corners.highest_in_two_minutes() == pytest.approx(2.5212 + 0.5772 / 2.5212, abs=2e-4)


@pytest.mark.parametrize("ratio", [1.5, 2.0])
def test_gust_scale_gives_the_gusts_that_were_asked_for(ratio: float) -> None:
    """In the wind that the scale is made for, mean + peak factor x rms is ``ratio`` times the mean."""
    air = Air(0.0, 1.0, 0.0, 0.03, 1.0)
    share = float(mean_wind(air, 1.9))
    scale = corners.gust_scale(ratio, 1.9, 0.03, share)
    wind_10m = 3.0 / share
    along, _ = gust_sigmas(air._replace(wind_10m_mps=wind_10m, gust_scale=scale), 1.9)
    assert 3.0 + corners.highest_in_two_minutes() * along == pytest.approx(3.0 * ratio)


def test_pack_is_as_warm_as_the_air_within_what_check_9_and_the_card_allow() -> None:
    assert [corners.pack_c(air, 25.0) for air in (0.0, 20.0, 35.0)] == [15.0, 20.0, 25.0]
    assert corners.pack_c(20.0, 5.0) == 15.0


def test_edges_of_the_band_are_edges_of_the_table() -> None:
    assert corners.winds_with(None) == corners.WINDS_MPS
    winds = corners.winds_with((1.5, 5.32))
    assert {1.5, 5.3} <= set(winds)
    assert winds == tuple(sorted(set(winds)))
    assert corners.winds_with((0.5, 6.0))[:2] == (0.0, 0.5)


def test_a_corner_is_what_the_engine_flies_on_such_a_day() -> None:
    """The same launches, flown through a setup that was written for that day by hand."""
    setup, derived = setup_of("b"), derived_of("b")
    subject = subject_of(setup, derived, inputs_of(setup, derived), np.zeros(0))
    grid = Grid((2.0,), (1.5,), (15.0,), (16.0,))
    flown = corners.fly_corners(setup, subject, grid, 100, 1)[0, 0, 0, 0]
    inputs = corners.in_wind(corners.inputs_for(setup, 15.0, 16.0), subject, 2.0, 1.5)
    air = inputs.base["air"][0]
    height = subject.release_height_m
    met = mean_wind(Air(0.0, float(air["wind_10m_mps"]), 0.0, float(air["roughness_m"]), 1.0), height)
    assert met == pytest.approx(2.0)
    assert inputs.base["pack"]["open_volts"][0] == pytest.approx(16.0)
    table = corners.spread_out(inputs, 100, 1)
    assert flown.clean == clean_share(table)
    assert len(np.unique(table["world"])) == 100 // corners.PER_WORLD
    from overarm.flight.campaign import run

    whole = np.concatenate([chunk.table for chunk in run(inputs, 500, 1)])
    same = whole[np.arange(500) % 25 < corners.PER_WORLD]
    np.testing.assert_array_equal(table["outcome"], same["outcome"])
    np.testing.assert_array_equal(table["low_point_m"], same["low_point_m"])


def test_every_check_asks_for_something_with_the_limits_of_the_sheet() -> None:
    setup, derived = setup_of("b"), derived_of("b")
    subject = subject_of(setup, derived, inputs_of(setup, derived), np.zeros(0))
    asks = field_evidence.asks_of(subject, BAND)
    checks = field_checks(Limits("", "", "", "", setup.style))
    assert sorted(asks) == [check.number for check in checks]
    empty = {field_evidence.THROW_CHECK, field_evidence.CLIMB_CHECK}
    assert {number for number, these in asks.items() if not these} == empty
    assert {number: wait.seconds for number, wait in field_evidence.WAITS.items()} == {
        2: 120,
        4: 10,
        8: 60,
        12: 1,
    }
    limits = {
        f"{number} {ask.key}": field_evidence.ask_dict(ask)["limit"]
        for number in asks
        for ask in asks[number]
    }
    assert limits["2 wind"] == "2.0 to 6.0\u00a0m/s"
    assert limits["2 swing"] == "45° at most"
    assert limits["5 differences"] == "none"
    assert limits["9 pack"] == "15\u00a0°C or more"


def test_modules_come_in_order_and_the_bundle_imports_nothing() -> None:
    names = list(field_script.modules())
    assert names[-1] == "main.js"
    assert set(names) == {path.name for path in field_script.ROOM.glob("*.js")}
    text = field_script.bundled()
    assert not re.search(r"^\s*(import|export) ", text, re.MULTILINE)
    for word in ("innerHTML", "eval(", "Function(", "fetch(", "XMLHttpRequest", "http:", "document.write"):
        assert word not in text.replace('"http://www.w3.org/2000/svg"', "")
    assert "</script" not in text
    for path in field_script.ROOM.iterdir():
        assert path.read_text("utf-8").count("\n") <= 400, path.name


def test_modules_that_clash_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(field_script, "ROOM", tmp_path)
    (tmp_path / "main.js").write_text('import { a } from "./a.js";\nfunction b() {}\n', "utf-8")
    (tmp_path / "a.js").write_text("export function a() {}\nfunction b() {}\n", "utf-8")
    with pytest.raises(ValueError, match=r"b is in a\.js and in main\.js"):
        field_script.bundled()
    (tmp_path / "a.js").write_text('import { b } from "./main.js";\n', "utf-8")
    with pytest.raises(ValueError, match="circle"):
        field_script.modules()


def test_words_of_a_card_end_no_script() -> None:
    name = '</script><script>alert(1)</script><!-- "\u2028'
    page = made_page(name=name, stop=name)
    assert page.count("<script") == 2
    assert page.count("</script>") == 2
    data = json.loads(re.search(r'id="pack">(.*?)</script>', page, re.DOTALL)[1])  # type: ignore[index]
    assert data["name"].startswith("</script><script>alert(1)")
    assert "alert(1)</script>" not in page.split('id="pack">')[0]
    assert re.search(r"script-src 'sha256-[^']+'; style-src 'sha256-[^']+'", page)
    assert "unsafe-inline" not in page


def test_command_writes_a_pack_and_stops_for_a_stop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Scenario E looks fine and is not: its pack stops, exit code 3, and no cell says go."""
    small = Grid((0.0, 2.0), (1.5,), (15.0, 15.0), (10.0, 12.0))
    monkeypatch.setattr(corners, "grid_of", lambda *_: small)
    monkeypatch.setattr(
        sys.modules["overarm.cli.pack"], "planned", lambda *_: (None, "the wind is too strong")
    )
    words = ["pack", "examples/e-looks-fine.yaml", "--out", str(tmp_path), "--launches", "200", "--json"]
    ended = CliRunner().invoke(cli.app, words)
    assert ended.exit_code == 3, ended.output
    told = json.loads(ended.stdout)
    assert told["cells"] == {"go": 0, "change": 0, "stop": 1}
    page = Path(told["html"])
    assert page.stat().st_size == told["bytes"] < 200_000
    assert told["stops"][0] == "There is no way home to plan: the wind is too strong."
    assert any("speed budget" in words or "thrust" in words for words in told["stops"][1:])
    assert all(math.isfinite(value) for value in told["odds"]["clean"].values())


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("x", "utf-8")
    ended = CliRunner().invoke(cli.app, ["pack", "examples/b-kestrel.yaml", "--out", str(blocked / "in")])
    assert isinstance(ended.exception, InputError)
    with pytest.raises(OSError, match="file"):
        save_pack(Pack("page", made_table(), ()), blocked / "in" / "page.html")
