"""Draw docs/images/rooms.svg, the rooms and their arrows, from pyproject.toml: `make docs`."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

PROJECT = Path(__file__).parent.parent
PICTURE = Path(__file__).parent / "images" / "rooms.svg"
WIDTH, HIGH, GAP, BOX_GAP, LEFT = 760, 34, 24, 8, 12
LETTERS = 14.0  # px; smaller in a narrow box
STYLE = """\
<style>
  rect { fill: #f3eee2; stroke: #6b4a3a }
  text { font: 14px sans-serif; fill: #2a211b; text-anchor: middle }
  path { stroke: #9a3f17; stroke-width: 1.5; fill: none; marker-end: url(#tip) }
</style>
<defs><marker id="tip" markerWidth="8" markerHeight="8" refX="6" refY="4" orient="auto">
  <path d="M0 0 L8 4 L0 8" style="marker-end: none"/></marker></defs>
<rect width="100%" height="100%" style="fill: #fbf8f1; stroke: none"/>"""


def layers() -> list[list[str]]:
    """Return the rooms of each layer, the highest first."""
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))
    contracts = project["tool"]["importlinter"]["contracts"]
    arrows = next(contract for contract in contracts if contract["id"] == "arrows")
    return [re.findall(r"overarm\.(\w+)", layer) for layer in arrows["layers"]]


def box(room: str, left: float, top: float, wide: float) -> str:
    """Return one room as SVG."""
    middle = f'x="{left + wide / 2:.1f}" y="{top + HIGH / 2 + 5:.1f}"'
    frame = f'x="{left:.1f}" y="{top:.1f}" width="{wide:.1f}" height="{HIGH}"'
    size = min(LETTERS, wide / 5.0)
    small = f' style="font-size: {size:.1f}px"' if size < LETTERS else ""
    return f'<rect {frame} rx="5"/><text {middle}{small}>{room}</text>'


def drawing() -> str:
    """Return the picture: a row for each layer; a room may import what stands in the rows below."""
    rows = layers()
    high = len(rows) * (HIGH + GAP) - GAP + 2 * LEFT
    said = "; below ".join(", ".join(row) for row in rows)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {high}" role="img">',
        f"<title>From the top: {said}</title>",
        STYLE,
    ]
    for number, row in enumerate(rows):
        top = LEFT + number * (HIGH + GAP)
        wide = min(150.0, (WIDTH - 2 * LEFT - (len(row) - 1) * BOX_GAP) / len(row))
        left = (WIDTH - len(row) * wide - (len(row) - 1) * BOX_GAP) / 2
        parts += [box(room, left + i * (wide + BOX_GAP), top, wide) for i, room in enumerate(row)]
        if number < len(rows) - 1:
            parts.append(f'<path d="M{WIDTH / 2} {top + HIGH + 2} v{GAP - 5}"/>')
    return "\n".join([*parts, "</svg>", ""])


if __name__ == "__main__":
    PICTURE.write_text(drawing(), "utf-8")
