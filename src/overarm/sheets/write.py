"""Write a launch sheet: the printed pages and one page for a phone, whole or not at all."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from overarm.files import file_stem, make_folder, write_together
from overarm.sheets.blade import live_words
from overarm.sheets.content import sheet_content
from overarm.sheets.evidence import blade_data, carpet_data, fan_data, race_data, strip_data
from overarm.sheets.page_html import html_text
from overarm.sheets.page_pdf import pdf_bytes
from overarm.sheets.pictures import PictureData, draw_all, draw_plan
from overarm.sheets.plan_words import plan_content
from overarm.sheets.wording import tied

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.odds.result import OddsResult
    from overarm.plan.result import PlanResult
    from overarm.sheets.content import Answer

Progress = Callable[[str, float], None]


class SheetPaths(NamedTuple):
    """Where the two files of a sheet are."""

    pdf: Path
    html: Path


class Sheet(NamedTuple):
    """A finished sheet in memory."""

    pdf: bytes
    html: str


def make_sheet(
    content: dict[str, Any],
    data: PictureData,
    progress: Progress | None = None,
    plan: PlanResult | None = None,
) -> Sheet:
    """Draw the pictures in both sizes and set both files; with a plan they have the page of it too."""

    def tell(what: str, share: float) -> None:
        if progress is not None:
            progress(what, share)

    tell("drawing", 0.7)
    wide = draw_all(data, narrow=False)
    tell("drawing for a phone", 0.8)
    phone = draw_all(data, narrow=True)
    if plan is not None:
        wide |= draw_plan(plan, narrow=False)
        phone |= draw_plan(plan, narrow=True)
        content = {**content, "plan": plan_content(plan)}
    bad = data.strip.bad
    middle = "solid: the middle launch"
    full = tied(
        {
            **content,
            "pictures": {name: picture.words for name, picture in wide.items()},
            "live": live_words(data.blade),
            "strip": middle if bad is None else f"{middle}; dashed: one that ended {bad.outcome}",
        }
    )
    tell("setting the pages", 0.9)
    sheet = Sheet(pdf_bytes(full, wide), html_text(full, wide, phone))
    tell("done", 1.0)
    return sheet


def ready_folder(folder: Path) -> None:
    """Make the folder and try a file in it, so that nobody flies for nothing. OSError if it cannot be."""
    make_folder(folder)
    with tempfile.TemporaryFile(prefix=".overarm-", dir=folder):
        pass


def save_sheet(sheet: Sheet, folder: Path, stem: str) -> SheetPaths:
    """Write both files or none into `folder`, which is made if missing. OSError if that cannot be done."""
    make_folder(folder)
    paths = SheetPaths(folder / f"{stem}.pdf", folder / f"{stem}.html")
    write_together({paths.pdf: sheet.pdf, paths.html: sheet.html.encode("utf-8")})
    return paths


def _with_stops(answer: Answer, plan: PlanResult | None, no_way: str) -> Answer:
    """Return the answer with what the plan says stop to, so that the first page is never better than it.

    A way home that cannot be planned is a stop of its own.
    """
    from overarm.sheets.content import Remark

    if no_way:
        lost = Remark("stop", f"There is no way home to plan: {no_way}.")
        return answer._replace(remarks=[lost, *answer.remarks])
    if plan is None:
        return answer
    known = {remark.words for remark in answer.remarks}
    stops = [f.sentence for f in plan.findings if f.word == "stop" and f.sentence not in known]
    remarks = [*answer.remarks, *(Remark("stop", f"{words} (page 3)") for words in stops)]
    others = sum(f.word in ("watch", "not known") for f in plan.findings)
    if others:
        noun = "check of the plan is" if others == 1 else "checks of the plan are"
        remarks.append(
            Remark("watch", f"{others} {noun} watch or not known: see Plan, page 3 of the launch sheet.")
        )
    return answer._replace(remarks=remarks)


def sheet_data(
    setup: Setup,
    derived: Derived,
    result: OddsResult,
    date: str,
    progress: Progress | None = None,
    plan: PlanResult | None = None,
    no_way: str = "",
) -> tuple[PictureData, dict[str, Any]]:
    """Fly what the pictures need; return what they show, and the words of both pages."""
    from overarm.flight.inputs import inputs_of
    from overarm.sheets.answer import answer_of, chain_data
    from overarm.sheets.carpet import least_wind_mps
    from overarm.sheets.launches import CELL_LAUNCHES, CORNER_LAUNCHES, carpet_share, sample_launches
    from overarm.sheets.reading import subject_of

    inputs = inputs_of(setup, derived)
    seed = result.campaign.seed
    sample, traces = sample_launches(inputs, seed)
    subject = subject_of(setup, derived, inputs, result.table)
    line_mps = subject.speed_mean_mps if subject.by_line else None
    share, corner = (
        carpet_share(inputs, seed, hand_share=subject.hand_share, line_speed_mps=line_mps, launches=launches)
        for launches in (CELL_LAUNCHES, CORNER_LAUNCHES)
    )
    carpet = carpet_data(subject, share, progress)
    data = PictureData(
        fan=fan_data(subject, traces),
        race=race_data(subject, result.table, traces),
        carpet=carpet._replace(least_wind_mps=least_wind_mps(carpet, corner)),
        blade=blade_data(subject, result.table, traces),
        strip=strip_data(subject, traces, [int(number) for number in sample["outcome"]]),
        chain=chain_data(result),
    )
    return data, sheet_content(subject, _with_stops(answer_of(result, date), plan, no_way), data)


def write_sheet(
    setup: Setup,
    derived: Derived,
    result: OddsResult,
    folder: Path,
    *,
    date: str,
    progress: Progress | None = None,
    plan: PlanResult | None = None,
    no_way: str = "",
) -> SheetPaths:
    """Write the launch sheet of a setup as PDF and HTML.

    Parameters
    ----------
    setup, derived, result
        The cards, their derived figures, and the odds.
    folder : Path
        Where the files go; it is made if it is missing.
    date : str
        The date as it is printed. The sheet itself reads no clock.
    progress : callable, optional
        Told what is being done and which share of all is done.
    plan : PlanResult, optional
        The way out and home; with it the sheet has a third page.
    no_way : str
        Why there is none, where it cannot come home: a stop on the first page.

    Returns
    -------
    SheetPaths
        Both files, whole. Raises OSError if one cannot be written; then neither is new.
    """
    data, content = sheet_data(setup, derived, result, date, progress, plan, no_way)
    return save_sheet(
        make_sheet(content, data, progress, plan), folder, file_stem(setup.name, "launch-sheet")
    )
