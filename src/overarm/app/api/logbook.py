"""Logbook: what flew, looked up, put in, carried in and out."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Response
from pydantic import Field

from overarm.app.api.described import STARTED, answer
from overarm.app.api.forms import ACCEPTED, Form, Id, Line, SetupText, Text, begun
from overarm.app.api.reviewed import review_of
from overarm.app.bench import Here
from overarm.app.jobs.record import Job
from overarm.app.store.orders import Order

router = APIRouter(prefix="/api/logbook", tags=["logbook"])

Kind = Literal["launches", "recordings", "setups", "predictions", "evidence", "notes", "imports"]
BookId = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[0-9a-fA-F-]+$")]
Batch = Annotated[str, Field(max_length=80, pattern=r"^[0-9a-fA-F-]*$")]
ANSWER = answer("LogbookAnswer")


class AddForm(Form):
    """A recording that was uploaded, with the setup that was flown, its review and a note."""

    recording: Id
    mapping: Text = ""
    setup: SetupText | None = None
    review: Annotated[Id | None, Field(description="Id of the job of its review.")] = None
    note: Text = ""


class NoteForm(Form):
    """A note, about something in the book or about nothing of it."""

    text: Annotated[Text, Field(min_length=1)]
    about: Annotated[str, Field(max_length=80, pattern=r"^[0-9a-fA-F-]*$")] = ""


class ArchiveForm(Form):
    """An archive of a logbook, or a file of notes, that was uploaded."""

    archive: Id


class UndoForm(Form):
    """The batch that is taken back; the last if left out."""

    batch: Batch = ""


class TidyForm(Form):
    """Whether files that nothing names are removed."""

    remove: bool = False


@router.get("", responses=ANSWER, response_class=Response)
def list_(
    here: Here, what: Kind = "launches", last: Annotated[int, Query(ge=1, le=100_000)] = 50
) -> Response:
    """List what is in the book, newest first."""
    return here.ask_book("logbook.ask", {"command": "list", "what": what, "last": last})


@router.get("/search", responses=ANSWER, response_class=Response)
def search(
    here: Here,
    text: Line = "",
    setup: Line = "",
    outcome: Line = "",
    thrower: Line = "",
    from_day: Line = "",
    to_day: Line = "",
) -> Response:
    """Find launches by words, setup, outcome, thrower and day."""
    wanted = {
        "text": text, "setup": setup, "outcome": outcome, "thrower": thrower, "from_day": from_day,
        "to_day": to_day,
    }  # fmt: skip
    return here.ask_book("logbook.ask", {"command": "search", "wanted": wanted})


@router.get("/trends", responses=ANSWER, response_class=Response)
def trends(here: Here) -> Response:
    """Show throw speed, start delay, and odds foretold against what happened, day by day."""
    return here.ask_book("logbook.ask", {"command": "trends"})


@router.get("/things/{id_}", responses=ANSWER, response_class=Response)
def show(here: Here, id_: BookId) -> Response:
    """Show one thing with all that belongs to it."""
    return here.ask_book("logbook.ask", {"command": "show", "id": id_})


@router.post("/recordings", responses=ANSWER, response_class=Response)
def add(here: Here, form: AddForm) -> Response:
    """Put in a recording."""
    order = Order(
        "logbook.add",
        {},
        setup=form.setup.pair if form.setup is not None else None,
        uploads=(("recording", form.recording),),
        texts=(("mapping", "mapping.yaml", form.mapping),) if form.mapping else (),
        kept=(("review", "review.json", review_of(here, form.review)),) if form.review else (),
    )
    return here.ask_book("logbook.add", {"note": form.note}, order)


@router.post("/notes", responses=answer("NoteAnswer"), response_class=Response)
def note(here: Here, form: NoteForm) -> Response:
    """Put in a note."""
    return here.ask_book("logbook.note", form.model_dump())


@router.post("/import", status_code=ACCEPTED, responses=STARTED)
def carry_in(here: Here, form: ArchiveForm, response: Response) -> Job:
    """Start putting an archive or a file of notes into the book."""
    order = Order("logbook.carry_in", {"book": here.book}, uploads=(("archive", form.archive),))
    return begun(here, response, form, order, once=True)


@router.post("/export", status_code=ACCEPTED, responses=STARTED)
def carry_out(here: Here, response: Response) -> Job:
    """Start writing the whole book into an archive, a file beside the answer."""
    return begun(here, response, None, Order("logbook.carry_out", {"book": here.book}), once=True)


@router.post("/undo", responses=ANSWER, response_class=Response)
def undo(here: Here, form: UndoForm) -> Response:
    """Take back what one batch added, unless something else uses it."""
    return here.ask_book("logbook.undo", form.model_dump())


@router.post("/tidy", responses=ANSWER, response_class=Response)
def tidy(here: Here, form: TidyForm) -> Response:
    """Look the book over: every file against its hash, and files that nothing names."""
    return here.ask_book("logbook.tidy", form.model_dump())
