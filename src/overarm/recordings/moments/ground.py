"""When a flight ended on the ground: the blow, or the start of the stillness."""

from __future__ import annotations

import numpy as np

from overarm.recordings.channels import FORCES
from overarm.recordings.cues.lobes import smoothed
from overarm.recordings.launch import Event
from overarm.recordings.moments.cut import ROOT_12, combined, cut
from overarm.recordings.recording import Numbers, Recording

APART_S = 0.15
SMOOTH_S = 0.04  # what a motor shakes is quicker
BLOW_MPS2 = 20.0  # away from what is felt at rest
AROUND_S = (3.0, 0.8)  # the blow comes before the stillness


def ground(recording: Recording, down_s: float, release_s: float, step_s: float) -> Event:
    """Return the blow nearest before the time from which the model lay still, else that time.

    ``down_s``: that time by the state model; ``release_s``: nothing before is looked at; ``step_s``: of the
    grid [s].
    """
    from_s = max(release_s + 0.15, down_s - AROUND_S[0])
    found = _force(recording, from_s, down_s + AROUND_S[1])
    if found is not None:
        t_s, away = found
        blows = np.flatnonzero(away > max(BLOW_MPS2, 0.5 * float(np.max(away))))
        if blows.size:
            step = float(np.median(np.diff(t_s)))
            parted = np.flatnonzero(np.diff(t_s[blows]) > APART_S)  # an obstacle may be met before the ground
            k = int(blows[parted[-1] + 1] if parted.size else blows[0])
            lasts_s = min(0.5, float(t_s[blows[-1]] - t_s[k]))
            before_s = float(t_s[k] - t_s[blows[0]])
            error_s = combined(step / ROOT_12, 0.03, 0.2 * lasts_s, min(0.5, 0.5 * before_s))
            return Event(float(t_s[k]) - 0.5 * step, error_s, "a blow that ends the flight")
    return Event(down_s, combined(step_s, 0.6), "the model lies still")


def _force(recording: Recording, from_s: float, to_s: float) -> tuple[Numbers, Numbers] | None:
    channels = [c for name in FORCES if (c := recording.channel(name)) is not None]
    if not channels or channels[0].rate_hz < 8.0:
        return None
    t_s, _ = cut(channels[0], from_s, to_s)
    if t_s.size < 4:
        return None
    total = np.zeros(t_s.size)
    for channel in channels:
        values = smoothed(t_s, np.interp(t_s, channel.t_s, channel.values), SMOOTH_S)
        total += (values - np.median(values)) ** 2
    return t_s, np.sqrt(total)
