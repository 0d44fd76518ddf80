"""The printed pages, set by typst from data: two, and a third where there is a plan."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from overarm.sheets.canvas import FONTS, Picture
from overarm.sheets.palette import LIGHT
from overarm.sheets.wording import breakable

TEMPLATE = Path(__file__).parent / "templates" / "sheet.typ"
PAGES = 2
MOST_REMARKS = 8
FULL_WIDTH = 100
FAN_WIDTHS = (90, 80, 70, 60)


class Fit(NamedTuple):
    """How the first page is filled: findings on it, and the width of the fan in percent."""

    remarks: int
    fan_percent: int


class _Job(NamedTuple):
    """What typst is given: files by name, and data as text."""

    files: dict[str, bytes]
    inputs: dict[str, str]

    def options(self, fit: Fit) -> dict[str, Any]:
        import matplotlib as mpl

        spare = Path(mpl.get_data_path()) / "fonts" / "ttf"
        return {
            "input": self.files,
            "font_paths": [str(FONTS), str(spare)],
            "sys_inputs": {**self.inputs, "remarks": str(fit.remarks), "fan": str(fit.fan_percent)},
        }


def _job(content: Mapping[str, Any], pictures: Mapping[str, Picture]) -> _Job:
    files = {"main.typ": TEMPLATE.read_bytes()}
    files |= {f"{name}.svg": picture.svg.encode() for name, picture in pictures.items()}
    return _Job(files, {"content": json.dumps(breakable(dict(content))), "colours": json.dumps(LIGHT)})


def pages(content: Mapping[str, Any]) -> int:
    """Return how many pages the sheet has."""
    return PAGES if content["plan"] is None else PAGES + 1


def urgent(content: Mapping[str, Any]) -> int:
    """Return how many findings say stop or watch; they stand first."""
    return sum(remark["kind"] in ("stop", "watch") for remark in content["remarks"])


def page_count(content: Mapping[str, Any], pictures: Mapping[str, Picture], fit: Fit) -> int:
    """Return how many pages the sheet takes when filled like that."""
    import typst

    answer = typst.query(
        selector="<last-page>", field="value", one=True, **_job(content, pictures).options(fit)
    )
    return int(json.loads(answer))


def best_fit(content: Mapping[str, Any], pictures: Mapping[str, Picture]) -> Fit:
    """Return the fullest filling of the first page that keeps the sheet to its pages.

    The fan shrinks a little before a finding goes, and a lot before one goes that says stop or watch; the
    worst go last. All of them are in the other file, and the page says how many more.
    """
    most = min(MOST_REMARKS, len(content["remarks"]))
    must = min(most, urgent(content))
    tries = [Fit(k, width) for k in range(most, must - 1, -1) for width in (FULL_WIDTH, *FAN_WIDTHS[:2])]
    tries += [Fit(must, width) for width in FAN_WIDTHS[2:]]
    tries += [Fit(k, FAN_WIDTHS[-1]) for k in range(must - 1, -1, -1)]
    return next((fit for fit in tries if page_count(content, pictures, fit) <= pages(content)), tries[-1])


def pdf_bytes(content: Mapping[str, Any], pictures: Mapping[str, Picture]) -> bytes:
    """Return the A4 PDF of two pages, or three with a plan.

    User text reaches typst as JSON data, so that no character of it is markup. The shipped fonts come
    first; letters that they lack are taken from the fonts of the system.
    """
    import typst

    options = _job(content, pictures).options(best_fit(content, pictures))
    return bytes(typst.compile(format="pdf", timestamp=0, **options))
