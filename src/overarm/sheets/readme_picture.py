"""Draw the picture of the README: `python -m overarm.sheets.readme_picture SETUP PICTURE.png`."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from overarm.files import write_whole
from overarm.sheets.canvas import FONTS, Picture
from overarm.sheets.palette import LIGHT

DOTS_PER_INCH = 220.0
SEED, LAUNCHES = 1, 2000


def stacked_png(pictures: Mapping[str, Picture], names: tuple[str, ...]) -> bytes:
    """Return the named pictures, one below the other on paper, as PNG."""
    import typst

    rows = "\n".join(f'#image("{name}.svg", width: 186mm)' for name in names)
    source = f'#set page(width: 200mm, height: auto, margin: 7mm, fill: rgb("{LIGHT["paper"]}"))\n{rows}\n'
    files = {"main.typ": source.encode()} | {f"{name}.svg": pictures[name].svg.encode() for name in names}
    options: dict[str, Any] = {"input": files, "font_paths": [str(FONTS)]}
    return bytes(typst.compile(format="png", ppi=DOTS_PER_INCH, **options))


def main(setup_file: str, picture_file: str) -> None:
    """Fly the setup and draw its launch fan and race."""
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.odds.run import odds
    from overarm.sheets.pictures import draw_all
    from overarm.sheets.write import sheet_data

    setup = load(setup_file)
    result = odds(setup, launches=LAUNCHES, seed=SEED)
    data, _ = sheet_data(setup, derive(setup), result, "")
    target = Path(picture_file)
    target.parent.mkdir(parents=True, exist_ok=True)
    write_whole(target, stacked_png(draw_all(data, narrow=False), ("fan", "race")))


if __name__ == "__main__":
    main(*sys.argv[1:3])
