"""`overarm sheet`: the launch sheet as PDF and as one self-contained HTML page."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking, end_cancelled, heeding
from overarm.cli.exits import STOP_EXIT

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.plan.result import PlanResult
    from overarm.sheets.write import Progress

PAPERS = ("a4",)
PLAN_SHARE = 0.2  # of the work behind a sheet
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def today_words() -> str:
    """Return today's date as it is printed: "25 November 2026"."""
    today = dt.datetime.now().astimezone()
    return f"{today.day} {MONTHS[today.month - 1]} {today.year}"


def planned(card: Setup, seed: int, progress: Progress) -> tuple[PlanResult | None, str]:
    """Return the way out and home for the third page; None and why if there is no way home to plan."""
    from overarm.errors import UnphysicalError
    from overarm.plan.run import plan

    progress("planning", 0.0)
    try:
        way = plan(card, seed=seed, progress=lambda now: progress("planning", now.done / now.of * PLAN_SHARE))
    except UnphysicalError as error:
        typer.echo(f"No third page: {error}", err=True)
        return None, "; ".join(problem.message for problem in error.problems)
    return way, ""


def checked_paper(name: str) -> str:
    """Return the paper's name in lower case; a usage error if it is none that there is."""
    if name.lower() not in PAPERS:
        raise typer.BadParameter(f"{name!r} is no paper there is; use {' or '.join(PAPERS)}")
    return name.lower()


def sheet(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    out: Annotated[Path, typer.Option(help="Folder for the two files; made if missing.")] = Path(),
    launches: Annotated[int, typer.Option(help="Launches behind the odds.", min=1)] = 10_000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same sheet.", min=0)] = 1,
    paper: Annotated[str, typer.Option(help="Paper of the PDF: a4.", callback=checked_paper)] = "a4",
    date: Annotated[str, typer.Option(help="Date as it is printed; today if not given.")] = "",
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Write the launch sheet, for paper and for the phone. A PDF of three A4 pages, and one HTML page."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.errors import Cancelled, InputError
    from overarm.odds.run import odds
    from overarm.sheets.write import ready_folder, write_sheet

    card = load(setup)
    try:
        ready_folder(out)
        tell_if_first(card.style, samples=True)
        derived = derive(card)
        with braking() as brake, share_bar(brake) as show:
            tell = heeding(brake, show)
            tell("flying the launches", 0.0)
            result = odds(card, launches, seed, cancelled=lambda: brake.pulled)
            way, lost = planned(card, seed, tell)
            when = date or today_words()
            paths = write_sheet(
                card,
                derived,
                result,
                out,
                date=when,
                progress=lambda what, share: tell(what, PLAN_SHARE + (1.0 - PLAN_SHARE) * share),
                plan=way,
                no_way=lost,
            )
    except Cancelled:
        end_cancelled()
    except OSError as error:
        raise InputError(
            f"{out}: the sheet cannot be written: {error.strerror}; choose another --out"
        ) from error
    if as_json:
        files = {"pdf": str(paths.pdf), "html": str(paths.html)}
        answer = {**files, "no_way_home": lost, "odds": result.to_dict()}
        typer.echo(json.dumps(answer, indent=2, allow_nan=False))
    else:
        typer.echo(f"{result.headline}\n{paths.pdf}\n{paths.html}")
    if result.has_stop or lost or (way is not None and way.has_stop):
        raise typer.Exit(STOP_EXIT)
