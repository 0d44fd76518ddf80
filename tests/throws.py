"""Plain recordings of throws, put together by hand from textbook motions: no code of the project makes them.

A stroke is a half-sine of acceleration, a braked one is followed by its mirror image, steps are a sine of
1.9 Hz, a flight is a glide or a climb at even speed. Everything is level but what is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.recording import Channel, Recording

Numbers = NDArray[np.float64]
G = 9.80665


@dataclass
class Story:
    """What happens, part by part: accelerations, height and speed over time."""

    rate_hz: float = 100.0
    seed: int = 1
    noise_mps2: float = 0.1
    ahead: list[Numbers] = field(default_factory=list)
    down: list[Numbers] = field(default_factory=list)
    height: list[Numbers] = field(default_factory=list)
    speed: list[Numbers] = field(default_factory=list)
    throttle: list[Numbers] = field(default_factory=list)
    now_s: float = 0.0
    marks: dict[str, float] = field(default_factory=dict)

    def part(
        self,
        takes_s: float,
        *,
        ahead: Numbers | float = 0.0,
        down: Numbers | float = -G,
        height: Numbers | float = 1.8,
        speed: Numbers | float = 0.0,
        throttle: Numbers | float = 0.0,
    ) -> Story:
        """Add a part; an array must have the times of `times`."""
        size = self.times(takes_s).size
        for kept, value in (
            (self.ahead, ahead),
            (self.down, down),
            (self.height, height),
            (self.speed, speed),
            (self.throttle, throttle),
        ):
            kept.append(np.broadcast_to(np.asarray(value, float), (size,)).copy())
        self.now_s += size / self.rate_hz
        return self

    def times(self, takes_s: float) -> Numbers:
        """Return times from the start of a part."""
        return np.arange(max(1, round(takes_s * self.rate_hz))) / self.rate_hz

    def held(self, takes_s: float = 3.0) -> Story:
        """Hold it still, with a tremor."""
        t_s = self.times(takes_s)
        return self.part(takes_s, ahead=0.15 * np.sin(2 * math.pi * 7.0 * t_s))

    def walked(self, takes_s: float = 8.0, step_mps2: float = 2.0) -> Story:
        """Carry it in steps of 1.9 a second (common practice, no source)."""
        t_s = self.times(takes_s)
        beat = 2 * math.pi * 1.9 * t_s
        return self.part(
            takes_s, ahead=step_mps2 * np.sin(beat), down=-G + step_mps2 * np.sin(beat + 1.0), speed=1.2
        )

    def shaken(self, cycles: int = 3, hz: float = 2.5, size_m: float = 0.08) -> Story:
        """Shake it: x = -X (1 - cos(2 pi f t))."""
        self.marks.setdefault("shake", self.now_s)
        t_s = self.times(cycles / hz)
        beat = 2 * math.pi * hz
        return self.part(cycles / hz, ahead=-size_m * beat**2 * np.cos(beat * t_s))

    def wound_up(self, back_m: float = 0.4, takes_s: float = 0.55) -> Story:
        """Draw the arm back: x = -(L/2)(1 - cos(pi t/T))."""
        self.marks["wind_up"] = self.now_s
        t_s = self.times(takes_s)
        beat = math.pi / takes_s
        return self.part(takes_s, ahead=-0.5 * back_m * beat**2 * np.cos(beat * t_s))

    def stroke(self, speed_mps: float = 8.4, takes_s: float = 0.3, throttle: float = 0.0) -> Story:
        """Swing it forward: a = (pi v/2T) sin(pi t/T)."""
        self.marks["stroke"] = self.now_s
        t_s = self.times(takes_s)
        swing = 0.5 * math.pi * speed_mps / takes_s * np.sin(math.pi * t_s / takes_s)
        speed = 0.5 * speed_mps * (1.0 - np.cos(math.pi * t_s / takes_s))
        self.part(takes_s, ahead=swing, speed=speed, throttle=throttle)
        self.marks["release"] = self.now_s
        return self

    def braked(self, speed_mps: float = 8.4, takes_s: float = 0.35) -> Story:
        """Stop the arm again with the model in it."""
        t_s = self.times(takes_s)
        swing = -0.5 * math.pi * speed_mps / takes_s * np.sin(math.pi * t_s / takes_s)
        return self.part(takes_s, ahead=swing)

    def pulled(self, peak_mps2: float = 18.0, takes_s: float = 1.0) -> Story:
        """Let a line pull it: the acceleration of a spring, a quarter of a cosine."""
        self.marks["stroke"] = self.now_s
        t_s = self.times(takes_s)
        beat = 0.5 * math.pi / takes_s
        speed = peak_mps2 / beat * np.sin(beat * t_s)
        self.part(takes_s, ahead=peak_mps2 * np.cos(beat * t_s), speed=speed)
        self.marks["release"] = self.now_s
        return self

    def gliding(self, takes_s: float, sink_mps: float = 0.8, speed_mps: float = 8.4) -> Story:
        """Fly without power from where it is."""
        t_s = self.times(takes_s)
        gust = 0.8 * np.sin(2 * math.pi * 0.7 * t_s)
        height = self._here() - sink_mps * t_s
        return self.part(takes_s, ahead=-1.2, down=-G + gust, height=height, speed=speed_mps)

    def climbing(self, takes_s: float, climb_mps: float = 3.0, speed_mps: float = 11.0) -> Story:
        """Climb under power from where it is; the motor starts at once."""
        self.marks.setdefault("first_throttle", self.now_s)
        t_s = self.times(takes_s)
        gust = 0.8 * np.sin(2 * math.pi * 0.7 * t_s)
        rise = np.clip(t_s / 0.5, 0.0, 1.0)
        height = self._here() + climb_mps * np.maximum(0.0, t_s - 0.4)
        return self.part(
            takes_s, ahead=4.0 * rise, down=-G + gust, height=height, speed=speed_mps, throttle=0.95 * rise
        )

    def crashed(self, lies_s: float = 6.0) -> Story:
        """Hit the ground: 60 m/s2 for 0.08 s, then lie still."""
        self.marks["ground"] = self.now_s
        self.part(0.08, ahead=-60.0, down=-G - 40.0, height=0.1)
        return self.lying(lies_s)

    def lying(self, lies_s: float = 6.0) -> Story:
        """Lie on the ground."""
        return self.part(lies_s, height=0.1)

    def _here(self) -> float:
        return float(self.height[-1][-1]) if self.height else 1.8

    def recording(self, channels: str = "force height speed throttle", **extra: object) -> Recording:
        """Return it as recorded: forces at the rate of the story, the rest at 25, 5 and 25 Hz with noise."""
        luck = np.random.default_rng(self.seed)
        t_s = np.arange(sum(part.size for part in self.ahead)) / self.rate_hz
        made: dict[str, Channel] = {}
        if "force" in channels:
            for name, values in (
                ("force_x_mps2", np.concatenate(self.ahead)),
                ("force_y_mps2", np.zeros(t_s.size)),
                ("force_z_mps2", np.concatenate(self.down)),
            ):
                noisy = values + self.noise_mps2 * luck.standard_normal(t_s.size)
                made[name] = Channel(t_s, noisy, "by hand")
        for word, name, rate_hz, noise, parts in (
            ("height", "baro_height_m", 25.0, 0.12, self.height),
            ("speed", "ground_speed_mps", 5.0, 0.15, self.speed),
            ("throttle", "throttle", 25.0, 0.0, self.throttle),
        ):
            if word in channels:
                at_s = np.arange(0.02, t_s[-1], 1.0 / rate_hz)
                values = np.interp(at_s, t_s, np.concatenate(parts))
                values = np.maximum(0.0, values + noise * luck.standard_normal(at_s.size))
                made[name] = Channel(at_s, values, "by hand")
        return recorded(made, **extra)


def recorded(channels: Mapping[str, Channel], **extra: object) -> Recording:
    """Return channels as a recording."""
    return Recording("by hand", "0" * 64, "table", channels, **extra)  # type: ignore[arg-type]


def without(recording: Recording, from_s: float, to_s: float) -> Recording:
    """Leave out a time of every channel, and say that the recording breaks there."""
    kept = {}
    for name, channel in recording.channels.items():
        keep = (channel.t_s < from_s) | (channel.t_s > to_s)
        kept[name] = Channel(channel.t_s[keep], channel.values[keep], channel.source)
    return recorded(kept, breaks_s=(0.5 * (from_s + to_s),))
