"""Forces that stop at the end of the range of their sensor: what was felt is at least that."""

from __future__ import annotations

import numpy as np

from overarm.recordings.channels import FORCES
from overarm.recordings.mend.parts import changed, counted, places, runs
from overarm.recordings.recording import Channel, Numbers, Recording, Repair

LEAST_MPS2 = 15.0  # no accelerometer ends below two g
FLAT = 3  # samples in a row
EQUAL = 1e-6  # of the top
STEEP = 3.0  # steps of resolution to the neighbours: a rounded crest falls off by one or two


def flag_saturation(recording: Recording) -> Recording:
    """List the flat tops of the forces: three samples or more at the highest or lowest value."""
    repairs = []
    for name in FORCES:
        channel = recording.channel(name)
        if channel is not None and channel.t_s.size > FLAT:
            repairs += _flat(name, channel, 1.0) + _flat(name, channel, -1.0)
    return changed(recording, {}, repairs)


def _flat(name: str, channel: Channel, sign: float) -> list[Repair]:
    values = sign * channel.values
    top = float(values.max())
    if top < LEAST_MPS2:
        return []
    starts, stops = runs(values >= top - EQUAL * top)
    flat = stops - starts >= FLAT
    if not flat.any():
        return []
    starts, stops = starts[flat], stops[flat]
    resolution = _resolution(values)
    before = top - values[np.maximum(starts - 1, 0)]
    after = top - values[np.minimum(stops, values.size - 1)]
    steep = np.maximum(before, after) > STEEP * resolution
    if not steep.any():
        return []
    starts, stops = starts[steep], stops[steep]
    samples = int((stops - starts).sum())
    at_s = channel.t_s[starts]
    held = counted(samples, "sample")
    sentence = (
        f"{name} is flat at {sign * top:.1f} m/s2 for {held} {places(at_s)}: its sensor ends there. What was "
        f"felt is at least that, and a speed summed up from it is too low."
    )
    ends = float(at_s[0]), float(channel.t_s[stops[-1] - 1])
    return [Repair("saturation", name, samples, sentence, "watch", *ends)]


def _resolution(values: Numbers) -> float:
    """Return the least difference between values [m/s2]."""
    steps = np.diff(np.unique(values))
    return float(steps.min()) if steps.size else 0.0
