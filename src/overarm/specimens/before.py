"""What happens to a model before its launch: powered up, carried, turned, shaken, nearly thrown, held."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from overarm.specimens.motion import (
    ANGLES,
    PLACE,
    SPEED,
    STEP_S,
    Motion,
    Numbers,
    between,
    slope,
    smooth,
    sway,
)

Keys = list[tuple[float, float]]
PHASE_CARRIED, PHASE_HELD, PHASE_SHAKEN = "carried", "held", "shaken"
GROUND_HEIGHT_M = 0.12
DRAWN_SHARE = 0.35  # of a throw that is broken off the arm draws back
SWAYS_RAD = (0.012, 0.010, 0.025)  # bank, pitch, heading of a model in the hand


class Swing(NamedTuple):
    """A move of the arm that keeps the model."""

    kind: str  # shake, aborted throw
    from_s: float
    to_s: float
    size_m: float
    cycles: int


@dataclass(slots=True)
class Errand:
    """A carry in the making: keys of each value over time, and what it is called when."""

    now_s: float
    pitch: Keys
    bank: Keys
    heading: Keys
    height: Keys
    walk: Keys  # speed over the ground [m/s], along the heading
    step: Keys  # amplitude of the steps [m/s2]
    phases: list[tuple[str, float, float]] = field(default_factory=list)
    swings: list[Swing] = field(default_factory=list)

    def key(self, keys: Keys, value: float, takes_s: float) -> None:
        """Let a value go to another from now on."""
        keys.append((self.now_s, keys[-1][1]))
        keys.append((self.now_s + takes_s, value))

    def spend(self, phase: str, takes_s: float) -> None:
        """Let time pass in a phase."""
        if self.phases and self.phases[-1][0] == phase:
            name, from_s, _ = self.phases.pop()
            self.phases.append((name, from_s, self.now_s + takes_s))
        else:
            self.phases.append((phase, self.now_s, self.now_s + takes_s))
        self.now_s += takes_s


def errand(
    luck: np.random.Generator, start: dict[str, float], extras: tuple[str, ...], rest: dict[str, float]
) -> Errand:
    """Return the carry from a place of rest on the ground to the pose in which a launch begins.

    ``start``: columns of the first sample of the launch. ``rest``: ``rest_s``, how long it lies still at
    first, and, if it lies where a launch ended, the columns of that and ``way_m`` back to the start.
    """
    done = Errand(
        0.0,
        [(0.0, rest.get("pitch_rad", math.radians(luck.uniform(0.0, 6.0))))],
        [(0.0, rest.get("bank_rad", math.radians(luck.normal(0.0, 1.5))))],
        [(0.0, rest.get("heading_rad", float(luck.uniform(-math.pi, math.pi))))],
        [(0.0, rest.get("height_m", GROUND_HEIGHT_M))],
        [(0.0, 0.0)],
        [(0.0, 0.0)],
    )
    done.spend(PHASE_HELD, rest["rest_s"])
    done.key(done.height, float(luck.uniform(1.0, 1.3)), 1.4)
    done.key(done.pitch, math.radians(luck.uniform(4.0, 16.0)), 1.2)
    done.key(done.bank, math.radians(luck.normal(0.0, 3.0)), 1.2)
    done.spend(PHASE_CARRIED, 1.6)
    start_walk(done, luck, float(luck.uniform(4.0, 8.0)) + min(90.0, rest.get("way_m", 0.0) / 1.4))
    for extra in extras:
        EXTRAS[extra](done, luck)
    _stand(done, luck, start)
    return done


def start_walk(done: Errand, luck: np.random.Generator, takes_s: float) -> None:
    """Walk on for some time [s], with steps."""
    done.key(done.walk, float(luck.uniform(0.9, 1.4)), 0.7)
    done.key(done.step, float(luck.uniform(1.5, 2.5)), 0.7)
    done.key(done.heading, done.heading[-1][1] + float(luck.normal(0.0, 0.3)), takes_s)
    done.spend(PHASE_CARRIED, takes_s)


def stop(done: Errand) -> None:
    """Stand still, the model in the hand."""
    done.key(done.walk, 0.0, 0.7)
    done.key(done.step, 0.0, 0.7)
    done.spend(PHASE_CARRIED, 0.8)


def _turn_round(done: Errand, luck: np.random.Generator) -> None:
    turn = float(luck.choice([-1.0, 1.0]) * luck.uniform(2.0, math.pi))
    takes_s = float(luck.uniform(1.3, 2.6))
    done.key(done.heading, done.heading[-1][1] + turn, takes_s)
    done.key(done.bank, math.radians(-8.0 * math.copysign(1.0, turn)), 0.5 * takes_s)
    done.spend(PHASE_CARRIED, 0.5 * takes_s)
    done.key(done.bank, 0.0, 0.5 * takes_s)
    done.spend(PHASE_CARRIED, 0.5 * takes_s)
    start_walk(done, luck, float(luck.uniform(2.0, 5.0)))


def _nose_up(done: Errand, luck: np.random.Generator) -> None:
    before = done.pitch[-1][1]
    done.key(done.pitch, math.radians(luck.uniform(20.0, 32.0)), 0.8)
    done.spend(PHASE_CARRIED, float(luck.uniform(2.5, 5.0)))
    done.key(done.pitch, before, 0.8)
    done.spend(PHASE_CARRIED, 0.9)


def _shake(done: Errand, luck: np.random.Generator) -> None:
    stop(done)
    done.spend(PHASE_HELD, float(luck.uniform(0.8, 1.5)))
    rate_hz, cycles = float(luck.uniform(1.8, 3.2)), int(luck.integers(2, 5))
    takes_s = cycles / rate_hz
    size_m = float(luck.uniform(0.05, 0.10))
    done.swings.append(Swing("shake", done.now_s, done.now_s + takes_s, size_m, cycles))
    done.spend(PHASE_SHAKEN, takes_s)
    done.spend(PHASE_HELD, float(luck.uniform(0.8, 1.5)))
    start_walk(done, luck, float(luck.uniform(2.0, 4.0)))


def _aborted(done: Errand, luck: np.random.Generator) -> None:
    stop(done)
    done.spend(PHASE_HELD, float(luck.uniform(1.0, 2.0)))
    from_s, takes_s, reach_m = done.now_s, float(luck.uniform(1.3, 1.7)), float(luck.uniform(0.8, 1.1))
    done.swings.append(Swing("aborted throw", from_s, from_s + takes_s, reach_m, 1))
    done.spend(PHASE_HELD, DRAWN_SHARE * takes_s)
    done.spend("stroke", (1.0 - DRAWN_SHARE) * takes_s)
    done.spend(PHASE_HELD, float(luck.uniform(0.8, 1.5)))
    start_walk(done, luck, float(luck.uniform(2.0, 4.0)))


EXTRAS = {
    "turn round": _turn_round,
    "nose-up carry": _nose_up,
    "shake": _shake,
    "aborted throw": _aborted,
}


def _stand(done: Errand, luck: np.random.Generator, start: dict[str, float]) -> None:
    """Stop, face the launch line, take up the pose of the launch and hold it."""
    stop(done)
    whole = 2.0 * math.pi
    turns = round((done.heading[-1][1] - start["heading_rad"]) / whole)
    done.key(done.heading, start["heading_rad"] + turns * whole, 1.5)
    done.key(done.pitch, start["pitch_rad"], 1.5)
    done.key(done.bank, start["bank_rad"], 1.5)
    done.key(done.height, start["height_m"], 1.5)
    done.spend(PHASE_CARRIED, 1.6)
    done.spend(PHASE_HELD, float(luck.uniform(2.5, 4.0)))


def moved(done: Errand, luck: np.random.Generator, start: dict[str, float], rest: dict[str, float]) -> Motion:
    """Return the motion of a carry: places, speeds and angles; it ends where the launch begins.

    One that begins where a launch ended is drawn out to begin there.
    """
    t_s = np.arange(0.0, done.now_s - 0.25 * STEP_S, STEP_S)
    motion: Motion = {"t_s": t_s}
    strength = between(t_s, done.step)
    step_hz = float(luck.uniform(1.8, 2.1))
    beat = 2.0 * math.pi * step_hz
    phases = luck.uniform(0.0, 2.0 * math.pi, 6)
    fore = np.sin(beat * t_s + phases[0]) + 0.25 * np.sin(2.0 * beat * t_s + phases[1]) / 4.0
    bob = float(luck.uniform(0.8, 1.4)) * np.sin(beat * t_s + phases[2])
    side = 0.5 * np.sin(0.5 * beat * t_s + phases[3])
    for name, keys in zip(ANGLES, (done.bank, done.pitch, done.heading), strict=True):
        motion[name] = between(t_s, keys)
    motion["bank_rad"] = motion["bank_rad"] + 0.012 * strength * np.sin(0.5 * beat * t_s + phases[4])
    motion["pitch_rad"] = motion["pitch_rad"] + 0.008 * strength * np.sin(beat * t_s + phases[5])
    hands = smooth((t_s - rest["rest_s"]) / 1.5) * smooth((done.now_s - t_s) / 0.8)
    for name, size in zip(ANGLES, SWAYS_RAD, strict=True):
        motion[name] = motion[name] + hands * sway(t_s, size, luck)
    heading = motion["heading_rad"]
    along = strength * fore / beat**2 + _swung(t_s, done)
    walked = between(t_s, done.walk)
    east = np.cumsum(walked * np.cos(heading)) * STEP_S, np.cumsum(walked * np.sin(heading)) * STEP_S
    across = strength * side / (0.5 * beat) ** 2 * 0.25
    motion["ahead_m"] = east[0] + along * np.cos(heading) - across * np.sin(heading)
    motion["right_m"] = east[1] + along * np.sin(heading) + across * np.cos(heading)
    motion["height_m"] = between(t_s, done.height) + strength * bob / beat**2
    going = smooth((t_s - rest["rest_s"] - 2.0) / 3.0) * smooth((done.now_s - 4.0 - t_s) / 3.0)
    share = np.cumsum(going) / max(1e-9, float(np.sum(going)))
    for name in PLACE[:2]:
        motion[name] = motion[name] + (start[name] - motion[name][-1])
        motion[name] = motion[name] + (rest.get(name, motion[name][0]) - motion[name][0]) * (1.0 - share)
    for name, place, sign in zip(SPEED, PLACE, (1.0, 1.0, -1.0), strict=True):
        motion[name] = sign * slope(t_s, motion[place])
    return motion


def _swung(t_s: Numbers, done: Errand) -> Numbers:
    """Return how far the arm has the model forward of its usual place [m]."""
    way = np.zeros_like(t_s)
    for kind, from_s, to_s, size_m, cycles in done.swings:
        share = np.clip((t_s - from_s) / (to_s - from_s), 0.0, 1.0)
        if kind == "shake":
            way -= size_m * (1.0 - np.cos(2.0 * math.pi * cycles * share))
        else:  # drawn back, swung forward, stopped, and brought back
            back, forth = smooth(share / DRAWN_SHARE), smooth((share - DRAWN_SHARE) / 0.30)
            way += size_m * (-0.35 * back + forth - 0.65 * smooth((share - 0.65) / 0.35))
    return way
