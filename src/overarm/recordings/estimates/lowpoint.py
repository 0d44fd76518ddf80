"""The lowest point after release, and how far it lies under the height of release."""

from __future__ import annotations

import math

from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.height import Height
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate

LOW, SINK = "low_point_m", "sink_m"
USUAL_HEIGHT = Measured(1.8, 0.15)  # of a hand at release, own estimate
FLOOR_M = 0.03


def release_height(taken: Taken) -> Measured:
    """Return the height over the ground at release [m], from the cards or as usual."""
    setup = taken.setup
    if setup is None:
        return USUAL_HEIGHT
    if setup.thrower is not None:
        card = setup.thrower
        error = together(card.release_height_m.spread, card.release_height_scatter_m.value)
        return Measured(card.release_height_m.value, error)
    if setup.line is not None:
        line = setup.line
        rise = line.ramp_length_m.value * math.sin(line.ramp_angle_rad.value)
        return Measured(line.ramp_height_m.value + rise, 0.05)
    return USUAL_HEIGHT


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
