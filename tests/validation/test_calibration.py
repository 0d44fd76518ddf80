"""Learning is honest: posteriors cover as they say, and predictions become better as launches come in.

Simulation-based calibration: S. Talts, M. Betancourt, D. Simpson, A. Vehtari & A. Gelman (2018),
*Validating Bayesian inference algorithms with simulation-based calibration*, arXiv 1804.06788. A truth is
drawn from the prior, readings from the truth; the rank of the truth among draws of the posterior must be
uniform.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from scipy.stats import binom, chi2

from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.flight.campaign import run
from overarm.flight.draw import draw
from overarm.flight.inputs import inputs_of
from overarm.learn.bench.propagate import Figure
from overarm.learn.bench.tilt import JigReading, jig
from overarm.learn.card_values import card_values
from overarm.learn.disagree import Gap, split, two_sided
from overarm.learn.evidence import Evidence
from overarm.learn.scale import Scale, covariance, learn_scale
from overarm.learn.scatter import Grid, Prior, Readings, Slip, learn_normal, learn_positive
from overarm.learn.scores import brier, log_score
from overarm.learn.targets import TARGETS
from overarm.learn.update import update_scatter
from overarm.odds.assess import is_clean
from tests.examples import derived_of, setup_of

DRAWS, RANKS, BINS = 510, 63, 16
COARSE = Grid(61, 29)
LEAST_P = 0.01

# One truth, its readings and its posterior: the ranks of mean and scatter among 63 draws.
Trial = Callable[[np.random.Generator, int], tuple[int, ...]]


def uniform_p(ranks: Sequence[int]) -> float:
    """Return the chi-square probability that ranks 0 to 63 are uniform, in 16 bins."""
    counts = np.bincount(np.array(ranks) * BINS // (RANKS + 1), minlength=BINS)
    expected = len(ranks) / BINS
    return float(chi2.sf(float(np.sum((counts - expected) ** 2)) / expected, BINS - 1))


def truth(prior: Prior, random: np.random.Generator) -> tuple[float, float]:
    """Draw a scatter and a mean from the prior that the cards stand for."""
    scale = prior.scatter**2 * float(chi2.ppf(0.5, prior.throws))
    scatter = math.sqrt(scale / float(random.chisquare(prior.throws)))
    spread = scatter / math.sqrt(prior.mean_throws)
    return prior.mean + spread * float(random.standard_normal()), scatter


def throw_speed(random: np.random.Generator, count: int) -> tuple[int, ...]:
    """Throws with slips, own errors and an error in common; one reading in ten is a lower bound."""
    prior, slip, common = Prior(8.4, 1.26, 0.8), Slip(0.05, 0.7), 0.3
    mean, scatter = truth(prior, random)
    slipped = np.where(random.random(count) < slip.share, slip.kept, 1.0)
    shift = common * float(random.standard_normal())
    errors = random.uniform(0.3, 0.8, count)
    seen = slipped * (mean + shift) + scatter * random.standard_normal(count)
    seen = seen + errors * random.standard_normal(count)
    found = learn_normal(prior, Readings(seen, errors, common), slip, COARSE)
    means, scatters = found.draws(RANKS, random)
    return int((means < mean).sum()), int((scatters < scatter).sum())


def release_pitch(random: np.random.Generator, count: int) -> tuple[int, ...]:
    """Angles: the errors are as large as the scatter, half of their variance in common."""
    prior, error = Prior(0.21, 0.035, 0.07, 9.0), 0.07
    mean, scatter = truth(prior, random)
    own, common = error * math.sqrt(0.5), error * math.sqrt(0.5)
    seen = mean + common * float(random.standard_normal())
    seen = seen + np.hypot(scatter, own) * random.standard_normal(count)
    found = learn_normal(prior, Readings(seen, np.full(count, own), common), None, COARSE)
    means, scatters = found.draws(RANKS, random)
    return int((means < mean).sum()), int((scatters < scatter).sum())


def start_delay(random: np.random.Generator, count: int) -> tuple[int, ...]:
    """Delays of 0.15 s read to 0.06 s: so vague that some readings are below zero."""
    return _positive(Prior(math.log(0.15), 0.32, 0.35), 0.06, random, count)


def hand_deceleration(random: np.random.Generator, count: int) -> tuple[int, ...]:
    """Video of throws: 35 m/s2 read to 4 m/s2 each."""
    return _positive(Prior(math.log(35.0), 0.43, 0.20), 4.0, random, count)


def _positive(prior: Prior, error: float, random: np.random.Generator, count: int) -> tuple[int, ...]:
    mean, scatter = truth(prior, random)
    seen = np.exp(mean + 0.1 * float(random.standard_normal()) + scatter * random.standard_normal(count))
    seen = seen + error * random.standard_normal(count)
    found = learn_positive(prior, Readings(seen, np.full(count, error), 0.1), COARSE)
    means, scatters = found.draws(RANKS, random)
    return int((means < mean).sum()), int((scatters < scatter).sum())


def scale(random: np.random.Generator, count: int) -> tuple[int, ...]:
    """Thrust, drag, lift: launches at 12 % with half of it shared, one bench reading at 4 %."""
    prior = Scale(15.4, 0.20)
    log_errors = np.array([0.12] * count + [0.04])
    shared = np.array([0.5] * count + [0.0])
    log_truth = math.log(prior.median) + prior.log_sd * float(random.standard_normal())
    root = np.linalg.cholesky(covariance(log_errors, shared))
    seen = np.exp(log_truth + root @ random.standard_normal(count + 1))
    errors = seen * np.sqrt(np.expm1(log_errors**2))
    found = learn_scale(prior, seen, errors, shared)
    drawn = math.log(found.median) + found.log_sd * random.standard_normal(RANKS)
    return (int((drawn < log_truth).sum()),)


def board(random: np.random.Generator, count: int) -> tuple[int, ...]:
    """The jig at level, 30 deg and inverted: tilt and bias at once."""
    tilt, bias = Figure(math.radians(1.5), math.radians(3.0)), Figure(0.0, 0.3)
    true_tilt = tilt.value + tilt.error * float(random.standard_normal())
    true_bias = bias.error * float(random.standard_normal())
    readings = []
    for angle in [0.0, math.radians(30.0), math.pi][: 1 + count % 3] * 2:
        stood = angle + math.radians(0.3) * float(random.standard_normal())
        felt = true_bias + 9.80665 * math.sin(stood + true_tilt) + 0.03 * float(random.standard_normal())
        readings.append(JigReading(Figure(angle, math.radians(0.3)), Figure(felt, 0.03)))
    found = jig(tilt, bias, readings)
    first, second = random.standard_normal((2, RANKS))
    tilts = found.tilt_rad.value + found.tilt_rad.error * first
    other = found.correlation * first + math.sqrt(max(0.0, 1.0 - found.correlation**2)) * second
    biases = found.bias_mps2.value + found.bias_mps2.error * other
    return int((tilts < true_tilt).sum()), int((biases < true_bias).sum())


@pytest.mark.parametrize(
    "trial",
    [throw_speed, release_pitch, start_delay, hand_deceleration, scale, board],
    ids=lambda f: f.__name__,
)
def test_ranks_are_uniform(trial: Trial) -> None:
    random = np.random.default_rng(20180418)
    ranks = [trial(random, (1, 2, 5)[k % 3]) for k in range(DRAWS)]
    for each in zip(*ranks, strict=True):
        assert uniform_p(each) > LEAST_P


def test_the_check_finds_a_posterior_that_takes_errors_for_nothing() -> None:
    """The same check fails where readings with errors are taken as exact: it can see a wrong posterior."""
    random, prior, ranks = np.random.default_rng(7), Prior(8.4, 1.26, 0.8), []
    for _ in range(DRAWS):
        mean, scatter = truth(prior, random)
        seen = mean + np.hypot(scatter, 1.5) * random.standard_normal(5)
        found = learn_normal(prior, Readings(seen, np.zeros(5)), None, COARSE)
        ranks.append(int((found.draws(RANKS, random)[1] < scatter).sum()))
    assert uniform_p(ranks) < 1e-6


def test_disagreement_is_as_rare_as_it_says() -> None:
    """Readings drawn as the card says disagree at p < 0.05 in 5 % of the cases, and split as chi-squares."""
    random, rest = np.random.default_rng(11), covariance(np.array([0.5, 0.6, 0.9]), np.full(3, 0.3))
    root, ps, rests = np.linalg.cholesky(rest), [], []
    for _ in range(2000):
        gaps = 0.8 * float(random.standard_normal()) + root @ random.standard_normal(3)
        found = split(Gap(gaps, 0.64, rest))
        ps.append(two_sided(found.z))
        rests.append(float(chi2.sf(found.rest, found.degrees)))
    for each in (ps, rests):
        off = sum(p < 0.05 for p in each)
        assert binom.ppf(0.001, 2000, 0.05) <= off <= binom.ppf(0.999, 2000, 0.05)
        assert uniform_p([min(RANKS, int(64 * p)) for p in each]) > LEAST_P


LAUNCHES, HISTORIES, FLOWN = 20, 2, 300
TARGET = TARGETS["thrower.release_speed"]


def odds_of(setup: Setup) -> float:
    """Return the share of clean launches of 300, the derived figures of B kept."""
    chunks = run(inputs_of(setup, derived_of("b")), FLOWN, 5)
    return float(np.mean(np.concatenate([is_clean(chunk.table) for chunk in chunks])))


def test_predictions_improve_as_launches_come_in() -> None:
    """A thrower who is slower than the card: each launch is flown, its speed read to 0.5 m/s and learned.

    The odds predicted before each launch are scored against the launch that follows, and against the
    thrower's true odds, in which luck has no part.
    """
    random = np.random.default_rng(3)
    card = changed(
        setup_of("b"),
        {"day.wind": "1 m/s +- 0.3 m/s measured", "thrower.release_speed": "8.6 m/s +- 1.3 m/s guessed"},
    )
    person = changed(card, {"thrower.release_speed": "6.6 m/s +- 0 m/s measured"})
    true_odds = odds_of(person)
    world = inputs_of(person, derived_of("b"))
    predicted = np.empty((HISTORIES, LAUNCHES + 1))
    clean = np.empty((HISTORIES, LAUNCHES + 1), dtype=bool)
    for history in range(HISTORIES):
        flown = np.concatenate([chunk.table for chunk in run(world, LAUNCHES + 1, 100 + history)])
        thrown = draw(world.base, world.rules, LAUNCHES + 1, 100 + history)[0]["hand"]["speed_mps"]
        clean[history] = is_clean(flown)
        seen = thrown + 0.5 * random.standard_normal(LAUNCHES + 1)
        evidence: list[Evidence] = []
        for launch in range(LAUNCHES + 1):
            update = update_scatter(card, TARGET, evidence)
            predicted[history, launch] = odds_of(changed(card, card_values(card, [update]).changes))
            evidence.append(
                Evidence(TARGET.input, float(seen[launch]), 0.5, "launch", "test", f"{launch}", "")
            )
    apart = np.abs(predicted - true_odds)
    assert apart[:, 0].min() > 0.15  # the card was wrong enough for this to matter
    assert apart[:, -5:].mean() < 0.4 * apart[:, :1].mean()
    for score in (brier, log_score):
        early, late = (
            np.mean(
                [
                    true_odds * score(p, np.array([True])) + (1 - true_odds) * score(p, np.array([False]))
                    for p in part.reshape(-1, 1)
                ]
            )
            for part in (predicted[:, :4], predicted[:, -4:])
        )
        assert late < early
        fixed = score(np.full(clean.size, predicted[0, 0]), clean.reshape(-1))
        assert score(predicted.reshape(-1), clean.reshape(-1)) < fixed
