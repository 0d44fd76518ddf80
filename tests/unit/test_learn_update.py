"""From evidence and cards to priors and readings: what is shared, what counts, what is brought where."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from overarm.describe.change import changed
from overarm.learn.bench.empty import empty_form
from overarm.learn.bench.evidence import of_form
from overarm.learn.bench.read import read_form
from overarm.learn.evidence import AT_LEAST, Evidence
from overarm.learn.run import Gathered, learn_from
from overarm.learn.targets import TARGETS, learning_prior, scale_prior, scatter_prior
from overarm.learn.update import readings_of
from tests.examples import derived_of, setup_of

SPEED = TARGETS["thrower.release_speed"]


def seen(value: float, error: float, kind: str = "launch", key: str = "thrower.release_speed") -> Evidence:
    return Evidence(key, value, error, "launch" if kind == "launch" else "bench", "test", "0" * 64, "")


def test_launches_share_part_of_their_error_and_bench_tests_do_not() -> None:
    """A quarter of the variance for the speed of a throw: 0.4^2 = 0.2^2 + 0.3464^2, by hand."""
    launches = readings_of(SPEED, [seen(8.0, 0.4), seen(8.4, 0.4)])
    assert launches.errors == pytest.approx([0.34641, 0.34641], abs=1e-5)
    assert launches.common == pytest.approx(0.2)
    bench = readings_of(SPEED, [seen(8.0, 0.4, "bench")])
    assert (bench.errors[0], bench.common) == (0.4, 0.0)
    delay = readings_of(TARGETS["power.start_delay"], [seen(0.2, 0.05, key="power.start_delay")])
    assert delay.common == pytest.approx(0.25 * math.sqrt(0.5))  # of the logarithm


def test_a_card_counts_as_four_throws_at_most_unless_it_was_learned() -> None:
    """Scatter 0.8 m/s: 3 % of 8.4 m/s would be ten throws, 15 % is 0.4 throws, by hand."""
    card = setup_of("b")
    assert scatter_prior(card, SPEED).mean_throws == pytest.approx((0.8 / 0.252) ** 2)
    assert learning_prior(card, SPEED).mean_throws == pytest.approx(4.0)
    guess = changed(card, {"thrower.release_speed": "8.4 m/s +- 15 % guessed"})
    assert learning_prior(guess, SPEED).mean_throws == pytest.approx((0.8 / 1.26) ** 2)
    learned = changed(card, {"thrower.release_speed_scatter": "0.8 m/s +- 0.1 m/s measured"})
    prior = learning_prior(learned, SPEED)
    assert prior.mean_throws == pytest.approx((0.8 / 0.252) ** 2)
    assert prior.throws > 20.0
    sure = changed(card, {"thrower.release_speed": "8.4 m/s +- 0 m/s measured"})
    assert learning_prior(sure, SPEED).mean_throws == 4.0
    steady = changed(card, {"thrower.release_speed_scatter": "0 m/s"})
    assert learning_prior(steady, SPEED).scatter == pytest.approx(0.8)  # as if it had been left out


def test_the_pull_is_brought_to_the_launch_ceiling(tmp_path: Path) -> None:
    """Read at 95 %; a ceiling of 80 % has (0.80/0.95)^k of it, k from the two readings by hand."""
    file = tmp_path / "pull.yaml"
    file.write_text(empty_form("pull", ""), "utf-8")
    power = math.log(15.4 / 4.7) / math.log(0.95 / 0.50)
    for ceiling, expected in (("95 %", 15.4), ("80 %", 15.4 * (0.80 / 0.95) ** power)):
        card = changed(setup_of("b"), {"settings.launch_ceiling": ceiling})
        found = of_form(read_form(file), card, derived_of("b")).evidence[0]
        assert (found.input, found.kind) == ("power.thrust", "bench")
        assert found.value == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("number", "words"), [(2, "hardly at all"), (12, "roughly"), (60, "well")])
def test_how_well_a_scatter_is_known(number: int, words: str) -> None:
    items = tuple(seen(8.4 + 0.8 * math.sin(2.1 * k), 0.1) for k in range(number))
    said = learn_from(setup_of("b"), derived_of("b"), Gathered(items)).updates[0]
    assert said.little.startswith(f"{number} throws: the mean is known to +-")
    assert f"the scatter {words} (" in said.little


def test_a_slip_is_told() -> None:
    items = tuple(seen(value, 0.2) for value in (8.3, 8.5, 8.4, 8.6, 8.2, 8.5, 8.3, 5.6))
    said = learn_from(setup_of("b"), derived_of("b"), Gathered(items)).updates[0]
    assert said.besides.startswith("Looks like a slip of the grip and counts little: 5.6 m/s.")


def test_a_card_that_is_off_says_how_much_it_counts() -> None:
    items = tuple(seen(value, 0.3) for value in (6.3, 6.6, 6.2, 6.5))
    result = learn_from(setup_of("b"), derived_of("b"), Gathered(items))
    assert "The card counts as 4 throws" in result.updates[0].besides
    assert result.verdict.checks[0].word == "watch"
    thrust = tuple(seen(value, 0.5, "bench", "power.thrust") for value in (11.0, 11.2))
    result = learn_from(setup_of("b"), derived_of("b"), Gathered(thrust))
    assert "The card says it is known to +-0.62 N" in result.updates[0].besides
    assert result.verdict.most == "power.thrust"
    assert result.verdict.share == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        # 0.252 of 0.8 m/s stands for (0.8/0.252)^2 = 10 throws, and 4 and 1 throws know less than 10.
        ("thrower.release_speed", 8.4, "Less sure than before: learning counts a card as 4 throws at most"),
        ("thrower.release_speed", 12.4, "this one claims 10; what was seen lies far from the card"),
        ("thrower.release_path", 0.38, "Less sure than before: what was seen lies far from the card"),
    ],
)
def test_one_throw_that_makes_a_mean_less_sure_says_why(key: str, value: float, words: str) -> None:
    """Gelman et al. (2013), section 3.3: the mean is N(m, scatter^2/throws), so both grow together."""
    update = learn_from(setup_of("b"), derived_of("b"), Gathered((seen(value, 0.01, key=key),))).updates[0]
    assert update.update.narrowed > 1.0
    assert words in update.besides


def test_a_throw_that_narrows_says_no_such_thing() -> None:
    near = Gathered((seen(math.radians(12.0), 0.01, key="thrower.release_path"),))
    update = learn_from(setup_of("b"), derived_of("b"), near).updates[0]
    assert update.update.narrowed < 1.0
    assert "less sure" not in update.besides.lower()


def test_clipped_throws_are_no_slips_and_do_not_speak_against_a_faster_card() -> None:
    """Throws of at least 5 m/s agree with a card of 8.4 m/s."""
    clipped = tuple(seen(value, 0.5)._replace(method=f"test{AT_LEAST}") for value in (5.0, 5.2, 5.1, 4.9))
    result = learn_from(setup_of("b"), derived_of("b"), Gathered(clipped))
    assert "slip" not in result.updates[0].besides
    assert result.verdict.checks == ()
    assert "against the cards" in result.verdict.sentence
    told = learn_from(setup_of("b"), derived_of("b"), Gathered((*clipped, seen(8.5, 0.3))))
    assert told.verdict.most == ""
    assert told.verdict.checks[0].seen == pytest.approx(8.5)


def test_a_scatter_that_is_off_is_not_told_as_agreement() -> None:
    items = tuple(seen(8.4 + gap, 0.3) for gap in (-4.0, 4.0, -4.2, 4.2, -4.0, 4.0))
    verdict = learn_from(setup_of("b"), derived_of("b"), Gathered(items)).verdict
    assert verdict.checks[0].word == "watch"
    assert not verdict.sentence.startswith("What was seen agrees")
    assert "not how much it scatters" in verdict.sentence


def test_inputs_that_are_off_together_are_not_told_as_chance() -> None:
    """Four inputs about two sd off each: by Holm none is off, by the chi-square of all they are."""
    items = []
    for key in ("thrower.release_speed", "thrower.release_path", "thrower.release_pitch"):
        card = scatter_prior(setup_of("b"), TARGETS[key])
        far = card.mean + 2.1 * math.hypot(card.scatter, card.spread)
        items.append(seen(far, 0.01 * card.scatter, key=key))
    thrust = scale_prior(setup_of("b"), derived_of("b"), "power.thrust")
    items.append(seen(thrust.at(2.1), 0.01 * thrust.median, "bench", "power.thrust"))
    verdict = learn_from(setup_of("b"), derived_of("b"), Gathered(tuple(items))).verdict
    assert min(item.p_held for item in verdict.checks) > 0.05
    assert verdict.p < 0.05
    assert verdict.most
    assert "no more than chance explains" not in verdict.sentence
    assert "together" in verdict.sentence
