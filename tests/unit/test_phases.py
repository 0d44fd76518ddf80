"""Phases of plain recordings made by hand (`tests/throws.py`): what happened stands in the story itself."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.recordings.launch import EVENTS, Phase, Phases
from overarm.recordings.phases import phases_of
from overarm.recordings.recording import Channel
from tests.throws import G, Story, recorded, without


def thrown(rate_hz: float = 100.0, seed: int = 1) -> Story:
    """Return a whole launch: carried, held, thrown, a second without power, climbed."""
    story = Story(rate_hz, seed)
    return story.held(4.0).walked().held().wound_up().stroke().gliding(0.6).climbing(8.0)


def kinds(found: Phases) -> list[str]:
    return [launch.kind for launch in found.launches]


def well_formed(found: Phases) -> None:
    """Hold what every answer must be like: known events, spans in order without gaps, shares, errors."""
    for launch in found.launches:
        assert set(launch.events) <= set(EVENTS)
        assert all(event.error_s > 0.0 and np.isfinite(event.t_s) for event in launch.events.values())
        for before, after in zip(launch.spans, launch.spans[1:], strict=False):
            assert before.to_s == pytest.approx(after.from_s)
        assert launch.spans[0].from_s == pytest.approx(launch.from_s)
        assert launch.spans[-1].to_s == pytest.approx(launch.to_s)
    assert all(0.0 <= span.sure <= 1.0 and span.to_s > span.from_s for span in found.spans)


@pytest.mark.parametrize("rate_hz", [10.0, 25.0, 50.0, 100.0, 400.0])
def test_a_launch_at_any_rate(rate_hz: float) -> None:
    """One launch, its release within three standard errors, and the phases in their order."""
    story = thrown(rate_hz)
    found = phases_of(story.recording())
    well_formed(found)
    assert kinds(found) == ["launch"]
    launch = found.launches[0]
    release = launch.events["release"]
    assert abs(release.t_s - story.marks["release"]) < 3.0 * release.error_s
    assert release.error_s < (0.03 if rate_hz >= 100.0 else 0.6 / rate_hz + 0.03)
    order = [span.phase for span in launch.spans]
    assert order[-4:] == [Phase.STROKE, Phase.FREE, Phase.POWERED, Phase.CLIMB]
    assert Phase.HELD in order
    assert launch.ended == "log ends"


@pytest.mark.parametrize(
    "channels", ["force", "force throttle", "force height", "force speed", "height speed", "speed", "height"]
)
def test_whatever_channels_there_are(channels: str) -> None:
    story = thrown()
    found = phases_of(story.recording(channels))
    well_formed(found)
    assert kinds(found) == ["launch"]
    release = found.launches[0].events["release"]
    assert abs(release.t_s - story.marks["release"]) < 3.0 * release.error_s


def test_events_of_a_throw() -> None:
    story = thrown()
    events = phases_of(story.recording()).launches[0].events
    for name in ("wind_up", "stroke", "release", "first_throttle"):
        assert abs(events[name].t_s - story.marks[name]) < 3.0 * events[name].error_s, name
    assert events["release"].t_s < events["low_point"].t_s < events["climb"].t_s


def test_a_throw_that_is_broken_off() -> None:
    """The speed goes back to nothing: no launch, with and without height and speed."""
    story = Story().walked().held().wound_up().stroke().braked().held().walked()
    for channels in ("force", "force height speed throttle"):
        found = phases_of(story.recording(channels))
        well_formed(found)
        assert kinds(found) == ["aborted throw"]
        assert found.launches[0].ended == "in the hand"
        assert "release" not in found.launches[0].events


def test_broken_off_then_thrown() -> None:
    story = Story().held().wound_up().stroke().braked().held().walked().held()
    story.wound_up().stroke().gliding(0.6).climbing(6.0)
    found = phases_of(story.recording())
    assert kinds(found) == ["aborted throw", "launch"]
    assert found.launches[1].events["release"].t_s == pytest.approx(story.marks["release"], abs=0.03)


def test_two_launches_and_a_carry_back() -> None:
    story = thrown()
    first = story.marks["release"]
    story.gliding(8.0, sink_mps=2.8).crashed().walked(20.0).held().wound_up()
    story.stroke().gliding(0.6).climbing(8.0)
    found = phases_of(story.recording())
    well_formed(found)
    assert kinds(found) == ["launch", "launch"]
    releases = [launch.events["release"].t_s for launch in found.launches]
    assert releases == pytest.approx([first, story.marks["release"]], abs=0.03)
    assert found.launches[0].to_s <= found.launches[1].from_s
    assert Phase.CARRIED in [span.phase for span in found.launches[1].spans]


def test_a_crash() -> None:
    """Thrown without a motor: the blow ends the flight."""
    story = Story().held().wound_up().stroke().gliding(1.8, sink_mps=0.9).crashed()
    found = phases_of(story.recording())
    well_formed(found)
    assert kinds(found) == ["launch"]
    launch = found.launches[0]
    assert launch.ended == "ground"
    assert launch.events["ground"].t_s == pytest.approx(story.marks["ground"], abs=0.1)
    assert launch.spans[-1].phase == Phase.DOWN


def test_a_recording_that_starts_in_the_air() -> None:
    story = Story().part(0.1, height=20.0, speed=11.0, throttle=0.9).climbing(15.0).gliding(10.0)
    found = phases_of(story.recording())
    well_formed(found)
    assert kinds(found) == ["already in the air"]
    assert "release" not in found.launches[0].events


def test_spin_in_hand() -> None:
    """A shake, then the throttle rises in the hand, then the throw under power."""
    story = Story().held().shaken().held(1.0)
    rise = np.clip(0.25 * story.times(4.0), 0.0, 0.95)
    story.marks["first_throttle"] = story.now_s
    story.part(4.0, throttle=rise).part(0.5, throttle=0.95)
    story.stroke(throttle=0.95).climbing(8.0)
    story.throttle[-1][:] = 0.95
    found = phases_of(story.recording())
    well_formed(found)
    assert kinds(found) == ["launch"]
    launch = found.launches[0]
    for name in ("shake", "release", "first_throttle"):
        assert abs(launch.events[name].t_s - story.marks[name]) < 3.0 * launch.events[name].error_s, name
    assert Phase.SHAKEN in [span.phase for span in launch.spans]
    assert any("before the release" in remark for remark in launch.remarks)


def test_a_line() -> None:
    """Force that jumps up and falls evenly: told by its shape, and its end is the release."""
    story = Story().held().pulled().gliding(0.8, speed_mps=11.5).climbing(8.0)
    launch = phases_of(story.recording()).launches[0]
    assert launch.kind == "launch"
    assert any("line" in remark for remark in launch.remarks)
    for name in ("stroke", "release"):
        assert abs(launch.events[name].t_s - story.marks[name]) < 3.0 * launch.events[name].error_s, name


@pytest.mark.parametrize("cut", [(-0.2, -0.05), (-0.12, 0.1), (-0.35, 0.3)])
def test_a_gap_in_the_stroke(cut: tuple[float, float]) -> None:
    """The launch is still found, and the error of its release grows with the gap."""
    story = thrown()
    release = story.marks["release"]
    found = phases_of(without(story.recording(), release + cut[0], release + cut[1]))
    well_formed(found)
    assert kinds(found) == ["launch"]
    event = found.launches[0].events["release"]
    assert abs(event.t_s - release) < 3.0 * event.error_s


def test_a_break_in_flight_ends_the_launch() -> None:
    story = thrown()
    late = story.marks["release"] + 3.0
    found = phases_of(without(story.recording(), late, late + 4.0))
    well_formed(found)
    assert kinds(found)[0] == "launch"
    assert found.launches[0].ended == "log breaks"
    assert found.launches[0].to_s == pytest.approx(late, abs=0.1)


def test_an_hour_is_quick() -> None:
    """One hour at 100 Hz in less than a second, as the design asks (twice that for a busy machine)."""
    import time

    story = Story().walked(1800.0).held().wound_up().stroke().gliding(0.6).climbing(20.0).gliding(1770.0, 0.0)
    recording = story.recording()
    phases_of(thrown().recording())  # compiled by now
    began = time.process_time()
    found = phases_of(recording)
    assert time.process_time() - began < 2.0
    assert kinds(found) == ["launch"]


@settings(max_examples=25, deadline=None)
@given(
    st.integers(0, 10**6),
    st.sampled_from([10.0, 25.0, 50.0, 100.0]),
    st.floats(0.02, 6.0),
    st.sampled_from(["force", "force height speed throttle"]),
)
def test_noise_is_no_launch(seed: int, rate_hz: float, noise_mps2: float, channels: str) -> None:
    """Up to 6 m/s2 a sample; of 10 m/s2 at 10 Hz one stretch of 30 s in a hundred looks like a throw."""
    story = Story(rate_hz, seed, noise_mps2).part(30.0)
    assert phases_of(story.recording(channels)).launches == ()


@settings(max_examples=25, deadline=None)
@given(
    st.integers(0, 10**6),
    st.floats(0.5, 4.0),
    st.floats(0.02, 0.5),
    st.sampled_from(["force", "force height speed throttle"]),
    st.booleans(),
)
def test_walking_and_shaking_are_no_launch(
    seed: int, step_mps2: float, noise_mps2: float, channels: str, shaken: bool
) -> None:
    story = Story(100.0, seed, noise_mps2).walked(10.0, step_mps2).held(2.0)
    if shaken:
        story.shaken(3, 2.0 + (seed % 10) * 0.1, 0.05 + (seed % 7) * 0.01).held(2.0)
    found = phases_of(story.walked(10.0, step_mps2).recording(channels))
    assert "launch" not in kinds(found)
    assert "already in the air" not in kinds(found)


def test_nothing_and_next_to_nothing() -> None:
    t_s = np.arange(3) / 100.0
    assert phases_of(recorded({})).launches == ()
    short = recorded({"force_z_mps2": Channel(t_s, np.full(3, -G), "")})
    assert phases_of(short).launches == ()
    assert phases_of(short).remarks
    one = recorded({"baro_height_m": Channel(np.array([0.0, 9.0]), np.zeros(2), "")})
    assert phases_of(one).launches == ()
