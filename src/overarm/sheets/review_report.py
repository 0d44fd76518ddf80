"""The report of a review: one HTML page that asks for nothing from outside, and a PDF."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from overarm.files import file_stem, make_folder, write_together
from overarm.review.result import Review
from overarm.sheets.canvas import FONTS, Picture, Size, prefixed, recoloured
from overarm.sheets.page_html import TEMPLATES, font_faces
from overarm.sheets.palette import DARK, LIGHT, css_variables
from overarm.sheets.review_content import content_of
from overarm.sheets.review_places import changes_height, draw_changes, draw_places, places_height
from overarm.sheets.review_strip import draw_review_strip
from overarm.sheets.wording import breakable

Progress = Callable[[str, float], None]
STRIP, STRIP_PHONE = Size(186, 98), Size(70, 128, narrow=True)
PAGE_MM, PHONE_MM = 186.0, 70.0


class Drawn(NamedTuple):
    """The pictures of a report, by name, in the sizes of paper and phone."""

    wide: dict[str, Picture]
    phone: dict[str, Picture]


def draw_report(review: Review, tell: Progress) -> Drawn:
    """Draw the pictures of every launch: ``strip-1``, ``places-1``, ``changes-1`` and so on."""
    drawn = Drawn({}, {})
    for k, item in enumerate(review.launches):
        tell("drawing", k / max(1, len(review.launches)))
        number = item.record.number
        for narrow, into in ((False, drawn.wide), (True, drawn.phone)):
            wide_mm = PHONE_MM if narrow else PAGE_MM
            name = f"strip-{number}"
            into[name] = draw_review_strip(item, STRIP_PHONE if narrow else STRIP, name)
            if item.prediction is not None and item.prediction.places:
                name = f"places-{number}"
                size = Size(wide_mm, places_height(item.prediction, narrow=narrow), narrow)
                into[name] = draw_places(item.prediction, size, name)
            if item.again is not None and item.again.others:
                name = f"changes-{number}"
                size = Size(wide_mm, changes_height(item.again, narrow=narrow), narrow)
                into[name] = draw_changes(item.again, size, name)
    return drawn


def report_html(content: Mapping[str, Any], drawn: Drawn) -> str:
    """Return the page. Every word of the content is escaped; only our own SVG and CSS go in as they are."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    room = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    css = (TEMPLATES / "sheet.css").read_text("utf-8") + (TEMPLATES / "review.css").read_text("utf-8")
    return room.get_template("review.html.j2").render(
        **content,
        wide={name: Markup(recoloured(picture.svg)) for name, picture in drawn.wide.items()},
        phone={
            name: Markup(prefixed(recoloured(picture.svg), "p-")) for name, picture in drawn.phone.items()
        },
        fonts=Markup(font_faces()),
        light=Markup(css_variables(LIGHT)),
        dark=Markup(css_variables(DARK)),
        css=Markup(css),
    )


def report_pdf(content: Mapping[str, Any], drawn: Drawn) -> bytes:
    """Return the A4 PDF. Text of the recording reaches typst as JSON data, so none of it is markup."""
    import matplotlib as mpl
    import typst

    spare = Path(mpl.get_data_path()) / "fonts" / "ttf"
    files = {"main.typ": (TEMPLATES / "review.typ").read_bytes()}
    files |= {f"{name}.svg": picture.svg.encode() for name, picture in drawn.wide.items()}
    told = {**content, "pictures": {name: picture.words for name, picture in drawn.wide.items()}}
    options: dict[str, Any] = {
        "input": files,
        "font_paths": [str(FONTS), str(spare)],
        "sys_inputs": {"content": json.dumps(breakable(told)), "colours": json.dumps(LIGHT)},
    }
    return bytes(typst.compile(format="pdf", timestamp=0, **options))


def write_report(review: Review, folder: Path, tell: Progress | None = None) -> tuple[Path, Path]:
    """Write the report into a folder, both files or none; return their paths, the page first.

    Raises OSError if one cannot be written.
    """
    heard = tell or (lambda _what, _share: None)
    drawn = draw_report(review, heard)
    content = content_of(review)
    heard("setting the pages", 0.8)
    page, print_ = report_html(content, drawn).encode(), report_pdf(content, drawn)
    make_folder(folder)
    stem = file_stem(Path(review.name).stem, "review")
    paths = folder / f"{stem}.html", folder / f"{stem}.pdf"
    write_together({paths[0]: page, paths[1]: print_})
    heard("done", 1.0)
    return paths
