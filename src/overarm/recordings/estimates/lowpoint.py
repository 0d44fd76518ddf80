"""The lowest point after release, and how far it lies under the height of release."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.height import Height
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import part, straight
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate

if TYPE_CHECKING:
    from overarm.describe.line import Line

LOW, SINK = "low_point_m", "sink_m"
USUAL_HEIGHT = Measured(1.8, 0.15)  # of a hand at release, own estimate
FLOOR_M = 0.03
NEAR_S = 0.35


def release_height(taken: Taken) -> Measured:
    """Return the height over the ground at release [m], from the cards or as usual."""
    setup = taken.setup
    if setup is None:
        return USUAL_HEIGHT
    if setup.thrower is not None:
        card = setup.thrower
        error = together(card.release_height_m.spread, card.release_height_scatter_m.value)
        return Measured(card.release_height_m.value, error)
    return USUAL_HEIGHT if setup.line is None else _off_the_line(taken, setup.line)


def _off_the_line(taken: Taken, line: Line) -> Measured:
    """Return the height where the line let go: that of the latch, and the climb since by air pressure."""
    baro, latch, release = taken.series("baro_height_m"), taken.event("stroke"), taken.event("release")
    low = line.ramp_height_m.value
    if baro is None or latch is None or release is None:
        rise = line.ramp_length_m.value * math.sin(line.ramp_angle_rad.value)
        return Measured(low + rise, 0.5)
    before = part(baro, latch.t_s - 1.6, latch.t_s - 0.1)
    near = part(baro, release.t_s - NEAR_S, release.t_s + NEAR_S)
    if before.t_s.size < 2 or near.t_s.size < 3:
        return Measured(low + line.ramp_length_m.value * math.sin(line.ramp_angle_rad.value), 0.5)
    there = straight(near, release.t_s)
    climbed = there.value - float(np.mean(before.values))
    error = together(there.value_error, there.slope * release.error_s, 0.1)
    return Measured(low + climbed, error)


def low_estimates(taken: Taken, height: Height | None) -> dict[str, Estimate]:
    """Return the estimates of the low point and the sink after release."""
    if height is None:
        why = "It takes a release, and a height by air pressure or a vertical force after it."
        return {LOW: cannot(LOW, why), SINK: cannot(SINK, why)}
    above = release_height(taken)
    ground = taken.event("ground")
    if ground is not None and ground.t_s <= float(height.t_s[-1]) + 0.5:
        how = "it touched the ground"
        return {
            LOW: told(LOW, 0.0, 0.1, how),
            SINK: told(SINK, above.value, above.error, f"{how}; height of release from the card or usual"),
        }
    _, lowest, error = height.lowest()
    sink = max(0.0, -lowest)
    how = f"lowest of {height.by}; the propeller's wash may shift the air pressure"
    error = together(error, FLOOR_M)
    return {
        LOW: told(
            LOW, above.value - sink, together(error, above.error), f"height of release less sink: {how}"
        ),
        SINK: told(SINK, sink, error, how),
    }
