"""What a recording tells of the day and of its launch, as inputs of the launch that is flown again."""

from __future__ import annotations

import dataclasses
import math
import zlib
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.flight.draw import RULE_ADD, WORLD_SIZE, Input, draw_given
from overarm.flight.inputs import overridden, without_rules
from overarm.flight.record import field_index
from overarm.odds.rerun import rerun_worlds
from overarm.physics.wind import REFERENCE_HEIGHT_M
from overarm.recordings.estimates.series import part
from overarm.review.result import Used
from overarm.review.seen import Seen
from overarm.rng import log_spread

if TYPE_CHECKING:
    from overarm.flight.campaign import Inputs

REST_S = 20.0  # before the motor starts
LEAST_REST_SAMPLES = 3
VOLTS_SHARE = 0.01  # a cheap volt meter; own estimate
WIND_10M, WIND_ANGLE, VOLTS = "air.wind_10m_mps", "air.wind_angle_rad", "pack.open_volts"
THRUST = "propeller.thrust_scale"
# Estimates of a throw that are inputs of the launch record as they are.
THROWN = {
    "throw_speed_mps": "hand.speed_mps",
    "release_path_rad": "hand.path_rad",
    "release_pitch_rad": "hand.pitch_rad",
    "release_bank_rad": "hand.bank_rad",
    "stroke_length_m": "hand.stroke_m",
}
NAMES = {
    "throw_speed_mps": "throw speed",
    "release_path_rad": "path at release",
    "release_pitch_rad": "pitch at release",
    "release_bank_rad": "bank at release",
    "stroke_length_m": "length of the stroke",
}
LEAST_STROKE_M, MOST_STROKE_M = 0.3, 2.5
ALL_ROWS = slice(None)


class Given(NamedTuple):
    """A field of the launch record that the recording tells, SI, with one standard error, and the words."""

    name: str
    fields: dict[str, float]
    spread: tuple[str, float]  # which field is how unsure
    used: Used


def day_of(seen: Seen, inputs: Inputs) -> list[Given]:
    """Return headwind and rested volts, where the recording tells them."""
    return [item for item in (_wind(seen, inputs), _volts(seen)) if item is not None]


def launch_of(seen: Seen, inputs: Inputs) -> list[Given]:
    """Return what the recording tells of this launch: the day, the throw, thrust, start delay and tilt."""
    thrown = [] if seen.style == "line-launched" else _thrown(seen)
    own = (_thrust(seen), _delay(seen), _tilt(seen))
    return [*day_of(seen, inputs), *thrown, *(item for item in own if item is not None)]


def _wind(seen: Seen, inputs: Inputs) -> Given | None:
    """Return the wind with the headwind of the recording, the crosswind as on the card.

    Equation: the log law from the height of release to 10 m, ``U10 = U ln(10/z0)/ln(h/z0)``.
    """
    wind = seen.value("headwind_mps")
    if wind is None:
        return None
    air = inputs.base[0]["air"]
    roughness, height = float(air["roughness_m"]), max(1.0, seen.zero_m)
    ratio = math.log(REFERENCE_HEIGHT_M / roughness) / math.log(height / roughness)
    across = float(air["wind_10m_mps"]) * math.sin(float(air["wind_angle_rad"]))
    ahead = ratio * wind
    fields = {WIND_10M: math.hypot(ahead, across), WIND_ANGLE: math.atan2(across, ahead)}
    error = seen.error("headwind_mps")
    words = f"headwind at the launch {wind:.1f} m/s by the recording (one standard error {error:.1f} m/s)"
    return Given("headwind", fields, (WIND_10M, ratio * error), Used("day.wind", wind, error, words))


def _volts(seen: Seen) -> Given | None:
    """Return the volts of the pack before the motor starts."""
    volts, start = seen.taken.series("volts_v"), seen.event("first_throttle") or seen.event("first_spin")
    until = start.t_s if start is not None else seen.release_s
    if volts is None or until is None or seen.derived is None:
        return None
    rested = part(volts, max(seen.launch.from_s, until - REST_S), until - 0.1)
    if rested.t_s.size < LEAST_REST_SAMPLES:
        return None
    value = float(np.median(rested.values))
    if not 0.5 * seen.derived.pack.open_volts < value < 1.5 * seen.derived.pack.open_volts:
        return None
    error = VOLTS_SHARE * value
    words = f"pack at rest {value:.1f} V by the recording"
    return Given("pack_volts", {VOLTS: value}, (VOLTS, error), Used("day.pack_volts", value, error, words))


def _thrown(seen: Seen) -> list[Given]:
    found = []
    for name, field in THROWN.items():
        value, error = seen.value(name), seen.error(name)
        if value is None or (name == "stroke_length_m" and not LEAST_STROKE_M <= value <= MOST_STROKE_M):
            continue
        angle = name.endswith("_rad")
        shown = f"{math.degrees(value):.0f} degrees" if angle else f"{value:.1f} {name.rpartition('_')[2]}"
        shown = shown.replace(" mps", " m/s")
        used = Used(f"record.{name}", value, error, f"{NAMES[name]} {shown}")
        found.append(Given(name, {field: value}, (field, error), used))
    return found


