"""Odds: a campaign, what a change does, and what to measure next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overarm.app.rooms.files import setup_of
from overarm.app.rooms.tasks import Answer
from overarm.errors import Cancelled

if TYPE_CHECKING:
    from collections.abc import Callable

    from overarm.app.child.main import Desk
    from overarm.odds.run import Progress


def _so_far(desk: Desk) -> Callable[[Progress], None]:
    from overarm.odds.format import with_interval

    def tell(now: Progress) -> None:
        desk.tell(f"so far {with_interval(now.clean)}", now.done / now.at_most)

    return tell


def odds(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm odds --json`."""
    from overarm.odds.run import odds as run_odds

    card = setup_of(options["changes"])
    result = run_odds(
        card,
        options["launches"],
        options["seed"],
        until_width=options["until_width"],
        trace=options["traces"],
        progress=_so_far(desk),
        cancelled=desk.cancelled,
    )
    if result.campaign.cancelled:
        raise Cancelled
    return Answer(result.to_dict(), result.has_stop)


def what_if(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm odds --set ... --vs --json`."""
    from overarm.odds.what_if import what_if as run_what_if

    result = run_what_if(
        setup_of(),
        options["changes"],
        options["launches"],
        options["seed"],
        until_width=options["until_width"],
        progress=_so_far(desk),
        cancelled=desk.cancelled,
    )
    if result.campaign.cancelled:
        raise Cancelled
    return Answer(result.to_dict(), result.has_stop)


def measure(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm measure --json`, with the picture of it."""
    from overarm.odds.measure import measure as run_measure
    from overarm.sheets.tornado import picture_bytes

    result = run_measure(setup_of(), options["launches"], options["seed"], progress=desk.tell)
    desk.write("measure-next.svg", picture_bytes(result, ".svg", narrow=False))
    return Answer(result.to_dict())
