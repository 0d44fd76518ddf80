"""Draw the inputs of many launches: what we do not know, and what varies from throw to throw.

A launch record is a row of floats with named fields. A *rule* changes one field by one input's
standard normal number. Inputs of the layer ``unknown`` share one number within a world (a group of
launches with the same aeroplane, person and day); inputs of the layer ``varies`` get a new number
each launch. The number of an input depends only on (seed, input name, world or launch).
"""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numba import prange
from numpy.typing import NDArray

from overarm.jit import over_launches
from overarm.rng import STREAM_THROW, STREAM_UNKNOWN, normal

WORLD_SIZE = 25

Layer = Literal["unknown", "varies"]

RULE_ADD = 0  # value += a z
RULE_SCALE = 1  # value *= exp(a z)
RULE_RARELY_SCALE = 2  # value *= b if z < a
RULE_RARELY_SET = 3  # value = b if z < a
RULE_AT_LEAST = 4  # value = max(value, a)


@dataclass(frozen=True, slots=True)
class Input:
    """One uncertain input: its name, its layer, and the sentence that a person reads."""

    name: str
    layer: Layer


@dataclass(frozen=True, slots=True)
class Rule:
    """How one input moves one field of the launch record."""

    input_index: int
    field_index: int
    kind: int
    a: float
    b: float = 0.0


@dataclass(frozen=True)
class Rules:
    """All inputs and rules as arrays that the compiled draw reads."""

    inputs: tuple[Input, ...]
    block: NDArray[np.int64]
    layer: NDArray[np.int64]
    table: NDArray[np.int64]  # (n_rule, 3): input, field, kind
    values: NDArray[np.float64]  # (n_rule, 2): a, b

    @classmethod
    def of(cls, inputs: list[Input], rules: list[Rule]) -> Rules:
        """Pack inputs and rules; rules run in the given order."""
        return cls(
            tuple(inputs),
            np.array([zlib.crc32(item.name.encode()) for item in inputs], dtype=np.int64),
            np.array([0 if item.layer == "unknown" else 1 for item in inputs], dtype=np.int64),
            np.array([(r.input_index, r.field_index, r.kind) for r in rules], dtype=np.int64).reshape(-1, 3),
            np.array([(r.a, r.b) for r in rules], dtype=np.float64).reshape(-1, 2),
        )


@over_launches
def _scores_of(block: Any, layer: Any, place: Any, scores: Any) -> None:
    seed, first, world_size = place
    for i in prange(scores.shape[0]):
        launch = first + i
        world = launch // world_size
        for k in range(block.shape[0]):
            if layer[k] == 0:
                scores[i, k] = normal(block[k], world, STREAM_UNKNOWN, seed)
            else:
                scores[i, k] = normal(block[k], launch, STREAM_THROW, seed)


@over_launches
def _own_throws(block: Any, layer: Any, seed: Any, numbers: Any, scores: Any) -> None:
    for i in prange(scores.shape[0]):
        for k in range(block.shape[0]):
            if layer[k] != 0:
                scores[i, k] = normal(block[k], numbers[i], STREAM_THROW, seed)


@over_launches
def _apply_rules(base: Any, table: Any, values: Any, scores: Any, rows: Any) -> None:
    for i in prange(rows.shape[0]):
        for f in range(base.shape[0]):
            rows[i, f] = base[f]
        for j in range(table.shape[0]):
            f = table[j, 1]
            kind = table[j, 2]
            z = scores[i, table[j, 0]]
            if kind == RULE_ADD:
                rows[i, f] += values[j, 0] * z
            elif kind == RULE_SCALE:
                rows[i, f] *= math.exp(values[j, 0] * z)
            elif kind == RULE_AT_LEAST:
                rows[i, f] = max(rows[i, f], values[j, 0])
            elif z < values[j, 0]:
                rows[i, f] = rows[i, f] * values[j, 1] if kind == RULE_RARELY_SCALE else values[j, 1]


def records_of(base: NDArray[np.void], rules: Rules, scores: NDArray[np.float64]) -> NDArray[np.void]:
    """Return the launch records that go with given standard normal numbers.

    Parameters
    ----------
    base, rules
        As for `draw`.
    scores : float array, shape (n, n_input)
        The standard normal number of each input in each launch, in the order of the rules.

    Returns
    -------
    structured array, shape (n,)
    """
    fields = base.view(np.float64).reshape(-1)
    rows = np.empty((len(scores), fields.size))
    _apply_rules(fields, rules.table, rules.values, scores, rows)
    return rows.view(base.dtype).reshape(-1)


def draw(
    base: NDArray[np.void], rules: Rules, launches: int, seed: int, first: int = 0
) -> tuple[NDArray[np.void], NDArray[np.float64]]:
    """Return (records, scores) of the launches ``first .. first + launches - 1``.

    Parameters
    ----------
    base : structured array, shape (1,)
        The launch record at the central values; all fields float64.
    rules : Rules
    launches, seed, first : int
        ``seed`` within 0 .. 2**63 - 1.

    Returns
    -------
    records : structured array, shape (launches,)
    scores : float array, shape (launches, n_input)
        The standard normal number of each input in each launch.
    """
    scores = np.empty((launches, len(rules.inputs)))
    _scores_of(rules.block, rules.layer, (seed, first, WORLD_SIZE), scores)
    return records_of(base, rules, scores), scores


def draw_given(
    base: NDArray[np.void],
    rules: Rules,
    unknown: NDArray[np.float64],
    seed: int,
    numbers: NDArray[np.int64],
) -> NDArray[np.void]:
    """Return the records of launches whose unknown inputs are given.

    What varies is drawn by the number of the launch, so that launches of the same number have the same
    throw (and, flown under it, the same gusts) whatever the unknown inputs are.

    Parameters
    ----------
    base, rules
        As for `draw`.
    unknown : float array, shape (n, n_unknown)
        The standard normal number of each input of the layer ``unknown``, in the order of the rules.
    seed : int
    numbers : int array, shape (n,)
        The launch whose throw each row has; a number may come up more than once.

    Returns
    -------
    structured array, shape (n,)
    """
    scores = np.empty((len(numbers), len(rules.inputs)))
    scores[:, rules.layer == 0] = unknown
    _own_throws(rules.block, rules.layer, seed, numbers, scores)
    return records_of(base, rules, scores)
