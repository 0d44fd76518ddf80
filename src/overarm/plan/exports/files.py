"""Write every export of a plan, all of them or none."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
import unicodedata
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from overarm.errors import InputError, Problem
from overarm.plan.exports.geojson import geojson_text
from overarm.plan.exports.gpx import gpx_text
from overarm.plan.exports.kml import kml_text
from overarm.plan.exports.route import placed

if TYPE_CHECKING:
    from overarm.plan.result import PlanResult

LONGEST_STEM = 60


class ExportPaths(NamedTuple):
    """Where the three files are."""

    geojson: Path
    kml: Path
    gpx: Path


def plan_stem(name: str) -> str:
    """Return the start of a file name: letters, figures and hyphens of any script, ending in "-plan"."""
    flat = unicodedata.normalize("NFC", name).casefold()
    words = re.sub(r"[^\w]+", "-", flat).strip("-_")
    kept = words.encode("utf-8")[: 2 * LONGEST_STEM].decode("utf-8", "ignore")[:LONGEST_STEM].strip("-_")
    return f"{kept or 'setup'}-plan"


def _part(folder: Path, data: bytes) -> Path:
    """Write a hidden file beside its target and return it. OSError if that fails."""
    handle, name = tempfile.mkstemp(prefix=".overarm-", dir=folder)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(0o644)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return part


def write_together(files: Mapping[Path, bytes]) -> None:
    """Write files so that all are new and whole, or all are as they were.

    Every file is first written beside its place; only then do they move in, and one that will not move
    brings the old ones back. OSError if it fails.
    """
    parts: dict[Path, Path] = {}
    kept: dict[Path, Path] = {}
    moved: list[Path] = []
    try:
        for path, data in files.items():
            parts[path] = _part(path.parent, data)
        for path, part in parts.items():
            if path.is_file():
                kept[path] = _part(path.parent, path.read_bytes())
            part.replace(path)
            moved.append(path)
    except BaseException:
        for path in moved:
            if path in kept:
                kept[path].replace(path)
            else:
                path.unlink(missing_ok=True)
        raise
    finally:
        for spare in (*parts.values(), *kept.values()):
            with contextlib.suppress(OSError):
                spare.unlink(missing_ok=True)


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
    plan = placed(result, elevation_m=elevation_m, date=date)
    stem = plan_stem(result.setup_name)
    paths = ExportPaths(*(folder / f"{stem}.{end}" for end in ExportPaths._fields))
    texts = (geojson_text(plan), kml_text(plan), gpx_text(plan))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_together({path: text.encode("utf-8") for path, text in zip(paths, texts, strict=True)})
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
    return paths
