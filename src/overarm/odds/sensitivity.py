"""Which input moves the odds, and which one to measure next.

The standard normal number of each input in each launch is known. What we do not know is constant
within a world, so its effect is seen between worlds; what varies from throw to throw is seen within
them. Each effect is a straight line plus a bow (Hermite polynomials 1 and 2), so that an input which
hurts on both sides is found too. Least squares, as the inputs are independent by construction.

Source: B. Sudret (2008), Reliab. Eng. Syst. Saf. 93, 964 (shares of variance from the coefficients of
Hermite polynomials); standard errors of least squares, e.g. J. M. Wooldridge (2010), Econometric
Analysis of Cross Section and Panel Data, chapter 10 (between and within regression).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.odds.names import plain_name

Floats = NDArray[np.float64]
Layer = Literal["unknown", "varies"]

SPARE_ROWS = 3  # rows a coefficient, at least, before a fit is worth reading
BAND_SD = 2.0 * 1.6449  # 5th to 95th percentile in standard deviations
CLEAR_OF_NOISE = 2.0
LEAST_GAIN_POINTS = 1.0


class Draws(NamedTuple):
    """The numbers that were drawn: names and layers of the inputs, scores (n_launch, n_input)."""

    names: tuple[str, ...]
    layers: tuple[Layer, ...]
    scores: Floats


class Contribution(NamedTuple):
    """What one input does to the odds."""

    name: str
    layer: Layer
    points_per_sd: float  # change of the odds, in points of percent, for one sd more of the input
    standard_error: float
    bow_points: float  # coefficient of z^2 - 1
    variance: float  # part of the variance of the odds (share squared), noise taken out

    @property
    def clear(self) -> bool:
        """Return True if the effect stands out from the noise."""
        return self.variance > 0.0 and (
            abs(self.points_per_sd) > CLEAR_OF_NOISE * self.standard_error
            or abs(self.bow_points) > CLEAR_OF_NOISE * self.standard_error
        )


class _Fit(NamedTuple):
    line: Floats
    bow: Floats
    error_line: Floats
    error_bow: Floats


def _least_squares(scores: Floats, y: Floats, lost: int, bowed: bool) -> _Fit:
    """Fit ``y = c + sum a z + b (z^2 - 1)``; ``lost`` degrees of freedom are gone already."""
    columns = np.hstack([scores, scores**2 - 1.0]) if bowed else scores
    columns = columns - columns.mean(axis=0)
    gram = columns.T @ columns
    inverse = np.linalg.pinv(gram, hermitian=True)
    coefficients = inverse @ (columns.T @ (y - y.mean()))
    residual = y - y.mean() - columns @ coefficients
    freedom = max(1, len(y) - lost - columns.shape[1])
    error = np.sqrt(np.maximum(np.diag(inverse), 0.0) * float(residual @ residual) / freedom)
    count = scores.shape[1]
    nothing = np.zeros(count)
    if not bowed:
        return _Fit(coefficients, nothing, error, nothing)
    return _Fit(coefficients[:count], coefficients[count:], error[:count], error[count:])


def _enough(rows: int, count: int) -> tuple[bool, bool]:
    """Return (whether a straight fit, whether a bowed fit) has rows enough."""
    return rows > SPARE_ROWS * (count + 1), rows > SPARE_ROWS * (2 * count + 1)


def _grouped(values: Floats, place: NDArray[np.intp], launches: Floats) -> Floats:
    """Return the mean of each world, shape (n_world, n_column)."""
    out = np.zeros((len(launches), values.shape[1]))
    np.add.at(out, place, values)
    return out / launches[:, None]


def _contributions(draws: Draws, layer: Layer, fit: _Fit) -> list[Contribution]:
    names = [name for name, kind in zip(draws.names, draws.layers, strict=True) if kind == layer]
    out = []
    for k, name in enumerate(names):
        variance = fit.line[k] ** 2 - fit.error_line[k] ** 2 + 2.0 * (fit.bow[k] ** 2 - fit.error_bow[k] ** 2)
        out.append(
            Contribution(
                name, layer, 100.0 * float(fit.line[k]), 100.0 * float(fit.error_line[k]),
                100.0 * float(fit.bow[k]), max(0.0, float(variance)),
            )
        )  # fmt: skip
    return out


def contributions(
    clean: NDArray[np.bool_], world: NDArray[np.integer], draws: Draws
) -> tuple[Contribution, ...]:
    """Return what each input does to the odds, the largest part of the variance first.

    Parameters
    ----------
    clean : bool array, shape (n,)
    world : int array, shape (n,)
        The world of each launch.
    draws : Draws

    Returns
    -------
    tuple of Contribution
        A layer with fewer than three rows a coefficient is left out: worlds count for what we do not
        know, launches for what varies.
    """
    y = clean.astype(np.float64)
    if len(y) == 0 or y.min() == y.max():
        return ()
    _, place = np.unique(world, return_inverse=True)
    launches = np.bincount(place).astype(np.float64)
    mean = _grouped(y[:, None], place, launches)
    is_unknown = np.array([layer == "unknown" for layer in draws.layers], dtype=bool)
    found: list[Contribution] = []
    unknown = _grouped(draws.scores[:, is_unknown], place, launches)
    straight, bowed = _enough(len(launches), unknown.shape[1])
    if straight and unknown.shape[1]:
        found += _contributions(draws, "unknown", _least_squares(unknown, mean[:, 0], 1, bowed))
    varies = draws.scores[:, ~is_unknown]
    straight, bowed = _enough(len(y) - len(launches), varies.shape[1])
    if straight and varies.shape[1]:
        inside = varies - _grouped(varies, place, launches)[place]
        fit = _least_squares(inside, y - mean[place, 0], len(launches), bowed)
        found += _contributions(draws, "varies", fit)
    return tuple(sorted(found, key=lambda item: -item.variance))


class Measurement(NamedTuple):
    """How much narrower the odds would be if one guessed input were measured."""

    name: str
    how: str
    band_now_points: float  # p5 to p95 of the odds over what we do not know
    band_then_points: float
    sentence: str


class Measurable(NamedTuple):
    """A guessed input: its spread now, the spread once measured, and how one measures it."""

    name: str
    guessed_spread: float
    measured_spread: float
    how: str


def measure_next(
    found: Sequence[Contribution], guessed: Sequence[Measurable], odds_sd: float, most: int = 5
) -> tuple[Measurement, ...]:
    """Rank the guessed inputs by how much measuring each would narrow the odds.

    Equation: measuring scales an input's spread by r, its line by r and its bow by r^2; the variance
    of the odds over what we do not know falls by ``V_line (1 - r^2) + V_bow (1 - r^4)``.

    Parameters
    ----------
    found : sequence of Contribution
    guessed : sequence of Measurable
        The inputs that are not measured yet.
    odds_sd : float
        Standard deviation of the odds over what we do not know (a share).
    most : int
        How many to return.
    """
    by_name = {item.name: item for item in found if item.layer == "unknown" and item.clear}
    ranked = []
    for item in guessed:
        effect = by_name.get(item.name)
        if effect is None or item.guessed_spread <= 0.0 or odds_sd <= 0.0:
            continue
        left = min(1.0, item.measured_spread / item.guessed_spread)
        bow = min(effect.variance, 2.0 * (effect.bow_points / 100.0) ** 2)
        saved = (effect.variance - bow) * (1.0 - left**2) + bow * (1.0 - left**4)
        then_sd = math.sqrt(max(odds_sd**2 - saved, 0.0))
        now, then = (100.0 * min(1.0, BAND_SD * sd) for sd in (odds_sd, then_sd))
        if now - then >= LEAST_GAIN_POINTS:
            ranked.append(Measurement(item.name, item.how, now, then, _advice(item, now, then)))
    return tuple(sorted(ranked, key=lambda item: item.band_then_points)[:most])


def _advice(item: Measurable, now: float, then: float) -> str:
    how = f" ({item.how})" if item.how else ""
    narrows = f"the band of the odds narrows from {now:.0f} to {then:.0f} points"
    return f"Measure {plain_name(item.name)}{how}: {narrows}."
