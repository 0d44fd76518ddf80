"""The field pack: one HTML file for a phone that asks for nothing from outside itself."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from overarm.files import file_stem, make_folder, write_whole
from overarm.flight.outcomes import Outcome
from overarm.sheets.field_evidence import (
    CLIMB_CHECK,
    CLIMB_S,
    FIRST_WITH_PROPELLER,
    LIVE_CHECK,
    PULL_S,
    THROW_CHECK,
    WAITS,
    ask_dict,
    asks_of,
)
from overarm.sheets.field_script import ROOM, bundled, source_hash
from overarm.sheets.page_html import font_faces
from overarm.sheets.palette import DARK, LIGHT, css_variables
from overarm.sheets.wording import opened

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.odds.result import OddsResult
    from overarm.plan.result import PlanResult
    from overarm.sheets.content import Trail
    from overarm.sheets.field_table import Table
    from overarm.sheets.subject import Subject

FORM = 1
CORNER_SHARE = 20  # a corner of the table has one launch for so many behind the odds
FEWEST_IN_CORNER = 20
SHEET_SHARE = 0.25  # of the work behind a pack
NO_PERSON_SEES = ("failed numerically",)
Progress = Callable[[str, float], None]


class Pack(NamedTuple):
    """A finished field pack, and the table in it."""

    html: str
    table: Table
    stops: tuple[str, ...]

    @property
    def counts(self) -> dict[str, int]:
        """Return how many cells of the table say go, change and stop."""
        return {
            word: sum(cell.word == word for cell in self.table.cells) for word in ("go", "change", "stop")
        }


def pack_dict(made: Pack, name: str, size: int, result: OddsResult, no_way: str) -> dict[str, Any]:
    """Return the answer of `overarm pack --json`: the file and its size, its stops, cells and odds."""
    return {
        "overarm_pack": FORM,
        "html": name,
        "bytes": size,
        "stops": list(made.stops),
        "cells": made.counts,
        "no_way_home": no_way,
        "odds": result.to_dict(),
    }


def pack_data(content: dict[str, Any], subject: Subject, trail: Trail, table: Table) -> dict[str, Any]:
    """Return all that the scripts of the page read, as JSON-ready data."""
    asks = asks_of(subject, table.bounds.band)
    checks = []
    for check in content["checks"]:
        number = int(check["number"])
        wait = WAITS.get(number)
        checks.append(
            {
                "number": number,
                "step": check["step"],
                "evidence": opened(check["evidence"]),
                "stop": opened(check["stop"]),
                "asks": [ask_dict(ask) for ask in asks[number]],
                "wait": None if wait is None else wait._asdict(),
            }
        )
    return {
        "form": FORM,
        "name": content["name"],
        "style": subject.style,
        "trail": trail._asdict(),
        "checks": checks,
        "propeller_from": FIRST_WITH_PROPELLER,
        "live": LIVE_CHECK,
        "throw": THROW_CHECK,
        "climb": CLIMB_CHECK,
        "climb_s": CLIMB_S,
        "pull_s": PULL_S if subject.style == "spin-in-hand" else 0,
        "away": "line" if subject.by_line else "hand",
        "abort": content["abort"],
        "propeller_off": content["propeller_off"],
        "stops": list(table.bounds.stops),
        "no_band": table.bounds.band is None,
        "outcomes": [item.label for item in Outcome if item.label not in NO_PERSON_SEES],
        "table": table.to_dict(),
    }


def _in_script(data: dict[str, Any]) -> str:
    """Return JSON that ends no script element and no comment, whatever its words are."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _style() -> str:
    return (
        f"{font_faces()}\n:root {{\n{css_variables(LIGHT)}\n}}\n"
        f"@media (prefers-color-scheme: dark) {{\n:root:not([data-theme=light]) {{\n{css_variables(DARK)}\n"
        f"}}\n}}\n:root[data-theme=dark] {{\n{css_variables(DARK)}\n}}\n"
        f"{(ROOM / 'page.css').read_text('utf-8')}"
    )


def pack_html(content: dict[str, Any], subject: Subject, trail: Trail, table: Table) -> str:
    """Return the page. Every word of the content is escaped; only our own style and script are not."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    room = Environment(
        loader=FileSystemLoader(ROOM), autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True
    )
    style, script = _style(), bundled()
    policy = (
        f"default-src 'none'; script-src {source_hash(script)}; style-src {source_hash(style)}; "
        "font-src data:; base-uri 'none'; form-action 'none'"
    )
    return room.get_template("page.html.j2").render(
        **content,
        policy=Markup(policy),
        css=Markup(style),
        script=Markup(script),
        data=Markup(_in_script(pack_data(content, subject, trail, table))),
    )


def make_pack(
    setup: Setup,
    derived: Derived,
    result: OddsResult,
    *,
    date: str,
    progress: Progress | None = None,
    plan: PlanResult | None = None,
    no_way: str = "",
) -> Pack:
    """Fly the table of a setup and set the page.

    Parameters
    ----------
    setup, derived, result
        The cards, their derived figures, and the odds.
    date : str
        The date as it is shown. The page itself prints no other.
    progress : callable, optional
        Told what is being done and which share of all is done.
    plan : PlanResult, optional
        The way out and home: a stop of it is a stop of the pack.
    no_way : str
        Why there is none, where it cannot come home: a stop too.

    Returns
    -------
    Pack
        In memory; `save_pack` writes it.
    """
    from overarm.flight.inputs import inputs_of
    from overarm.odds.as_flown import HAND_AS_FLOWN, hands_shown
    from overarm.sheets.answer import answer_of
    from overarm.sheets.content import shown_band
    from overarm.sheets.field_corners import fly_corners, grid_of
    from overarm.sheets.field_table import Bounds, table_of
    from overarm.sheets.reading import subject_of
    from overarm.sheets.write import sheet_data

    def part(low: float, high: float) -> Progress | None:
        if progress is None:
            return None
        return lambda what, share: progress(what, low + (high - low) * share)

    data, content = sheet_data(setup, derived, result, date, part(0.0, SHEET_SHARE), plan, no_way)
    subject = subject_of(setup, derived, inputs_of(setup, derived), result.table)
    band = shown_band(data.carpet)
    bounds = Bounds(
        band=band,
        least_volts=subject.least_volts,
        stops=tuple(item["words"] for item in content["remarks"] if item["kind"] == "stop"),
        hands_known=all(
            f.word == "stop" or hands_shown(f) for f in result.findings if f.name == HAND_AS_FLOWN
        ),
    )
    launches = max(FEWEST_IN_CORNER, result.launches // CORNER_SHARE)
    seed = result.campaign.seed
    grid = grid_of(subject, band)
    corners = fly_corners(setup, subject, grid, launches, seed, part(SHEET_SHARE, 1.0))
    table = table_of(grid, corners, bounds, launches, seed)
    trail = answer_of(result, date).trail
    return Pack(pack_html(content, subject, trail, table), table, bounds.stops)


def pack_path(folder: Path, name: str) -> Path:
    """Return where the pack of a setup goes in a folder."""
    return folder / f"{file_stem(name, 'field-pack')}.html"


def save_pack(pack: Pack, path: Path) -> int:
    """Write the page, whole or not at all, and return how many bytes it has. OSError if that fails."""
    data = pack.html.encode("utf-8")
    make_folder(path.parent)
    write_whole(path, data)
    return len(data)
