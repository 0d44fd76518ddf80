"""Where the launches of a search for something rare are drawn: normal clouds, moved and widened.

A *proposal* is a mixture of normal clouds in the space of the inputs' standard normal numbers. A launch
drawn from it stands for ``w`` launches drawn as they come, ``w`` the density of the standard normal over
that of the mixture. If the mixture holds the standard normal itself with a share a, no weight passes 1/a.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Proposal(NamedTuple):
    """Clouds: centres (k, d), width of each (k,), and the share of the launches that each gets (k,)."""

    centres: Floats
    widths: Floats
    shares: Floats


def as_it_comes(dimension: int) -> Proposal:
    """Return the proposal that draws launches as they come."""
    return Proposal(np.zeros((1, dimension)), np.ones(1), np.ones(1))


def clouds(centres: Floats, shares: Floats, plain_share: float) -> Proposal:
    """Return clouds of width one at some centres beside the plain one, which comes first.

    Parameters
    ----------
    centres : float array, shape (k, d)
    shares : float array, shape (k,)
        Any positive numbers; they are scaled to ``1 - plain_share``.
    plain_share : float
        Share of the launches that are drawn as they come.
    """
    scaled = np.concatenate([[plain_share], (1.0 - plain_share) * shares / shares.sum()])
    both = np.concatenate([np.zeros((1, centres.shape[1])), centres])
    return Proposal(both, np.ones(len(both)), scaled)


def counts_of(shares: Floats, launches: int) -> Ints:
    """Return how many of some launches each cloud gets, by largest remainders; the first of equals wins."""
    wanted = shares * launches
    counts = np.floor(wanted + 1e-9).astype(np.int64)
    order = np.argsort(-(wanted - counts), kind="stable")
    counts[order[: launches - int(counts.sum())]] += 1
    return counts


def placed(proposal: Proposal, plain: Floats) -> tuple[Floats, Ints]:
    """Return (scores, number of the cloud) of launches from plain standard normal numbers.

    The clouds follow one another, each with its exact share of the launches: strata, not lots.
    """
    counts = counts_of(proposal.shares, len(plain))
    cloud = np.repeat(np.arange(len(counts)), counts)
    return proposal.centres[cloud] + proposal.widths[cloud, None] * plain, cloud


def log_ratios(proposal: Proposal, scores: Floats) -> Floats:
    """Return ln(density of each cloud over the standard normal), shape (n, k).

    Equation: ``z^2/2 - |z - m|^2/(2 s^2) - d ln s``. Summed without threads of linear algebra, so that
    the last digits do not hang on their number.
    """
    square = np.einsum("ij,ij->i", scores, scores)[:, None]
    along = np.einsum("ij,kj->ik", scores, proposal.centres)
    size = np.einsum("kj,kj->k", proposal.centres, proposal.centres)
    apart = square - 2.0 * along + size
    width = proposal.widths
    return np.asarray(0.5 * square - 0.5 * apart / width**2 - scores.shape[1] * np.log(width))


def log_sum(terms: Floats) -> Floats:
    """Return ln(sum of exp) over the last axis, without overflow."""
    most = terms.max(axis=-1, keepdims=True)
    with np.errstate(under="ignore"):
        return np.asarray(np.log(np.exp(terms - most).sum(axis=-1)) + most[..., 0])


def log_weights(parts: Sequence[tuple[Proposal, int]], scores: Floats) -> Floats:
    """Return ln(weight) of launches drawn from several proposals, so many from each.

    Equation: ``w = phi/(sum_j n_j q_j/n)``, whichever proposal a launch came from (balance heuristic).
    Source: E. Veach & L. Guibas (1995), SIGGRAPH '95, 419; A. Owen & Y. Zhou (2000), J. Am. Stat. Assoc.
    95, 135.
    """
    total = float(sum(count for _, count in parts))
    terms = [
        log_ratios(proposal, scores) + np.log(proposal.shares * (count / total)) for proposal, count in parts
    ]
    return -log_sum(np.concatenate(terms, axis=1))
