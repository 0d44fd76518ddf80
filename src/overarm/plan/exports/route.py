"""A plan laid on the earth: the points, lines and areas that every export writes.

Positions are (longitude, latitude) in degrees on WGS 84, in that order; heights are metres above the
ground at the launch. Rings run anticlockwise and close on their first position.
"""

from __future__ import annotations

import math
import unicodedata
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.earth import Ground, to_spots
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.describe.outlines import Outline
    from overarm.plan.result import PlanResult

Numbers = NDArray[np.float64]
Position = tuple[float, float]

CAUTION = (
    "Advice from a model, no permission to fly. Heights are metres above the ground at the launch, not "
    "above the ground below the aeroplane. Look for people, airspace and local rules yourself."
)
LONGEST_NAME = 500
PLACES = 7  # decimals of a degree: 11 mm at most
RING_POINTS = 72
LEAST_HALF_WIDTH_M = 0.1  # so that the area has no width of nothing anywhere
HIGHEST_LATITUDE_DEG = 89.0
LONGEST_WALL_M = 2000.0  # a longer one has no end on the card
DRAWN_WALL_M = 300.0  # this much of it to either side
CUT_WORDS = f"no end is known, {DRAWN_WALL_M:.0f} m of it are drawn to either side"


class Point(NamedTuple):
    """One named point of the route."""

    name: str
    kind: str
    at: Position
    height_m: float


class Shape(NamedTuple):
    """One obstacle: a closed ring, or a line that is a wall."""

    name: str
    positions: tuple[Position, ...]
    height_m: float
    closed: bool
    cut: bool  # it has no end on the card, and only a part of it is drawn

    @property
    def more(self) -> str:
        """Return what is to be said besides its height."""
        return f"; {CUT_WORDS}" if self.cut else ""


class Trail(NamedTuple):
    """Where a file comes from."""

    setup: str
    version: str
    setup_hash: str
    seed: int
    launches: int
    date: str  # empty: no date is written


class Placed(NamedTuple):
    """A plan on the earth."""

    trail: Trail
    points: tuple[Point, ...]
    fan: tuple[Position, ...]  # ring round the 5th to 95th percentile; empty: no launch got anywhere
    middle: tuple[Position, ...]
    middle_height_m: tuple[float, ...]
    obstacles: tuple[Shape, ...]
    circle: tuple[Position, ...]
    circle_radius_m: float
    circle_height_m: float
    elevation_m: float | None  # of the launch ground above the sea; None: not known


def plain(text: str, limit: int = LONGEST_NAME) -> str:
    """Return a name on one line without characters that XML forbids or that turn the text round."""
    kept = "".join(" " if unicodedata.category(letter)[0] in "CZ" else letter for letter in text)
    kept = " ".join(kept.split())
    return kept if len(kept) <= limit else kept[: limit - 1].rstrip() + "…"


def about(trail: Trail) -> dict[str, str | int]:
    """Return the lines that every file carries: who made it, from what, and the caution."""
    lines: dict[str, str | int] = {
        "made_by": f"Overarm {trail.version}",
        "setup": trail.setup,
        "setup_hash": trail.setup_hash,
        "seed": trail.seed,
        "launches": trail.launches,
    }
    if trail.date:
        lines["date"] = trail.date
    return {**lines, "caution": CAUTION}


def about_words(trail: Trail) -> str:
    """Return the same as one paragraph."""
    date = f", {trail.date}" if trail.date else ""
    return (
        f"Launch plan of {trail.setup}. {CAUTION} Made by Overarm {trail.version} from setup "
        f"{trail.setup_hash}, seed {trail.seed}, {trail.launches} launches{date}."
    )


def known_ground(result: PlanResult) -> Ground:
    """Return where the launch is; InputError if the card does not say it or it cannot be drawn."""
    ground = result.ground
    if ground is None:
        raise InputError(
            [
                Problem(
                    "the plan cannot be laid on the earth: where the launch is, and which way, is not known",
                    'add two keys to the site card: "launch_point: {latitude: 47.00117 deg, longitude: '
                    '8.00099 deg}" and "launch_direction: 250 deg" (from true north, clockwise)',
                    key="site.launch_point",
                )
            ]
        )
    if abs(ground.launch.latitude_deg) > HIGHEST_LATITUDE_DEG:
        raise InputError(
            [
                Problem(
                    "a plan this near to a pole cannot be exported",
                    f"give a latitude within {HIGHEST_LATITUDE_DEG:.0f} degrees of the equator",
                    key="site.launch_point.latitude",
                    value=f"{ground.launch.latitude_deg} deg",
                )
            ]
        )
    return ground


def _positions(ground: Ground, ahead_m: Numbers, right_m: Numbers) -> tuple[Position, ...]:
    latitude, longitude = to_spots(ground, ahead_m, right_m)
    return tuple(
        (round(float(x), PLACES), round(float(y), PLACES)) for x, y in zip(longitude, latitude, strict=True)
    )


def anticlockwise(ring: tuple[Position, ...]) -> tuple[Position, ...]:
    """Return a ring closed on its first position and running anticlockwise (RFC 7946, section 3.1.6)."""
    closed = ring if ring[0] == ring[-1] else (*ring, ring[0])
    x, y = np.array(closed).T
    x, y = x - x[0], y - y[0]  # degrees are large and the ring is small
    turning = float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))
    return closed if turning >= 0.0 else closed[::-1]


