"""Whatever a recording holds, cleaning it makes times rise, and cleaning it again does nothing."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from overarm.recordings.channels import CHANNELS
from overarm.recordings.cleaning import clean
from overarm.recordings.defects import DEFECTS
from overarm.recordings.mend.finite import ROUNDING
from overarm.recordings.recording import Channel, Note, Recording

ODD = st.sampled_from(
    [0.0, -0.0, np.nan, np.inf, -np.inf, 1e308, -1e308, 5e-324, 1e10, 65.536, 1e15, 9.80665]
)
TIMES = st.one_of(st.floats(-10.0, 100.0), st.floats(), ODD)
VALUES = st.one_of(
    st.floats(-500.0, 500.0), st.floats(-2.0, 2.0), st.floats(), ODD, st.integers(-3, 3).map(float)
)
WORDS = {"good", "watch", "stop", "not known"}
NAMES = (*CHANNELS, "unheard_of")


@st.composite
def _channels(draw: Any) -> Channel:
    """A channel of times that mostly rise, with a few blows to the times and the values."""
    size = draw(st.integers(0, 300))
    rate = draw(st.sampled_from([1.0, 5.0, 25.0, 100.0, 1000.0]))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    t_s = np.arange(size) / rate
    values = draw(st.sampled_from([0.0, 1.0, -9.8, 50.0])) + draw(
        st.sampled_from([0.0, 0.1, 20.0])
    ) * rng.normal(size=size)
    for _ in range(draw(st.integers(0, 4)) if size else 0):
        at = draw(st.integers(0, size - 1))
        blow = draw(st.sampled_from(["time", "step", "value", "stand", "again", "wild"]))
        with np.errstate(all="ignore"):
            if blow == "time":
                t_s[at] = draw(TIMES)
            elif blow == "step":
                t_s[at:] += draw(st.sampled_from([-65.536, -1.0, -0.02, 0.3, 5.0, 4000.0, 1e9]))
            elif blow == "value":
                values[at : at + draw(st.integers(1, 5))] = draw(VALUES)
            elif blow == "stand":
                values[at:] = values[at]
            elif blow == "again":
                t_s[at:] = t_s[: size - at]
            else:
                t_s[at:] = rng.permutation(t_s[at:])
    return Channel(t_s, values, "made")


RECORDINGS = st.builds(
    lambda channels, notes, breaks: Recording(
        "made.csv",
        "0" * 64,
        "table",
        channels,
        notes=tuple(Note(t, "text") for t in notes),
        breaks_s=tuple(breaks),
    ),
    st.dictionaries(st.sampled_from(NAMES), _channels(), max_size=6),
    st.lists(st.floats(-1.0, 100.0), max_size=3),
    st.lists(st.floats(0.0, 3.0), max_size=2).map(lambda all_s: sorted(set(all_s))),
)
FREE = st.builds(
    lambda name, t_s, values: Recording(
        "made.csv", "0", "table", {name: Channel(t_s, values[: t_s.size], "made")}
    ),
    st.sampled_from(NAMES),
    arrays(np.float64, st.integers(0, 40), elements=TIMES),
    arrays(np.float64, 40, elements=VALUES),
)


def _holds(recording: Recording) -> None:
    cleaned = clean(recording)
    for name, channel in cleaned.channels.items():
        assert channel.t_s.shape == channel.values.shape
        assert np.isfinite(channel.t_s).all()
        assert np.isfinite(channel.values).all()
        assert (np.diff(channel.t_s) > 0.0).all()
        kind = CHANNELS.get(name)
        if kind is not None and channel.values.size:
            slack = ROUNDING * (kind.high - kind.low)
            assert kind.low - slack <= channel.values.min()
            assert channel.values.max() <= kind.high + slack
    for repair in cleaned.repairs:
        assert repair.defect in DEFECTS
        assert repair.channel in ("", *recording.channels)
        assert repair.word in WORDS
        assert repair.times >= 0
        assert np.isfinite([repair.from_s, repair.to_s]).all()
        assert repair.from_s <= repair.to_s
        assert repair.sentence.endswith(".")
    assert list(cleaned.breaks_s) == sorted(set(cleaned.breaks_s))
    assert set(cleaned.channels) == set(recording.channels)
    changed = [
        name
        for name, channel in recording.channels.items()
        if not np.array_equal(channel.values, cleaned.channels[name].values, equal_nan=True)
    ]
    assert cleaned.repairs or not changed  # nothing is changed on the quiet
    again = clean(cleaned)
    assert again.repairs == cleaned.repairs
    assert again.breaks_s == cleaned.breaks_s
    assert again.notes == cleaned.notes
    for name, channel in cleaned.channels.items():
        assert np.array_equal(again.channels[name].t_s, channel.t_s)
        assert np.array_equal(again.channels[name].values, channel.values)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(RECORDINGS)
def test_a_cleaned_recording_is_whole_and_stays_as_it_is(recording: Recording) -> None:
    _holds(recording)


@settings(max_examples=150, deadline=None)
@given(FREE)
def test_any_numbers_at_all_can_be_cleaned(recording: Recording) -> None:
    _holds(recording)


@pytest.mark.parametrize("size", [0, 1, 2, 3])
def test_hardly_any_samples_can_be_cleaned(size: int) -> None:
    channel = Channel(np.zeros(size), np.zeros(size), "made")
    _holds(Recording("made.csv", "0", "table", dict.fromkeys(CHANNELS, channel)))
