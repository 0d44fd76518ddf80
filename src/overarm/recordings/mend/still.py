"""What the forces say of a recording as a whole: its quiet parts, and the lobes where it is thrown."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from overarm.recordings.channels import FORCES
from overarm.recordings.mend.parts import Mask, runs
from overarm.recordings.recording import Channel, Numbers, Recording

BLOCK_S = 0.5
FEWEST_IN_BLOCK = 3
FEWEST_BLOCKS = 4
QUIET_SHARE = 10.0  # percent of the blocks that are taken for quiet at least
QUIET_FACTOR = 1.5  # of the spread of those, up to which others are taken as well
QUIET_OF_NORM = 0.02  # a spread below this share of the force is quiet in any case
LONGEST_STEP_S = 0.2

SMOOTH_S = 0.06
LOBE_ABOVE_MPS2 = 3.0
LOBE_PEAK_MPS2 = 8.0
LOBE_SPEED_MPS = 4.5  # a shake of 0.1 m at 2.5 Hz gains 3.1 m/s, the weakest throw 5
LOBE_LONGEST_S = 2.5


class Blocks(NamedTuple):
    """Half seconds of force: when they begin [s] (n,), their mean (n, 3) and their spread (n,) [m/s2]."""

    t_s: Numbers
    mean_mps2: Numbers
    spread_mps2: Numbers


class Lobe(NamedTuple):
    """A stretch where a force stands above rest: its ends [s], and the speed gained along each axis [m/s]."""

    from_s: float
    to_s: float
    gained_mps: Numbers


def together(recording: Recording, names: tuple[str, ...]) -> tuple[Numbers, Numbers] | None:
    """Return the times (n,) that all these channels have, and their values (n, channels); None if few are."""
    channels = [recording.channel(name) for name in names]
    found = [channel for channel in channels if channel is not None]
    return shared(tuple(found)) if len(found) == len(names) else None


def shared(found: tuple[Channel, ...]) -> tuple[Numbers, Numbers] | None:
    """Return the times (n,) that all channels have, and their values (n, channels); None if few are."""
    t_s = found[0].t_s
    same = [c.t_s is t_s or (c.t_s.size == t_s.size and np.array_equal(c.t_s, t_s)) for c in found]
    if all(same):
        return t_s, np.column_stack([channel.values for channel in found])
    for channel in found[1:]:
        t_s = t_s[np.isin(t_s, channel.t_s, assume_unique=True)]
    if 2 * t_s.size < max(channel.t_s.size for channel in found):
        return None
    return t_s, np.column_stack([c.values[np.searchsorted(c.t_s, t_s)] for c in found])


def blocks_of(t_s: Numbers, values: Numbers) -> Blocks:
    """Return means and spreads of half seconds of three samples or more; ``values`` has shape (n, axes)."""
    number = np.floor((t_s - t_s[0]) / BLOCK_S)
    first = np.flatnonzero(np.diff(number, prepend=-1.0))
    count = np.diff(np.append(first, t_s.size))
    enough = count >= FEWEST_IN_BLOCK
    means, square = [], np.zeros(first.size)
    for column in np.ascontiguousarray(values.T):
        usual = column.mean()
        off = column - usual
        mean = np.add.reduceat(off, first) / count
        square += np.maximum(np.add.reduceat(off * off, first) / count - mean * mean, 0.0)
        means.append(mean + usual)
    return Blocks(t_s[first][enough], np.column_stack(means)[enough], np.sqrt(square[enough]))


def force_blocks(recording: Recording) -> Blocks | None:
    """Return the blocks of the three forces; None if one is missing or there are fewer than four blocks."""
    forces = [recording.channel(name) for name in FORCES]
    found = [channel for channel in forces if channel is not None]
    return _blocks(*found) if len(found) == len(FORCES) else None


@lru_cache(maxsize=2)  # four steps ask for the same
def _blocks(forward: Channel, right: Channel, down: Channel) -> Blocks | None:
    found = shared((forward, right, down))
    if found is None or found[0].size < FEWEST_IN_BLOCK:
        return None
    blocks = blocks_of(*found)
    return blocks if blocks.t_s.size >= FEWEST_BLOCKS else None


def forget() -> None:
    """Let go of the channels that were looked at last."""
    _blocks.cache_clear()


def quiet_blocks(recording: Recording) -> Blocks | None:
    """Return the quietest half seconds, at least a tenth of all, in whatever unit the forces are."""
    blocks = force_blocks(recording)
    if blocks is None:
        return None
    norm = float(np.median(np.sqrt((blocks.mean_mps2**2).sum(axis=1))))
    limit = max(QUIET_FACTOR * float(np.percentile(blocks.spread_mps2, QUIET_SHARE)), QUIET_OF_NORM * norm)
    quiet = blocks.spread_mps2 <= limit
    return Blocks(blocks.t_s[quiet], blocks.mean_mps2[quiet], blocks.spread_mps2[quiet])


def rest_norm(quiet: Blocks) -> float:
    """Return the usual size of the force in quiet blocks, in the unit of the forces."""
    return float(np.median(np.sqrt((quiet.mean_mps2**2).sum(axis=1))))


def force_peak(recording: Recording) -> float:
    """Return the largest force that lasts for a few hundredths of a second, in its unit; 0 without forces."""
    found = together(recording, FORCES)
    if found is None or not found[0].size:
        return 0.0
    return float(smoothed(found[0], np.sqrt((found[1] ** 2).sum(axis=1)), SMOOTH_S).max())


def smoothed(t_s: Numbers, values: Numbers, over_s: float) -> Numbers:
    """Return the running mean of values (n,) over a time [s], by the usual number of samples in it."""
    step_s = float(np.median(np.diff(t_s))) if t_s.size > 1 else over_s
    width = max(1, round(over_s / step_s)) | 1
    if width == 1 or width >= t_s.size:
        return values
    padded = np.pad(values, width // 2, mode="edge")
    total = np.concatenate(([0.0], np.cumsum(padded)))
    return (total[width:] - total[:-width]) / width


def lobes(t_s: Numbers, above_rest: Numbers) -> list[Lobe]:
    """Return the lobes along any axis either way in which a speed of 4.5 m/s is gained, by their times.

    ``above_rest`` (n, axes): the forces less what they are at rest [m/s2].
    """
    steps = np.diff(t_s)
    whole = np.append(steps, 0.0)
    whole[whole > LONGEST_STEP_S] = 0.0  # nothing is gained across a gap
    found = []
    for axis in range(above_rest.shape[1]):
        smooth = smoothed(t_s, above_rest[:, axis], SMOOTH_S)
        for sign in (1.0, -1.0):
            found += _lobes_of(t_s, sign * smooth, whole, above_rest)
    return sorted(found, key=lambda lobe: lobe.from_s)


def _lobes_of(t_s: Numbers, one: Numbers, step_s: Numbers, above_rest: Numbers) -> list[Lobe]:
    above: Mask = one > LOBE_ABOVE_MPS2
    starts, stops = runs(above)
    if not starts.size:
        return []
    gained = np.concatenate(([0.0], np.cumsum(one * step_s)))
    strong = gained[stops] - gained[starts] >= LOBE_SPEED_MPS
    found = []
    for start, stop in zip(starts[strong], stops[strong], strict=True):
        lasts_s = t_s[stop - 1] - t_s[start]
        if lasts_s <= LOBE_LONGEST_S and one[start:stop].max() >= LOBE_PEAK_MPS2:
            speeds = (above_rest[start:stop] * step_s[start:stop, None]).sum(axis=0)
            found.append(Lobe(float(t_s[start]), float(t_s[stop - 1]), speeds))
    return found
