"""Heights that jump faster than any climb: told, not mended, for launches are counted from their own zero."""

from __future__ import annotations

import numpy as np

from overarm.recordings.mend.parts import changed, often, places
from overarm.recordings.recording import Channel, Recording, Repair

FASTEST_MPS = 25.0  # up or down: twice the speed of a steep dive of such models at the height of launches
NOISE_M = 2.0  # two samples may differ by this for noise and propeller wash
ORIGIN_M = 1.0  # a jump to within this of nothing is a new origin
SLOWEST_STEP_S = 2.0  # across a longer step nothing is told


def flag_height_steps(recording: Recording) -> Recording:
    """List the steps of the heights by air pressure and by satellite."""
    repairs = []
    for name in ("baro_height_m", "satellite_height_m"):
        channel = recording.channel(name)
        if channel is not None and channel.t_s.size > 1:
            repairs += _steps(name, channel)
    return changed(recording, {}, repairs)


def _steps(name: str, channel: Channel) -> list[Repair]:
    rise, step_s = np.diff(channel.values), np.diff(channel.t_s)
    jumps = np.flatnonzero((np.abs(rise) > FASTEST_MPS * step_s + NOISE_M) & (step_s <= SLOWEST_STEP_S))
    if not jumps.size:
        return []
    at_s, by_m, to_m = channel.t_s[jumps + 1], rise[jumps], channel.values[jumps + 1]
    new = int(((np.abs(to_m) < ORIGIN_M) & (np.abs(by_m) > 5.0 * ORIGIN_M)).sum())
    most = float(by_m[np.argmax(np.abs(by_m))])
    sentence = (
        f"{name} jumps {often(jumps.size)}, {places(at_s)}, by up to {most:+.1f} m, faster than any climb. "
    )
    if new:
        sentence += f"{new} of them end near nothing: its origin was set again. "
    sentence += "Heights are counted from one second before each throw; do not trust them across the jump."
    return [Repair("height step", name, int(jumps.size), sentence, "watch", float(at_s[0]), float(at_s[-1]))]
