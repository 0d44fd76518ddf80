"""Plan: the climb-out and the way home, with map files and pictures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from overarm.app.rooms.files import setup_of
from overarm.app.rooms.tasks import Answer

if TYPE_CHECKING:
    from overarm.app.child.main import Desk


def plan(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm plan --json`; map files if the launch has a place on the earth."""
    from overarm.files import file_stem
    from overarm.plan.exports.files import map_files
    from overarm.plan.run import plan as run_plan
    from overarm.sheets.pictures import draw_plan

    card = setup_of(options["changes"])
    result = run_plan(
        card,
        options["launches"],
        options["seed"],
        progress=lambda now: desk.tell(now.what, 0.95 * now.done / now.of),
        cancelled=desk.cancelled,
    )
    desk.tell("drawing", 0.95)
    stem = file_stem(result.setup_name, "plan")
    for name, picture in draw_plan(result, narrow=False).items():
        desk.write(f"{stem}-{name}.svg", picture.svg.encode("utf-8"))
    if result.ground is not None:
        elevation = card.site.elevation_m
        known_m = None if elevation.known == "default" else elevation.value
        for path, data in map_files(result, Path(), elevation_m=known_m).items():
            desk.write(path.name, data)
    return Answer(result.to_dict(), result.has_stop)
