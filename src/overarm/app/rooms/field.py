"""Field: the launch sheet as PDF and HTML, the pack for a phone, and what the aircraft reports beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overarm.app.rooms.files import one_given, setup_of
from overarm.app.rooms.tasks import Answer
from overarm.errors import Cancelled

if TYPE_CHECKING:
    from overarm.app.child.main import Desk
    from overarm.describe.cards import Setup
    from overarm.plan.result import PlanResult

FLOWN_SHARE, PLANNED_SHARE = 0.1, 0.3


def sheet(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm sheet --json`; the two files are beside it, by their names."""
    from overarm.describe.derived import derive
    from overarm.odds.run import odds
    from overarm.sheets.write import write_sheet

    card, seed = setup_of(options["changes"]), options["seed"]
    derived = derive(card)
    desk.tell("flying the launches", 0.0)
    result = odds(card, options["launches"], seed, cancelled=desk.cancelled)
    desk.tell("planning", FLOWN_SHARE)
    way, lost = _way(desk, card, seed)
    paths = write_sheet(
        card,
        derived,
        result,
        desk.out,
        date=options["date"],
        progress=lambda what, share: desk.tell(what, PLANNED_SHARE + (1.0 - PLANNED_SHARE) * share),
        plan=way,
        no_way=lost,
    )
    stop = result.has_stop or bool(lost) or (way is not None and way.has_stop)
    files = {"pdf": paths.pdf.name, "html": paths.html.name}
    return Answer({**files, "no_way_home": lost, "odds": result.to_dict()}, stop)


def pack(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm pack --json`; the page is beside it, by its name."""
    from overarm.describe.derived import derive
    from overarm.odds.run import odds
    from overarm.sheets.field_pack import make_pack, pack_dict, pack_path, save_pack

    card, seed = setup_of(options["changes"]), options["seed"]
    desk.tell("flying the launches", 0.0)
    result = odds(card, options["launches"], seed, cancelled=desk.cancelled)
    way, lost = _way(desk, card, seed)

    def tell(what: str, share: float) -> None:
        desk.tell(what, PLANNED_SHARE + (1.0 - PLANNED_SHARE) * share)
        if desk.cancelled():
            raise Cancelled

    date = options["date"]
    made = make_pack(card, derive(card), result, date=date, progress=tell, plan=way, no_way=lost)
    path = pack_path(desk.out, card.name)
    size = save_pack(made, path)
    return Answer(pack_dict(made, path.name, size, result, lost), bool(made.stops))


def _way(desk: Desk, card: Setup, seed: int) -> tuple[PlanResult | None, str]:
    """Return the way out and home; None and why if there is no way home to plan."""
    from overarm.errors import UnphysicalError
    from overarm.plan.run import plan

    wide = PLANNED_SHARE - FLOWN_SHARE
    try:
        way = plan(
            card,
            seed=seed,
            progress=lambda now: desk.tell("planning", FLOWN_SHARE + wide * now.done / now.of),
            cancelled=desk.cancelled,
        )
    except UnphysicalError as error:
        return None, "; ".join(problem.message for problem in error.problems)
    return way, ""


def readback(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of `overarm readback --json`."""
    from overarm.readback.run import readback as run_readback

    report = one_given(options, "report")
    assert report is not None
    desk.tell("comparing", 0.0)
    result = run_readback(
        setup_of(),
        report,
        one_given(options, "mapping"),
        planned=one_given(options, "route"),
        launches=options["launches"],
        seed=options["seed"],
        cancelled=desk.cancelled,
    )
    return Answer(result.to_dict(), result.has_stop)


def draft(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return each key of the sheet with the name of the report that may be it; a person says yes or no."""
    from overarm.readback.offer import offers

    report = one_given(options, "report")
    assert report is not None
    return Answer(offers(setup_of(), report))


def mapping(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the text of a mapping of confirmed names. Raises InputError for what no key takes."""
    from overarm.readback.offer import confirmed

    comma = options["decimal_comma"]
    text = confirmed(options["lines"], options["ignored"], options["aircraft"], decimal_comma=comma)
    return Answer({"text": text})