def _fan_ring(result: PlanResult, ground: Ground) -> tuple[Position, ...]:
    fan = result.fan
    ahead = np.asarray(fan.ahead_m, dtype=np.float64)
    if ahead.size < 2:
        return ()
    left, right = np.asarray(fan.right_p5_m), np.asarray(fan.right_p95_m)
    middle = 0.5 * (left + right)
    half = np.maximum(0.5 * (right - left), LEAST_HALF_WIDTH_M)
    along = np.concatenate((ahead, ahead[::-1]))
    across = np.concatenate((middle + half, (middle - half)[::-1]))
    return anticlockwise(_positions(ground, along, across))


def shortened(points_m: Numbers) -> Numbers:
    """Return 300 m to either side of the place of a straight wall that is nearest to the launch [m]."""
    start, along = points_m[0], points_m[-1] - points_m[0]
    long = float(np.hypot(*along))
    nearest = float(np.clip(-np.dot(start, along) / long, 0.0, long))
    ends = np.clip([nearest - DRAWN_WALL_M, nearest + DRAWN_WALL_M], 0.0, long)
    return np.asarray(start + np.outer(ends / long, along))


def is_endless(outline: Outline) -> bool:
    """Return True for a wall whose ends the card does not give."""
    first, last = outline.points_m[0], outline.points_m[-1]
    return not outline.closed and float(np.hypot(*(last - first))) > LONGEST_WALL_M


def _obstacles(result: PlanResult, ground: Ground) -> tuple[Shape, ...]:
    shapes = []
    for outline in result.outlines:
        cut = is_endless(outline)
        points_m = shortened(outline.points_m) if cut else outline.points_m
        positions = _positions(ground, points_m[:, 0], points_m[:, 1])
        closed = outline.closed and len(set(positions)) > 2
        if len(positions) < 2:
            continue
        ring = anticlockwise(positions) if closed else positions
        shapes.append(Shape(plain(outline.name), ring, float(outline.height_m), closed, cut))
    return tuple(shapes)


def _home(result: PlanResult) -> tuple[float, float, float]:
    """Return the middle of the home circle [m ahead, m right] and its height [m]: the last home point."""
    found = [p for p in result.route if p.kind == "home"]
    if not found:
        return 0.0, 0.0, float(result.home.height_m)
    return float(found[-1].ahead_m), float(found[-1].right_m), float(found[-1].height_m)


def _check_longitudes(positions: list[Position], ground: Ground) -> None:
    longitudes = [longitude for longitude, _ in positions]
    if max(longitudes) - min(longitudes) > 180.0:
        raise InputError(
            [
                Problem(
                    "the plan crosses the line of 180 degrees longitude and cannot be exported",
                    "move the launch point so that the whole plan lies on one side of it",
                    key="site.launch_point.longitude",
                    value=f"{ground.launch.longitude_deg} deg",
                )
            ]
        )


def placed(result: PlanResult, *, elevation_m: float | None = None, date: str = "") -> Placed:
    """Lay a plan on the earth.

    Parameters
    ----------
    result : PlanResult
        The plan; its ground must be known.
    elevation_m : float, optional
        Height of the launch ground above the sea [m]; None if it is not known.
    date : str, optional
        The date as it is to be written. Nothing here reads a clock.

    Returns
    -------
    Placed
        Every position in degrees. Raises InputError if launch point or direction are missing, or the plan
        is too near to a pole or lies across 180 degrees of longitude.

    Source: order of positions and of rings, RFC 7946 sections 3.1.1 and 3.1.6.
    """
    ground = known_ground(result)
    ahead_m, right_m, circle_height_m = _home(result)
    radius_m = float(result.circle.radius_m)
    turn = np.linspace(0.0, math.tau, RING_POINTS, endpoint=False)
    ring = _positions(ground, ahead_m + radius_m * np.cos(turn), right_m + radius_m * np.sin(turn))
    spots = _positions(
        ground, np.array([p.ahead_m for p in result.route]), np.array([p.right_m for p in result.route])
    )
    fan = _fan_ring(result, ground)
    made = Placed(
        trail=Trail(
            plain(result.setup_name), result.version, result.setup_hash, result.seed, result.launches,
            plain(date, 40),
        ),
        points=tuple(
            Point(plain(p.name), p.kind, at, float(p.height_m))
            for p, at in zip(result.route, spots, strict=True)
        ),
        fan=fan,
        middle=_positions(ground, np.asarray(result.fan.ahead_m), np.asarray(result.fan.right_p50_m))
        if fan
        else (),
        middle_height_m=tuple(float(h) for h in result.fan.height_p50_m) if fan else (),
        obstacles=_obstacles(result, ground),
        circle=anticlockwise(ring),
        circle_radius_m=radius_m,
        circle_height_m=circle_height_m,
        elevation_m=elevation_m,
    )  # fmt: skip
    everywhere = [*made.fan, *made.circle, *(p.at for p in made.points)]
    _check_longitudes([*everywhere, *(at for s in made.obstacles for at in s.positions)], ground)
    return made
