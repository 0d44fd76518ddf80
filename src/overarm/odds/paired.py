"""The difference of two shares that were flown with the same random numbers, with its own interval.

Launch ``i`` of both campaigns has the same person, day, aeroplane, throw and gusts; only what was changed
differs. So most launches end alike and the difference is known far better than either share (common random
numbers: J. P. C. Kleijnen (1974), Statistical Techniques in Simulation, part I). Worlds are the independent
units: the difference of each world is one observation.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.odds.intervals import LEVEL, Interval, Worlds, clustered, exact

# With fewer worlds than this that do anything but the commonest thing, their spread cannot be seen in them.
FEWEST_UNLIKE_WORLDS = 30


class Difference(NamedTuple):
    """Share of clean launches after a change less that before, -1 to 1, with its interval."""

    share: float
    low: float
    high: float
    won: int  # launches that the change turned clean
    lost: int  # launches that it spoiled
    level: float = LEVEL

    @property
    def clear(self) -> bool:
        """Return True if the interval leaves out zero."""
        return self.low > 0.0 or self.high < 0.0

    @property
    def width(self) -> float:
        """Return the full width of the interval."""
        return self.high - self.low


def paired(
    before: NDArray[np.bool_], after: NDArray[np.bool_], world: NDArray[np.integer], level: float = LEVEL
) -> Difference:
    """Return the difference of the shares of two campaigns of the same launches.

    Parameters: which launches were clean before and after the change, and the world of each. Equation:
    ``sum d / sum n -+ t s``, the ratio estimate over worlds with d the difference of counts and n the size
    of a world, ``s^2 = m/((m-1) (sum n)^2) sum (d_i - n_i share)^2``. Where fewer than 30 worlds differ from
    the commonest difference the spread cannot be seen; the ends are then those of `from_rare` if they lie
    further out. With no launch that changed its outcome only that bound is left: the rule of three.
    Source: L. Kish (1965), Survey Sampling, 6.4, ratio means of paired clusters.
    Raises ValueError for campaigns of different size or without launches.
    """
    if not len(before) or not len(before) == len(after) == len(world):
        raise ValueError("two campaigns of the same launches are wanted, of one launch at least")
    turned = _turned(before, after, world)
    won, lost = turned.won, turned.lost
    low, high = _by_spread(won - lost, turned.launches, turned.share, level)
    if turned.unlike < FEWEST_UNLIKE_WORLDS:
        rare = from_rare(Worlds(won, turned.launches), Worlds(lost, turned.launches), level)
        low, high = min(low, rare.low), max(high, rare.high)
    return Difference(turned.share, max(-1.0, low), min(1.0, high), int(won.sum()), int(lost.sum()), level)


def few_unlike_worlds(
    before: NDArray[np.bool_], after: NDArray[np.bool_], world: NDArray[np.integer], level: float = LEVEL
) -> int | None:
    """Return how many worlds the interval of `paired` comes from where they are too few to see their spread.

    Parameters as there. None where the spread of the worlds gives the interval, as it does with 30 worlds
    that differ from the commonest difference, and where it lies further out on both sides.
    """
    turned = _turned(before, after, world)
    if turned.unlike >= FEWEST_UNLIKE_WORLDS:
        return None
    low, high = _by_spread(turned.won - turned.lost, turned.launches, turned.share, level)
    rare = from_rare(Worlds(turned.won, turned.launches), Worlds(turned.lost, turned.launches), level)
    return turned.unlike if rare.low < low or rare.high > high else None


class _Turned(NamedTuple):
    """Launches of each world that turned clean and that were spoiled, shape (n_world,)."""

    won: NDArray[np.float64]
    lost: NDArray[np.float64]
    launches: NDArray[np.float64]

    @property
    def share(self) -> float:
        return float((self.won - self.lost).sum() / self.launches.sum())

    @property
    def unlike(self) -> int:
        """Return how many worlds differ from the commonest difference."""
        _, kinds = np.unique((self.won - self.lost) / self.launches, return_counts=True)
        return len(self.launches) - int(kinds.max())


def _turned(before: NDArray[np.bool_], after: NDArray[np.bool_], world: NDArray[np.integer]) -> _Turned:
    _, place = np.unique(world, return_inverse=True)
    won = np.bincount(place, weights=(after & ~before).astype(np.float64)).astype(np.float64)
    lost = np.bincount(place, weights=(before & ~after).astype(np.float64)).astype(np.float64)
    return _Turned(won, lost, np.bincount(place).astype(np.float64))


def _by_spread(
    moved: NDArray[np.float64], launches: NDArray[np.float64], share: float, level: float
) -> tuple[float, float]:
    """Return the interval by the spread of the worlds; as wide as can be with a single one."""
    from scipy.special import stdtrit

    count = len(launches)
    if count < 2:
        return -1.0, 1.0
    residual = moved - launches * share
    variance = count / ((count - 1.0) * float(launches.sum()) ** 2) * float(residual @ residual)
    half = float(stdtrit(count - 1, 0.5 + 0.5 * level)) * math.sqrt(variance)
    return share - half, share + half


def _rare_share(worlds: Worlds, level: float) -> Interval:
    """Return the interval of a share that may be nothing: each world then counts once."""
    if worlds.clean.any():
        return clustered(worlds, level)
    return exact(0.0, float(len(worlds.launches)), level)


def from_rare(won: Worlds, lost: Worlds, level: float = LEVEL) -> Interval:
    """Return the interval of the difference of two rare shares of the same launches.

    ``won`` and ``lost``: launches of each world that turned clean, and that were spoiled (as `Worlds.clean`).
    Equation, with an interval (l, u) around each share p: ``d - sqrt((p1 - l1)^2 + (u2 - p2)^2)`` and
    ``d + sqrt((u1 - p1)^2 + (p2 - l2)^2)``. Source: G. Y. Zou & A. Donner (2008), Statistics in Medicine
    27, 1693; R. G. Newcombe (1998), Statistics in Medicine 17, 2635. With neither it is the exact bound
    -+(1 - 0.025^(1/m)) of m worlds, about -+3.7/m: the rule of three, on two sides
    (J. A. Hanley & A. Lippman-Hand (1983), JAMA 249, 1743).
    """
    up, down = _rare_share(won, level), _rare_share(lost, level)
    share = up.share - down.share
    if up.share == down.share == 0.0:
        return Interval(0.0, -down.high, up.high, level)
    below = math.hypot(up.share - up.low, down.high - down.share)
    above = math.hypot(up.high - up.share, down.share - down.low)
    return Interval(share, share - below, share + above, level)
