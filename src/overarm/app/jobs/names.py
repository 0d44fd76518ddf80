"""What the tasks of jobs are, as a person calls them."""

from __future__ import annotations

NAMES = {
    "odds.odds": "Odds of a launch",
    "odds.what_if": "What a change would do",
    "odds.measure": "What to measure next",
    "carpet.carpet": "Odds carpet",
    "settings.settings": "Search of the settings",
    "settings.traps": "Look for traps",
    "trigger.trigger": "Recordings through the trigger",
    "plan.plan": "Plan of the way out and home",
    "field.sheet": "Launch sheet",
    "field.pack": "Field pack",
    "field.readback": "Read-back",
    "review.review": "Review of a recording",
    "review.sound": "Sound of a standing run",
    "learn.learn": "What launches and bench tests teach",
    "logbook.carry_in": "An archive into the logbook",
    "logbook.carry_out": "The logbook into an archive",
}


def name_of(task: str) -> str:
    """Return what a task is called; one without a name is called by its own words."""
    return NAMES.get(task) or task.partition(".")[2].replace("_", " ")
