"""`overarm review`: what a recording shows, beside what was to be expected, and what to change."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking, end_cancelled, heeding
from overarm.cli.exits import STOP_EXIT
from overarm.cli.record import from_record
from overarm.errors import Cancelled, InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable
    from concurrent.futures import Executor, Future

    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.recordings.recording import Recording
    from overarm.recordings.sound.run import Heard
    from overarm.review.result import Review

READ_SHARE, REVIEWED_SHARE = 0.1, 0.85


class Asked(NamedTuple):
    """The options of the command."""

    recording: Annotated[
        Path | None, typer.Argument(help="Recording, in any form that is read.", show_default=False)
    ] = None
    setup: Annotated[Path | None, typer.Option(help="Setup that was flown (YAML).", show_default=False)] = (
        None
    )
    mapping: Annotated[
        Path | None, typer.Option("--map", help="Mapping of its columns to ours (YAML).", show_default=False)
    ] = None
    launch: Annotated[
        int, typer.Option(help="Only this launch of the recording; all if left out.", min=0)
    ] = 0
    out: Annotated[
        Path | None, typer.Option(help="Folder for the report: one HTML page and a PDF.", show_default=False)
    ] = None
    seed: Annotated[int, typer.Option(help="The same seed gives the same answer.", min=0)] = 1
    launches: Annotated[int, typer.Option(help="Launches behind what was to be expected.")] = 250
    changes: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="KEY=VALUE",
            help="Fly it again with this, such as settings.throttle_rise=200 %/s; may be repeated.",
            show_default=False,
        ),
    ] = None
    sound: Annotated[
        Path | None, typer.Option(help="Sound of a standing run (WAV, FLAC).", show_default=False)
    ] = None
    blades: Annotated[int, typer.Option(help="With --sound: blades of the propeller.")] = 2
    new_map: Annotated[
        Path | None,
        typer.Option(
            help="Draft a mapping of the recording by asking, and write it here.", show_default=False
        ),
    ] = None
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False


def _review(asked: Asked) -> None:
    """Say what happened in a recording, and what to change. With a setup, also what was to be expected."""
    if asked.new_map is not None:
        _draft(asked.new_map, asked.recording)
        return
    _needed(asked)
    try:
        with braking() as brake, share_bar(brake) as show, ThreadPoolExecutor(1) as aside:
            tell = heeding(brake, show)
            opening = _opening(asked, aside, tell)
            card, derived = _cards(asked.setup)
            heard = _hear(asked, card, derived)
            if opening is None:
                assert heard is not None
                _tell_sound(heard, as_json=asked.as_json)
                return
            done = _with_sound(_reviewed(opening, asked, (card, derived), tell), heard)
            written = _report(done, asked.out, tell)
    except Cancelled:
        end_cancelled()
    _tell(done, written, as_json=asked.as_json)


def _draft(new_map: Path, recording: Path | None) -> None:
    from overarm.cli.new_recording_map import draft

    if recording is None:
        raise InputError([Problem("a recording is needed to draft its mapping", "Name one", key="--new-map")])
    draft(new_map, recording)


def _needed(asked: Asked) -> None:
    out = asked.out
    if asked.recording is None and asked.sound is None:
        raise InputError([Problem("a recording or a sound is needed", "Write overarm review RECORDING")])
    if asked.recording is None and out is not None:
        raise InputError([Problem("there is no report of a sound alone", "Name a recording", key="--out")])
    if out is not None:
        from overarm.sheets.write import ready_folder

        try:
            ready_folder(out)
        except OSError as error:
            raise InputError(
                f"{out}: the report cannot be written: {error.strerror}; choose another --out"
            ) from error


def _cards(setup: Path | None) -> tuple[Setup | None, Derived | None]:
    if setup is None:
        return None, None
    from overarm.cli.first import tell_if_first
    from overarm.describe.derived import derive
    from overarm.describe.reader import load

    card = load(setup)
    tell_if_first(card.style, samples=True)
    return card, derive(card)


def _hear(asked: Asked, setup: Setup | None, derived: Derived | None) -> Heard | None:
    if asked.sound is None:
        return None
    from overarm.recordings.sound.run import hear

    return hear(asked.sound, asked.blades, setup, derived)


def _opening(asked: Asked, aside: Executor, tell: Callable[[str, float], None]) -> Future[Recording] | None:
    """Begin to read the recording beside the setup: much of that runs without Python's lock."""
    if asked.recording is None:
        return None

    def work(recording: Path) -> Recording:
        from overarm.recordings.reading import opened

        return opened(recording, asked.mapping)

    tell("reading", 0.0)
    return aside.submit(work, asked.recording)


def _reviewed(
    opening: Future[Recording],
    asked: Asked,
    cards: tuple[Setup | None, Derived | None],
    tell: Callable[[str, float], None],
) -> Review:
    from overarm.describe.change import parse_changes
    from overarm.review.run import Wanted
    from overarm.review.run import review as run_review

    wanted = Wanted(asked.launch, parse_changes(asked.changes or []))
    found = opening.result()
    wide = REVIEWED_SHARE - READ_SHARE
    return run_review(
        found,
        *cards,
        seed=asked.seed,
        launches=asked.launches,
        wanted=wanted,
        progress=lambda what, share: tell(what, READ_SHARE + wide * share),
    )


def _with_sound(done: Review, heard: Heard | None) -> Review:
    if heard is None:
        return done
    import dataclasses

    return dataclasses.replace(
        done, sound=heard.to_dict(), sound_lines=tuple(heard.lines()), sound_stop=heard.has_stop
    )


def _report(done: Review, out: Path | None, tell: Callable[[str, float], None]) -> tuple[Path, ...]:
    if out is None:
        return ()
    from overarm.sheets.review_report import write_report

    try:
        return write_report(done, out, lambda what, share: tell(what, REVIEWED_SHARE + 0.15 * share))
    except OSError as error:
        raise InputError(
            f"{out}: the report cannot be written: {error.strerror}; choose another --out"
        ) from error


def _tell_sound(heard: Heard, *, as_json: bool) -> None:
    if as_json:
        typer.echo(json.dumps(heard.to_dict(), indent=2, allow_nan=False))
    else:
        typer.echo("\n".join(heard.lines()))
    if heard.has_stop:
        raise typer.Exit(STOP_EXIT)


def _tell(done: Review, written: tuple[Path, ...], *, as_json: bool) -> None:
    if as_json:
        answer: dict[str, Any] = done.to_dict()
        if written:
            answer["report"] = [str(path) for path in written]
        typer.echo(json.dumps(answer, indent=2, allow_nan=False))
    else:
        from overarm.review.words import answer as in_words

        typer.echo(in_words(done))
        for path in written:
            typer.echo(str(path))
    if done.has_stop:
        raise typer.Exit(STOP_EXIT)


review = from_record("review", Asked, _review)
