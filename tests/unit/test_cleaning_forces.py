"""Axes, gravity, satellite lag, lines of the propeller and the zero of the airspeed."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from overarm.recordings.cleaning import clean
from overarm.recordings.mend.axes import rotations
from overarm.recordings.recording import Channel, Recording
from tests.mending import FORCES, G_MPS2, RATES, Numbers, found, launch, recording, with_channel, without

RNG = np.random.default_rng(7)
OCTAHEDRAL = Rotation.create_group("O").as_matrix()  # scipy's own 24 rotations of a cube


def _mounted(whole: Recording, turn: Numbers) -> Recording:
    """Return what a board would write that is turned so that ``turn`` brings its axes back to ours."""
    channels = dict(whole.channels)
    for names in (FORCES, RATES):
        ours = np.column_stack([whole.channels[name].values for name in names])
        for name, values in zip(names, (ours @ turn).T, strict=True):
            channels[name] = Channel(whole.channels[name].t_s, values, name)
    return replace(whole, channels=channels)


def test_the_rotations_are_those_of_a_cube() -> None:
    def as_set(matrices: list[Numbers]) -> set[tuple[int, ...]]:
        return {tuple(np.rint(matrix).astype(int).ravel().tolist()) for matrix in matrices}

    assert as_set(rotations()) == as_set(list(OCTAHEDRAL))


@pytest.mark.parametrize("with_angles", [True, False])
@pytest.mark.parametrize(("letter", "every"), [("a", 7), ("b", 1), ("c", 7), ("d", 7), ("e", 7)])
def test_any_mounting_is_turned_back_by_rest_and_throw(letter: str, every: int, with_angles: bool) -> None:
    whole = launch(letter) if with_angles else without(launch(letter), "bank_rad", "pitch_rad", "heading_rad")
    for turn in np.rint(OCTAHEDRAL)[::every]:
        cleaned = clean(_mounted(whole, turn))
        for name in (*FORCES, *RATES):
            assert np.array_equal(cleaned.channels[name].values, whole.channels[name].values)
        told = [repair for repair in cleaned.repairs if repair.defect == "axes"]
        assert len(told) == (0 if np.array_equal(turn, np.eye(3)) else 1)
        assert clean(cleaned) is cleaned


def _pushed(whole: Recording, name: str, from_s: float, to_s: float, gained: float) -> Recording:
    """Add half a sine to a channel that sums up to ``gained`` over a time."""
    t_s = whole.channels[name].t_s
    share = np.clip((t_s - from_s) / (to_s - from_s), 0.0, 1.0)
    more = 0.5 * np.pi * gained / (to_s - from_s) * np.sin(np.pi * share)
    return with_channel(whole, name, whole.channels[name].values + more)


def _carried() -> Recording:
    """Return launch b, walked with for three seconds before it: two steps a second of 1.5 m/s2."""
    whole = launch("b")
    for k in range(12):
        whole = _pushed(whole, "force_z_mps2", 3.0 + 0.25 * k, 3.25 + 0.25 * k, (-1) ** k * 0.24)
    return whole


def test_a_throw_broken_off_before_the_launch_turns_no_axes() -> None:
    """The arm that stops gives more speed backward than it had forward; that is no throw backward."""
    for swung in ("force_x_mps2", "force_y_mps2"):
        whole = _carried()
        for from_s, to_s, gained in ((3.0, 3.25, 4.0), (3.25, 3.5, -6.0), (3.5, 3.75, 2.0)):
            whole = _pushed(whole, swung, from_s, to_s, gained)
        assert found(whole, "axes") == []


def test_turning_round_with_the_model_turns_no_axes() -> None:
    """Half a turn in 1.2 s: the model at arm's length swings out with ``w^2 r``."""
    whole = _pushed(_pushed(_carried(), "force_y_mps2", 3.0, 4.2, 7.5), "yaw_rate_radps", 3.0, 4.2, np.pi)
    assert found(whole, "axes") == []


def test_a_throw_that_rolls_far_still_shows_the_axes() -> None:
    """A hand that turns over as it throws rolls the model by a right angle; that is no turning round."""
    whole = launch("b")
    force = whole.channels["force_x_mps2"]
    throw_s = float(force.t_s[int(np.argmax(force.values))])
    rolled = _pushed(whole, "roll_rate_radps", throw_s - 0.25, throw_s + 0.25, 0.5 * np.pi)
    sideways = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    assert len(found(_mounted(rolled, sideways), "axes")) == 1


