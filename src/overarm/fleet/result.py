"""The answer of a fleet study: one row a cell, as JSON and as a table."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from io import StringIO
from typing import Any, NamedTuple

from overarm.fleet.cell import Flown

SCHEMA = 1
COLUMNS = (
    "setup", "thrower", "wind", "change", "clean", "clean_low", "clean_high", "weakest_link",
    "weakest_link_odds", "unknown_input_count", "stops", "refused", "launches", "seed", "setup_hash",
    "version",
)  # fmt: skip


class Row(NamedTuple):
    """One cell and what it came to."""

    setup: str
    thrower: str
    wind: str
    change: str
    setup_hash: str
    flown: Flown | None  # None: it was refused, or not flown before the study was cancelled
    refused: str = ""  # why nothing can be flown


class Lowest(NamedTuple):
    """The cell with the lowest odds among those with one setup, thrower, wind or change."""

    axis: str
    label: str
    cell: int  # its number among the rows


@dataclass(frozen=True, slots=True)
class FleetResult:
    """What a study says."""

    name: str
    launches: int
    seed: int
    version: str
    study_hash: str  # of all cells and their names
    axes: tuple[str, ...]  # those that the study uses
    rows: tuple[Row, ...]
    cancelled: bool

    @property
    def has_stop(self) -> bool:
        """Return True if a finding of any cell says stop, or a cell was refused."""
        return any(row.refused or (row.flown is not None and row.flown["stops"]) for row in self.rows)

    @property
    def done(self) -> int:
        """Return how many cells are known."""
        return sum(row.flown is not None or bool(row.refused) for row in self.rows)

    @property
    def worst(self) -> int | None:
        """Return the number of the cell with the lowest odds; None if none was flown."""
        return self._lowest_of(range(len(self.rows)))

    def lowest(self) -> tuple[Lowest, ...]:
        """Return the lowest cell of each entry of each axis that has several."""
        found = []
        for axis in self.axes:
            labels = list(dict.fromkeys(getattr(row, axis) for row in self.rows))
            for label in labels if len(labels) > 1 else ():
                own = [k for k, row in enumerate(self.rows) if getattr(row, axis) == label]
                cell = self._lowest_of(own)
                if cell is not None:
                    found.append(Lowest(axis, label, cell))
        return tuple(found)

    def _lowest_of(self, numbers: Iterable[int]) -> int | None:
        shares = {k: row.flown["clean"]["share"] for k in numbers if (row := self.rows[k]).flown is not None}
        return min(shares, key=lambda k: shares[k], default=None)

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/fleet.schema.json`` describes it."""
        return {
            "overarm_fleet": SCHEMA,
            "name": self.name,
            "launches": self.launches,
            "seed": self.seed,
            "version": self.version,
            "study_hash": self.study_hash,
            "cancelled": self.cancelled,
            "cells": [_cell(row) for row in self.rows],
            "worst": self.worst,
            "lowest": [item._asdict() for item in self.lowest()],
        }

    def to_csv(self) -> str:
        """Return the answer as a table, one row a cell; shares are of one, refused cells have none."""
        out = StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(self._line(row) for row in self.rows)
        return out.getvalue()

    def _line(self, row: Row) -> list[Any]:
        names = [row.setup, row.thrower, row.wind, row.change]
        tail = [self.launches, self.seed, row.setup_hash, self.version]
        if row.flown is None:
            return [*names, *[""] * 7, row.refused, *tail]
        clean, link = row.flown["clean"], row.flown["weakest_link"]
        figures = [clean["share"], clean["low"], clean["high"], link["name"], link["odds"]]
        return [*names, *figures, row.flown["unknown_input_count"], "; ".join(row.flown["stops"]), "", *tail]


def _cell(row: Row) -> dict[str, Any]:
    return {
        "setup": row.setup,
        "thrower": row.thrower,
        "wind": row.wind,
        "change": row.change,
        "setup_hash": row.setup_hash,
        "refused": row.refused,
        "odds": row.flown,
    }
