"""Trigger: recordings through a trigger, with ladder and map as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overarm.app.rooms.files import given, one_given, setup_if_any
from overarm.app.rooms.tasks import Answer
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.app.child.main import Desk
    from overarm.trigger.settings import Listening

READ_SHARE = 0.3


def trigger(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm trigger --json`."""
    from overarm.recordings.reading import opened
    from overarm.sheets.trigger_picture import picture_bytes
    from overarm.trigger.labels import label_of
    from overarm.trigger.run import run_trigger

    listening = _listening(options["changes"])
    mapping, files = one_given(options, "mapping"), given(options, "recording")
    read = []
    for place, (file, label) in enumerate(zip(files, options["labels"], strict=True)):
        desk.tell("reading", READ_SHARE * place / len(files))
        read.append((opened(file, mapping), label_of(label) if label else ""))
    result = run_trigger(
        read,
        listening,
        progress=lambda what, share: desk.tell(what, READ_SHARE + (1.0 - READ_SHARE) * share),
        cancelled=desk.cancelled,
    )
    desk.write("trigger.svg", picture_bytes(result, ".svg", narrow=False))
    return Answer(result.to_dict(), result.has_stop)


def habits(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return what recordings tell for the thrower card, and why they cannot tell the rest."""
    import overarm
    from overarm.recordings.reading import opened
    from overarm.trigger.habits import habits_of
    from overarm.trigger.labels import label_of

    files = given(options, "recording")
    read = [
        (opened(file), label_of(label) if label else "")
        for file, label in zip(files, options["labels"], strict=True)
    ]
    found = habits_of(read, _listening({}))
    return Answer(
        {
            "overarm_habits": 1,
            "version": overarm.__version__,
            "found": [item._asdict() for item in found.found],
            "lacking": [
                {"key": key, "name": key.replace("_", " "), "why": why} for key, why in found.lacking.items()
            ],
        }
    )


def _listening(changes: dict[str, str]) -> Listening:
    from overarm.describe.change import changed
    from overarm.trigger.settings import listening_of, usual

    card = setup_if_any()
    if card is None:
        if changes:
            cure = "Give a setup"
            raise InputError([Problem("changes a setup, and there is none", cure, key="changes")])
        return usual()
    return listening_of(changed(card, changes) if changes else card)
