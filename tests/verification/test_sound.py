"""Speeds by ear against the speeds that were written into synthetic sounds.

The bar, 1 % at 10 dB, is that of the trade's rev counters (common practice, no source). Blade-pass
frequencies of two blades: ``f = 2 rpm/60``, any text on aeroacoustics.
"""

from __future__ import annotations

import numpy as np
import pytest

from overarm.physics.motor import applied_throttle
from overarm.recordings.sound.comb import levels_db, warped
from overarm.recordings.sound.rise import rise_of, runs_of
from overarm.recordings.sound.run import throttle_curve
from overarm.recordings.sound.track import Track, track_of
from tests.examples import derived_of, setup_of
from tests.sounds import RATE_HZ, Floats, clock, propeller

SECONDS = 2.2


def heard(turns_hz: Floats, blades: int, snr_db: float, **more: float) -> tuple[Track, Floats]:
    """Return the track and the relative error of each of its pieces that lie within the run."""
    track = track_of(propeller(turns_hz, blades, snr_db, **more), RATE_HZ, blades)  # type: ignore[arg-type]
    truth = np.interp(track.t_s, clock(SECONDS), turns_hz)
    inside = truth > 15.0
    return track, np.asarray(track.turns_hz[inside] / truth[inside] - 1.0)


@pytest.mark.parametrize("blades", [2, 3])
@pytest.mark.parametrize("rpm", [2_090.0, 6_940.0, 12_550.0, 18_650.0])
def test_a_steady_speed_within_a_thousandth_at_10_db(rpm: float, blades: int) -> None:
    """The rpm of examples A and B at half and full throttle, and where B's tips reach 25 m/s."""
    turns = np.where(clock(SECONDS) > 0.5, rpm / 60.0, 0.0)
    track, off = heard(turns, blades, 10.0)
    assert off.size > 60
    assert np.abs(off).max() < 0.01
    assert abs(np.median(off)) < 0.001
    assert track.starts_s[0] == pytest.approx(0.5, abs=0.07)


@pytest.mark.parametrize("snr_db", [10.0, 0.0])
def test_a_swept_speed_within_1_percent(snr_db: float) -> None:
    """40 to 160 rev/s and back, 2.5 times a second a radian: up to 1.5 times its speed in a second."""
    turns = 100.0 + 60.0 * np.sin(2.0 * np.pi * 0.4 * clock(SECONDS))
    _, off = heard(turns, 2, snr_db)
    assert off.size > 95
    assert np.quantile(np.abs(off), 0.98) < 0.01


def test_the_error_that_is_told_is_the_error_that_is_there() -> None:
    """Two of three pieces within one standard error, by and large; the told error is never absurdly small."""
    shares = []
    for seed in range(3):
        turns = 120.0 + 50.0 * np.sin(2.0 * np.pi * 0.5 * clock(SECONDS) + seed)
        track = track_of(propeller(turns, 2, 5.0, seed=seed), RATE_HZ, 2)
        off = np.abs(track.turns_hz - np.interp(track.t_s, clock(SECONDS), turns))
        shares.append(np.mean(off < track.error_hz))
    assert 0.5 < np.mean(shares) < 0.95


@pytest.mark.parametrize("shaft", [0.0, 0.2, 1.5])
def test_neither_half_nor_twice_the_speed(shaft: float) -> None:
    """A propeller out of balance sounds at the shaft's speed too, at 1.5 louder than its blades."""
    turns = np.full(clock(SECONDS).size, 115.0)
    _, off = heard(turns, 2, 10.0, shaft=shaft)
    assert np.abs(off).max() < 0.01


def test_a_warp_makes_a_rising_tone_stand_still() -> None:
    """A tone of 400 Hz that rises by 4 of itself a second: unwarped its line is as sharp as a steady one."""
    length, pace = 1366, 4.0
    u = (np.arange(length) - 0.5 * (length - 1)) / 14_700.0
    tone = np.cos(2.0 * np.pi * 400.0 * (u + 0.5 * pace * u**2))
    still = np.interp(warped(length, 14_700.0, pace), np.arange(length), tone)
    steady = np.cos(2.0 * np.pi * 400.0 * u)
    tops = [float(levels_db(piece[None, :], 14_700.0)[0].max()) for piece in (tone, still, steady)]
    assert tops[1] == pytest.approx(tops[2], abs=3.0)


def spun(letter: str, rise_per_s: float, begins_s: float) -> Floats:
    """Return the speed [rev/s] of an example's drive after a throttle that rises from ``begins_s`` on.

    Integrated here: ``dn/dt = (n_end(s) - n)/tau`` with the end speeds of the power card; the throttle
    that reaches the motor is that of `applied_throttle`, with the controller's start delay.
    """
    derived = derived_of(letter)
    throttles, ends = throttle_curve(derived)
    step = 1.0 / RATE_HZ
    t = clock(3.0)[::20]
    speed, found = 0.0, []
    for now in t:
        asked = float(np.clip(rise_per_s * (now - begins_s), 0.0, 0.95))
        dead_s = derived.motor.dead_band / rise_per_s
        applied = applied_throttle(derived.motor, asked, now - begins_s - dead_s)
        end = float(np.interp(applied, throttles, ends)) if applied > 0.0 else 0.0
        speed += (end - speed) * min(1.0, 20 * step / derived.spool_time_s)
        found.append(speed)
    return np.interp(clock(3.0), t, np.where(np.array(found) > 2.0, found, 0.0))


@pytest.mark.parametrize(("letter", "rise_per_s"), [("b", 0.5), ("b", 1.0), ("c", 0.5)])
def test_rise_and_start_delay(letter: str, rise_per_s: float) -> None:
    """The rise within 10 %, the beginning of the throttle within 80 ms."""
    derived = derived_of(letter)
    turns = spun(letter, rise_per_s, 0.4)
    (run,) = runs_of(track_of(propeller(turns, 2, 15.0), RATE_HZ, 2))
    throttles, ends = throttle_curve(derived)
    rise = rise_of(run, np.interp(run.turns_hz, ends, throttles))
    assert rise is not None
    assert rise.per_s == pytest.approx(rise_per_s, rel=0.10)
    assert rise.zero_s - derived.spool_time_s == pytest.approx(0.4, abs=0.08)
    assert run.top_turns_hz * 60.0 == pytest.approx(turns.max() * 60.0, rel=0.01)


def test_the_card_is_met_where_the_sound_is_that_of_the_card() -> None:
    from pathlib import Path
    from tempfile import TemporaryDirectory

    from overarm.recordings.sound.run import hear
    from tests.sounds import wav

    derived = derived_of("b")
    turns = np.where(clock(SECONDS) > 0.4, derived.full.rpm / 60.0, 0.0)
    with TemporaryDirectory() as folder:
        file = wav(Path(folder) / "run.wav", propeller(turns, 2, 10.0))
        slow = wav(Path(folder) / "slow.wav", propeller(0.9 * turns, 2, 10.0))
        found = {item.name: item for item in hear(file, 2, setup_of("b"), derived).beside}
        less = {item.name: item for item in hear(slow, 2, setup_of("b"), derived).beside}
    assert found["static thrust [N]"].value == pytest.approx(derived.full.thrust_n, rel=0.01)
    assert found["static thrust [N]"].word == "good"
    assert less["static thrust [N]"].value == pytest.approx(0.81 * derived.full.thrust_n, rel=0.01)
    assert less["static thrust [N]"].word == "stop"
    assert less["top speed [rpm]"].word == "stop"
