"""A recording: channels in SI units over time, with everything that was done to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.odds.finding import Word

Numbers = NDArray[np.float64]
Label = Literal["", "carry", "shake", "throw", "other"]


@dataclass(frozen=True, slots=True, eq=False)
class Channel:
    """One channel: times [s] from the start of the recording, and values in the unit of its name.

    Both arrays have shape (n,). As read, times may jump; cleaned, they rise strictly. A sample that is
    missing is left out, not NaN.
    """

    t_s: Numbers
    values: Numbers
    source: str  # the column, its unit and what was done to it, in words
    _rate_hz: list[float] = field(default_factory=list, init=False, repr=False)  # once it was asked for

    @property
    def rate_hz(self) -> float:
        """Return the usual rate of the samples: one over the median of the steps; 0 for fewer than two."""
        if not self._rate_hz:
            step = float(np.median(np.diff(self.t_s))) if self.t_s.size > 1 else 0.0
            self._rate_hz.append(1.0 / step if step > 0.0 else 0.0)
        return self._rate_hz[0]


class Repair(NamedTuple):
    """One kind of defect of one channel: what it was, how often, and what was done about it."""

    defect: str  # a name from `overarm.recordings.defects.DEFECTS`
    channel: str  # "" for the whole recording
    times: int  # samples or places, as the sentence says
    sentence: str
    word: Word  # good: mended without loss; watch: mended or left, with a loss; stop: cannot be used
    from_s: float
    to_s: float


class Note(NamedTuple):
    """A text that the recorder wrote at a time."""

    t_s: float
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """What a file holds, in our channels (`overarm.recordings.channels.CHANNELS`)."""

    name: str  # of the file, without its folder
    sha256: str  # of the bytes of the file
    form: str  # table, parquet, phone, IGC, GPX, NMEA
    channels: Mapping[str, Channel]
    start_utc: str = ""  # ISO 8601, of t = 0; "" if it is not known
    notes: tuple[Note, ...] = ()
    repairs: tuple[Repair, ...] = ()
    breaks_s: tuple[float, ...] = ()  # nothing is integrated or filtered across these times
    gravity_felt: bool = True  # False: the forces came with gravity taken off
    unused: tuple[str, ...] = ()  # columns that are tied to nothing
    label: Label = ""
    settings: Mapping[str, str] = field(default_factory=dict)  # what the recorder says of itself

    def channel(self, name: str) -> Channel | None:
        """Return a channel, or None if the recording has none of this name with a sample in it."""
        found = self.channels.get(name)
        return found if found is not None and found.t_s.size else None

    @property
    def from_s(self) -> float:
        """Return the time of the first sample of all channels [s]; 0 for an empty recording."""
        return min((float(c.t_s[0]) for c in self.channels.values() if c.t_s.size), default=0.0)

    @property
    def to_s(self) -> float:
        """Return the time of the last sample of all channels [s]; 0 for an empty recording."""
        return max((float(c.t_s[-1]) for c in self.channels.values() if c.t_s.size), default=0.0)
