"""Route points that the aircraft reports beside the planned ones: places, heights, order."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, NamedTuple

from overarm.readback.places import Frame, Located, located, without_launch
from overarm.readback.track import Track

# A degree with five decimals is good to 1.1 m; whole metres of height to 0.5 m. Own estimates.
SAME_PLACE_M = 1.5
SAME_HEIGHT_M = 0.6
# All heights off by as much as this, give or take SAME_HEIGHT_M, is another zero.
FIELD_NEAR_M = 3.0
FOOT_M = 0.3048
MOSTLY = 0.8
# In pairing points: a point left out costs as much as one that is moved this far.
LEFT_OUT_M = 25.0
MOST_MOVED = 1.9

Kind = Literal["same", "different", "missing", "extra"]


class Pair(NamedTuple):
    """A planned point and the reported one that stands for it; one of them may be None."""

    number: int  # of the planned point, or of the reported one if it is extra; from 1
    kind: Kind
    planned: Located | None
    reported: Located | None
    off_m: float = 0.0  # distance between the two
    higher_m: float | None = None  # reported height less planned height

    @property
    def name(self) -> str:
        """Return how a person calls the point."""
        there = self.planned or self.reported
        return f"point {self.number}" + (f" ({there.name})" if there is not None and there.name else "")


class Suspicion(NamedTuple):
    """One mistake that would explain what is off at all points."""

    what: str  # "order", "coordinates", "height reference", "height unit"
    sentence: str
    metres: float


@dataclass(frozen=True, slots=True)
class Paired:
    """Both routes, point by point."""

    pairs: tuple[Pair, ...]
    suspicions: tuple[Suspicion, ...]
    planned_length_m: float
    reported_length_m: float

    def of_kind(self, *kinds: Kind) -> tuple[Pair, ...]:
        """Return the pairs of some kinds."""
        return tuple(pair for pair in self.pairs if pair.kind in kinds)


def pair_routes(planned: Sequence[Located], reported: Sequence[Located], elevation_m: float) -> Paired:
    """Pair two routes in the launch frame; an explained difference of all heights is told once.

    Parameters: both routes, the planned one without the launch itself, which the other may have; height of
    the field above the sea [m].
    """
    there = without_launch(tuple(reported))
    pairs = _paired(planned, there)
    suspicions = []
    if _hits(pairs) < len(pairs):
        for points in (tuple(reported), there):
            turned = _paired(planned, tuple(reversed(points)))
            if _hits(turned) > _hits(pairs) and _hits(turned) >= max(2.0, MOSTLY * len(planned)):
                suspicions = [Suspicion("order", "the points are those of the plan in reversed order", 0.0)]
                pairs, there = turned, points
    height = _height_suspicion(pairs, elevation_m)
    if height is not None:
        suspicions.append(height)
    return Paired(pairs, tuple(suspicions), length_m(planned), length_m(there))


def length_m(points: Sequence[Located]) -> float:
    """Return the length over ground from the first point to the last [m]."""
    return sum(_apart(a, b) for a, b in pairwise(points))


def _apart(a: Located, b: Located) -> float:
    return math.hypot(a.ahead_m - b.ahead_m, a.right_m - b.right_m)


def _hits(pairs: Sequence[Pair]) -> float:
    return sum(
        pair.planned is not None and pair.reported is not None and pair.off_m <= SAME_PLACE_M
        for pair in pairs
    )


def _paired(planned: Sequence[Located], reported: Sequence[Located]) -> tuple[Pair, ...]:
    """Pair the points in their order, at the least cost of moving them and leaving some out.

    Equation: the edit distance by dynamic programming, a point left out at 1, one moved by d at d/25 m, at
    most 1.9. Source: R. A. Wagner & M. J. Fischer (1974), J. ACM 21, 168.
    """
    n, m = len(planned), len(reported)
    cost = [[float(j) for j in range(m + 1)] for _ in range(n + 1)]
    for i in range(1, n + 1):
        cost[i][0] = float(i)
        for j in range(1, m + 1):
            moved = min(_apart(planned[i - 1], reported[j - 1]) / LEFT_OUT_M, MOST_MOVED)
            cost[i][j] = min(cost[i - 1][j - 1] + moved, cost[i - 1][j] + 1.0, cost[i][j - 1] + 1.0)
    found: list[Pair] = []
    i, j = n, m
    while i or j:
        if i and j:
            moved = min(_apart(planned[i - 1], reported[j - 1]) / LEFT_OUT_M, MOST_MOVED)
            if cost[i][j] == cost[i - 1][j - 1] + moved:
                found.append(_pair(i, planned[i - 1], reported[j - 1]))
                i, j = i - 1, j - 1
                continue
        if i and cost[i][j] == cost[i - 1][j] + 1.0:
            found.append(Pair(i, "missing", planned[i - 1], None))
            i -= 1
        else:
            found.append(Pair(j, "extra", None, reported[j - 1]))
            j -= 1
    return tuple(reversed(found))


def _pair(number: int, planned: Located, reported: Located) -> Pair:
    off = _apart(planned, reported)
    known = planned.height_m is not None and reported.height_m is not None
    higher = reported.height_m - planned.height_m if known else None  # type: ignore[operator]
    same = off <= SAME_PLACE_M and (higher is None or abs(higher) <= SAME_HEIGHT_M)
    return Pair(number, "same" if same else "different", planned, reported, off, higher)


def _height_suspicion(pairs: Sequence[Pair], elevation_m: float) -> Suspicion | None:
    """Return what would explain that all heights are off."""
    told = [pair for pair in pairs if pair.higher_m is not None]
    if len(told) < 2 or all(abs(pair.higher_m or 0.0) <= SAME_HEIGHT_M for pair in told):
        return None
    off = [pair.higher_m or 0.0 for pair in told]
    middle = sorted(off)[len(off) // 2]
    if all(abs(value - middle) <= 2.0 * SAME_HEIGHT_M for value in off):
        return _other_zero(middle, elevation_m)
    wanted = [pair.planned.height_m or 0.0 for pair in told if pair.planned is not None]
    got = [value + higher for value, higher in zip(wanted, off, strict=True)]
    for factor, words in ((1.0 / FOOT_M, "feet taken for metres"), (FOOT_M, "metres taken for feet")):
        if all(
            abs(high - factor * want) <= max(SAME_HEIGHT_M, 0.01 * abs(high))
            for want, high in zip(wanted, got, strict=True)
        ):
            return Suspicion(
                "height unit", f"all heights are {factor:.3g} times the plan's: {words}?", middle
            )
    return None


def _other_zero(off_m: float, elevation_m: float) -> Suspicion:
    way = "higher" if off_m > 0.0 else "lower"
    said = f"all heights are {abs(off_m):.1f} m {way} than planned"
    if abs(elevation_m) > FIELD_NEAR_M and abs(abs(off_m) - abs(elevation_m)) <= FIELD_NEAR_M:
        told = "counted from the sea where they are read as above the launch"
        if (off_m > 0.0) != (elevation_m > 0.0):
            told = "counted from the launch where they are read as above the sea"
        said = f"{said}, which is the height of the field above the sea: they are {told}"
    else:
        said = f"{said}: they are counted from another zero"
    return Suspicion("height reference", said, off_m)


def mistaken_coordinates(
    track: Track, planned: Sequence[Located], frame: Frame, elevation_m: float
) -> Suspicion | None:
    """Return whether latitude and longitude were swapped, or one has the wrong sign."""
    if track.points[0].latitude_deg is None:
        return None
    ways: tuple[tuple[str, Callable[[float, float], tuple[float, float]]], ...] = (
        ("latitude and longitude are swapped", lambda lat, lon: (lon, lat)),
        ("the longitudes have the wrong sign", lambda lat, lon: (lat, -lon)),
        ("the latitudes have the wrong sign", lambda lat, lon: (-lat, lon)),
    )
    wrong = without_launch(located(track, frame, elevation_m))
    if _hits(_paired(planned, wrong)) > (1.0 - MOSTLY) * len(planned):
        return None
    for words, way in ways:
        places = [way(point.latitude_deg or 0.0, point.longitude_deg or 0.0) for point in track.points]
        if any(abs(latitude) > 90.0 for latitude, _ in places):
            continue
        points = tuple(
            point._replace(latitude_deg=place[0], longitude_deg=place[1])
            for point, place in zip(track.points, places, strict=True)
        )
        right = without_launch(located(track._replace(points=points), frame, elevation_m))
        if _hits(_paired(planned, right)) >= MOSTLY * len(planned):
            off = _apart(wrong[0], right[0])
            return Suspicion("coordinates", f"{words}: the first point is {off / 1000.0:,.0f} km off", off)
    return None
