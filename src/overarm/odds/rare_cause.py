"""The ways in which a rare outcome comes about: which inputs stand where in the launches that had it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from overarm.odds.mixture import Floats, Proposal, log_ratios

LEAST_PART = 0.05
LEAST_SD = 0.5
MOST_INPUTS = 5
SAME_WAY = 0.85  # cosine above which two ways are told as one


class Stand(NamedTuple):
    """Where an input stands, on average over the launches of a way."""

    name: str
    sd: float  # in standard deviations from its middle


class Way(NamedTuple):
    """One way in which it happens: its part of the probability, and the inputs that stand out in it."""

    part: float
    inputs: tuple[Stand, ...]


def _stands(mean: Floats, names: Sequence[str]) -> tuple[Stand, ...]:
    order = np.argsort(-np.abs(mean), kind="stable")[:MOST_INPUTS]
    return tuple(Stand(names[k], float(mean[k])) for k in order if abs(mean[k]) >= LEAST_SD)


def ways(proposal: Proposal, weights: Floats, scores: Floats, names: Sequence[str]) -> tuple[Way, ...]:
    """Return the ways from the one with the largest part on; those that resemble each other as one.

    Parameters
    ----------
    proposal : Proposal
        The clouds from which the launches were drawn; the first, plain one is no way.
    weights, scores : float arrays, shapes (n,) and (n, d)
        Of the launches in which it happened.
    names : sequence of str
        The inputs.
    """
    if not len(weights):
        return ()
    moved = Proposal(proposal.centres[1:], proposal.widths[1:], proposal.shares[1:])
    if not len(moved.shares):
        mean = np.einsum("i,ij->j", weights, scores) / weights.sum()
        return (Way(1.0, _stands(mean, names)),)
    terms = log_ratios(moved, scores) + np.log(moved.shares)
    with np.errstate(under="ignore"):
        mine = np.exp(terms - terms.max(axis=1, keepdims=True))
        mine *= (weights / mine.sum(axis=1))[:, None]
        sums = np.einsum("ik,ij->kj", mine, scores)
    groups: list[tuple[float, Floats]] = []
    for k in np.argsort(-mine.sum(axis=0), kind="stable"):
        mass, total = float(mine[:, k].sum()), sums[k]
        size = float(np.linalg.norm(total))
        alike = [float(total @ other) / (size * float(np.linalg.norm(other)) + 1e-300) for _, other in groups]
        if alike and max(alike) > SAME_WAY:
            best = int(np.argmax(alike))
            groups[best] = (groups[best][0] + mass, groups[best][1] + total)
        else:
            groups.append((mass, total))
    whole = float(weights.sum())
    found = [Way(mass / whole, _stands(total / mass, names)) for mass, total in groups if mass > 0.0]
    return tuple(sorted((way for way in found if way.part >= LEAST_PART), key=lambda way: -way.part))
