"""Whatever is read as evidence gives an answer in finite numbers or a clear error."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from overarm.errors import InputError
from overarm.learn.answer_words import answer
from overarm.learn.bench.empty import BODIES, empty_form
from overarm.learn.evidence import Evidence
from overarm.learn.run import Gathered, learn, learn_from
from overarm.learn.targets import TARGETS, limits_of
from tests.examples import derived_of, setup_of

FEW = settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
ANY = st.one_of(st.floats(), st.integers(-(10**400), 10**400), st.none(), st.text(max_size=5), st.booleans())


def finite(told: Any) -> bool:
    """Return True if every number in JSON-ready data is finite."""
    if isinstance(told, dict):
        return all(finite(item) for item in told.values())
    if isinstance(told, list | tuple):
        return all(finite(item) for item in told)
    return not isinstance(told, float) or math.isfinite(told)


@FEW
@given(
    name=st.sampled_from(
        ["throw_speed_mps", "release_path_rad", "start_delay_s", "static_thrust_n", "drag_zero"]
    ),
    values=st.lists(st.tuples(ANY, ANY), min_size=1, max_size=3),
)
def test_any_numbers_in_an_answer(name: str, values: list[tuple[Any, Any]], tmp_path: Path) -> None:
    launches = [
        {"number": k, "kind": "launch", "estimates": {name: {"value": v, "error": e}}}
        for k, (v, e) in enumerate(values)
    ]
    file = tmp_path / "r.json"
    file.write_text(json.dumps({"launches": launches}), "utf-8")
    try:
        result = learn(setup_of("b"), [file])
    except InputError:
        return
    assert finite(result.to_dict())
    assert answer(result)


@FEW
@given(st.data())
def test_any_evidence_that_a_card_takes(data: st.DataObject) -> None:
    """Values anywhere in the range of the card, errors from a thousandth to a thousand times as large."""
    key = data.draw(st.sampled_from(sorted(TARGETS)))
    low, high = limits_of(key)
    size = max(abs(low), abs(high))
    items = [
        Evidence(
            key,
            data.draw(st.floats(low, high)),
            size * 10.0 ** data.draw(st.floats(-3.0, 3.0)),
            data.draw(st.sampled_from(["launch", "bench"])),
            "test",
            "0" * 64,
            "",
        )
        for _ in range(data.draw(st.integers(1, 4)))
    ]
    result = learn_from(setup_of("b"), derived_of("b"), Gathered(tuple(items)))
    assert finite(result.to_dict())
    for said in result.updates:
        after = said.update.after
        assert after.low <= after.value <= after.high
        assert after.spread > 0.0
        assert said.little


@FEW
@given(name=st.sampled_from(list(BODIES)), data=st.data())
def test_any_damage_to_a_form(name: str, data: st.DataObject, tmp_path: Path) -> None:
    """One piece of a form replaced by something else."""
    text = empty_form(name, "2031-05-17")
    at = data.draw(st.integers(0, len(text) - 1))
    until = data.draw(st.integers(at, min(len(text), at + 12)))
    put = data.draw(
        st.sampled_from(["", "-", "0", "9", "1e9", " m", "{", "]", ": ", "\n", "%", "true", "~", "'"])
    )
    file = tmp_path / "form.yaml"
    file.write_text(text[:at] + put + text[until:], "utf-8")
    try:
        result = learn(setup_of("b"), [file])
    except InputError:
        return
    assert finite(result.to_dict())


@pytest.mark.parametrize("number", [1, 40, 400])
def test_many_launches_at_once(number: int) -> None:
    """The grid holds for many launches too: the mean goes to theirs, the scatter to theirs."""
    items = tuple(
        Evidence(
            "thrower.release_speed", 7.0 + 0.1 * math.sin(7.3 * k), 0.01, "launch", "test", f"{k:064d}", ""
        )
        for k in range(number)
    )
    after = learn_from(setup_of("b"), derived_of("b"), Gathered(items)).updates[0].update.after
    assert after.scatter is not None
    if number == 400:
        assert after.value == pytest.approx(7.0, abs=0.05)
        assert 0.07 < after.scatter.value < 0.2  # 0.07, and a share for a mean 1.4 m/s off the card
        assert after.scatter.high < 1.5 * after.scatter.low
