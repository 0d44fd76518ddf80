"""What stands around the fan, and the race and the blade clock of the same launches.

Computed by the same functions as the pictures of the launch sheet.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

import overarm
from overarm.app.rooms.fan import Known, known, remembered
from overarm.app.rooms.tasks import Answer
from overarm.errors import Cancelled

if TYPE_CHECKING:
    from overarm.app.child.main import Desk
    from overarm.describe.cards import Setup
    from overarm.sheets.evidence import Trace
    from overarm.sheets.subject import Subject

_AIRFRAME = (
    "span_m", "root_chord_m", "tip_chord_m", "sweep_rad", "dihedral_rad", "balance_m", "tail_area_m2",
    "tail_span_m", "tail_x_m", "fin_area_m2", "fin_height_m",
)  # fmt: skip


def scene(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return site, airframe, race, blade clock, which failed, how fast the middle launch is on its way."""
    from overarm.odds.result import failed_launches
    from overarm.sheets.evidence import blade_data, race_data
    from overarm.sheets.race import window_words
    from overarm.sheets.reading import subject_of

    one = known(options, options["changes"])
    table, traces = _flown(desk, options, one)
    subject = subject_of(one.setup, one.derived, one.inputs, table)
    race, blade = race_data(subject, table, traces), blade_data(subject, table, traces)
    return Answer(
        {
            "overarm_scene": 1,
            "version": overarm.__version__,
            "setup_hash": one.setup.hash(),
            "seed": options["seed"],
            "launches": len(table),
            "traced": len(traces),
            "failed": failed_launches(table),
            "site": _site(subject, one.setup),
            "airframe": _airframe(one.setup),
            "race": {
                "time_s": _list(race.time_s, 4),
                "hand_share": _list(race.hand_share),
                "speed_left_mps": [_list(row) for row in race.speed_left_mps],
                "thrust_share": [_list(row) for row in race.thrust_share],
                "wait_s": race.wait_s,
                "earliest_s": _maybe(race.earliest_s),
                "latest_s": _maybe(race.latest_s),
                "reach_s": _maybe(race.reach_s),
                "hand_words": race.hand_words,
                "sentence": window_words(race),
            },
            "blade": _blade(blade),
            "middle": _middle(subject, traces),
        }
    )


def _flown(desk: Desk, options: dict[str, Any], one: Known) -> tuple[NDArray[np.void], tuple[Trace, ...]]:
    """Return the summaries of a campaign and the samples of its first launches. Raises Cancelled."""
    from overarm.flight.campaign import run, trace_launch

    seed, launches, traced = options["seed"], options["launches"], options["traced"]

    def make() -> tuple[NDArray[np.void], tuple[Trace, ...]]:
        chunks = [chunk.table for chunk in run(one.inputs, launches, seed, cancelled=desk.cancelled)]
        traces = []
        for launch in range(traced):
            if desk.cancelled():
                raise Cancelled
            traces.append(trace_launch(one.inputs, seed, launch))
        return np.concatenate(chunks), tuple(traces)

    key = ["scene", options["setup_key"], options["changes"], seed, launches, traced]
    return remembered(key, make)


def _list(values: NDArray[np.float64], digits: int = 3) -> list[float | None]:
    return [_maybe(round(value, digits)) for value in values.tolist()]


def _maybe(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _blade(blade: Any) -> dict[str, Any]:
    from overarm.sheets.blade import live_words

    return {
        "time_s": _list(blade.time_s, 4),
        "tip_mps": [_list(row, 2) for row in blade.tip_mps],
        "reach_s": blade.reach_s if math.isfinite(blade.reach_s) else 0.0,
        "words": live_words(blade),
    }


def _middle(subject: Subject, traces: tuple[Trace, ...]) -> dict[str, Any]:
    """Return the middle speed ratio over the distance from the hand; nothing if no launch left it."""
    from overarm.sheets.evidence import fan_data
    from overarm.sheets.fan import fan_of

    data = fan_data(subject, traces)
    if not data.paths:
        return {"distance_m": [], "speed_ratio": []}
    fan = fan_of(data)
    thin = slice(None, None, 2)
    return {"distance_m": _list(fan.distance_m[thin], 2), "speed_ratio": _list(fan.speed_ratio[thin])}


def _site(subject: Subject, setup: Setup) -> dict[str, Any]:
    from overarm.describe.outlines import outlines
    from overarm.flight.verdict import DIP_M

    ramp = subject.ramp
    return {
        "style": subject.style,
        "by_line": subject.by_line,
        "pusher": subject.pusher,
        "release_height_m": subject.release_height_m,
        "ramp": None if ramp is None else {"length_m": ramp[0], "angle_rad": ramp[1]},
        "handover_height_m": subject.settings.handover_height_m,
        "dip_height_m": DIP_M,
        "headwind_mps": subject.headwind_mps,
        "wind_10m_mps": subject.wind_10m_mps,
        "wind_angle_rad": subject.wind_angle_rad,
        "jerk_level_mps2": subject.settings.jerk_level_mps2,
        "stall_speed_mps": subject.stall_speed_mps,
        "joules_per_mps2": subject.joules_per_mps2,
        "propeller": subject.propeller_words,
        "ahead": [item._asdict() for item in subject.obstacles],
        "around": [
            {
                "name": item.name,
                "ahead_m": _list(item.points_m[:, 0], 2),
                "right_m": _list(item.points_m[:, 1], 2),
                "height_m": item.height_m,
                "closed": item.closed,
            }
            for item in outlines(setup)
        ],
    }


def _airframe(setup: Setup) -> dict[str, Any]:
    """Return the sheets of the airframe, as the derived figures take them."""
    from overarm.describe.derived.from_setup import planform_of

    shape = planform_of(setup.airframe)._asdict()
    return {
        "layout": setup.airframe.layout,
        **{name: shape[name] for name in _AIRFRAME},
        "propeller_diameter_m": setup.power.propeller.diameter_m.value,
        "pusher": setup.power.position == "pusher",
    }
