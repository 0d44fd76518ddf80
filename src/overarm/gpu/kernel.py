"""The kernel: one thread draws, flies and sums up one launch."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from overarm.flight import draw, one
from overarm.flight.draw import WORLD_SIZE
from overarm.gpu.lanes import LANES
from overarm.gpu.twins import Twins


class Campaign(NamedTuple):
    """What is the same for every launch of a campaign, as arrays on the card."""

    base: Any  # the central launch record, its fields in a row
    block: Any  # of the rules, as in `overarm.flight.draw.Rules`
    layer: Any
    rules: Any
    values: Any
    table: Any  # of the propeller
    obstacles: Any
    trace: Any  # room for no sample
    blank: Any  # a summary in which nothing has happened yet


class Room(NamedTuple):
    """Room on the card for the launches of one chunk, in lanes."""

    scores: Any  # (block, lane, input)
    rows: Any  # the launch records as numbers, (block, lane, field)
    records: Any  # the same memory as records, (block, lane)
    notes: Any  # the summaries as numbers, (block, lane, column)
    summaries: Any  # the same memory as records, (block, lane)
    numbers: Any  # the summaries as they are handed over: (launch, word of 8 bytes)
    codes: Any  # the same memory in words of 4 bytes: outcome, world, ...


def launch_function(twins: Twins) -> Callable[..., None]:
    """Return what draws, flies and sums up launch ``first + n`` in place ``n`` of a chunk."""
    scores_of, apply_rules, fly = (twins.of(f) for f in (draw._scores_of, draw._apply_rules, one.fly))
    world_size, lanes = WORLD_SIZE, LANES

    def launch(same: Campaign, room: Room, seed: int, first: int, n: int) -> None:
        block, lane = n // lanes, n % lanes
        number = first + n
        scores = room.scores[block, lane : lane + 1]
        rows = room.rows[block, lane : lane + 1]
        scores_of(same.block, same.layer, (seed, number, world_size), scores)
        apply_rules(same.base, same.rules, same.values, scores, rows)
        notes = room.notes[block, lane]
        for k in range(notes.shape[0]):
            notes[k] = same.blank[k]
        out = room.summaries[block, lane]
        fly(room.records[block, lane], same.table, same.obstacles, seed, number, out, same.trace)
        for k in range(2, notes.shape[0]):
            room.numbers[n, k - 1] = notes[k]
        room.codes[n, 0] = int(out.outcome)
        room.codes[n, 1] = number // world_size

    return launch


def kernel_function(twins: Twins) -> Callable[..., None]:
    """Return the kernel, still to be compiled: a grid of at least ``count`` threads in one dimension."""
    from numba import cuda

    launch = twins.compiled(launch_function(twins))

    def fly_chunk(same: Campaign, room: Room, seed: int, first: int, count: int) -> None:
        n = cuda.grid(1)
        if n < count:
            launch(same, room, seed, first, n)

    return fly_chunk
