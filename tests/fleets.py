"""Fleet studies for tests: a small one that flies quickly, and cells that nobody has to fly."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from overarm.fleet.cell import Flown, Work
from tests.examples import FILES

STUDY = """\
overarm_fleet: 1
name: club day
launches: 100
setups:
  kestrel: b-kestrel.yaml
  mapper: d-line-mapper.yaml
throwers:
  practised: {thrower.release_speed: 9.0 m/s}
  tired: {thrower.release_speed: 7.0 m/s}
winds:
  calm: 0 m/s
  fresh: {day.wind: 5 m/s, day.wind_angle: 20 deg}
"""
CELLS = 6  # the mapper is launched by a line: it is flown once for both throwers


def study_in(folder: Path, text: str = STUDY) -> Path:
    """Write a study and the setups that it names, and return its file."""
    for letter in "abde":
        shutil.copy(FILES[letter], folder)
    file = folder / "study.yaml"
    file.write_text(text, "utf-8")
    return file


def told(share: float, *stops: str) -> Flown:
    """Return what a cell comes to whose share of clean launches is this."""
    return {
        "clean": {"share": share, "low": max(0.0, share - 0.1), "high": min(1.0, share + 0.1), "level": 0.95},
        "what_we_do_not_know": {"p5": share, "p50": share, "p95": share},
        "outcomes": {"clean": round(100 * share)},
        "weakest_link": {"name": "stall", "odds": share, "sentence": "The stall is the weakest link."},
        "low_point_height_m": None,
        "unknown_input_count": 3,
        "stops": list(stops),
    }


def toy(
    shares: Callable[[int], float], ends_after: int | None = None
) -> Callable[..., Iterator[tuple[int, Flown]]]:
    """Return one that flies cells: the shares by number, and after how many it is cancelled."""

    def fly(works: Iterable[Work], cancelled: Any) -> Iterator[tuple[int, Flown]]:
        for k, _work in enumerate(works):
            if k == ends_after or cancelled():
                return
            yield k, told(shares(k))

    return fly
