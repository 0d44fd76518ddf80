"""Settings: the search and the traps."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import STARTED
from overarm.app.api.forms import ACCEPTED, Form, Seed, SetupText, begun
from overarm.app.bench import Here
from overarm.app.jobs.record import Job
from overarm.app.store.orders import Order

router = APIRouter(prefix="/api/settings", tags=["settings"])


class SettingsForm(Form):
    """What `overarm settings` takes."""

    setup: SetupText
    seed: Seed = 1
    launches: Annotated[int, Field(ge=5000, le=1_000_000)] = 20_000


class TrapsForm(Form):
    """What `overarm traps` takes."""

    setup: SetupText
    seed: Seed = 1
    launches: Annotated[int, Field(ge=500, le=100_000)] = 1500


@router.post("/jobs", status_code=ACCEPTED, responses=STARTED)
def settings(here: Here, form: SettingsForm, response: Response) -> Job:
    """Start the search; the answer is that of `overarm settings --json`, with the new setup as a file."""
    options = {"seed": form.seed, "launches": form.launches}
    return begun(here, response, form, Order("settings.settings", options, setup=form.setup.pair))


@router.post("/traps", status_code=ACCEPTED, responses=STARTED)
def traps(here: Here, form: TrapsForm, response: Response) -> Job:
    """Start the search for traps; the answer is that of `overarm traps --json`."""
    options = {"seed": form.seed, "launches": form.launches}
    return begun(here, response, form, Order("settings.traps", options, setup=form.setup.pair))
