"""All levels and dwells at once against the walk through every sample, on noise."""

from __future__ import annotations

import numpy as np
import pytest

from overarm.physics.trigger import Trigger
from overarm.recordings.cue import cue_of
from overarm.recordings.replay import arrays_of, walk_through
from overarm.trigger.runs import NONE, series_of
from tests.recorded import G_MPS2, RAW, recorded, sampled

LEVELS = np.array([0.5, 2.0, 4.0, 8.0, 15.0])
DWELLS = np.array([0.0, 0.03, 0.08, 0.15, 0.30])
FAMILIES = {
    "raw": RAW,
    "without gravity": RAW._replace(gravity_free=1.0),
    "pose window": RAW._replace(pitch_low_rad=-0.2, pitch_high_rad=0.3, bank_limit_rad=0.4),
    "still before": RAW._replace(still_s=0.3),
    "speed gate": RAW._replace(speed_gate_mps=4.0, speed_window_s=0.5),
    "two jerks": RAW._replace(jerks=2.0),
}


def noise(seed: int) -> dict[str, np.ndarray]:
    draws = np.random.default_rng(seed)
    n = 2000
    t_s = np.cumsum(draws.uniform(0.008, 0.013, n))
    t_s[1200:] += 5.0  # a hole
    loud = np.repeat(draws.uniform(size=n // 100) < 0.5, 100)  # half of the seconds are quiet
    smooth = np.convolve(draws.normal(0.0, 25.0, n + 7), np.ones(8) / 8.0, mode="valid") * loud
    slow = np.interp(np.arange(n), np.arange(0, n + 50, 50), draws.normal(0.0, 0.3, n // 50 + 1))
    return {
        "t": t_s, "force_x_mps2": smooth, "force_y_mps2": np.zeros(n), "force_z_mps2": np.full(n, -G_MPS2),
        "pitch_rad": slow, "bank_rad": slow[::-1].copy(), "ground_speed_mps": np.abs(10.0 * slow),
    }  # fmt: skip


@pytest.mark.parametrize("trigger", FAMILIES.values(), ids=FAMILIES.keys())
@pytest.mark.parametrize("seed", [1, 2])
def test_the_counts_are_those_of_the_walk(trigger: Trigger, seed: int) -> None:
    made = noise(seed)
    t_s = made.pop("t")
    recording = recorded(
        **{name: sampled(t_s, values) for name, values in made.items()}, breaks_s=(float(t_s[700]),)
    )
    cue = cue_of(recording, trigger, 0.0)
    found = series_of(trigger, cue).grid(LEVELS, DWELLS, 0, cue.t_s.size)
    some = 0
    for a, level in enumerate(LEVELS):
        for b, dwell in enumerate(DWELLS):
            this = trigger._replace(level_mps2=level, dwell_s=dwell)
            at, _, _, held_s = walk_through(this, arrays_of(cue), 0, cue.t_s.size)
            assert found.starts[a, b] == at.size, (level, dwell)
            assert found.held_s[a, b] == pytest.approx(held_s, abs=1e-6)
            assert found.first[a, b] == (at[0] if at.size else NONE)
            some += at.size
    assert some > 10
    assert np.all(np.diff(found.longest_s) <= 0.0)  # no higher level is exceeded for longer
