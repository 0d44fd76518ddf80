"""Which settings can be chosen, in which steps a builder enters them, and which range belongs to which style.

The ranges are where a setting is looked for; outside them the trade refuses it or a launch of that
style makes no sense. Source: common practice, no source.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from overarm.units import ACCELERATION, ANGLE, LENGTH, PER_TIME, SHARE, SPEED, TIME, Dimension, from_si, to_si

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

DEGREE = math.radians(1.0)
STYLES = ("throw-started", "spin-in-hand", "line-launched")


class Range(NamedTuple):
    """The lowest and the highest value, SI, both allowed."""

    low: float
    high: float

    def holds(self, value: float) -> bool:
        """Return True if a value lies inside, ends included."""
        slack = 1e-9 * max(1.0, abs(self.high))
        return self.low - slack <= value <= self.high + slack


class Choice(NamedTuple):
    """One setting that can be chosen."""

    key: str  # below "settings." in a setup file
    words: str
    field: str  # of the launch record, ``group.field``
    dimension: Dimension
    unit: str
    step: float  # SI; what a builder can enter
    ranges: tuple[Range, Range, Range]  # by style, in the order of STYLES
    ratio: bool = False  # its middle is the geometric one
    optional: bool = False  # searched only where the setup has it

    def range_of(self, style: str) -> Range:
        """Return the range that belongs to a style."""
        return self.ranges[STYLES.index(style)]

    def rounded(self, value: float) -> float:
        """Return the nearest value that can be entered."""
        return round(round(value / self.step) * self.step, 12)

    def value(self, text: str) -> float:
        """Return what was written, SI; raises UnitError if it is none of this dimension."""
        return to_si(text, self.dimension)

    def text(self, value: float) -> str:
        """Return a value as one writes it in a setup file, such as "0.65 s"."""
        return from_si(value, self.dimension, self.unit, 4)


def _all(low: float, high: float) -> tuple[Range, Range, Range]:
    return (Range(low, high),) * 3


CHOICES: tuple[Choice, ...] = (
    Choice(
        "jerk_level", "jerk level", "trigger.level_mps2", ACCELERATION, "m/s2", 0.5,
        (Range(3.0, 20.0), Range(3.0, 12.0), Range(5.0, 20.0)), ratio=True,
    ),
    Choice(
        "jerk_dwell", "jerk dwell", "trigger.dwell_s", TIME, "s", 0.01,
        (Range(0.08, 0.20), Range(0.08, 0.20), Range(0.08, 0.30)),  # shorter ones a knock may pass
    ),
    Choice(
        "speed_gate", "speed gate", "trigger.speed_gate_mps", SPEED, "m/s", 0.5,
        (Range(2.0, 10.0), Range(2.0, 10.0), Range(3.0, 12.0)), optional=True,
    ),
    Choice(
        "start_wait", "start wait", "logic.start_wait_s", TIME, "s", 0.05,
        (Range(0.30, 2.0), Range(0.20, 1.0), Range(0.10, 2.0)),
    ),
    Choice(
        "throttle_rise", "throttle rise", "logic.throttle_rise_per_s", PER_TIME, "%/s", 0.05,
        (Range(0.60, 3.00), Range(0.15, 0.50), Range(0.60, 3.00)), ratio=True,
    ),
    Choice("launch_ceiling", "launch ceiling", "logic.launch_ceiling", SHARE, "%", 0.05, _all(0.70, 1.0)),
    Choice(
        "climb_pitch", "climb pitch", "logic.climb_pitch_rad", ANGLE, "deg", DEGREE,
        _all(5.0 * DEGREE, 25.0 * DEGREE),
    ),
    Choice(
        "early_pitch", "early pitch", "logic.early_pitch_rad", ANGLE, "deg", DEGREE,
        _all(0.0, 15.0 * DEGREE), optional=True,
    ),
    Choice(
        "early_speed", "early speed", "logic.early_speed_mps", SPEED, "m/s", 0.5, _all(5.0, 20.0),
        optional=True,
    ),
    Choice(
        "pose_window.pitch_high", "highest pitch of the pose window", "trigger.pitch_high_rad", ANGLE, "deg",
        5.0 * DEGREE, _all(10.0 * DEGREE, 90.0 * DEGREE), optional=True,
    ),
    Choice(
        "pose_window.bank", "bank of the pose window", "trigger.bank_limit_rad", ANGLE, "deg",
        5.0 * DEGREE, _all(20.0 * DEGREE, 90.0 * DEGREE), optional=True,
    ),
    Choice(
        "handover_height", "handover height", "logic.handover_height_m", LENGTH, "m", 5.0, _all(20.0, 60.0),
    ),
)  # fmt: skip

BY_KEY = {choice.key: choice for choice in CHOICES}


def value_in(setup: Setup, choice: Choice) -> float | None:
    """Return what a setup says for a choice, SI; None where it leaves it out."""
    wanted = f"settings.{choice.key}"
    return next((quantity.value for name, quantity in setup.inputs() if name == wanted), None)


def chosen_in(setup: Setup) -> dict[str, float]:
    """Return the settings that a setup has, by key, SI."""
    found = {choice.key: value_in(setup, choice) for choice in CHOICES}
    return {key: value for key, value in found.items() if value is not None}


def written(values: dict[str, float]) -> dict[str, str]:
    """Return changes for `overarm.describe.change.changed`, such as settings.start_wait -> "0.65 s"."""
    return {f"settings.{key}": BY_KEY[key].text(value) for key, value in values.items()}


def as_fields(values: dict[str, float]) -> dict[str, float]:
    """Return the fields of the launch record that hold the settings, for `flight.inputs.overridden`."""
    return {BY_KEY[key].field: value for key, value in values.items()}
