"""The most likely order of hidden states behind a row of scores, and how sure each state is.

A hidden Markov model: at every step the model is in one of S states, goes on to another with a given
probability, and each state explains what was seen with a given likelihood. Which moves are possible is
the caller's; a move of probability 0 makes an order, such as left to right.

Source: Rabiner, A tutorial on hidden Markov models and selected applications in speech recognition,
Proc. IEEE 77 (1989) 257: the Viterbi algorithm, equations 32 to 35; forward and backward, 19 to 25, with
the scaling of section V.A.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.jit import over_samples

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

IMPOSSIBLE = -1e9  # stands for the logarithm of zero


def logs(probabilities: Numbers) -> Numbers:
    """Return natural logarithms of probabilities, with `IMPOSSIBLE` for zero."""
    found = np.full(probabilities.shape, IMPOSSIBLE)
    np.log(probabilities, out=found, where=probabilities > 0.0)
    return found


@over_samples
def _best_path(start: Any, moves: Any, which: Any, scores: Any, back: Any, path: Any) -> None:
    steps, states = scores.shape
    best = start + scores[0]
    later = np.empty(states)
    for k in range(1, steps):
        table = moves[which[k]]
        for to in range(states):
            top, place = best[0] + table[0, to], 0
            for come in range(1, states):
                value = best[come] + table[come, to]
                if value > top:
                    top, place = value, come
            later[to] = top + scores[k, to]
            back[k, to] = place
        best[:] = later
    path[steps - 1] = np.argmax(best)
    for k in range(steps - 1, 0, -1):
        path[k - 1] = back[k, path[k]]


def most_likely(start: Numbers, moves: Numbers, which: Places, scores: Numbers) -> Places:
    """Return the single most likely order of states, array (n,), by the Viterbi algorithm.

    ``start``: probabilities of the first state (S,); ``moves``: tables of probabilities (K, S, S), from
    the first index to the second; ``which``: table that leads into each step (n,), the first unused;
    ``scores``: natural logarithm of the likelihood of what is seen in each state (n, S).
    """
    path = np.zeros(scores.shape[0], np.int64)
    if scores.shape[0]:
        back = np.zeros(scores.shape, np.int16)
        _best_path(logs(start), logs(moves), which, scores, back, path)
    return path


@over_samples
def _forward(start: Any, moves: Any, which: Any, seen: Any, ahead: Any, scale: Any) -> None:
    steps, states = seen.shape
    for k in range(steps):
        total = 0.0
        for to in range(states):
            come = 0.0
            if k == 0:
                come = start[to]
            else:
                table = moves[which[k]]
                for was in range(states):
                    come += ahead[k - 1, was] * table[was, to]
            ahead[k, to] = come * seen[k, to]
            total += ahead[k, to]
        scale[k] = total
        if total <= 0.0:
            return
        for to in range(states):
            ahead[k, to] /= total


@over_samples
def _backward(moves: Any, which: Any, seen: Any, scale: Any, ahead: Any) -> None:
    steps, states = seen.shape
    behind = np.ones(states)
    come = np.empty(states)
    for k in range(steps - 1, 0, -1):
        table = moves[which[k]]
        for was in range(states):
            total = 0.0
            for to in range(states):
                total += table[was, to] * seen[k, to] * behind[to]
            come[was] = total / scale[k]
        for was in range(states):
            behind[was] = come[was]
            ahead[k - 1, was] *= come[was]


def posterior(start: Numbers, moves: Numbers, which: Places, scores: Numbers) -> tuple[Numbers, float]:
    """Return how probable each state is at each step given everything that was seen, and how likely that was.

    Arguments as for `most_likely`. The first answer has shape (n, S) and rows that sum to 1; the second is
    the natural logarithm of the likelihood of the whole row, `IMPOSSIBLE` if no order explains it (then the
    first is uniform).
    """
    steps, states = scores.shape
    if not steps:
        return np.zeros((0, states)), 0.0
    top = scores.max(axis=1)
    seen = np.exp(np.maximum(scores - top[:, None], -600.0))
    ahead, scale = np.zeros((steps, states)), np.zeros(steps)
    _forward(start, moves, which, seen, ahead, scale)
    if not np.all(scale > 0.0):
        return np.full((steps, states), 1.0 / states), IMPOSSIBLE
    _backward(moves, which, seen, scale, ahead)
    shares = ahead / ahead.sum(axis=1, keepdims=True)
    return shares, float(np.sum(np.log(scale) + top))
