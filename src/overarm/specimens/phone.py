"""Synthetic recordings of a phone that is strapped to the model, as W3C DeviceMotion events name it.

The phone lies screen up, its top edge forward: its x is the body's right, its y forward, its z up. What is
rehearsed: carrying, turning round, shakes, and throws in which the hand keeps the model.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.physics.sensor import Board
from overarm.specimens.before import EXTRAS, PHASE_HELD, Errand, Swing, errand, moved, start_walk, stop
from overarm.specimens.luck import stream
from overarm.specimens.maker import Specimen
from overarm.specimens.motion import ANGLES, FORCES, RATES, Motion, at, felt_of, to_body
from overarm.specimens.table import Series, merged, written

Kind = Literal["carry", "shake", "throw", "all"]
STROKE_FROM, STROKE_TO = 0.35, 0.65  # of a throw in which the hand keeps the model
TIMES = 5
NOISE_MPS2, NOISE_RADPS = 0.08, 0.01
STRAPPED = Board(0.0, 0.0, 0.0, 1e4, 0.0, 100.0, 0.0, 0.0, 2.0, 0.0, 0.0, 0.2, 5.0, 0.0, 0.0)
POSE = {
    "ahead_m": 0.0,
    "right_m": 0.0,
    "height_m": 1.8,
    "heading_rad": 0.0,
    "pitch_rad": 0.1,
    "bank_rad": 0.0,
}


def make_phone(
    seed: int, number: int, kind: Kind = "all", rate_hz: float = 60.0, signs: float = 1.0
) -> Specimen:
    """Make a recording of a rehearsal with a phone.

    Parameters
    ----------
    seed, number : int
        The same bytes for the same two and the same options.
    kind : str
        What is rehearsed: "carry", "shake", "throw", or "all" of them.
    rate_hz : float
        Of the events.
    signs : float
        -1 for a platform that writes forces with all signs turned.

    Returns
    -------
    Specimen
        Truth: ``shakes`` and ``throws``, each with ``from_s`` and ``to_s``; shakes with ``travel_m`` (half of
        the way from end to end) and ``rate_hz``; throws with ``stroke_s`` (from, to) and ``speed_mps``.
    """
    luck = stream(seed, number, f"phone {kind}")
    rest = {"rest_s": float(luck.uniform(3.0, 5.0)), "new": 1.0}
    done = errand(luck, POSE, (), rest)
    if kind in ("carry", "all"):
        for _ in range(3):
            EXTRAS["turn round"](done, luck)
            start_walk(done, luck, float(luck.uniform(5.0, 9.0)))
    for name, extra in (("shake", _shakes), ("throw", _throws)):
        if kind in (name, "all"):
            extra(done, luck)
    stop(done)
    done.spend(PHASE_HELD, 2.0)
    motion = moved(done, luck, POSE, rest)
    felt_of(motion, STRAPPED)
    table = merged(_series(motion, rate_hz, signs, luck), [])
    table.time_name, table.time_scale = "timestamp", 1000.0
    return Specimen(written(table), _truth(done, motion, (seed, number, kind)))


def _shakes(done: Errand, luck: np.random.Generator) -> None:
    for _ in range(TIMES):
        EXTRAS["shake"](done, luck)


def _throws(done: Errand, luck: np.random.Generator) -> None:
    for _ in range(TIMES):
        stop(done)
        done.spend(PHASE_HELD, float(luck.uniform(1.5, 2.5)))
        takes_s, reach_m = float(luck.uniform(1.0, 1.25)), float(luck.uniform(1.1, 1.4))
        done.swings.append(Swing("rehearsed throw", done.now_s, done.now_s + takes_s, reach_m, 1))
        done.spend("stroke", takes_s)
        done.spend(PHASE_HELD, float(luck.uniform(1.5, 2.5)))


def _series(motion: Motion, rate_hz: float, signs: float, luck: np.random.Generator) -> list[Series]:
    """Return the columns of the events: forces, with gravity and without, rates and interval."""
    t_s = np.arange(0.0, motion["t_s"][-1], 1.0 / rate_hz)
    felt = [at(motion, name, t_s) + NOISE_MPS2 * luck.standard_normal(t_s.size) for name in FORCES]
    angles = {name: at(motion, name, t_s) for name in ANGLES}
    up = np.zeros_like(t_s)
    gravity = to_body((up, up, up - GRAVITY_MPS2), angles)
    free = [force - part for force, part in zip(felt, gravity, strict=True)]
    turns = [at(motion, name, t_s) + NOISE_RADPS * luck.standard_normal(t_s.size) for name in RATES]
    made = []
    for name, (x, y, z) in (("accelerationIncludingGravity", felt), ("acceleration", free)):
        along = (signs * y, signs * x, -signs * z)
        made += [Series(f"{name}.{a}", t_s, v, 3) for a, v in zip("xyz", along, strict=True)]
    about = (turns[1], turns[0], -turns[2])
    names = ("alpha", "beta", "gamma")
    made += [Series(f"rotationRate.{a}", t_s, np.degrees(v), 3) for a, v in zip(names, about, strict=True)]
    return [*made, Series("interval", t_s, np.full_like(t_s, 1000.0 / rate_hz), 3)]


def _truth(done: Errand, motion: Motion, who: tuple[int, int, str]) -> dict[str, Any]:
    seed, number, kind = who
    told: dict[str, Any] = {"seed": seed, "number": number, "kind": kind, "shakes": [], "throws": []}
    told["phases"] = [list(span) for span in done.phases]
    for swing in done.swings:
        takes = swing.to_s - swing.from_s
        span = {"from_s": swing.from_s, "to_s": swing.to_s}
        if swing.kind == "shake":
            told["shakes"].append({**span, "travel_m": swing.size_m, "rate_hz": swing.cycles / takes})
        else:
            stroke = [swing.from_s + STROKE_FROM * takes, swing.from_s + STROKE_TO * takes]
            inside = (motion["t_s"] >= stroke[0]) & (motion["t_s"] <= stroke[1])
            fast = np.hypot(motion["ahead_mps"], motion["right_mps"])[inside]
            told["throws"].append({**span, "stroke_s": stroke, "speed_mps": float(np.max(fast))})
    return told
