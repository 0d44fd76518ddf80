"""What other ways to draw the worlds would gain in the odds of a clean launch, at equal launches.

    python benchmarks/variance.py [a b c d e]

For each way: the mean squared error of plain draws over that of the way, over 30 seeds (above 1: better).
Between two ways that are equally good the ratio of 30 and 30 lies within 0.48 and 2.07 in 95 of 100 cases
(quantiles of the F distribution): only what lies beyond is a gain or a loss. 128 worlds of 4 throws each.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

import overarm
from overarm.describe.derived import derive
from overarm.flight.campaign import Inputs, fly_numbered
from overarm.flight.draw import WORLD_SIZE, draw, records_of
from overarm.flight.inputs import inputs_of
from overarm.odds.assess import is_clean

ROOT = Path(__file__).resolve().parent.parent
SEEDS, WORLDS, THROWS = 30, 128, 4  # worlds: a power of two, for the Sobol points
Floats = NDArray[np.float64]


def clean_of(inputs: Inputs, scores: Floats, seed: int) -> Floats:
    numbers = np.arange(WORLDS * WORLD_SIZE).reshape(WORLDS, WORLD_SIZE)[:, :THROWS].reshape(-1)
    flown = fly_numbered(inputs, records_of(inputs.base, inputs.rules, scores), seed, numbers)
    return is_clean(flown).astype(np.float64)


def plain(inputs: Inputs, seed: int) -> Floats:
    scores = draw(inputs.base, inputs.rules, WORLDS * WORLD_SIZE, seed)[1]
    return scores.reshape(WORLDS, WORLD_SIZE, -1)[:, :THROWS].reshape(WORLDS * THROWS, -1)


def opposite_worlds(inputs: Inputs, seed: int) -> Floats:
    """Every other world has the unknowns of the one before with the other sign."""
    scores = plain(inputs, seed).reshape(WORLDS, THROWS, -1)
    unknown = inputs.rules.layer == 0
    scores[1::2, :, unknown] = -scores[::2, :, unknown]
    return scores.reshape(WORLDS * THROWS, -1)


def opposite_throws(inputs: Inputs, seed: int) -> Floats:
    """Within a world every other throw is the one before with the other sign."""
    scores = plain(inputs, seed).reshape(WORLDS, THROWS, -1)
    varies = np.flatnonzero(inputs.rules.layer != 0)
    scores[:, 1::2, varies] = -scores[:, ::2, varies]
    return scores.reshape(WORLDS * THROWS, -1)


def _with_unknowns(inputs: Inputs, seed: int, points: Floats) -> Floats:
    scores = plain(inputs, seed)
    tiny = 2.0**-33
    scores[:, inputs.rules.layer == 0] = np.repeat(ndtri(np.clip(points, tiny, 1 - tiny)), THROWS, axis=0)
    return scores


def latin(inputs: Inputs, seed: int) -> Floats:
    count = int(np.sum(inputs.rules.layer == 0))
    return _with_unknowns(inputs, seed, qmc.LatinHypercube(count, rng=seed).random(WORLDS))


def sobol(inputs: Inputs, seed: int) -> Floats:
    count = int(np.sum(inputs.rules.layer == 0))
    return _with_unknowns(inputs, seed, qmc.Sobol(count, scramble=True, rng=seed).random(WORLDS))


def controlled(scores: Floats, clean: Floats) -> float:
    """Return the share with the launches' scores as control variates: the constant of a linear fit.

    A fit on all inputs takes the part of the error that lines in the scores explain; their mean is known.
    """
    design = np.column_stack([np.ones(len(clean)), scores])
    return float(np.linalg.lstsq(design, clean, rcond=None)[0][0])


WAYS: dict[str, Callable[[Inputs, int], Floats]] = {
    "plain": plain,
    "opposite worlds": opposite_worlds,
    "opposite throws": opposite_throws,
    "Latin hypercube": latin,
    "Sobol points": sobol,
}


def measure(letter: str) -> None:
    """Print a row of the table: gain of each way over plain draws."""
    file = next((ROOT / "examples").glob(f"{letter}-*.yaml"))
    setup = overarm.load(file)
    inputs = inputs_of(setup, derive(setup))
    found: dict[str, list[float]] = {name: [] for name in [*WAYS, "control variates"]}
    for seed in range(1, SEEDS + 1):
        for name, way in WAYS.items():
            scores = way(inputs, seed)
            clean = clean_of(inputs, scores, seed)
            found[name].append(float(clean.mean()))
            if name == "plain":
                found["control variates"].append(controlled(scores, clean))
    truth = float(np.mean([np.mean(values) for name, values in found.items() if name != "control variates"]))
    error = {name: float(np.mean((np.array(values) - truth) ** 2)) for name, values in found.items()}
    gains = " | ".join(f"{error['plain'] / error[name]:.2f}" for name in found if name != "plain")
    print(
        f"| {letter.upper()} | {100 * truth:.1f} | {100 * error['plain'] ** 0.5:.2f} | {gains} |",
        flush=True,
    )


if __name__ == "__main__":
    print("| example | clean | plain, points | opposite worlds | opposite throws | Latin | Sobol | control |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for one in sys.argv[1:] or list("abcde"):
        measure(one)
