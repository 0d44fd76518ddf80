"""How far the launches keep from obstacles, and from the ground of a height model."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.describe.outlines import WANTED_GAP_SHARE, wanted_gap_m
from overarm.odds.finding import Word, worst_word
from overarm.plan.fan import Tracks
from overarm.plan.result import Gap

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from overarm.describe.outlines import Outline

Floats = NDArray[np.float64]

NEAR_M = 60.0  # beyond this from its bounds the distance to the bounds is near enough
TERRAIN_FROM_M = 10.0
HALF = 0.501  # of a step between two points, and a hair
TERRAIN = "ground of the height model"
STOP_STRUCK_SHARE = 0.02
SEEN_SHARE = 0.01  # of the launches, that a way of passing is told
CAME_DOWN_M = -1.0  # how a launch counts that came down on the ground of a height model


def shape_of(outline: Outline) -> BaseGeometry:
    """Return an obstacle's outline as a polygon or a line."""
    from shapely.geometry import LineString, Polygon

    return Polygon(outline.points_m) if outline.closed else LineString(outline.points_m)


def distance_of(outline: Outline) -> float:
    """Return the distance [m] from the point of release to the nearest part of an obstacle."""
    from shapely.geometry import Point

    return float(shape_of(outline).distance(Point(0.0, 0.0)))


def _apart(outline: Outline, places: Floats) -> Floats:
    """Return how far each place (n, 2) is from the outline, seen from above; 0 over it."""
    import shapely

    low, high = outline.points_m.min(axis=0), outline.points_m.max(axis=0)
    outside = np.maximum(0.0, np.maximum(low - places, places - high))
    apart: Floats = np.hypot(outside[:, 0], outside[:, 1])
    near = apart <= NEAR_M
    if near.any():
        shape = shape_of(outline)
        shapely.prepare(shape)
        spots = shapely.points(places[near])
        apart[near] = shapely.distance(shape, spots)
    return apart


class Passed(NamedTuple):
    """How the launches pass an obstacle, one row a launch."""

    least_m: Floats  # least gap
    short: NDArray[np.bool_]  # came down before it
    over: NDArray[np.bool_]  # nearest when over it
    turned: NDArray[np.bool_]  # turned for home while it was still getting nearer


def gaps_to(outline: Outline, tracks: Tracks, half_span_m: float) -> Passed:
    """Return the least gap [m] of each launch to an obstacle, and how it passes it.

    Over the obstacle (half a span around it counts as over it) the gap is height less its top, below
    zero if it is struck; beside it the distance in space to its nearest edge. A launch that ended while
    it was still getting nearer came down before it.
    """
    count, points = tracks.points_m.shape[:2]
    places = tracks.points_m[:, :, :2]
    apart = _apart(outline, places.reshape(-1, 2)).reshape(count, points)
    # Between two points of a path nothing may slip through.
    longest = np.hypot(*np.moveaxis(np.diff(places, axis=1), 2, 0)).max(axis=1, initial=0.0)
    beside = np.maximum(0.0, apart - np.maximum(half_span_m, HALF * longest)[:, None])
    above = tracks.points_m[:, :, 2] - outline.height_m
    gaps = np.where(beside > 0.0, np.hypot(beside, np.maximum(0.0, above)), above)
    least = gaps.min(axis=1)
    nearest = gaps.argmin(axis=1)
    ends = np.argmax(np.all(tracks.points_m == tracks.points_m[:, -1:, :], axis=2), axis=1)
    short = ~tracks.handed_over & (least > 0.0) & (nearest >= ends)
    over = np.take_along_axis(beside, nearest[:, None], axis=1)[:, 0] == 0.0
    return Passed(least, short, over, ~short & ~over & (nearest >= ends))


def _word(p5_m: float, wanted_m: float, struck_share: float) -> Word:
    if p5_m < 0.0 or struck_share > STOP_STRUCK_SHARE:
        return "stop"
    return "good" if p5_m >= wanted_m else "watch"


def _ways(passed: Passed) -> str:
    """Return how the launches that get there pass, such as "over it or beside it"."""
    there = ~passed.short
    if not len(there):
        return ""
    ways = (
        ("over it", passed.over),
        ("beside it", ~passed.over & ~passed.turned),
        ("turning for home before it", passed.turned),
    )
    seen = [words for words, which in ways if float(np.mean(which & there)) >= SEEN_SHARE]
    return " or ".join(seen)


