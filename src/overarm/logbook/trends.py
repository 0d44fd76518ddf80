"""How launches went over the days: throw speed, start delay, and odds foretold against what happened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from statistics import fmean, stdev
from typing import Any

from sqlalchemy import Connection, select

from overarm.logbook.look import latest, when_column
from overarm.logbook.tables import launches, predictions
from overarm.review.untold import ABORTED, CANNOT_TELL

CLEAN = "clean"
UNTOLD = ("", CANNOT_TELL, ABORTED)  # outcomes that say nothing of the odds


@dataclass(frozen=True, slots=True)
class Trend:
    """The launches of one day, or of all. A figure is None if no launch of the day tells it.

    ``error``-like figures are standard deviations from launch to launch, None for fewer than two.
    ``foretold`` counts the launches with both a prediction and an outcome that could be told;
    ``expected_clean`` is the mean of their predicted shares, ``happened_clean`` the share of them that were
    clean, and ``brier`` the mean square of the differences, from 0 (always right)
    to 1 (Brier, 1950, Monthly Weather Review 78, p. 1).
    """

    day: str  # ISO 8601; "" for all
    launches: int
    throw_speed_mps: float | None
    throw_speed_scatter_mps: float | None
    start_delay_s: float | None
    start_delay_scatter_s: float | None
    foretold: int
    expected_clean: float | None
    happened_clean: float | None
    brier: float | None


def trends(connection: Connection) -> tuple[list[Trend], Trend]:
    """Return the trend of each day with a launch, in order, and that of all of them.

    Only launches count, not aborted throws nor what began in the air; of reviews of the same launch, the
    last. A launch whose recording does not tell the time counts on the day it was added.
    """
    when = when_column().label("at")
    ask = (
        select(
            when,
            launches.c.throw_speed_mps,
            launches.c.start_delay_s,
            launches.c.outcome,
            predictions.c.clean_share,
        )
        .outerjoin(predictions, launches.c.prediction == predictions.c.id)
        .where(launches.c.kind == "launch")
        .order_by(when, launches.c.id)
    )
    rows = connection.execute(latest(ask)).mappings().all()
    days: dict[str, list[Any]] = {}
    for row in rows:
        days.setdefault(row["at"][:10], []).append(row)
    return [_trend(day, those) for day, those in days.items()], _trend("", rows)


def _trend(day: str, rows: Sequence[Any]) -> Trend:
    speeds = [row["throw_speed_mps"] for row in rows if row["throw_speed_mps"] is not None]
    delays = [row["start_delay_s"] for row in rows if row["start_delay_s"] is not None]
    told = [row for row in rows if row["clean_share"] is not None and row["outcome"] not in UNTOLD]
    pairs = [(row["clean_share"], float(row["outcome"] == CLEAN)) for row in told]
    return Trend(
        day=day,
        launches=len(rows),
        throw_speed_mps=_mean(speeds),
        throw_speed_scatter_mps=_scatter(speeds),
        start_delay_s=_mean(delays),
        start_delay_scatter_s=_scatter(delays),
        foretold=len(pairs),
        expected_clean=_mean([share for share, _ in pairs]),
        happened_clean=_mean([clean for _, clean in pairs]),
        brier=_mean([(share - clean) ** 2 for share, clean in pairs]),
    )


def _mean(values: Sequence[float]) -> float | None:
    return fmean(values) if values else None


def _scatter(values: Sequence[float]) -> float | None:
    return stdev(values) if len(values) > 1 else None


def trends_dict(days: Sequence[Trend], whole: Trend) -> dict[str, Any]:
    """Return trends as JSON-ready data."""
    return {"days": [asdict(day) for day in days], "all": asdict(whole)}
