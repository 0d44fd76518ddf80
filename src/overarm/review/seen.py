"""A launch and what was recorded of it, for everything that is said about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from overarm.recordings.estimates.lowpoint import release_height
from overarm.recordings.estimates.series import Series, part
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate, Event, LaunchRecord

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

BEFORE_S = (1.6, 0.4)  # the height is zeroed over this time before the arm moves
SHUT = 0.03  # of the throttle: below it the motor is off
IDLE_A = 1.0  # of current: with less of a change nothing was started


@dataclass(frozen=True, eq=False)
class Seen:
    """One launch: its part of the recording, its events and its estimates."""

    taken: Taken
    estimates: dict[str, Estimate]

    @property
    def launch(self) -> LaunchRecord:
        """Return the launch with its events."""
        return self.taken.launch

    @property
    def setup(self) -> Setup | None:
        """Return the setup; None without one."""
        return self.taken.setup

    @property
    def derived(self) -> Derived | None:
        """Return the derived figures of the setup; None without one."""
        return self.taken.derived

    def event(self, name: str) -> Event | None:
        """Return an event; None if it was not seen."""
        return self.launch.events.get(name)

    def value(self, name: str) -> float | None:
        """Return the value of an estimate; None if it could not be told."""
        found = self.estimates.get(name)
        return None if found is None else found.value

    def error(self, name: str) -> float:
        """Return one standard error of an estimate; 0 without one."""
        found = self.estimates.get(name)
        return 0.0 if found is None else found.error

    @property
    def style(self) -> str:
        """Return the launch style; "" without a setup."""
        return "" if self.setup is None else self.setup.style

    @property
    def gesture_s(self) -> float | None:
        """Return when the person, or the line, began to move the model [s]; None if that was not seen."""
        names = (
            ("shake", "wind_up", "stroke") if self.style in ("", "spin-in-hand") else ("wind_up", "stroke")
        )
        found = [event.t_s for name in names if (event := self.event(name)) is not None]
        return min(found, default=None)

    @property
    def release_s(self) -> float | None:
        """Return the release [s]; None if there was none."""
        event = self.event("release")
        return None if event is None else event.t_s

    @property
    def end_s(self) -> float:
        """Return when the launch is over [s]: handed over, on the ground, or the end of the record."""
        found = [e.t_s for n in ("handover", "ground") if (e := self.event(n)) is not None]
        return min([self.launch.to_s, *found])

    def flown(self, name: str) -> Series | None:
        """Return a channel from release to the end of the launch; None without a sample there."""
        series, release = self.taken.series(name), self.release_s
        if series is None or release is None:
            return None
        found = part(series, release, self.end_s)
        return found if found.t_s.size else None

    @cached_property
    def height(self) -> Series | None:
        """Return the height over the ground [m], by air pressure, else by satellite; None without either.

        It is zeroed before the throw, at the height of release of the cards, or at 1.8 m.
        """
        release = self.release_s
        if release is None:
            return None
        begin = self.gesture_s if self.gesture_s is not None else release
        for name in ("baro_height_m", "satellite_height_m"):
            series = self.taken.series(name)
            if series is None:
                continue
            before = part(series, begin - BEFORE_S[0], begin - BEFORE_S[1])
            if not before.t_s.size:
                before = part(series, release - 1.0, release)
            if before.t_s.size:
                zero = float(np.mean(before.values)) - self.zero_m
                return Series(series.t_s, series.values - zero)
        return None

    @property
    def zero_m(self) -> float:
        """Return the height over the ground at which the model was held before the throw [m]."""
        if self.setup is not None and self.setup.line is not None:
            return self.setup.line.ramp_height_m.value
        return release_height(self.taken).value

    def height_at(self, t_s: float) -> float | None:
        """Return the height over the ground near a time [m]; None if it is not known."""
        if self.height is None:
            return None
        near = part(self.height, t_s - 0.4, t_s + 0.1)
        return float(np.median(near.values)) if near.t_s.size else None

    @cached_property
    def off(self) -> bool:
        """Return whether throttle, and current where it is recorded, say that the motor stayed off."""
        throttle, current = self.flown("throttle"), self.flown("current_a")
        if throttle is None or float(np.max(throttle.values)) > SHUT:
            return False
        return current is None or float(np.ptp(current.values)) < IDLE_A

    @property
    def started(self) -> bool | None:
        """Return whether the motor was asked to start in this launch; None if nothing tells.

        Vibration alone does not count against a throttle that stayed shut.
        """
        if self.event("first_throttle") is not None:
            return True
        if self.event("first_spin") is not None:
            return not self.off
        named = ("throttle", "propeller_radps", "current_a")
        return False if any(self.taken.series(name) is not None for name in named) else None
