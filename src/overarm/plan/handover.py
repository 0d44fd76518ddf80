"""The handover height: the lowest that meets every condition."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from overarm.describe.outlines import WANTED_GAP_SHARE, wanted_gap_m
from overarm.odds.finding import Word
from overarm.plan.clearance import distance_of
from overarm.plan.result import Handover
from overarm.plan.way import corridor_out, highest_ground, tallest_in, turn_area

if TYPE_CHECKING:
    from overarm.plan.scene import Scene
    from overarm.plan.way import Way

Floats = NDArray[np.float64]

TALLEST_FACTOR = 1.5  # common practice, no source
TALLEST_WITHIN_M = 150.0  # common practice, no source
ABOVE_TURN_M = 5.0  # own estimate
LOWEST_TURN_M = 15.0  # height that a turn wants to keep above open ground; own estimate

TALLEST = "1.5 times the tallest obstacle within 150 m"
AHEAD = "the gap wanted over what is passed after the handover"
TURN = "room for the turn home"
RISING = "the gap wanted over the ground of the height model"


def over_ground(scene: Scene, way: Way) -> float:
    """Return the height [m] with 10 % of the distance over all ground from handover to turn; 0 without."""
    surface = scene.surface
    if surface is None:
        return 0.0

    def with_gap(ahead: Floats, right: Floats) -> Floats:
        return surface(ahead, right) + WANTED_GAP_SHARE * np.hypot(ahead, right)

    return highest_ground(corridor_out(way), scene._replace(surface=with_gap))


def conditions(scene: Scene, way: Way, turn_loss_m: float, turned_m: float) -> dict[str, float]:
    """Return each condition on the handover height and the height [m] that it asks for."""
    far = [(distance_of(item), item.height_m) for item in scene.outlines]
    near = [height_m for distance_m, height_m in far if distance_m <= TALLEST_WITHIN_M]
    start_m = math.hypot(*way.handover)
    ahead = [
        height_m + wanted_gap_m(distance_m)
        for distance_m, height_m in far
        if start_m < distance_m <= turned_m
    ]
    below_m = tallest_in(turn_area(way).buffer(scene.radius_m), scene.outlines)
    room_m = max(LOWEST_TURN_M, below_m + ABOVE_TURN_M)
    return {
        TALLEST: TALLEST_FACTOR * max(near, default=0.0),
        AHEAD: max(ahead, default=0.0),
        TURN: room_m + turn_loss_m,
        RISING: over_ground(scene, way),
    }


def _word(height_m: float, lowest_m: float, scene: Scene) -> Word:
    if height_m > scene.legal_m:
        return "stop"
    return "good" if height_m >= lowest_m else "watch"


def handover_of(scene: Scene, way: Way, turn_loss_m: float, turned_m: float) -> Handover:
    """Return the handover height against its conditions; by ``turned_m`` [m] it heads for home.

    A lower handover is a watch: the gaps themselves are judged obstacle by obstacle.
    """
    asked = conditions(scene, way, turn_loss_m, turned_m)
    lowest_m = max(asked.values())
    binding = max(asked, key=lambda name: asked[name])
    height_m = scene.handover_m
    said = f"The handover at {height_m:.0f} m"
    if height_m > scene.legal_m:
        said = f"{said} is above your local limit of {scene.legal_m:.0f} m."
    elif height_m >= lowest_m:
        said = f"{said} meets the lowest that is wanted, {math.ceil(lowest_m)} m ({binding})."
    else:
        said = f"{said} is low: {binding} asks for {math.ceil(lowest_m)} m."
    return Handover(height_m, lowest_m, asked, _word(height_m, lowest_m, scene), said)
