"""One value over and over while the rest of the recording moves: left out."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.mend.parts import Mask, changed, counted, kept, runs
from overarm.recordings.recording import Channel, Numbers, Recording, Repair

SHAKES_MPS2 = 0.5  # spread of a half second in a hand or in flight
TURNS_RADPS = 0.1
MOVES_MPS = 3.0
POWERED = 0.3  # throttle
FEWEST = 5


class Watch(NamedTuple):
    """How long one value may stand [s] and what must go on for as long; whether nothing is a real value."""

    longest_s: float
    meanwhile: str  # shaking, moving, powered
    nothing_is_real: bool = False


WATCHED: dict[str, Watch] = {
    **dict.fromkeys((*FORCES, *RATES, "pitch_rad", "bank_rad"), Watch(3.0, "shaking")),
    "heading_rad": Watch(5.0, "shaking"),
    "baro_height_m": Watch(5.0, "moving"),
    "satellite_height_m": Watch(10.0, "moving"),
    "latitude_rad": Watch(5.0, "moving"),
    "longitude_rad": Watch(5.0, "moving"),
    "airspeed_mps": Watch(5.0, "moving"),
    "ground_speed_mps": Watch(5.0, "shaking", nothing_is_real=True),
    "volts_v": Watch(10.0, "powered"),
    "current_a": Watch(10.0, "powered"),
    "propeller_radps": Watch(10.0, "powered"),
}


def leave_out_stuck(recording: Recording) -> Recording:
    """Leave out the samples of sensors that stand still while others move."""
    channels, repairs = {}, []
    for name, watch in WATCHED.items():
        channel = recording.channel(name)
        if channel is None or channel.t_s.size < FEWEST:
            continue
        spans = _long_runs(channel, watch)
        stuck = [(a, b) for a, b in spans if _goes_on(recording, name, channel.t_s[a], channel.t_s[b])]
        if not stuck:
            continue
        keep = np.ones(channel.t_s.size, dtype=np.bool_)
        for first, last in stuck:
            keep[first : last + 1] = False
        channels[name] = kept(channel, keep, "samples of a stuck sensor left out")
        repairs.append(_told(name, channel, keep, stuck))
    return changed(recording, channels, repairs)


def _long_runs(channel: Channel, watch: Watch) -> list[tuple[int, int]]:
    """Return the first and last sample of every run of one value that lasts too long."""
    first, last = runs(np.diff(channel.values) == 0.0)  # both belong to the run
    long = (channel.t_s[last] - channel.t_s[first] >= watch.longest_s) & (last - first >= FEWEST - 1)
    if watch.nothing_is_real:
        long &= channel.values[first] != 0.0
    return list(zip(first[long].tolist(), last[long].tolist(), strict=True))


def _goes_on(recording: Recording, name: str, from_s: float, to_s: float) -> bool:
    longest_s, meanwhile, _ = WATCHED[name]
    if meanwhile == "shaking":
        busy = [_spread(recording, other, from_s, to_s, SHAKES_MPS2) for other in FORCES if other != name]
        busy += [_spread(recording, other, from_s, to_s, TURNS_RADPS) for other in RATES if other != name]
        return max(busy, default=0.0) * (to_s - from_s) >= longest_s
    if meanwhile == "powered":
        powered = _above(recording, "throttle", from_s, to_s, POWERED) * (to_s - from_s)
        return powered >= longest_s and _swings(recording, from_s, to_s)
    speeds = [other for other in ("ground_speed_mps", "airspeed_mps") if other != name]
    above = max(_above(recording, other, from_s, to_s, MOVES_MPS) for other in speeds)
    return above * (to_s - from_s) >= longest_s


def _part(recording: Recording, name: str, from_s: float, to_s: float) -> tuple[Numbers, Numbers]:
    channel = recording.channel(name)
    if channel is None:
        return np.empty(0), np.empty(0)
    first, last = np.searchsorted(channel.t_s, (from_s, to_s))
    return channel.t_s[first:last], channel.values[first:last]


def _spread(recording: Recording, name: str, from_s: float, to_s: float, least: float) -> float:
    """Return the share of the half seconds in which a channel has at least this spread."""
    t_s, values = _part(recording, name, from_s, to_s)
    if t_s.size < FEWEST:
        return 0.0
    edges = np.flatnonzero(np.diff(np.floor((t_s - from_s) / 0.5), prepend=-1.0))
    count = np.diff(np.append(edges, t_s.size))
    off = values - values.mean()
    mean = np.add.reduceat(off, edges) / count
    square = np.add.reduceat(off * off, edges) / count
    return float((square - mean * mean >= least * least).mean())


def _above(recording: Recording, name: str, from_s: float, to_s: float, least: float) -> float:
    """Return the share of the samples above a value."""
    _, values = _part(recording, name, from_s, to_s)
    return float((values > least).mean()) if values.size else 0.0


def _swings(recording: Recording, from_s: float, to_s: float) -> bool:
    _, values = _part(recording, "throttle", from_s, to_s)
    return values.size > 0 and float(np.ptp(values)) > 0.1


def _told(name: str, channel: Channel, keep: Mask, stuck: list[tuple[int, int]]) -> Repair:
    where = ", ".join(f"{channel.t_s[a]:.1f} to {channel.t_s[b]:.1f} s" for a, b in stuck[:3])
    value = float(channel.values[stuck[0][0]])
    lost = ~keep
    sentence = (
        f"{name} stands at {value:.4g} while the rest moves, from {where}"
        f"{f' and {len(stuck) - 3} more' if len(stuck) > 3 else ''}: "
        f"{counted(int(lost.sum()), 'sample')} left out{'' if keep.any() else ', and so all of it'}."
    )
    ends = float(channel.t_s[stuck[0][0]]), float(channel.t_s[stuck[-1][1]])
    return Repair("stuck", name, int(lost.sum()), sentence, "watch" if keep.any() else "stop", *ends)
