"""From a setup and its derived figures to the plain numbers that the findings look at."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.describe.derived.figures import thrust_exponent
from overarm.describe.outlines import ahead_m, outlines
from overarm.flight.groups import air_group, board_group, hand_group, line_group, trigger_group
from overarm.odds.facts import Airframe, Cue, Facts, Plan, Power, Throw
from overarm.physics.line import effective_mass, line_speed, pull
from overarm.physics.wind import along_wind, mean_wind
from overarm.rng import log_spread

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

FAR_RESERVE = 1e3


class _LineLaunch(NamedTuple):
    speed_mps: float
    speed_sd_mps: float
    first_pull_mps2: float
    time_s: float
    height_m: float


def _line_launch(setup: Setup, mass_kg: float) -> _LineLaunch:
    """Return the launch by line in closed form.

    Equations: speed by the energy balance of the line; time a quarter of the period of the mass on
    the returning line, ``pi/2 sqrt(m/(eta k))``; felt at first ``(eta F - friction)/m``, with gravity
    along the ramp left in, as a sensor feels it. Source: harmonic motion; see docs/theory/line.md.
    """
    card = setup.line
    assert card is not None
    line = line_group(setup)
    rise_m = line.stretch_m * math.sin(line.ramp_rad)  # it keeps to the angle of the ramp
    speed = float(line_speed(line, mass_kg, rise_m, 0.0))
    moving_kg = float(effective_mass(line, mass_kg))
    back_n = line.returned_share * float(pull(line, line.stretch_m))
    time_s = 0.5 * math.pi * math.sqrt(moving_kg * line.stretch_m / back_n)
    drag_n = line.friction * mass_kg * GRAVITY_MPS2 * math.cos(line.ramp_rad)
    share = math.hypot(card.stretch_scatter_m.value / line.stretch_m, 0.5 * card.returned_share_scatter.value)
    return _LineLaunch(speed, speed * share, (back_n - drag_n) / mass_kg, time_s, line.height_m + rise_m)


def _hand_log_sd(setup: Setup) -> float:
    """Return the spread of the hand's deceleration: scatter from throw to throw, and what we do not know."""
    card = setup.thrower
    if card is None:
        return 0.0
    median = card.hand_deceleration_mps2
    return math.hypot(card.hand_deceleration_scatter.value, log_spread(median.value, median.spread))


def _throw(setup: Setup, mass_kg: float) -> Throw:
    hand, board, air = hand_group(setup), board_group(setup), air_group(setup)
    card, line = setup.thrower, setup.line
    gate = setup.settings.speed_gate_mps
    by_line = _line_launch(setup, mass_kg) if line is not None else None
    scatter_mps = card.release_speed_scatter_mps.value if card is not None else 0.0
    height = by_line.height_m if by_line else hand.height_m
    headwind = -float(mean_wind(air, height)) * float(along_wind(air, 1.0, 0.0)[0])
    return Throw(
        speed_mps=by_line.speed_mps if by_line else hand.speed_mps,
        speed_sd_mps=by_line.speed_sd_mps if by_line else scatter_mps,
        stroke_m=hand.stroke_m,
        hold_s=hand.hold_s,
        windup_m=hand.windup_m,
        windup_s=hand.windup_s,
        height_m=height,
        headwind_mps=headwind,
        hand_deceleration_mps2=hand.hand_deceleration_mps2,
        hand_deceleration_log_sd=_hand_log_sd(setup),
        hand_lag_mps=hand.hand_lag_mps,
        hand_lag_sd_mps=card.hand_lag_scatter_mps.value if card else 0.0,
        grip_to_disc_m=hand.grip_to_disc_m,
        grip_gap_m=setup.airframe.grip_gap_m.value,
        first_pull_mps2=by_line.first_pull_mps2 if by_line else 0.0,
        line_time_s=by_line.time_s if by_line else 0.0,
        gate_mps=gate.value if gate is not None else 0.0,
        speed_delay_s=board.speed_delay_s,
        speed_spread_mps=card.release_speed_mps.spread if card is not None else 0.0,
    )


def _cue(setup: Setup) -> Cue:
    trigger, board, hand = trigger_group(setup), board_group(setup), hand_group(setup)
    return Cue(
        level_mps2=trigger.level_mps2,
        dwell_s=trigger.dwell_s,
        raw=trigger.gravity_free < 0.5,
        filter_hz=board.filter_hz,
        tilt_rad=board.tilt_rad,
        bias_mps2=board.bias_mps2,
        carry_pitch_rad=hand.carry_pitch_rad,
        sway_mps2=hand.step_mps2,
        shake_m=hand.shake_m,
        shake_hz=hand.shake_hz,
        shakes=hand.shakes,
    )


def _power(setup: Setup, derived: Derived) -> Power:
    return Power(
        thrust_to_weight=derived.thrust_to_weight,
        thrust_exponent=thrust_exponent(derived.full, derived.half),
        start_delay_s=setup.power.start_delay_s.value,
        full_volts_v=derived.full.volts,
        floor_volts_v=setup.power.regulator_floor_v.value,
        cells=float(setup.power.cells),
        pusher=setup.power.position == "pusher",
    )


def _airframe(setup: Setup, derived: Derived) -> Airframe:
    card = setup.airframe
    return Airframe(
        stall_speed_mps=derived.stall_speed_mps,
        glide_ratio=derived.best_glide_ratio,
        roll_reserve=(derived.roll_reserve[0.7], derived.roll_reserve[1.0], derived.roll_reserve[1.2]),
        pitch_reserve=min(derived.pitch_reserve, FAR_RESERVE),
        static_margin=derived.static_margin_share,
        mass_known=card.mass_kg.known == "measured",
        balance_known=card.balance_point_m.known == "measured",
    )


def _plan(setup: Setup) -> Plan:
    card = setup.settings
    home, all_round = card.home_height_m, outlines(setup)
    return Plan(
        start_wait_s=card.start_wait_s.value,
        rise_per_s=card.throttle_rise_per_s.value,
        launch_ceiling=card.launch_ceiling_share.value,
        cruise_ceiling=card.cruise_ceiling_share.value,
        climb_pitch_rad=card.climb_pitch_rad.value,
        handover_height_m=card.handover_height_m.value,
        home_height_m=home.value,
        obstacles=tuple((far, item.height_m) for item in all_round if (far := ahead_m(item)) is not None),
        around_m=max((item.height_m for item in all_round), default=0.0),
    )


def gather_facts(setup: Setup, derived: Derived) -> Facts:
    """Return the figures of a setup that the findings look at."""
    return Facts(
        setup.style,
        _cue(setup),
        _throw(setup, setup.airframe.mass_kg.value),
        _power(setup, derived),
        _airframe(setup, derived),
        _plan(setup),
    )
