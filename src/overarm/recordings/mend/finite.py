"""Samples whose time or value is not a number, and values that can never have been."""

from __future__ import annotations

import numpy as np

from overarm.recordings.channels import CHANNELS
from overarm.recordings.mend.parts import LATEST_S, Mask, changed, counted, kept, places
from overarm.recordings.recording import Channel, Numbers, Recording, Repair

LARGEST = 1e12  # in no unit is anything so large
ROUNDING = 1e-3  # of the range, by which a value may be outside for rounding alone


def leave_out_not_finite(recording: Recording) -> Recording:
    """Leave out the samples whose time or value is not a number."""
    times: dict[int, Mask] = {}
    channels, repairs = {}, []
    for name, channel in recording.channels.items():
        key = id(channel.t_s)
        if key not in times:
            times[key] = np.isfinite(channel.t_s)
        keep = np.isfinite(channel.values) & times[key]
        if not keep.all():
            said = f"{counted(int((~keep).sum()), 'sample')} of {name} without a number left out"
            channels[name] = kept(channel, keep, "samples that are no number left out")
            repairs.append(_left_out("not finite", name, channel, keep, f"{said}."))
    return changed(recording, channels, repairs)


def leave_out_beyond_range(recording: Recording) -> Recording:
    """Leave out the values outside the range of their channel."""
    channels, repairs = {}, []
    for name, channel in recording.channels.items():
        kind = CHANNELS.get(name)
        if kind is None or not channel.values.size:
            continue
        slack = ROUNDING * (kind.high - kind.low)
        if channel.values.min() >= kind.low - slack and channel.values.max() <= kind.high + slack:
            continue
        keep = (channel.values >= kind.low - slack) & (channel.values <= kind.high + slack)
        said = (
            f"{counted(int((~keep).sum()), 'value')} of {name} left out: outside {kind.low:.5g} to "
            f"{kind.high:.5g}, where no small aeroplane has ever been."
        )
        channels[name] = kept(channel, keep, "values beyond its range left out")
        repairs.append(_left_out("beyond range", name, channel, keep, said))
    return changed(recording, channels, repairs)


def leave_out_absurd(recording: Recording) -> Recording:
    """Leave out the samples whose time or value is so large that it is one in no unit."""
    channels, repairs = {}, []
    for name, channel in recording.channels.items():
        keep = (np.abs(channel.t_s) <= LATEST_S) & (np.abs(channel.values) <= LARGEST)
        if not keep.all():
            said = f"{counted(int((~keep).sum()), 'sample')} of {name} left out: no unit makes them real."
            channels[name] = kept(channel, keep, "samples of impossible size left out")
            repairs.append(_left_out("beyond range", name, channel, keep, said))
    return changed(recording, channels, repairs)


def _left_out(defect: str, name: str, channel: Channel, keep: Mask, said: str) -> Repair:
    times = channel.t_s[~keep]
    usable: Numbers = times[np.isfinite(times) & (np.abs(times) <= LATEST_S)]
    place = f" First {places(usable)}." if usable.size else ""
    ends = (float(usable.min()), float(usable.max())) if usable.size else (0.0, 0.0)
    return Repair(defect, name, int((~keep).sum()), said + place, "watch" if keep.any() else "stop", *ends)
