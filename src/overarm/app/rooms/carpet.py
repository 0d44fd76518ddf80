"""Odds over throw speed and headwind: the carpet of the launch sheet, each cell with its interval."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

import overarm
from overarm.app.rooms.files import setup_of
from overarm.app.rooms.tasks import Answer

if TYPE_CHECKING:
    from overarm.app.child.main import Desk

# A line has no speed of its own on the card: it is taken from so many launches.
LINE_LAUNCHES = 200


def carpet(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the share of clean launches in each cell, and where this thrower and today's wind are."""
    from overarm.describe.derived import derive
    from overarm.flight.campaign import run
    from overarm.flight.inputs import inputs_of
    from overarm.odds.assess import clean_share
    from overarm.sheets.carpet import by_wind
    from overarm.sheets.evidence import carpet_data
    from overarm.sheets.launches import carpet_cell
    from overarm.sheets.reading import subject_of

    card = setup_of(options["changes"])
    derived = derive(card)
    inputs = inputs_of(card, derived)
    seed, launches = options["seed"], options["launches"]
    flown = np.concatenate([chunk.table for chunk in run(inputs, LINE_LAUNCHES, seed)])
    subject = subject_of(card, derived, inputs, flown)
    cell = carpet_cell(
        inputs,
        seed,
        hand_share=subject.hand_share,
        line_speed_mps=subject.speed_mean_mps if subject.by_line else None,
        launches=launches,
    )
    cells: list[dict[str, float]] = []

    def share(speed_mps: float, headwind_mps: float) -> float:
        found = clean_share(cell(speed_mps, headwind_mps))
        cells.append(found._asdict())
        return found.share

    def told(what: str, part: float) -> None:
        desk.tell(what, min(1.0, part / 0.7))

    data = carpet_data(subject, share, told)
    columns = len(data.headwinds_mps)
    return Answer(
        {
            "overarm_carpet": 1,
            "version": overarm.__version__,
            "setup_hash": card.hash(),
            "seed": seed,
            "launches": launches,
            "speed_words": data.speed_words,
            "speeds_mps": data.speeds_mps.tolist(),
            "headwinds_mps": data.headwinds_mps.tolist(),
            "cells": [cells[k : k + columns] for k in range(0, len(cells), columns)],
            "speed_mean_mps": data.speed_mean_mps,
            "speed_sd_mps": data.speed_sd_mps,
            "wind_mean_mps": data.wind_mean_mps,
            "wind_sd_mps": data.wind_sd_mps,
            "by_wind": by_wind(data).tolist(),
        }
    )
