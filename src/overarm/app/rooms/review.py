"""Review: what the columns of a recording may be, a mapping of them, the review, and a sound."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overarm.app.rooms.files import one_given, setup_if_any
from overarm.app.rooms.tasks import Answer
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.app.child.main import Desk

READ_SHARE, REVIEWED_SHARE = 0.1, 0.85


def columns(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the heads of a table and what each may be, with reasons; nothing is taken without a yes."""
    from overarm.recordings.channels import CHANNELS
    from overarm.recordings.columns import stems
    from overarm.recordings.draft import unknown_table

    file = one_given(options, "recording")
    assert file is not None
    table = unknown_table(file)
    return Answer(
        {
            "heads": list(table.heads),
            "proposals": [
                {**item._asdict(), "words": item.words, "reasons": list(item.reasons)}
                for item in table.proposals.found
            ],
            "gravity_removed": table.proposals.gravity_removed,
            "channels": [
                {"name": stem, "words": CHANNELS[name].what, "units": CHANNELS[name].dimension.units}
                for stem, name in stems().items()
            ],
        }
    )


def mapping(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the text of a mapping of confirmed columns. Raises InputError for what no channel takes."""
    from overarm.recordings.draft import Line, mapping_text, problem_with

    lines = [Line(**item) for item in options["lines"]]
    problems = []
    for line in lines:
        wrong = problem_with(line.channel, line.unit)
        if wrong:
            problems.append(Problem(wrong, "Choose another channel or unit", key=line.head, value=line.unit))
    times = sum(line.channel == "time" for line in lines)
    if times != 1:
        cure = "Tie exactly one column to time"
        problems.append(Problem("a mapping needs one column of times", cure, value=str(times)))
    if problems:
        raise InputError(problems)
    text = mapping_text(
        lines, options["ignored"], gravity_removed=options["gravity_removed"], recorder=options["recorder"]
    )
    return Answer({"text": text})


def review(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm review --json`; its report is beside it as HTML and PDF."""
    from overarm.describe.derived import derive
    from overarm.recordings.reading import opened
    from overarm.review.run import Wanted
    from overarm.review.run import review as run_review
    from overarm.sheets.review_report import write_report

    file = one_given(options, "recording")
    assert file is not None
    card = setup_if_any()
    desk.tell("reading", 0.0)
    found = opened(file, one_given(options, "mapping"))
    wide = REVIEWED_SHARE - READ_SHARE
    done = run_review(
        found,
        card,
        None if card is None else derive(card),
        seed=options["seed"],
        launches=options["launches"],
        wanted=Wanted(options["launch"], options["changes"]),
        progress=lambda what, share: desk.tell(what, READ_SHARE + wide * share),
        cancelled=desk.cancelled,
    )
    paths = write_report(
        done, desk.out, lambda what, share: desk.tell(what, REVIEWED_SHARE + (1.0 - REVIEWED_SHARE) * share)
    )
    return Answer({**done.to_dict(), "report": [path.name for path in paths]}, done.has_stop)


def sound(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm review --sound ... --json`."""
    from overarm.describe.derived import derive
    from overarm.recordings.sound.run import hear

    file = one_given(options, "recording")
    assert file is not None
    card = setup_if_any()
    desk.tell("listening", 0.0)
    heard = hear(file, options["blades"], card, None if card is None else derive(card))
    return Answer(heard.to_dict(), heard.has_stop)
