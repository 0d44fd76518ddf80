"""A launch taken out of its recording: the channels around it, its events, and what the setup says."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.estimates.series import Series, at
from overarm.recordings.launch import Event, LaunchRecord
from overarm.recordings.recording import Channel, Numbers, Recording

if TYPE_CHECKING:
    from overarm.describe.derived import Derived
    from overarm.describe.setup import Setup

# Rest may be looked for this long before the launch, and the flight goes on this long after it [s].
LEAD_S = 120.0
TAIL_S = 60.0
# Of a board that nobody described.
USUAL_LEVEL_ERROR_RAD = math.radians(1.5)
USUAL_BIAS_MPS2 = 0.3
SIDE_BIAS_MPS2 = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """One launch of a recording."""

    recording: Recording  # cut to the launch and what lies around it
    launch: LaunchRecord
    setup: Setup | None
    derived: Derived | None

    def series(self, name: str) -> Series | None:
        """Return a channel's samples; None if there is none."""
        found = self.recording.channel(name)
        return None if found is None else Series(found.t_s, found.values)

    def event(self, name: str) -> Event | None:
        """Return an event of the launch; None if it was not seen."""
        return self.launch.events.get(name)

    @property
    def level_error_rad(self) -> float:
        """Return how far the believed horizon may be off in pitch [rad], one sd.

        An attitude is levelled by accelerometers, so their bias tilts it too, by ``b/g``.
        """
        if self.setup is None:
            return math.hypot(USUAL_LEVEL_ERROR_RAD, USUAL_BIAS_MPS2 / GRAVITY_MPS2)
        board = self.setup.airframe.board
        return math.hypot(board.level_error_rad.value, board.bias_mps2.spread / GRAVITY_MPS2)

    @property
    def bank_error_rad(self) -> float:
        """Return how far the believed horizon may be off in bank [rad], one sd."""
        level = USUAL_LEVEL_ERROR_RAD
        if self.setup is not None:
            level = self.setup.airframe.board.bank_error_rad.value
        return math.hypot(level, SIDE_BIAS_MPS2 / GRAVITY_MPS2)

    def attitude(self, t_s: Numbers) -> Numbers | None:
        """Return pitch and bank as recorded, at other times, shape (2, n); None without pitch."""
        pitch, bank = self.series("pitch_rad"), self.series("bank_rad")
        if pitch is None:
            return None
        return np.stack([at(pitch, t_s), np.zeros(t_s.size) if bank is None else at(bank, t_s)])

    @property
    def tilt_rad(self) -> float:
        """Return the tilt of the board that the setup gives [rad], nose-up; 0 without a setup."""
        return 0.0 if self.setup is None else self.setup.airframe.board.tilt_rad.value

    def rates(self, t_s: Numbers) -> Numbers | None:
        """Return p, q, r [rad/s] of the body at other times, shape (3, n); None unless all are there."""
        found = [self.series(name) for name in RATES]
        if any(one is None for one in found):
            return None
        return levelled(np.stack([at(one, t_s) for one in found if one is not None]), self.tilt_rad)

    def forces(self) -> tuple[Numbers, Numbers] | None:
        """Return (times (n,), felt forces (3, n) [m/s2]) with gravity; None without a forward force.

        They are turned by the tilt of the board that the setup gives. Where sideways or downward forces are
        missing, those of a level body at rest stand there; where gravity was taken off, it is put back from
        the recorded attitude.
        """
        forward = self.series(FORCES[0])
        if forward is None:
            return None
        t = forward.t_s
        pose = self.attitude(t)
        rest = gravity_felt(pose if pose is not None else np.zeros((2, t.size)))
        if not self.recording.gravity_felt and pose is None:
            return None
        rows = []
        for k, name in enumerate(FORCES):
            found = self.series(name)
            if found is None:
                rows.append(rest[k])
                continue
            values = at(found, t)
            rows.append(values if self.recording.gravity_felt else values + rest[k])
        felt = np.stack(rows)
        return t, felt if self.series(FORCES[2]) is None else levelled(felt, self.tilt_rad)


def levelled(read: Numbers, tilt_rad: float) -> Numbers:
    """Return a vector (3, n) of a board tilted nose-up by an angle, along the axes of the body; any unit.

    Equation: ``x = x' cos(e) + z' sin(e)``, ``z = z' cos(e) - x' sin(e)``.
    """
    cosine, sine = math.cos(tilt_rad), math.sin(tilt_rad)
    return np.stack([read[0] * cosine + read[2] * sine, read[1], read[2] * cosine - read[0] * sine])


def gravity_felt(pose: Numbers) -> Numbers:
    """Return the specific force [m/s2] of a body at rest at (pitch, bank) [rad], shapes (2, n) to (3, n).

    Equation: ``(g sin(pitch), -g cos(pitch) sin(bank), -g cos(pitch) cos(bank))``.
    """
    pitch, bank = pose
    level = GRAVITY_MPS2 * np.cos(pitch)
    return np.stack([GRAVITY_MPS2 * np.sin(pitch), -level * np.sin(bank), -level * np.cos(bank)])


def cut(recording: Recording, from_s: float, to_s: float) -> Recording:
    """Return the part of a recording from a time to a time [s]."""
    channels = {name: _cut(channel, from_s, to_s) for name, channel in recording.channels.items()}
    return dataclasses.replace(recording, channels=channels)


def _cut(channel: Channel, from_s: float, to_s: float) -> Channel:
    first = int(np.searchsorted(channel.t_s, from_s, side="left"))
    last = int(np.searchsorted(channel.t_s, to_s, side="right"))
    return Channel(channel.t_s[first:last], channel.values[first:last], channel.source)


def take(
    recording: Recording, launch: LaunchRecord, setup: Setup | None = None, derived: Derived | None = None
) -> Taken:
    """Return a launch with the part of its recording that its estimates need.

    Nothing before the last break ahead of the launch is in it, nor after the first break behind it.
    """
    before = [t for t in recording.breaks_s if t <= launch.from_s]
    after = [t for t in recording.breaks_s if t > launch.to_s]
    from_s = max([launch.from_s - LEAD_S, *before])
    to_s = min([launch.to_s + TAIL_S, *(t - 1e-9 for t in after)])
    return Taken(cut(recording, from_s, to_s), launch, setup, derived)
