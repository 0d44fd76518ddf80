"""From a setup and a file of the aircraft to what differs and what it does."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import overarm
from overarm.errors import InputError, Problem
from overarm.readback.compare import Settled, changes_of, compare_settings
from overarm.readback.consequence import Consequence, fly_sheet
from overarm.readback.lengths import in_metres
from overarm.readback.mapping import Mapping, RouteColumns, load_mapping
from overarm.readback.places import Frame, Located, frame_of, located, of_plan, without_launch
from overarm.readback.report import read_report
from overarm.readback.result import ReadbackResult, RouteAnswer, SettingsAnswer
from overarm.readback.route import Paired, mistaken_coordinates, pair_routes
from overarm.readback.route_table import OURS
from overarm.readback.tell import route_findings, setting_findings
from overarm.readback.text import FileText, read_text
from overarm.readback.track import Track
from overarm.readback.tracks import kind_of, read_track
from overarm.readback.way import first_bearing_rad, low_legs

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

NO_MAPPING = "is needed to read settings: the aircraft's names are its own"


class Flying(NamedTuple):
    """How many launches are flown for each difference, from which seed, and who may end it."""

    launches: int = 10_000
    seed: int = 1
    cancelled: Callable[[], bool] | None = None


def readback(
    setup: Setup,
    file: str | Path,
    mapping: str | Path | None = None,
    *,
    planned: str | Path | None = None,
    launches: int | None = None,
    seed: int = 1,
    cancelled: Callable[[], bool] | None = None,
) -> ReadbackResult:
    """Return what differs between the aircraft and the sheet, and what each difference does.

    Parameters
    ----------
    setup : Setup
        From `overarm.load`.
    file : path
        What was read back: settings (CSV, key-value text, JSON) or a route (GPX, KML, GeoJSON, CSV).
    mapping : path, optional
        The mapping file; settings need one.
    planned : path, optional
        The route that was loaded up; without it that of the plan.
    launches, seed : int
        For the odds of each difference; 10 000 launches if left out.
    cancelled : callable, optional
        Asked before each chunk of launches.

    Returns
    -------
    ReadbackResult

    Raises
    ------
    InputError
        With every fault of the mapping or of the file, at its place.
    """
    from overarm.odds.stop import stop_rule

    flying = Flying(stop_rule(launches, None).launches, seed, cancelled)
    told = load_mapping(Path(mapping)) if mapping is not None else None
    source = read_text(Path(file))
    if planned is not None or is_route(source, told):
        planned_file = Path(planned) if planned is not None else None
        return _route(setup, Path(file), told, planned_file, flying)
    if told is None:
        cure = "Give --map MAPPING; draft one with overarm readback --new-map MAPPING"
        raise InputError([Problem(f"a mapping {NO_MAPPING}", cure, str(file))])
    return _settings(setup, Path(file), told, flying)


def is_route(source: FileText, mapping: Mapping | None) -> bool:
    """Return True if a file holds route points, not settings."""
    if kind_of(source) != "table":
        return True
    head = source.text.lstrip().splitlines()[0]
    mark = max((";", "\t", ","), key=head.count)
    top = {cell.strip().casefold() for cell in next(csv.reader(StringIO(head), delimiter=mark), [])}
    columns = mapping.route.columns if mapping is not None and mapping.route.columns else OURS
    pairs = (("latitude", "longitude"), ("ahead", "right"))
    return any(
        {columns.get(one, one).casefold(), columns.get(two, two).casefold()} <= top for one, two in pairs
    )


def _settings(setup: Setup, file: Path, mapping: Mapping, flying: Flying) -> ReadbackResult:
    report = read_report(file, mapping.table, decimal_comma=mapping.decimal_comma)
    settled = compare_settings(setup, mapping, report)
    answer = _flown(setup, settled, flying)
    return ReadbackResult(
        setup_name=setup.name,
        setup_hash=setup.hash(),
        version=overarm.__version__,
        file=str(file),
        mapping=mapping.file,
        what="settings",
        settings=answer,
        route=None,
        findings=setting_findings(answer),
        notes=report.notes,
    )


def _flown(setup: Setup, settled: Settled, flying: Flying) -> SettingsAnswer:
    """Fly each difference alone, and all of them together."""
    unknown = tuple(item.name for item in settled.unknown)
    changes = changes_of(settled.differences)
    metres = {item.key: in_metres(setup, item) for item in settled.differences}
    if not changes:
        return SettingsAnswer(settled.items, unknown, settled.ignored, metres=metres)
    sheet = fly_sheet(setup, flying.launches, flying.seed, flying.cancelled)
    consequences: dict[str, Consequence] = {}
    for path, change in changes.items():
        consequences[path.removeprefix("settings.")] = sheet.with_changes({path: change})
    together = sheet.with_changes(changes) if len(changes) > 1 else None
    return SettingsAnswer(
        items=settled.items,
        unknown=unknown,
        ignored=settled.ignored,
        clean=sheet.share,
        consequences=consequences,
        metres=metres,
        together=together,
        launches=flying.launches,
        seed=flying.seed,
    )


def _route(
    setup: Setup, file: Path, mapping: Mapping | None, planned_file: Path | None, flying: Flying
) -> ReadbackResult:
    from overarm.describe.outlines import outlines

    columns = mapping.route if mapping is not None else RouteColumns()
    comma = mapping.decimal_comma if mapping is not None else False
    reported = read_track(file, columns, decimal_comma=comma)
    planned = None
    if planned_file is not None:
        plain = (
            kind_of(read_text(planned_file)) != "table"
        )  # then it says itself what heights are counted from
        loaded = RouteColumns() if plain else columns
        planned = read_track(planned_file, loaded, decimal_comma=comma)
    frame = frame_of(setup, planned, reported)
    elevation = setup.site.elevation_m.value
    wanted = _planned(setup, planned, frame, elevation, flying)
    found_points = located(reported, frame, elevation)
    there = without_launch(found_points)
    paired = pair_routes(wanted, found_points, elevation)
    mistake = mistaken_coordinates(reported, wanted, frame, elevation)
    if mistake is not None:
        paired = Paired(paired.pairs, (mistake,), paired.planned_length_m, paired.reported_length_m)
    found = outlines(setup)
    handover = setup.settings.handover_height_m.value
    sound = frame.directed and mistake is None
    answer = RouteAnswer(
        planned_from="the plan" if planned is None else planned.file,
        paired=paired,
        first_bearing_rad=first_bearing_rad(there) if sound else None,
        low_legs=low_legs(there, found, setup.airframe.span_m.value, handover) if sound else (),
    )
    return ReadbackResult(
        setup_name=setup.name,
        setup_hash=setup.hash(),
        version=overarm.__version__,
        file=str(file),
        mapping="" if mapping is None else mapping.file,
        what="route",
        settings=None,
        route=answer,
        findings=route_findings(answer, handover, len(found), frame.directed),
        notes=(*reported.notes, *_about(setup, planned, flying.seed), *_heights(setup, reported)),
    )


def _planned(
    setup: Setup, planned: Track | None, frame: Frame, elevation_m: float, flying: Flying
) -> tuple[Located, ...]:
    if planned is not None:
        return without_launch(located(planned, frame, elevation_m))
    from overarm.plan.run import plan

    return without_launch(of_plan(plan(setup, seed=flying.seed, cancelled=flying.cancelled).route))


def _about(setup: Setup, planned: Track | None, seed: int) -> tuple[str, ...]:
    if planned is not None:
        return planned.notes
    again = f"the plan of {setup.name} was computed again with seed {seed}"
    return (f"{again}; to compare with what was loaded up, give that file, too",)


def _heights(setup: Setup, track: Track) -> tuple[str, ...]:
    lacking = sum(point.height_m is None for point in track.points)
    said = {
        "launch": "heights are read as above the ground at the launch",
        "sea": "heights are read as above the sea; the height of the field is site.elevation",
        "ground": "heights are read as above the ground below, taken as level with the launch",
    }
    if lacking == len(track.points):
        return ("it has no heights, so none are compared",)
    if track.height_from == "sea" and setup.site.elevation_m.known == "default":
        said["sea"] = "heights are read as above the sea; site.elevation is not given and taken as 0 m"
    some = (f"{lacking} points have no height",) if lacking else ()
    return (said[track.height_from], *some)
