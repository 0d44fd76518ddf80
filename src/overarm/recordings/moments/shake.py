"""When a shake began."""

from __future__ import annotations

import numpy as np

from overarm.recordings.flights import Stretch
from overarm.recordings.launch import Event
from overarm.recordings.moments.cut import ROOT_12, combined, crossing, cut
from overarm.recordings.recording import Recording

EARLIER_S = 0.8
LEVEL_SHARE = 0.3  # of the usual swing


def shake_event(recording: Recording, shaken: Stretch) -> Event | None:
    """Return when the forward force first swings away from rest around the start of a shake."""
    channel = recording.channel("force_x_mps2")
    if channel is None:
        return None
    t_s, values = cut(channel, shaken.from_s - EARLIER_S, shaken.to_s)
    if t_s.size < 8:
        return None
    middle = float(np.median(values))
    swing = 1.4 * float(np.std(values))
    away = np.abs(values - middle)
    level = LEVEL_SHARE * swing
    over = np.flatnonzero(away > level)
    if not over.size:
        return None
    k = int(over[0])
    step = float(np.median(np.diff(t_s)))
    return Event(
        crossing(t_s, away, k, level), combined(step / ROOT_12, 0.03), "the forward force begins to swing"
    )
