"""`overarm demo`: a sound launch, and one for which no single check says stop, and which fails."""

from __future__ import annotations

import math
import shutil
import sys
import textwrap
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from overarm.cli.bar import share_bar

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.flight.campaign import Inputs
    from overarm.odds.finding import Word
    from overarm.odds.intervals import Interval
    from overarm.odds.result import OddsResult

SOUND = "b-kestrel.yaml"
TRAP = "e-looks-fine.yaml"
WINDS_MPS = (0.0, 2.0, 6.0)
CURES_PER_S = (1.0, 1.5)
COMPARED_LAUNCHES = 2_000
WIDTH = 100
ORDER: tuple[Word, ...] = ("stop", "watch", "not known", "good")


class Flown(NamedTuple):
    """One example with its answer."""

    setup: Setup
    derived: Derived
    result: OddsResult


def fly(file: Path, launches: int, seed: int) -> Flown:
    """Load a setup and fly it."""
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.odds.run import odds

    setup = load(file)
    return Flown(setup, derive(setup), odds(setup, launches, seed))


def figure_lines(derived: Derived) -> list[str]:
    """Return the figures that follow from the cards, one a line."""
    full, margin = derived.full, 100.0 * derived.static_margin_share
    drive = f"{full.thrust_n:.1f} N at {full.rpm:,.0f} rpm, {full.current_a:.1f} A"
    glide = f"{derived.best_glide_ratio:.1f} at {derived.best_glide_speed_mps:.1f} m/s"
    return [
        f"stall speed        {derived.stall_speed_mps:.2f} m/s",
        f"best glide         {glide}",
        f"static margin      {margin:.1f} % of the mean chord",
        f"full throttle      {drive}, tip {full.tip_speed_mps:.0f} m/s",
        f"thrust over weight {derived.thrust_to_weight:.2f}",
        f"trim at 1.3 Vs     elevator {math.degrees(derived.trim_elevator_rad):+.1f} degrees",
    ]


def finding_lines(result: OddsResult) -> list[str]:
    """Return how the checks ended: the single ones by count and where not good, the combined ones all."""
    single = [item for item in result.findings if not item.combined]
    counts = Counter(item.word for item in single)
    summary = ", ".join(f"{counts[word]} {word}" for word in ORDER if counts[word])
    lines = [f"Checks one by one: {summary}"]
    lines += [f"  {item.word}: {item.name}. {item.sentence}" for item in single if item.word != "good"]
    lines.append("Checks on the set of them:")
    lines += [f"  {item.word}: {item.name}. {item.sentence}" for item in result.findings if item.combined]
    return lines


def wrapped(line: str) -> str:
    """Return a line with the page's indent, folded under its own indent."""
    indent = " " * (2 + len(line) - len(line.lstrip()))
    return textwrap.fill(line.strip(), WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")


def share(inputs: Inputs, seed: int, changes: dict[str, float]) -> Interval:
    """Fly the launches with some fields ("group.field") changed; return the clean share."""
    import numpy as np

    from overarm.flight.campaign import run
    from overarm.flight.inputs import overridden
    from overarm.odds.assess import clean_share

    chunks = [chunk.table for chunk in run(overridden(inputs, changes), COMPARED_LAUNCHES, seed)]
    return clean_share(np.concatenate(chunks))


def why_lines(flown: Flown, seed: int) -> list[str]:
    """Return why it is a trap: odds over the wind, and over a cure of one setting."""
    from overarm.flight.inputs import inputs_of
    from overarm.odds.format import with_interval

    inputs = inputs_of(flown.setup, flown.derived)
    rise_per_s = float(inputs.base["logic"]["throttle_rise_per_s"][0])
    lines = []
    if not any(item.word == "stop" for item in flown.result.findings if not item.combined):
        lines.append("No single check says stop. What fails is the set: see the race above.")
    lines.append(f"The same settings over the wind, {COMPARED_LAUNCHES:,} launches each:")
    for wind_mps in WINDS_MPS:
        clean = share(inputs, seed, {"air.wind_10m_mps": wind_mps})
        lines.append(f"  {wind_mps:3.0f} m/s at 10 m  {with_interval(clean)}")
    lines.append(f"In calm air with nothing changed but the throttle rise, now {100.0 * rise_per_s:.0f} %/s:")
    for cure_per_s in CURES_PER_S:
        clean = share(inputs, seed, {"air.wind_10m_mps": 0.0, "logic.throttle_rise_per_s": cure_per_s})
        lines.append(f"  {100.0 * cure_per_s:3.0f} %/s          {with_interval(clean)}")
    return lines


def tell(title: str, file: Path, flown: Flown) -> None:
    """Print one example: figures, checks, odds."""
    typer.secho(f"\n{title}: {flown.setup.name} ({file.name})", bold=True)
    for line in (*figure_lines(flown.derived), "", *finding_lines(flown.result)):
        typer.echo(wrapped(line) if line.endswith((".", ":")) else f"  {line}" if line else "")
    typer.secho(f"\n  Odds of a clean launch: {flown.result.headline}", bold=True)
    typer.echo(wrapped(flown.result.weakest_link.sentence))


def demo(
    out: Annotated[Path, typer.Option(help="Folder for the sheets; made if missing.")] = Path("out"),
    launches: Annotated[int, typer.Option(help="Launches behind the odds.", min=100)] = 10_000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same launches.", min=0)] = 1,
) -> None:
    """Fly two examples and write their launch sheets. One is a trap, and it says why."""
    from overarm.cli.first import tell_if_first
    from overarm.cli.sheet import planned, today_words
    from overarm.describe.examples import examples_folder
    from overarm.errors import InputError
    from overarm.sheets.write import ready_folder, write_sheet

    folder = examples_folder()
    try:
        ready_folder(out)
    except OSError as error:
        raise InputError(
            f"{out}: the sheets cannot be written: {error.strerror}; choose another --out"
        ) from error
    tell_if_first("throw-started", samples=True)
    written = []
    for title, name in (("A sound launch", SOUND), ("A trap", TRAP)):
        with share_bar() as show:
            show("flying the launches", 0.0)
            flown = fly(folder / name, launches, seed)
        tell(title, folder / name, flown)
        if name == TRAP:
            typer.secho("\n  Why", bold=True)
            for line in why_lines(flown, seed):
                typer.echo(f"  {line}")
        with share_bar() as show:
            way, lost = planned(flown.setup, seed, show)
            card, derived, result = flown
            day = today_words()
            files = write_sheet(card, derived, result, out, date=day, progress=show, plan=way, no_way=lost)
        written.append(files)
    typer.secho("\nLaunch sheets", bold=True)
    for paths in written:
        typer.echo(f"  {paths.pdf}\n  {paths.html}")
    typer.secho("\nGo on", bold=True)
    trap = folder / TRAP
    ours = "overarm" if shutil.which("overarm") else sys.argv[0]
    for words in (f"traps {trap}", f"settings {trap}", f"plan {folder / SOUND}"):
        typer.echo(f"  {ours} {words}")
    typer.echo("\nThe tool gives odds from a model; you decide.")
