"""Settings: the search, with the changed setup as a file, and the traps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overarm.app.rooms.files import SETUP, setup_of
from overarm.app.rooms.tasks import Answer
from overarm.errors import Cancelled

if TYPE_CHECKING:
    from overarm.app.child.main import Desk

USUAL_VARIANTS = 80  # that are flown if there are two traps


def settings(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm settings --json`; the setup with these settings is a file beside it."""
    from overarm.describe.derived import derive
    from overarm.describe.rewrite import rewritten
    from overarm.files import file_stem
    from overarm.settings.find import find_settings
    from overarm.settings.written import changes_to_write

    card = setup_of()
    result = find_settings(
        card,
        derive(card),
        options["seed"],
        launches=options["launches"],
        progress=desk.tell,
        cancelled=desk.cancelled,
    )
    if not result.refused:
        text = rewritten(SETUP, changes_to_write(card, result))
        desk.write(f"{file_stem(card.name, 'settings')}.yaml", text.encode("utf-8"))
    return Answer(result.to_dict(), result.has_stop)


def traps(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm traps --json`."""
    from overarm.describe.derived import derive
    from overarm.settings.traps import traps_of

    card = setup_of()
    found = traps_of(
        card,
        derive(card),
        options["seed"],
        options["launches"],
        progress=lambda tried: desk.tell("trying variants", min(1.0, tried / USUAL_VARIANTS)),
        cancelled=desk.cancelled,
    )
    if found.cancelled:
        raise Cancelled
    return Answer(found.to_dict(), bool(found.traps))
