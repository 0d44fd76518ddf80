"""When the disc was past the hand, from the release speed and the thrower card: a model, not seen."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from overarm.describe.derived.reach import time_to_clear_s
from overarm.physics.hand import CLEAR_MARGIN_M
from overarm.recordings.estimates.say import together
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate, Event
from overarm.rng import log_spread

GRID = 40


def clear_of(taken: Taken, speed: Estimate) -> Event | None:
    """Return when the disc was past the hand; None without a hand, a release or its speed.

    Ahead of a tractor's disc the hand is clear at release. Behind a pusher's the time follows from the
    release speed and how a hand slows down, by the card (`overarm.physics.hand.clear_time`).
    """
    release = taken.event("release")
    setup = taken.setup
    if release is None or setup is None or setup.thrower is None:
        return None
    if setup.power.position == "tractor":
        return Event(release.t_s, release.error_s, "at release: the disc is ahead of the hand")
    if speed.value is None or speed.value < 1.0:
        return None
    card = setup.thrower
    shares = ndtri((np.arange(GRID) + 0.5) / GRID)
    slowing, lag = card.hand_deceleration_mps2, card.hand_lag_mps
    spread = together(log_spread(slowing.value, slowing.spread), card.hand_deceleration_scatter.value)
    hands = slowing.value * np.exp(spread * shares)[:, None]
    behind = np.maximum(0.0, lag.value + together(lag.spread, card.hand_lag_scatter_mps.value) * shares)
    way = setup.airframe.grip_to_disc_m.value + CLEAR_MARGIN_M
    times = time_to_clear_s(way, np.full((1, 1), speed.value), hands, behind[None, :])
    error = together(release.error_s, float(np.std(times)))
    how = "release and the way from grip to disc, by the card's hand: not seen"
    return Event(release.t_s + float(np.mean(times)), error, how)