def test_the_rotation_is_told_in_words() -> None:
    upside_down = np.diag([1.0, -1.0, -1.0])
    (repair,) = found(_mounted(launch("b"), upside_down), "axes")
    assert "forward is x, right is minus y, down is minus z" in repair.sentence
    assert (repair.word, repair.times) == ("watch", launch("b").channels["force_x_mps2"].t_s.size)


def test_without_a_throw_a_turned_board_is_a_stop() -> None:
    whole = launch("b")
    rest = {name: (c.t_s[:800], c.values[:800]) for name, c in whole.channels.items() if name in FORCES}
    assert not clean(recording(rest)).repairs
    (repair,) = found(_mounted_forces(recording(rest)), "axes")
    assert repair.word == "stop"
    assert "mapping" in repair.sentence
    assert clean(_mounted_forces(recording(rest))).channel("force_x_mps2") is None


def _mounted_forces(whole: Recording) -> Recording:
    x, y, z = (whole.channels[name].values for name in FORCES)
    for name, values in zip(FORCES, (x, -y, -z), strict=True):
        whole = with_channel(whole, name, values)
    return whole


def test_rates_that_fit_the_angles_stay_when_the_forces_turn() -> None:
    turned = _mounted_forces(launch("b"))
    cleaned = clean(turned)
    assert "turn rates" not in cleaned.repairs[0].sentence
    for name in RATES:
        assert cleaned.channels[name] is turned.channels[name]


@pytest.mark.parametrize("letter", "abcde")
def test_forces_without_gravity_are_noticed(letter: str) -> None:
    whole = launch(letter)
    rest = [np.median(whole.channels[name].values[:700]) for name in FORCES]
    for name, felt in zip(FORCES, rest, strict=True):
        whole = with_channel(whole, name, whole.channels[name].values - felt)
    cleaned = clean(whole)
    assert not cleaned.gravity_felt
    (repair,) = (r for r in cleaned.repairs if r.defect == "gravity removed")
    assert repair.word == "watch"
    assert clean(cleaned) is cleaned
    assert {r.defect for r in cleaned.repairs} == {"gravity removed"}


@pytest.mark.parametrize("letter", "abcde")
@pytest.mark.parametrize("lag_s", [0.12, 0.25, 0.4])
def test_the_lag_of_the_satellite_is_told_and_taken_out(letter: str, lag_s: float) -> None:
    late = launch(letter, lag_s)
    (repair,) = found(late, "satellite lag")
    cleaned = clean(late)
    names = ("ground_speed_mps", "latitude_rad", "longitude_rad", "satellite_height_m")
    for name in names:
        moved = late.channels[name].t_s - cleaned.channels[name].t_s
        assert np.ptp(moved) < 1e-9
        assert moved[0] == pytest.approx(lag_s, abs=0.035)
        assert name in repair.sentence
    assert cleaned.channels["climb_mps"] is late.channels["climb_mps"]  # 20 Hz: not by satellite
    assert repair.times == 1


def test_the_lag_of_a_throw_by_formula_is_exact() -> None:
    # A half-sine stroke: a = pi v / (2 Ts) sin(pi t / Ts), so u = v / 2 (1 - cos(pi t / Ts)).
    speed, lasts, lag_s = 8.0, 0.33, 0.27
    t_s, at_s = np.arange(0.0, 12.0, 0.01), np.arange(0.0, 12.0, 0.1)
    inside = (t_s >= 6.0) & (t_s <= 6.0 + lasts)
    felt = np.where(inside, np.pi * speed / (2 * lasts) * np.sin(np.pi * (t_s - 6.0) / lasts), 0.0)
    share = np.clip((at_s - lag_s - 6.0) / lasts, 0.0, 1.0)
    whole = recording(
        {
            "force_x_mps2": (t_s, felt + 0.05 * RNG.normal(size=t_s.size)),
            "pitch_rad": (t_s, 1e-3 * RNG.normal(size=t_s.size)),
            "ground_speed_mps": (at_s, 0.5 * speed * (1.0 - np.cos(np.pi * share))),
        }
    )
    moved = at_s[0] - clean(whole).channels["ground_speed_mps"].t_s[0]
    assert moved == pytest.approx(lag_s, abs=0.01)


