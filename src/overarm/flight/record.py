"""The launch record: every number that one launch depends on, as one row of floats.

The fields are the fields of the physics parameter groups, so that ``record["wing"]["span_m"]`` is
what the physics calls ``wing.span_m``. All fields are float64, hence a row is also a flat vector.
"""

from __future__ import annotations

from typing import NamedTuple, get_type_hints

import numpy as np

from overarm.physics.control import Control
from overarm.physics.hand import Hand
from overarm.physics.line import Line
from overarm.physics.motor import Motor, Pack
from overarm.physics.propeller import Propeller
from overarm.physics.rigid_body import Mass
from overarm.physics.sensor import Board
from overarm.physics.surfaces import Surfaces
from overarm.physics.trigger import Trigger
from overarm.physics.wind import Air
from overarm.physics.wing import Wing

STYLE_THROW_STARTED = 0.0
STYLE_SPIN_IN_HAND = 1.0
STYLE_LINE_LAUNCHED = 2.0


class Logic(NamedTuple):
    """Settings of the launch logic after the cue, and the limits that end a launch."""

    style: float
    start_wait_s: float
    throttle_rise_per_s: float
    launch_ceiling: float
    climb_pitch_rad: float
    early_pitch_rad: float
    early_speed_mps: float  # 0: no early pitch
    handover_height_m: float
    give_up_s: float
    legal_ceiling_m: float
    stall_speed_mps: float  # at the central values; for speed ratios only
    step_s: float  # longest step of the free flight


class Launch(NamedTuple):
    """The record as a nested tuple, whose numbers come in the same order."""

    wing: Wing
    mass: Mass
    surfaces: Surfaces
    propeller: Propeller
    motor: Motor
    pack: Pack
    trigger: Trigger
    board: Board
    control: Control
    hand: Hand
    line: Line
    air: Air
    logic: Logic


GROUPS: dict[str, type] = get_type_hints(Launch)


def _group_dtype(group: type) -> np.dtype[np.void]:
    return np.dtype([(field, np.float64) for field in group._fields])  # type: ignore[attr-defined]


LAUNCH: np.dtype[np.void] = np.dtype([(name, _group_dtype(group)) for name, group in GROUPS.items()])


def field_index(path: str) -> int:
    """Return the place of ``group.field`` in the flat row; KeyError if there is none."""
    group, field = path.split(".")
    sub, offset = LAUNCH.fields[group][:2]  # type: ignore[index]
    return int((offset + sub.fields[field][1]) // 8)  # type: ignore[index]
