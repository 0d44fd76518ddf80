"""Speed and path at release: dead reckoning through the stroke, and satellite speeds brought back to it."""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.recordings.estimates.fuse import Measured, fused
from overarm.recordings.estimates.lag import Lag
from overarm.recordings.estimates.satellite import brought_back, noise_for
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, part
from overarm.recordings.estimates.strapdown import Reckoned, release_moment, speed_error
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate

SPEED, PATH = "throw_speed_mps", "release_path_rad"
BY_FORCE = "forward force less gravity and the mean before the stroke, integrated to release"
BY_SATELLITE = "satellite speed after release, brought back to it"
NO_VERTICAL_RAD = math.radians(6.0)  # between nose and path at release, mean 2 and sd 4 deg, own estimate
FAST_MPS = 4.0
NOSE_OVER_PATH_RAD = math.radians(2.0)


class Released(NamedTuple):
    """The velocity at release; None where nothing shows it."""

    ahead: Measured | None  # horizontal
    up: Measured | None
    ahead_by: str
    up_by: str
    at_least: bool  # the force was clipped and there is no satellite speed
    level: Measured  # by how much the believed pitch is too high [rad]

    @property
    def speed(self) -> Measured | None:
        """Return the whole speed [m/s]."""
        if self.ahead is None:
            return None
        if self.up is None:
            return Measured(self.ahead.value * 1.01, together(self.ahead.error, 0.01 * self.ahead.value))
        value = max(0.1, math.hypot(self.ahead.value, self.up.value))
        share_ahead, share_up = self.ahead.value / value, self.up.value / value
        return Measured(value, together(share_ahead * self.ahead.error, share_up * self.up.error))


def _reckoned(taken: Taken, reckoned: Reckoned) -> tuple[Measured, Measured | None]:
    """Return the speeds ahead and up [m/s] at release by dead reckoning, moved to the balance point."""
    release = taken.event("release")
    assert release is not None
    at_s = release_moment(reckoned, release.t_s, release.error_s)
    ahead = reckoned.at(at_s, reckoned.speed_mps())
    up = reckoned.at(at_s, reckoned.up_mps)
    rates = taken.rates(reckoned.t_s)
    if taken.setup is not None and rates is not None:
        board = taken.setup.airframe.board
        turning = reckoned.at(at_s, rates[1])
        ahead -= turning * board.offset_down_m.value
        up -= turning * board.offset_forward_m.value
    stroke = part(Series(reckoned.t_s, reckoned.force[0]), reckoned.rest.to_s, release.t_s)
    error = speed_error(reckoned, stroke, at_s, release.error_s)
    if not reckoned.vertical:
        return Measured(ahead, error), None
    lasts = release.t_s - reckoned.rest.to_s
    tilted = reckoned.angle_error_rad + reckoned.drift_radps * lasts
    return Measured(ahead, error), Measured(up, together(error * 0.7, ahead * tilted))


def released(taken: Taken, reckoned: Reckoned | None, lag: Lag) -> Released:
    """Return the velocity over the ground at release."""
    release = taken.event("release")
    if release is None:
        return Released(None, None, "", "", False, Measured(0.0, taken.level_error_rad))
    by_force: tuple[Measured | None, Measured | None] = (None, None)
    if reckoned is not None:
        by_force = _reckoned(taken, reckoned)
    clipped = reckoned is not None and reckoned.clipped
    found: list[Measured | None] = []
    how: list[str] = []
    backs: list[Measured | None] = []
    for k, name in enumerate(("ground_speed_mps", "climb_mps")):
        sat = taken.series(name)
        motion = None
        if reckoned is not None and (k == 0 or reckoned.vertical):
            motion = (reckoned, reckoned.speed_mps() if k == 0 else reckoned.up_mps)
        back = None if sat is None else brought_back(sat, lag, release.t_s, motion, noise_for(taken, name))
        backs.append(back)
        own = None if clipped and (back is not None or k == 1) else by_force[k]
        parts = [one for one in (own, back) if one is not None]
        found.append(fused(parts) if parts else None)
        how.append("; ".join(w for w, one in ((BY_FORCE, own), (BY_SATELLITE, back)) if one is not None))
    only_clipped = clipped and found[0] is not None and BY_SATELLITE not in how[0]
    level = too_high(taken, reckoned, by_force, backs[1])
    return Released(found[0], found[1], how[0], how[1], only_clipped, level)


def too_high(
    taken: Taken,
    reckoned: Reckoned | None,
    by_force: tuple[Measured | None, Measured | None],
    climb: Measured | None,
) -> Measured:
    """Return by how much the believed pitch is too high [rad], by reckoned and satellite climb.

    A false horizon turns the speed of the throw up or down: ``(w - w_sat)/v``. Without a satellite climb it
    is nothing, with the usual error.
    """
    ahead, up = by_force
    usual = Measured(0.0, taken.level_error_rad if reckoned is None else reckoned.angle_error_rad)
    if ahead is None or up is None or climb is None or reckoned is None or ahead.value < FAST_MPS:
        return usual
    if reckoned.clipped:
        return usual
    seen = (up.value - climb.value) / ahead.value
    error = together(climb.error, 0.7 * ahead.error) / ahead.value
    share = usual.error**2 / (usual.error**2 + error**2)
    return Measured(share * seen, math.sqrt(share) * error)


def speed_estimate(taken: Taken, at_release: Released) -> Estimate:
    """Return the estimate of the speed over the ground at release."""
    speed = at_release.speed
    if taken.event("release") is None:
        return cannot(SPEED, "No release was seen.")
    if speed is None:
        return cannot(SPEED, "There is neither a forward force through the stroke nor a satellite speed.")
    if at_release.at_least:
        how = f"{BY_FORCE}; the force reached the end of its range, so the throw was faster"
        return told(SPEED, speed.value, max(1.5, speed.error), how, "at least")
    how = at_release.ahead_by
    if BY_FORCE not in how and taken.series("force_x_mps2") is not None:
        how += "; the forces do not show it (clipped, or no hold before the throw)"
    return told(SPEED, speed.value, speed.error, how)


def path_estimate(taken: Taken, at_release: Released, pitch: Estimate) -> Estimate:
    """Return the estimate of the path above the horizon at release; ``pitch`` is that at release."""
    if taken.event("release") is None:
        return cannot(PATH, "No release was seen.")
    ahead, up = at_release.ahead, at_release.up
    if ahead is None or up is None or ahead.value < 1.0:
        if pitch.value is None:
            return cannot(PATH, "There is neither a vertical force or speed nor a pitch at release.")
        how = "pitch at release, less the 2 degrees by which a nose usually points above its path"
        error = together(pitch.error, NO_VERTICAL_RAD)
        return told(PATH, pitch.value - NOSE_OVER_PATH_RAD, error, how)
    value = math.atan2(up.value, ahead.value)
    whole = math.hypot(up.value, ahead.value)
    error = together(ahead.value * up.error, up.value * ahead.error) / (whole * whole)
    return told(PATH, value, error, f"vertical over horizontal speed at release ({at_release.up_by})")
