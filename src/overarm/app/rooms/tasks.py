"""The tasks that a process can be given, by name."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any, NamedTuple, cast

if TYPE_CHECKING:
    from overarm.app.child.main import Desk


class Answer(NamedTuple):
    """What a task gives: JSON-ready data as the command's ``--json`` has it, and whether it says stop."""

    data: dict[str, Any]
    stop: bool = False


Work = Callable[["Desk", dict[str, Any]], Answer]

# Each is a function of the same name in the module of its room.
TASKS = {
    "describe": ("cards", "check", "convert", "rewrite", "questions", "start", "examples"),
    "odds": ("odds", "what_if", "measure"),
    "carpet": ("carpet",),
    "scene": ("scene",),
    "fan": ("ready", "fan", "trace"),
    "settings": ("settings", "traps"),
    "trigger": ("trigger", "habits"),
    "plan": ("plan",),
    "field": ("sheet", "pack", "readback", "draft", "mapping"),
    "review": ("columns", "mapping", "review", "sound"),
    "learn": ("form", "learn"),
    "logbook": ("ask", "add", "note", "carry_in", "carry_out", "undo", "tidy"),
}


def task_of(name: str) -> Work:
    """Return the function of a task such as "odds.what_if"; KeyError for a name that is none."""
    room, _, task = name.partition(".")
    if task not in TASKS[room]:
        raise KeyError(name)
    return cast(Work, getattr(import_module(f"overarm.app.rooms.{room}"), task))
