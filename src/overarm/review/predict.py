"""What was to be expected: launches of the setup on the day, over time, and where the record lies in them."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from overarm.errors import Cancelled
from overarm.odds.assess import clean_share
from overarm.odds.finding import Word
from overarm.odds.result import count_outcomes
from overarm.recordings.estimates.series import part
from overarm.recordings.launch import Estimate
from overarm.recordings.recording import Numbers
from overarm.review.day import OneAWorld, day_of, used_of, with_given
from overarm.review.flown import as_flown, started_late
from overarm.review.result import Band, Place, Prediction
from overarm.review.seen import Seen
from overarm.review.traced import (
    AIRSPEED,
    BEFORE_S,
    FORCE,
    GROUND_SPEED,
    HEIGHT,
    PITCH,
    THROTTLE,
    Flown,
    Lane,
    fly_traced,
)

if TYPE_CHECKING:
    from overarm.flight.campaign import Inputs

LAUNCHES = 250
LONGEST_S = 15.0
FEWEST = 20  # launches still flying, for a band
ROOT_90 = 1.6448536  # standard deviations from the middle to the 5th and 95th percentile
GOOD_Z, WATCH_Z = ROOT_90, 3.3
# Where more of it, or less, does harm; a figure far out on the other side is watch and not stop.
HARM = {
    "throw_speed_mps": -1, "throw_peak_mps2": -1, "longest_above_s": -1, "static_thrust_n": -1,
    "thrust_match_after_s": 1, "low_point_m": -1, "low_speed_ratio": -1, "climb_mps": -1,
    "climb_path_rad": -1, "handover_after_s": 1, "start_delay_s": 1, "drag_zero": 1, "board_tilt_rad": 1,
}  # fmt: skip

FLOOR = {"low_point_m": 0.15, "thrust_match_after_s": 0.05}  # own estimates


def lanes_of(seen: Seen) -> tuple[Lane, ...]:
    """Return the quantities that are laid over each other: airspeed where it was recorded."""
    air = seen.taken.series("airspeed_mps") is not None
    return (FORCE, THROTTLE, AIRSPEED if air else GROUND_SPEED, HEIGHT, PITCH)


def recorded(seen: Seen, lane: Lane, to_s: float) -> tuple[Numbers, Numbers]:
    """Return (times from release [s], values) of a quantity, from a second before release to a time after."""
    release = seen.release_s
    series = seen.height if lane is HEIGHT else seen.taken.series(lane.channel)
    if release is None or series is None:
        return np.zeros(0), np.zeros(0)
    found = part(series, release - BEFORE_S, release + to_s)
    return found.t_s - release, found.values


def shown_s(seen: Seen) -> float:
    """Return how long after release a launch is shown [s]."""
    release = seen.release_s
    return 0.0 if release is None else min(LONGEST_S, seen.end_s - release + 1.0)


def only_seen(seen: Seen) -> tuple[Band, ...]:
    """Return what was recorded over time, without anything to be expected."""
    if seen.release_s is None:
        return ()
    none = np.zeros(0)
    found = ((lane, recorded(seen, lane, shown_s(seen))) for lane in lanes_of(seen))
    return tuple(Band(lane.name, lane.unit, none, none, none, none, t, v) for lane, (t, v) in found if t.size)


def band_of(flown: Flown, lane: Lane, seen: tuple[Numbers, Numbers]) -> Band:
    """Return the percentiles of a quantity over time, over the launches that still fly, and the record."""
    course = flown.courses[lane.column]
    count = np.count_nonzero(np.isfinite(course), axis=0)
    enough = count >= min(FEWEST, len(course))
    ordered = np.sort(course, axis=0)  # those that do not fly are infinite: last
    found = np.zeros((3, course.shape[1]))
    for alike in np.unique(count[enough]):
        columns = count == alike
        found[:, columns] = np.percentile(ordered[:alike, columns], (5.0, 50.0, 95.0), axis=0)
    p5, p50, p95 = found[:, enough]
    return Band(lane.name, lane.unit, flown.grid_s[enough], p5, p50, p95, *seen)


def place_of(name: str, estimate: Estimate, drawn: Numbers) -> Place | None:
    """Return where an estimate lies among drawn figures; None if it, or enough of them, cannot be told.

    ``z = (value - p50)/sqrt(s^2 + error^2)`` with s a 90 % interval's half on the side of the value, over
    1.645, and a little more where the drawn figures pile up at an end. The
    percentile has the error in it: the mean of ``Phi((value - drawn)/error)``.
    """
    from scipy.special import ndtr

    if estimate.value is None or estimate.bound or drawn.size < FEWEST:
        return None
    value, error = estimate.value, estimate.error
    p5, p50, p95 = (float(x) for x in np.percentile(drawn, (5.0, 50.0, 95.0)))
    side = (p95 - p50 if value > p50 else p50 - p5) / ROOT_90
    whole = math.sqrt(side**2 + error**2 + FLOOR.get(name, 0.0) ** 2)
    z = (value - p50) / whole if whole > 1e-9 else 0.0
    below = np.clip((value - drawn) / max(error, 1e-9), -30.0, 30.0)
    percentile = 100.0 * float(np.mean(ndtr(below)))
    word: Word = "good"
    if abs(z) > GOOD_Z:
        word = "stop" if abs(z) > WATCH_Z and HARM.get(name, 0) * z > 0.0 else "watch"
    return Place(name, value, error, p5, p50, p95, percentile, z, word)


def predict(seen: Seen, inputs: Inputs, drawn: OneAWorld, tell: Callable[[float], None]) -> Prediction | None:
    """Return what was to be expected of a launch; None for what has no release.

    Parameters: the launch; campaign inputs of its setup; which launches are flown; ``tell`` hears the
    share that is done. Raises Cancelled if ``tell`` does.
    """
    if seen.release_s is None or seen.launch.kind != "launch" or seen.derived is None:
        return None
    given = day_of(seen, inputs)
    lanes, to_s = lanes_of(seen), shown_s(seen)
    thrust = seen.derived.full.thrust_n / float(seen.derived.propeller.thrust_scale)
    carried = any(started_late(item) for item in as_flown(seen))
    flown = fly_traced(with_given(inputs, given), drawn, (lanes, to_s, thrust), tell)
    found = (
        place_of(name, one, flown.figures[name])
        for name, one in seen.estimates.items()
        if name in flown.figures and not (name == "detection_to_release_s" and carried)
    )
    return Prediction(
        launches=len(drawn),
        worlds=len(np.unique(flown.table["world"])),
        clean=clean_share(flown.table),
        outcomes=count_outcomes(flown.table),
        used=used_of(given),
        bands=tuple(band_of(flown, lane, recorded(seen, lane, to_s)) for lane in lanes),
        places=tuple(item for item in found if item is not None),
        quantiles={name: _quantiles(values) for name, values in flown.figures.items()},
    )


def _quantiles(values: Numbers) -> dict[str, float]:
    p5, p50, p95 = (float(x) for x in np.percentile(values, (5.0, 50.0, 95.0)))
    return {"p5": p5, "p50": p50, "p95": p95}


def stopping(cancelled: Callable[[], bool] | None, tell: Callable[[float], None]) -> Callable[[float], None]:
    """Return what tells a share, and raises Cancelled once that is asked for."""

    def told(share: float) -> None:
        if cancelled is not None and cancelled():
            raise Cancelled
        tell(share)

    return told