def _shaken(rate_hz: float) -> tuple[Recording, Numbers]:
    """Return eight seconds at rest and twelve with the motor, shaken once a turn by 4 m/s2."""
    t_s = np.arange(0.0, 20.0, 1.0 / rate_hz)
    throttle = np.select([t_s < 8.0, t_s < 14.0], [0.0, 0.6], 0.95)
    turns_hz = np.select([t_s < 8.0, t_s < 14.0], [0.0, 180.0], 230.0)
    shake = 4.0 * (turns_hz > 0.0) * np.sin(2.0 * np.pi * np.cumsum(turns_hz) / rate_hz)
    made = {
        name: (t_s, rest + shake + 0.1 * RNG.normal(size=t_s.size))
        for name, rest in zip(FORCES, (1.0, 0.0, -9.75), strict=True)
    }
    made["throttle"] = (t_s[::4], throttle[::4])
    made["propeller_radps"] = (t_s[::4], 2.0 * np.pi * turns_hz[::4])
    return recording(made), turns_hz


@pytest.mark.parametrize("dropped", ["", "propeller_radps"])
def test_lines_of_the_propeller_are_told(dropped: str) -> None:
    whole, _ = _shaken(100.0)
    repairs = found(without(whole, dropped), "aliasing")
    assert [repair.channel for repair in repairs] == list(FORCES)
    # 180 Hz in 100 a second shows at |180 - 200| = 20 Hz, 230 Hz at |230 - 200| = 30 Hz.
    low, high = map(float, re.findall(r"([0-9.]+) to ([0-9.]+) Hz", repairs[0].sentence)[0])
    assert (low, high) == pytest.approx((20.0, 30.0), abs=100.0 / 128.0)  # a bin of the spectrum
    assert 7.5 < repairs[0].from_s < 9.5
    assert repairs[0].to_s > 18.0


def test_a_record_that_is_fast_enough_is_not_aliased() -> None:
    whole, _ = _shaken(1000.0)
    assert not found(whole, "aliasing")


def _zeroed(letter: str, pascal: float, *names: str) -> Recording:
    """Return a launch in no wind while held, whose probe shows some pascals too much."""
    whole = without(launch(letter), *names)
    speed = whole.channels["airspeed_mps"]
    before = speed.t_s < 8.0
    true = np.where(before, 0.1 * RNG.normal(size=speed.t_s.size), speed.values)
    pressure = 0.6125 * true * np.abs(true) + pascal
    return with_channel(whole, "airspeed_mps", np.sign(pressure) * np.sqrt(np.abs(pressure) / 0.6125))


@pytest.mark.parametrize("pascal", [-5.0, 5.0, 10.0])
def test_a_shifted_zero_is_taken_off_as_pressure(pascal: float) -> None:
    # Without speed over the ground: by steadiness alone. 5 Pa are 0.5 m/s at 8 m/s.
    shifted = _zeroed("b", pascal, "ground_speed_mps")
    (repair,) = found(shifted, "airspeed zero")
    assert repair.channel == "airspeed_mps"
    cleaned = clean(shifted).channels["airspeed_mps"]
    true = launch("b").channels["airspeed_mps"].values
    flying = cleaned.t_s > 10.0
    assert np.abs(cleaned.values - true)[flying].max() < 0.05
    assert np.abs(np.median(cleaned.values[:300])) < 0.3
    assert clean(clean(shifted)) is not shifted


def test_a_steady_reading_that_the_flight_confirms_is_wind() -> None:
    whole = launch("d")
    speed = whole.channels["airspeed_mps"]
    held = float(np.median(speed.values[speed.t_s < 8.0]))
    assert held > 2.0
    steady = np.where(speed.t_s < 8.0, held, speed.values) + 0.05 * RNG.normal(size=speed.t_s.size)
    assert not found(with_channel(whole, "airspeed_mps", steady), "airspeed zero")


def test_five_pascals_are_what_the_trade_says() -> None:
    # Common practice, no source: 5 Pa are 0.5 m/s at 8 m/s and 1 m/s at 4 m/s.
    for speed, off in ((8.0, 0.5), (4.0, 1.0)):
        assert np.sqrt(speed**2 + 5.0 / 0.6125) - speed == pytest.approx(off, abs=0.1)


def test_gravity_at_rest_is_the_standard_one() -> None:
    assert pytest.approx(9.80665) == G_MPS2  # ISO 80000-3
