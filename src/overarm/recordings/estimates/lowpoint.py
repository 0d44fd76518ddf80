"""The lowest point after release, and how far it lies under the height of release."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.height import WASH_M, Height
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import noise_of, part, smoothed, straight
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate

if TYPE_CHECKING:
    from overarm.describe.line import Line

LOW, SINK = "low_point_m", "sink_m"
USUAL_HEIGHT = Measured(1.8, 0.15)  # of a hand at release, own estimate
FLOOR_M = 0.03
NEAR_S = 0.35
LATE_LEAST_S, LATE_SMOOTH_S, JOINED_S = 1.0, 0.8, 1.0
DRIFT_M_PER_ROOT_S = 0.05  # of air pressure as a height, own estimate
OVER_M, OVER_ERRORS = 0.5, 3.0
SPARSE_S = 0.5  # a free fall and its recovery between two samples so far apart is 0.3 m deep: g t^2 / 8
FELT_S = 0.3  # a ground that is known no better was told by the state model, without a blow


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
    lowest, by = _lowest(taken, height)
    ground = taken.event("ground")
    felt = ground is not None and (ground.error_s < FELT_S or not _over_it(lowest, above))
    near = ground is not None and ground.t_s <= float(height.t_s[-1]) + 0.5
    if felt and (near or taken.event("handover") is None):
        how = "it touched the ground"
        return {
            LOW: told(LOW, 0.0, 0.1, how),
            SINK: told(SINK, above.value, above.error, f"{how}; height of release from the card or usual"),
        }
    unseen = _between(taken, height)
    if unseen:
        return {LOW: cannot(LOW, unseen), SINK: cannot(SINK, unseen)}
    sink = max(0.0, -lowest.value)
    how = f"lowest of {by}; the propeller's wash may shift the air pressure"
    error = together(lowest.error, FLOOR_M)
    return {
        LOW: told(
            LOW, above.value - sink, together(error, above.error), f"height of release less sink: {how}"
        ),
        SINK: told(SINK, sink, error, how),
    }


def _between(taken: Taken, height: Height) -> str:
    """Return why a dip may lie between two samples of the height; "" if none that matters can."""
    baro = taken.series("baro_height_m")
    if baro is None or height.by.startswith("vertical force") or baro.step_s <= SPARSE_S:
        return ""
    return f"Height comes every {baro.step_s:.1f} s and no vertical force: a dip between two is not seen."


def _over_it(lowest: Measured, above: Measured) -> bool:
    """Return True if the lowest height is so far over the ground that no landing can have been there."""
    return above.value + lowest.value > OVER_M + OVER_ERRORS * together(lowest.error, above.error)


def _lowest(taken: Taken, height: Height) -> tuple[Measured, str]:
    """Return the lowest height over that of release [m] in the whole launch, and how it is known.

    Past the time that the forces reach, air pressure alone goes on from the height at its end.
    """
    _, value, error = height.lowest()
    found = Measured(value, error)
    baro, end_s = taken.series("baro_height_m"), float(height.t_s[-1])
    last_s = min(
        [taken.launch.to_s, *(e.t_s for e in map(taken.event, ("handover", "ground")) if e is not None)]
    )
    if baro is None or last_s - end_s < LATE_LEAST_S:
        return found, height.by
    there = part(baro, end_s - JOINED_S, end_s)
    later = smoothed(part(baro, end_s, last_s), LATE_SMOOTH_S)
    if there.t_s.size < 2 or later.t_s.size < 2:
        return found, height.by
    at_end = float(np.mean(height.above_release_m[height.t_s >= end_s - JOINED_S]))
    k = int(np.argmin(later.values))
    late = at_end + float(later.values[k]) - float(np.mean(there.values))
    if late >= value:
        return found, height.by
    since = float(later.t_s[k]) - end_s
    own = math.sqrt(max(0.0, float(height.covariance[-1, -1])))
    noise = noise_of(there.values) / math.sqrt(min(there.t_s.size, max(1.0, LATE_SMOOTH_S / baro.step_s)))
    drift = DRIFT_M_PER_ROOT_S * math.sqrt(since)
    return Measured(
        late, together(own, 2.0 * noise, drift, WASH_M)
    ), f"{height.by}; later by air pressure alone"
