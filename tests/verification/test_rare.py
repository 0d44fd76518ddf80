"""The probability of something rare, against the normal distribution and against plain launches."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import binomtest, multivariate_normal, norm

from overarm.flight.campaign import fly_numbered
from overarm.flight.draw import records_of
from overarm.flight.outcomes import Outcome
from overarm.odds.intervals import exact
from overarm.odds.mixture import Floats, Ints, Proposal, clouds, counts_of, log_ratios, log_weights
from overarm.odds.rare import Asked, count, space_of
from overarm.odds.rare_range import CHUNK, Range
from overarm.odds.rare_search import PLAIN_SHARE, apart, fitted, search, walk_back
from overarm.odds.rare_share import Share, Tally, in_whole_launches
from tests.examples import inputs_of
from tests.rare_toys import INPUTS, toy

WANTED = Asked(0.2, 60_000)
FAR_OUT = 3.719  # norm.sf(3.719) = 1.0e-4
SEEDS = range(1, 21)


def tilted(scores: Floats) -> Floats:
    """A half space along four inputs: one way, of probability norm.sf(3.719)."""
    return np.asarray(FAR_OUT - scores[:, :4] @ np.array([0.8, 0.4, -0.4, 0.2]))


def two_ways(scores: Floats) -> Floats:
    """Two ways on opposite sides, one four times as likely as the other."""
    return np.minimum(3.8 - scores[:, 2], 4.13 + scores[:, 2])


def product(scores: Floats) -> Floats:
    """Two curved ways: both of two inputs high, or both low."""
    return np.asarray(9.0 - scores[:, 0] * scores[:, 1])


def spread_out(scores: Floats) -> Floats:
    """A half space that leans on all inputs alike: none of them stands out."""
    return np.asarray(FAR_OUT - scores.sum(axis=1) / math.sqrt(INPUTS))


PRODUCT = 2.0 * quad(lambda x: norm.pdf(x) * norm.sf(9.0 / x), 1e-6, 40.0)[0]


def shares_of(happens: object, *, blind: bool = False) -> list[Share]:
    return [count(Range(toy(happens, seed, blind=blind)), WANTED).share for seed in SEEDS]  # type: ignore[arg-type]


def mean_is(shares: list[Share], truth: float) -> bool:
    """Say whether the mean over the seeds lies within three of its own standard errors of the truth."""
    each = np.array([share.probability for share in shares])
    return abs(float(each.mean()) - truth) < 3.0 * float(each.std(ddof=1)) / math.sqrt(len(each))


def covered(shares: list[Share], truth: float) -> int:
    return sum(share.interval().low <= truth <= share.interval().high for share in shares)


def test_densities_against_scipy() -> None:
    """scipy.stats.multivariate_normal, three clouds of different place and width."""
    rng = np.random.default_rng(1)
    proposal = Proposal(rng.normal(size=(3, 4)), np.array([1.0, 1.6, 0.7]), np.array([0.5, 0.3, 0.2]))
    scores = 2.0 * rng.normal(size=(50, 4))
    plain = multivariate_normal(np.zeros(4)).logpdf(scores)
    each = [
        multivariate_normal(centre, width**2 * np.eye(4)).logpdf(scores) - plain
        for centre, width in zip(proposal.centres, proposal.widths, strict=True)
    ]
    assert log_ratios(proposal, scores) == pytest.approx(np.array(each).T, abs=1e-10)
    mixed = np.log(np.exp(np.array(each).T) @ proposal.shares)
    assert log_weights([(proposal, 50)], scores) == pytest.approx(-mixed, abs=1e-10)


def test_no_weight_passes_the_plain_share() -> None:
    """With a share a of the standard normal in the mixture, w = phi/q is at most 1/a, by its definition."""
    proposal = clouds(np.array([[5.0, 0.0], [-3.0, 3.0]]), np.array([3.0, 1.0]), PLAIN_SHARE)
    scores = 4.0 * np.random.default_rng(2).normal(size=(2000, 2))
    assert np.exp(log_weights([(proposal, 1)], scores)).max() <= 1.0 / PLAIN_SHARE * (1.0 + 1e-12)
    assert counts_of(proposal.shares, CHUNK).sum() == CHUNK


@pytest.mark.parametrize(
    ("happens", "truth", "blind"),
    [
        (tilted, norm.sf(FAR_OUT), False),
        (two_ways, norm.sf(3.8) + norm.sf(4.13), False),
        (two_ways, norm.sf(3.8) + norm.sf(4.13), True),
        (product, PRODUCT, False),
        (spread_out, norm.sf(FAR_OUT), False),
    ],
)
def test_mean_and_interval_against_the_normal_tail(happens: object, truth: float, blind: bool) -> None:
    """scipy.stats.norm.sf, and for the product a quadrature of it (scipy.integrate.quad).

    20 seeds through search, frozen proposal and stop rule, as an aeroplane goes.
    """
    shares = shares_of(happens, blind=blind)
    assert mean_is(shares, float(truth))
    assert covered(shares, float(truth)) >= 17  # 95 % of 20 is 19; 16 or fewer come once in 370 times
    assert all(share.told and share.relative_error <= 0.2 for share in shares)


def test_a_cloud_in_the_wrong_place_costs_launches_and_no_truth() -> None:
    """Unbiased from any frozen proposal: the search only says where launches are drawn."""
    wrong = np.zeros((1, INPUTS))
    wrong[0, 5] = 2.0
    proposal = in_whole_launches(clouds(wrong, np.ones(1), PLAIN_SHARE))
    easy = 1.5
    shares = []
    for seed in range(40):
        field, tally = Range(toy(lambda z: easy - z[:, 0], seed)), Tally(proposal)
        tally.add(field.draw(proposal, CHUNK))
        shares.append(tally.share())
    assert mean_is(shares, float(norm.sf(easy)))
    assert covered(shares, float(norm.sf(easy))) >= 34  # of 40; 33 or fewer come once in 340 times
    spread = float(np.std([share.probability for share in shares], ddof=1))
    told = float(np.mean([share.standard_error for share in shares]))
    assert told == pytest.approx(spread, rel=0.35)  # a spread of 40 is known to 11 %


def test_what_a_figure_rests_on_is_counted() -> None:
    """By hand, with scipy.stats.multivariate_normal: a quarter of each chunk comes as it is, 100 came before.

    Events of equal weight: ``(sum w)^2/sum w^2``, L. Kish (1965), Survey Sampling.
    """
    centre = np.zeros(INPUTS)
    centre[0] = 2.0
    proposal = in_whole_launches(clouds(centre[None, :], np.ones(1), 0.25))
    field, tally = Range(toy(lambda z: 1.5 - z[:, 0], 3)), Tally(proposal, (100, 7))
    batches = [field.draw(proposal, CHUNK) for _ in range(2)]
    for batch in batches:
        tally.add(batch)
    share = tally.share()
    scores = np.concatenate([batch.scores for batch in batches])
    happened = scores[scores[:, 0] > 1.5]
    plain, moved = (multivariate_normal(at).pdf(happened) for at in (np.zeros(INPUTS), centre))
    weights = plain / (0.25 * plain + 0.75 * moved)
    assert share.events == len(happened)
    assert share.effective_events == pytest.approx(weights.sum() ** 2 / (weights**2).sum(), rel=1e-9)
    assert share.effective_events < 0.9 * share.events
    assert share.largest_share == pytest.approx(weights.max() / weights.sum(), rel=1e-9)
    as_they_came = np.concatenate([batch.scores[: CHUNK // 4] for batch in batches])
    assert share.plain_launches == 100 + len(as_they_came) == 100 + CHUNK // 2
    assert share.plain_events == 7 + int(np.sum(as_they_came[:, 0] > 1.5))


def test_plain_launches_of_a_search_happen_as_often_as_they_should() -> None:
    """scipy.stats.norm.sf(1.5) of them, 6.7 %, by scipy.stats.binomtest."""
    found = search(Range(toy(lambda z: 1.5 - z[:, 0], 1)), 8000)
    assert found.plain_launches > 1000
    assert binomtest(found.plain_events, found.plain_launches, float(norm.sf(1.5))).pvalue > 0.001


def test_only_launches_after_the_search_are_counted() -> None:
    """By hand: w = phi/q by scipy.stats.multivariate_normal over the launches that no search has seen."""
    space, seen = toy(tilted, 1), []

    def near(scores: Floats, numbers: Ints) -> tuple[Floats, Ints]:
        seen.append((scores.copy(), numbers))
        return space.near(scores, numbers)

    counted = count(Range(replace(space, near=near)), WANTED)
    scores, numbers = (np.concatenate(parts) for parts in zip(*seen, strict=True))
    mine = slice(counted.search_launches, None)
    n = counted.share.launches
    assert len(numbers[mine]) == n == counted.launches - counted.search_launches
    assert len(np.unique(numbers[mine])) == n
    assert not np.isin(numbers[mine], numbers[: counted.search_launches]).any()
    happened = scores[mine][tilted(scores[mine]) < 0.0]
    proposal = counted.tally.proposal
    mixed = sum(
        share * multivariate_normal(centre, np.eye(INPUTS)).pdf(happened)
        for centre, share in zip(proposal.centres, proposal.shares, strict=True)
    )
    plain = multivariate_normal(np.zeros(INPUTS)).pdf(happened)
    assert counted.share.probability == pytest.approx(float((plain / mixed).sum()) / n, rel=1e-9)


def test_nothing_found_leaves_the_bound_of_plain_launches() -> None:
    """C. J. Clopper & E. S. Pearson (1934): none in n allows 1 - 0.05^(1/n)."""
    counted = count(Range(toy(lambda z: np.ones(len(z)), 1)), Asked(0.2, 20_000))
    share = counted.share
    assert share.events == 0
    assert not share.told
    assert share.plain_at_most == pytest.approx(1.0 - 0.05 ** (1.0 / share.plain_launches), rel=1e-9)
    assert share.plain_launches > 16_000
    assert share.at_most == share.interval().high == share.plain_at_most > 0.0


def test_too_small_to_tell_spends_the_rest_on_the_bound() -> None:
    counted = count(Range(toy(lambda z: 6.2 - z[:, 0], 1)), Asked(0.2, 20_000))
    assert counted.share.probability == pytest.approx(float(norm.sf(6.2)), rel=0.5)
    assert not counted.share.told
    assert counted.share.plain_at_most == exact(0, counted.share.plain_launches, 0.90).high
    assert counted.launches + CHUNK > 20_000


def test_walking_back_keeps_what_is_needed() -> None:
    """By hand: z0 + z1 > 4 needs two inputs of the twenty, and no more than 4 of their sum."""
    field = Range(toy(lambda z: 4.0 - z[:, 0] - z[:, 1], 1))
    start = np.random.default_rng(3).normal(size=(3, INPUTS))
    start[:, :2] = 4.0
    least = walk_back(field, start, np.arange(3), -np.inf)
    assert np.all(least[:, 2:] == 0.0)
    assert np.all((least.sum(axis=1) > 4.0) & (least.sum(axis=1) < 4.5))


def test_ways_that_differ_stay_apart_and_the_fit_finds_both() -> None:
    """By hand: the mean of a standard normal beyond 3 is phi(3)/Q(3) = 3.283."""
    rng = np.random.default_rng(4)
    z = rng.normal(size=(4000, 3))
    z[:2000, 0], z[2000:, 0] = norm.isf(rng.uniform(size=(2, 2000)) * norm.sf(3.0)) * [[1.0], [-1.0]]
    start = apart(z[[0, 1, 2000, 2001]] * [1.0, 0.0, 0.0], np.zeros((0, 3)))
    assert len(start) == 2
    centres, shares = fitted(z, np.ones(4000), start, np.ones(2))
    assert np.sort(centres[:, 0]) == pytest.approx([-3.283, 3.283], abs=0.03)
    assert shares == pytest.approx([0.5, 0.5], abs=0.03)
    assert not centres[:, 1:].any()


# Own calculation: so many of 200,000 plain launches, each a world of its own, of example A with seed 2026:
#     python benchmarks/rare.py --brute
BRUTE_EVENTS, BRUTE_LAUNCHES = 386, 200_000


def test_hands_at_risk_against_plain_launches() -> None:
    """Example A: the mean over seeds and the plain count agree within three of their standard errors."""
    plain = BRUTE_EVENTS / BRUTE_LAUNCHES
    inputs = inputs_of("a")
    shares = [
        count(Range(space_of(inputs, Outcome.HAND_AT_RISK, seed)), WANTED).share for seed in range(1, 6)
    ]
    mean = float(np.mean([share.probability for share in shares]))
    error = math.hypot(
        math.sqrt(plain / BRUTE_LAUNCHES),
        math.sqrt(sum(share.standard_error**2 for share in shares)) / len(shares),
    )
    assert abs(mean - plain) < 3.0 * error
    assert error < 0.12 * plain


def test_a_false_start_beside_a_late_hand_is_not_missed() -> None:
    """Example E has two ways to a hand at risk; the likelier, a cue in the carry, comes out of the blue."""
    inputs = inputs_of("e")
    for seed in (1, 4):
        space = space_of(inputs, Outcome.HAND_AT_RISK, seed)
        counted = count(Range(space), WANTED)
        tally = counted.tally
        nose_up = space.names.index("thrower.carry_pitch_scatter")
        carried = tally.scores[:, nose_up] > 1.5
        assert tally.weights[carried].sum() > 0.5 * tally.weights.sum()


@pytest.mark.parametrize("outcome", [Outcome.HAND_AT_RISK, Outcome.FALSE_START, Outcome.NO_START])
def test_ending_early_changes_no_outcome(outcome: Outcome) -> None:
    """Flown to the height of the handover and only to 8 m, the same launches have the outcome."""
    for letter in "ac":
        inputs = inputs_of(letter)
        space = space_of(inputs, outcome, 1)
        scores = 1.8 * space.plain(0, 600)
        numbers = np.arange(600)
        whole = fly_numbered(inputs, records_of(inputs.base, inputs.rules, scores), 1, numbers)
        near, _ = space.near(scores, numbers)
        assert np.array_equal(np.isneginf(near), whole["outcome"] == outcome)