def _sentence(
    name: str, kept_m: float | None, wanted_m: float, shares: tuple[float, float], ways: str
) -> str:
    """Return what a person reads; ``kept_m``: the gap that 19 of 20 launches that get there keep."""
    struck, short = shares
    parts = []
    if kept_m is not None and kept_m >= 0.0:
        there = "that get there " if short > 0.0 else ""
        kept, wanted = math.floor(kept_m), math.ceil(wanted_m - 1e-9)  # never told larger than it is
        parts.append(f"19 of 20 launches {there}stay {kept} m or more away, {ways} ({wanted} m is wanted)")
    if struck > 0.0:
        parts.append(f"{_percent(struck)} of the launches strike it")
    if short > 0.0:
        parts.append(f"{_percent(short)} come down before it")
    return f"{name}: {'; '.join(parts)}."


def _percent(share: float) -> str:
    from overarm.odds.format import plain_percent

    return plain_percent(share)


def gap_of(outline: Outline, tracks: Tracks, half_span_m: float) -> Gap:
    """Return how far the launches keep from one obstacle."""
    distance_m = distance_of(outline)
    passed = gaps_to(outline, tracks, half_span_m)
    counted = np.where(passed.short, -outline.height_m, passed.least_m)
    place = (distance_m, outline.height_m, wanted_gap_m(distance_m))
    return _gap(outline.name, place, counted, (passed.least_m < 0.0, passed.short), _ways(passed))


def _gap(
    name: str,
    place_m: tuple[float, float, float],
    counted: Floats,
    which: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    ways: str,
) -> Gap:
    """Return the gap; ``place_m``: distance, height of the top, gap wanted; ``which``: struck, came down."""
    distance_m, height_m, wanted_m = place_m
    if not len(counted):
        words = f"{name}: no launch was released, so nothing is known about it."
        return Gap(name, distance_m, height_m, 0.0, 0.0, wanted_m, 0.0, 0.0, "not known", words)
    p5_m, p50_m = (float(value) for value in np.quantile(counted, (0.05, 0.5)))
    struck, short = (float(part.mean()) for part in which)
    word = _word(p5_m, wanted_m, struck)
    there = counted[~which[1]]
    kept_m = float(np.quantile(there, 0.05)) if len(there) else None
    sentence = _sentence(name, kept_m, wanted_m, (struck, short), ways)
    return Gap(name, distance_m, height_m, p5_m, p50_m, wanted_m, struck, short, word, sentence)


def terrain_gap(surface_m: Callable[[Floats, Floats], Floats], tracks: Tracks) -> Gap:
    """Return how far the launches keep above a surface: heights [m] over the ground at the launch.

    ``surface_m`` takes ahead and right [m] and returns heights, NaN where it knows none. The first 10 m
    are left out: there the model is the ground that the person stands on. Wanted is 10 % of the distance
    of the place where the launches come nearest (own estimate). A launch that came down counts as 1 m
    below it.
    """
    ahead, right, height = (tracks.points_m[:, :, k] for k in range(3))
    away = np.hypot(ahead, right)
    surface = surface_m(ahead.reshape(-1), right.reshape(-1)).reshape(ahead.shape)
    flown = away > TERRAIN_FROM_M
    known = np.isfinite(surface) & flown
    gaps = np.where(known, height - np.where(known, surface, 0.0), np.inf)
    passed = known.any(axis=1)
    # One that came down within those 10 m passed nothing, and came down all the same.
    counts = passed | ~tracks.handed_over if passed.any() or not flown.any() else passed
    nearest_m = np.take_along_axis(away, gaps.argmin(axis=1)[:, None], axis=1)[passed]
    where_m = float(np.median(nearest_m)) if len(nearest_m) else 0.0
    least, short = gaps.min(axis=1)[counts], ~tracks.handed_over[counts]
    struck = ~short & (least < 0.0)
    counted = np.where(short, np.minimum(least, CAME_DOWN_M), least)
    found = _gap(TERRAIN, (where_m, 0.0, WANTED_GAP_SHARE * where_m), counted, (struck, short), "over it")
    return found if known[flown].all() else _partly(found)


def _partly(gap: Gap) -> Gap:
    """Return a gap over ground that the model does not know everywhere."""
    sentence = f"{gap.sentence} Some of the launches pass over places without a height in the model."
    return dataclasses.replace(gap, word=worst_word(gap.word, "not known"), sentence=sentence)
