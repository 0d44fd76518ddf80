"""The same sheet as one HTML file that asks for nothing from outside itself."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from overarm.sheets.canvas import FONTS, Picture, prefixed, recoloured
from overarm.sheets.palette import DARK, LIGHT, css_variables

TEMPLATES = Path(__file__).parent / "templates"
_FACES = ((400, "fira-sans-latin-400-normal.woff2"), (600, "fira-sans-latin-600-normal.woff2"))


def font_faces() -> str:
    """Return the shipped fonts as CSS, with their bytes in it."""
    faces = []
    for weight, name in _FACES:
        data = base64.b64encode((FONTS / name).read_bytes()).decode("ascii")
        faces.append(
            f'@font-face {{ font-family: "Fira Sans"; font-weight: {weight}; font-style: normal; '
            f"font-display: swap; src: url(data:font/woff2;base64,{data}) format('woff2'); }}"
        )
    return "\n".join(faces)


def html_text(content: Mapping[str, Any], wide: Mapping[str, Picture], phone: Mapping[str, Picture]) -> str:
    """Return the page. Every word of the content is escaped; only our own SVG and CSS go in as they are."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    room = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    return room.get_template("sheet.html.j2").render(
        **content,
        wide={name: Markup(recoloured(picture.svg)) for name, picture in wide.items()},
        phone={name: Markup(prefixed(recoloured(picture.svg), "p-")) for name, picture in phone.items()},
        fonts=Markup(font_faces()),
        light=Markup(css_variables(LIGHT)),
        dark=Markup(css_variables(DARK)),
        css=Markup((TEMPLATES / "sheet.css").read_text(encoding="utf-8")),
    )
