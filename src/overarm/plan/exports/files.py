"""Write every export of a plan, all of them or none."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from overarm.errors import InputError, Problem
from overarm.files import file_stem, make_folder, write_together
from overarm.plan.exports.geojson import geojson_text
from overarm.plan.exports.gpx import gpx_text
from overarm.plan.exports.kml import kml_text
from overarm.plan.exports.route import placed

if TYPE_CHECKING:
    from overarm.plan.result import PlanResult


class ExportPaths(NamedTuple):
    """Where the three files are."""

    geojson: Path
    kml: Path
    gpx: Path


def map_files(
    result: PlanResult, folder: Path, *, elevation_m: float | None = None, date: str = ""
) -> dict[Path, bytes]:
    """Return the three map files of a plan by where they go, unwritten; parameters as in `write_all`."""
    plan = placed(result, elevation_m=elevation_m, date=date)
    stem = file_stem(result.setup_name, "plan")
    texts = (geojson_text(plan), kml_text(plan), gpx_text(plan))
    ends = ExportPaths._fields
    return {folder / f"{stem}.{end}": text.encode("utf-8") for end, text in zip(ends, texts, strict=True)}


def write_all(
    result: PlanResult, folder: Path, *, elevation_m: float | None = None, date: str = ""
) -> ExportPaths:
    """Write a plan as GeoJSON, KML and GPX.

    Parameters
    ----------
    result : PlanResult
        The plan; the site card must say where the launch is, and which way.
    folder : Path
        Where the files go; it is made if it is missing.
    elevation_m : float, optional
        Height of the launch ground above the sea [m]; None if nobody knows it.
    date : str, optional
        The date as it is to be written; without one the same plan gives the same bytes.

    Returns
    -------
    ExportPaths
        The files, all whole. Raises InputError if the plan has no place on the earth, or the folder
        cannot be written; then no file is new.
    """
    files = map_files(result, folder, elevation_m=elevation_m, date=date)
    try:
        make_folder(folder)
        write_together(files)
    except OSError as error:
        raise InputError(
            [
                Problem(
                    f"the plan cannot be written: {error.strerror or error}",
                    "choose another folder",
                    file=str(folder),
                )
            ]
        ) from error
    return ExportPaths(*files)
