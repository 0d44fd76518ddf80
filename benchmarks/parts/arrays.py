"""The step of the flight in NumPy against the compiled one, and float32 against float64.

Both fly the forces and the midpoint step alone, from states after release, with the surfaces held and the
throttle opening. First they must agree to 1e-12 of the largest of each component.
"""

from __future__ import annotations

from functools import partial
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from benchmarks import array_step
from benchmarks.rows import Row, example, in_words, median_s
from overarm.flight.draw import draw
from overarm.flight.forces import Held, rates
from overarm.jit import FAST
from overarm.physics.rigid_body import Body, moved, normalised

LAUNCHES, STEP_S, FLOWN_S = 2000, 0.01, 2.0
AGREED = 1e-12


@numba.njit(error_model="numpy", fastmath=FAST)
def compiled_steps(records: Any, table: Any, bodies: Any, held: Any, step_s: float, steps: int) -> None:
    """Move states (n, 14) on by some steps, launch by launch."""
    for k in range(records.shape[0]):
        b, h = bodies[k], held[k]
        body = Body(b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10], b[11], b[12], b[13])
        still = Held(h[0], h[1], h[2], h[3], h[4], h[5], h[6])
        for _ in range(steps):
            first, _ = rates(records[k], table, body, still)
            middle, _ = rates(records[k], table, moved(body, first, 0.5 * step_s), still)
            body = normalised(moved(body, middle, step_s))
        b[0], b[1], b[2], b[3], b[4], b[5], b[6] = body.x, body.y, body.z, body.u, body.v, body.w, body.e0
        b[7], b[8], b[9], b[10], b[11], b[12] = body.e1, body.e2, body.e3, body.p, body.q, body.r
        b[13] = max(0.0, body.spin)


def start(launches: int, seed: int = 1) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return states (n, 14) soon after release, some of them stalled, and what is held (n, 7)."""
    rng = np.random.default_rng(seed)
    bodies = np.zeros((launches, 14))
    bodies[:, 2] = rng.uniform(-3.0, -1.5, launches)
    bodies[:, 3] = rng.uniform(8.0, 13.0, launches)
    bodies[:, 4:6] = rng.normal(0.0, 1.5, (launches, 2))
    angles = rng.normal(0.0, 0.1, (launches, 3))
    bodies[:, 6], bodies[:, 7:10] = 1.0, angles
    bodies[:, 6:10] /= np.linalg.norm(bodies[:, 6:10], axis=1)[:, None]
    bodies[:, 10:13] = rng.normal(0.0, 0.3, (launches, 3))
    bodies[:, 13] = rng.uniform(0.0, 800.0, launches)
    held = np.zeros((launches, 7))
    held[:, 0:2] = rng.normal(0.0, 0.03, (launches, 2))
    held[:, 2] = rng.uniform(0.2, 0.9, launches)
    held[:, 4:7] = rng.normal(0.0, 1.0, (launches, 3)) + np.array([-3.0, 0.0, 0.0])
    return bodies, held


class Flown:
    """Launches of the example in arrays of one kind of float."""

    def __init__(self, records: NDArray[np.void], table: NDArray[np.float64], kind: Any) -> None:
        bodies, held = start(len(records))
        self.rec, self.table = array_step.columns(records, kind), table.astype(kind)
        self.body = Body(*bodies.T.astype(kind))
        self.held = Held(*held.T.astype(kind))

    def after(self, steps: int) -> Body:
        """Return the states some steps later."""
        body = self.body
        for _ in range(steps):
            body = array_step.step(self.rec, self.table, body, self.held, STEP_S)
        return body


def misfit(records: NDArray[np.void], table: NDArray[np.float64]) -> float:
    """Return the largest difference after one step, as a share of the largest of its component."""
    bodies, held = start(len(records))
    compiled_steps(records, table, bodies, held, STEP_S, 1)
    ours = np.array(Flown(records, table, np.float64).after(1)).T
    return float(np.max(np.abs(ours - bodies) / np.max(np.abs(bodies), axis=0)))


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    repeats, steps = (3, 20) if quick else (5, 100)
    _, inputs = example()
    records, _ = draw(inputs.base, inputs.rules, LAUNCHES, 1, 0)
    apart = misfit(records, inputs.table)
    assert apart < AGREED, f"the array version is another model: {apart:.1e}"
    bodies, held = start(LAUNCHES)
    turns = steps * LAUNCHES
    compiled = (
        median_s(lambda: compiled_steps(records, inputs.table, bodies.copy(), held, STEP_S, steps), repeats)
        / turns
    )
    flown = {kind: Flown(records, inputs.table, kind) for kind in (np.float64, np.float32)}
    each = {kind: median_s(partial(one.after, steps), repeats) / turns for kind, one in flown.items()}
    many, few = each[np.float64], each[np.float32]
    fine, rough = (flown[kind].after(round(FLOWN_S / STEP_S)) for kind in (np.float64, np.float32))
    assert rough.z.dtype == np.float32
    apart_m = np.abs(fine.z - rough.z)
    return [
        Row("a compiled step, one core", in_words(compiled)),
        Row(f"NumPy over {LAUNCHES} launches, float64", in_words(many), f"{many / compiled:.1f} times"),
        Row("difference after a step", f"{apart:.1e}", "of the largest; 1e-12 allowed"),
        Row("NumPy, float32", in_words(few), f"{few / many:.2f} of float64"),
        Row(f"height after {FLOWN_S:g} s, float32 less float64", f"{1000 * np.max(apart_m):.2g} mm at most",
            f"{1000 * np.median(apart_m):.2g} mm in the middle"),
    ]  # fmt: skip
