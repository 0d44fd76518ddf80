"""A picture as a file of its own: SVG on paper, or PNG."""

from __future__ import annotations

from typing import Any

from overarm.sheets.canvas import FONTS, Picture, Size
from overarm.sheets.palette import LIGHT

DOTS_PER_INCH = 220.0


def on_paper(picture: Picture) -> str:
    """Return the SVG with paper behind it, so that it can be read on any ground."""
    head, mark, rest = picture.svg.partition("</desc>")
    return f'{head}{mark}<rect width="100%" height="100%" fill="{LIGHT["paper"]}"/>{rest}'


def file_bytes(picture: Picture, size: Size, ending: str) -> bytes:
    """Return a picture as a file of the given ending, ``.svg`` or ``.png``."""
    svg = on_paper(picture).encode()
    if ending == ".svg":
        return svg
    import typst

    source = (
        f"#set page(width: {size.width_mm}mm, height: {size.height_mm}mm, margin: 0mm)\n"
        f'#image("picture.svg", width: {size.width_mm}mm)\n'
    )
    files = {"main.typ": source.encode(), "picture.svg": svg}
    options: dict[str, Any] = {"input": files, "font_paths": [str(FONTS)]}
    return bytes(typst.compile(format="png", ppi=DOTS_PER_INCH, **options))