def _fused(value: float, error: float, prior: float, spread: float) -> tuple[float, float]:
    """Return the mean of two figures weighted by their errors, and its error; the first if it has none."""
    if error <= 0.0 or spread <= 0.0:
        return (value, error) if error <= 0.0 else (prior, spread)
    weight = 1.0 / error**2, 1.0 / spread**2
    both = weight[0] + weight[1]
    return (weight[0] * value + weight[1] * prior) / both, both**-0.5


def _thrust(seen: Seen) -> Given | None:
    value = seen.value("static_thrust_n")
    if value is None or seen.setup is None or seen.derived is None or seen.derived.full.thrust_n <= 0.0:
        return None
    full, scale = seen.derived.full.thrust_n, seen.setup.power.thrust_scale()
    prior = float(seen.derived.propeller.thrust_scale)
    spread = prior * log_spread(scale.value, scale.spread)
    share, error = _fused(prior * value / full, prior * seen.error("static_thrust_n") / full, prior, spread)
    words = f"thrust {100.0 * share / prior:.0f} % of the card's, by card and recording together"
    return Given("thrust", {THRUST: share}, (THRUST, error), Used("power.thrust", share, error, words))


def _delay(seen: Seen) -> Given | None:
    value, error = seen.value("start_delay_s"), seen.error("start_delay_s")
    if value is None or not 0.0 <= value < 2.0:
        return None
    field = "motor.start_delay_s"
    used = Used("power.start_delay", value, error, f"start delay {value:.2f} s")
    return Given("start_delay", {field: value}, (field, min(error, 0.3 * value)), used)


def _tilt(seen: Seen) -> Given | None:
    value = seen.value("board_tilt_rad")
    if value is None or seen.setup is None:
        return None
    card = seen.setup.airframe.board.tilt_rad
    tilt, error = _fused(value, seen.error("board_tilt_rad"), card.value, card.spread)
    field = "board.tilt_rad"
    words = f"board tilt {math.degrees(tilt):.1f} degrees, by card and recording together"
    return Given("tilt", {field: tilt}, (field, error), Used("airframe.board.tilt", tilt, error, words))


def with_given(inputs: Inputs, given: Sequence[Given], more: dict[str, float] | None = None) -> Inputs:
    """Return campaign inputs in which what is given has its value, unsure by its error and by nothing else.

    ``more``: fields of the launch record with a value that is certain. The error of each is drawn anew for
    every launch, so that launches of one world differ in it: it is one launch that is meant.
    """
    fields = {path: value for item in given for path, value in item.fields.items()} | (more or {})
    held = without_rules(overridden(inputs, fields), tuple(fields))
    spreads = [(item.name, *item.spread) for item in given if item.spread[1] > 0.0]
    if not spreads:
        return held
    rules, first = held.rules, len(held.rules.inputs)
    names = [f"record.{name}" for name, _, _ in spreads]
    added = [(first + k, field_index(field), RULE_ADD) for k, (_, field, _) in enumerate(spreads)]
    grown = dataclasses.replace(
        rules,
        inputs=(*rules.inputs, *(Input(name, "varies") for name in names)),
        block=np.concatenate([rules.block, [zlib.crc32(name.encode()) for name in names]]).astype(np.int64),
        layer=np.concatenate([rules.layer, np.ones(len(names), np.int64)]),
        table=np.concatenate([rules.table, np.array(added, np.int64)]),
        values=np.concatenate([rules.values, [(error, 0.0) for _, _, error in spreads]]),
    )
    return dataclasses.replace(held, rules=grown)


def used_of(given: Sequence[Given]) -> tuple[Used, ...]:
    """Return what was taken from the recording, in words."""
    return tuple(item.used for item in given)


class OneAWorld:
    """Launches that are each of a world of its own, so that none are alike, whatever inputs they have.

    They are the first launches of as many worlds of the campaign of this seed. What is not known of a world
    is drawn once and kept for all inputs that do not know the same things.
    """

    def __init__(self, launches: int, seed: int) -> None:
        """Parameters: how many launches, at least one; the seed."""
        self.seed = seed
        self.numbers = WORLD_SIZE * np.arange(launches)
        self._scores: dict[bytes, NDArray[np.float64]] = {}

    def __len__(self) -> int:
        """Return how many launches they are."""
        return len(self.numbers)

    def records(self, inputs: Inputs, rows: slice = ALL_ROWS) -> NDArray[np.void]:
        """Return launch records, shape (n,): of all, or of some of them."""
        rules = inputs.rules
        unknown = rules.block[rules.layer == 0].tobytes()
        if unknown not in self._scores:
            self._scores[unknown] = rerun_worlds(inputs, len(self), self.seed).scores
        return draw_given(inputs.base, rules, self._scores[unknown][rows], self.seed, self.numbers[rows])
