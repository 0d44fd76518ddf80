"""Learn: empty forms, and what launches and bench tests teach, with the changed setup as a file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overarm.app.rooms.files import SETUP, given, setup_of
from overarm.app.rooms.tasks import Answer
from overarm.errors import Cancelled

if TYPE_CHECKING:
    from overarm.app.child.main import Desk
    from overarm.odds.run import Progress


def form(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the text of an empty form."""
    from overarm.learn.bench.empty import empty_form

    return Answer({"name": options["name"], "text": empty_form(options["name"], options["day"])})


def learn(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm learn --json`; the setup with what was learned is a file beside it."""
    from overarm.describe.rewrite import rewritten
    from overarm.files import file_stem
    from overarm.learn.run import learn as run_learn
    from overarm.odds.format import with_interval
    from overarm.sheets.reliability import picture_bytes

    def tell(now: Progress) -> None:
        desk.tell(f"so far {with_interval(now.clean)}", now.done / now.at_most)

    card = setup_of()
    desk.tell("reading", 0.0)
    result = run_learn(
        card,
        [*given(options, "form"), *given(options, "review")],
        launches=options["launches"],
        seed=options["seed"],
        progress=tell,
        cancelled=desk.cancelled,
    )
    if result.odds is not None and result.odds.campaign.cancelled:
        raise Cancelled
    if result.cards.changes:
        text = rewritten(SETUP, result.cards.changes, result.cards.comments)
        desk.write(f"{file_stem(card.name, 'learned')}.yaml", text.encode("utf-8"))
    if result.history is not None:
        desk.write("predicted-and-happened.svg", picture_bytes(result.history, ".svg"))
    return Answer(result.to_dict())
