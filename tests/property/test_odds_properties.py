"""Properties that hold for any counts, any tables, any setups."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from overarm.flight.outcomes import SUMMARY, Outcome
from overarm.odds.format import percent, with_interval
from overarm.odds.intervals import Worlds, clustered, exact, wilson
from overarm.odds.layers import spread_of_odds
from overarm.odds.links import LaunchFigures, chain, weakest
from overarm.odds.race import _loss_mps

counts = (
    st.integers(0, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))).filter(lambda c: c[1] > 0)
)
worlds = st.lists(st.integers(0, 25), min_size=1, max_size=60).map(
    lambda clean: Worlds(np.array(clean, dtype=np.float64), np.full(len(clean), 25.0))
)
tables = st.lists(st.sampled_from(list(Outcome)), min_size=1, max_size=80)


def table_of(outcomes: list[Outcome]) -> NDArray[np.void]:
    table = np.zeros(len(outcomes), SUMMARY)
    table["outcome"] = [int(item) for item in outcomes]
    return table


@given(counts)
def test_interval_holds_the_share_and_mirrors(count: tuple[int, int]) -> None:
    k, n = count
    for method in (wilson, exact):
        odds, other = method(k, n), method(n - k, n)
        assert 0.0 <= odds.low <= odds.share <= odds.high <= 1.0
        assert math.isclose(odds.low, 1.0 - other.high, abs_tol=1e-9)
    assert exact(k, n).width >= wilson(k, n).width - 0.02


@given(counts, st.integers(2, 10))
def test_more_launches_narrow_the_interval(count: tuple[int, int], times: int) -> None:
    k, n = count
    assert wilson(times * k, times * n).width < wilson(k, n).width


@given(worlds)
def test_launches_in_worlds_never_know_more_than_as_many_on_their_own(known: Worlds) -> None:
    plain = wilson(float(known.clean.sum()), float(known.launches.sum()))
    inside = clustered(known)
    assert inside.low <= inside.share <= inside.high
    assert inside.width >= plain.width - 1e-9
    spread = spread_of_odds(known)
    assert 0.0 <= spread.p5 <= spread.p50 <= spread.p95 <= 1.0


@given(worlds)
def test_display_is_within_1_and_99(known: Worlds) -> None:
    text = percent(clustered(known))
    assert text in ("<1 %", ">99 %") or 1 <= int(text.removesuffix(" %")) <= 99
    assert "100" not in with_interval(clustered(known)).replace("100.0", "")


@given(tables, st.sampled_from(["throw-started", "spin-in-hand", "line-launched"]))
def test_product_of_the_links_is_the_share_of_clean_launches(outcomes: list[Outcome], style: str) -> None:
    table = table_of(outcomes)
    links = chain(table, style)
    share = np.mean(table["outcome"] == Outcome.CLEAN)
    assert math.isclose(math.prod(link.odds for link in links if link.odds is not None), share, abs_tol=1e-12)
    assert sum(link.failed for link in links) == np.sum(table["outcome"] != Outcome.CLEAN)
    worst = weakest(table, links, LaunchFigures(style))
    assert worst.odds == min(link.odds for link in links if link.odds is not None)


@given(st.floats(0.05, 0.8), st.floats(-5.0, 3.0), st.floats(0.01, 4.0), st.floats(1.0, 2.5))
def test_loss_of_the_race_grows_with_every_delay(
    need: float, first_s: float, arriving_s: float, k: float
) -> None:
    loss = _loss_mps(need, first_s, arriving_s, k)
    assert loss >= 0.0
    assert _loss_mps(need, first_s + 0.1, arriving_s, k) >= loss - 1e-9
    assert _loss_mps(need, first_s, arriving_s + 0.1, k) >= loss - 1e-9
    assert loss <= 9.80665 * need * max(0.0, first_s + arriving_s) + 1e-9
