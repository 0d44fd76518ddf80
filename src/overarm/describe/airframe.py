"""The airframe card: size, balance, surfaces, and the sensor board."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount, optional_amount
from overarm.units import (
    ACCELERATION,
    ANGLE,
    AREA,
    FREQUENCY,
    INERTIA,
    LENGTH,
    MASS,
    NOTHING,
    PER_TIME,
    SHARE,
    TIME,
    TURN_RATE,
)

ESTIMATE = "own estimate"
QUARTER_TURN = 1.5708


class Surfaces(Card):
    """Control surfaces: elevons of a flying wing, or elevator and ailerons."""

    chord_share: Quantity = amount(
        "chord_share", SHARE, (0.05, 0.6), "Surface chord over local chord.", default="22 %", source=ESTIMATE
    )
    span_from_share: Quantity = amount(
        "span_from", SHARE, (0.0, 0.95), "Inner end, share of the half span.", default="40 %", source=ESTIMATE
    )
    span_to_share: Quantity = amount(
        "span_to", SHARE, (0.05, 1.0), "Outer end, share of the half span.", default="95 %", source=ESTIMATE
    )
    travel_rad: Quantity = amount(
        "travel",
        ANGLE,
        (0.03, 0.8),
        "Travel each way of elevons or elevator.",
        default="20 deg",
        source=ESTIMATE,
    )
    aileron_travel_rad: Quantity | None = optional_amount(
        "aileron_travel",
        ANGLE,
        (0.03, 0.8),
        "Travel each way of ailerons; the same as travel if left out.",
    )
    servo_time_s: Quantity = amount(
        "servo_time", TIME, (0.005, 0.5), "Time constant of a servo.", default="40 ms", source=ESTIMATE
    )
    servo_rate_radps: Quantity = amount(
        "servo_rate", TURN_RATE, (0.5, 40.0), "Fastest turn of a servo.", default="400 deg/s", source=ESTIMATE
    )
    trim_rad: Quantity | None = optional_amount(
        "trim",
        ANGLE,
        (-0.5, 0.5),
        "Neutral of the elevator, trailing edge down positive; computed for 1.3 Vs if left out.",
    )


class Tail(Card):
    """Tail of a conventional aeroplane, or the fins of a flying wing."""

    arm_m: Quantity = amount(
        "arm",
        LENGTH,
        (0.05, 3.0),
        "Balance point to the tail's quarter chord.",
        default="600 mm",
        source=ESTIMATE,
    )
    area_m2: Quantity = amount(
        "area", AREA, (0.0005, 1.0), "Area of the tailplane.", default="5 dm2", source=ESTIMATE
    )
    span_m: Quantity = amount(
        "span", LENGTH, (0.02, 3.0), "Span of the tailplane.", default="450 mm", source=ESTIMATE
    )
    fin_area_m2: Quantity = amount(
        "fin_area", AREA, (0.0005, 1.0), "Area of all fins together.", default="2 dm2", source=ESTIMATE
    )
    fin_height_m: Quantity = amount(
        "fin_height", LENGTH, (0.02, 1.0), "Height of a fin.", default="180 mm", source=ESTIMATE
    )


class Board(Card):
    """The sensor board and the attitude control of the autopilot."""

    tilt_rad: Quantity = amount(
        "tilt",
        ANGLE,
        (-QUARTER_TURN, QUARTER_TURN),
        "Nose-up tilt of the board against the model's level line.",
        spreads=("0.5 deg", "3 deg"),
        default="0 deg",
        source="mounted level",
    )
    offset_forward_m: Quantity = amount(
        "offset_forward",
        LENGTH,
        (-1.0, 1.0),
        "Board ahead of the balance point.",
        default="50 mm",
        source=ESTIMATE,
    )
    offset_down_m: Quantity = amount(
        "offset_down", LENGTH, (-0.5, 0.5), "Board below the balance point.", default="0 mm", source=ESTIMATE
    )
    rate_hz: Quantity = amount(
        "rate",
        FREQUENCY,
        (20.0, 1000.0),
        "Samples a second of the jerk cue.",
        default="100 Hz",
        source=ESTIMATE,
    )
    range_mps2: Quantity = amount(
        "range",
        ACCELERATION,
        (15.0, 400.0),
        "Largest acceleration that it can read.",
        default="157 m/s2",
        source="16 g part",
    )
    noise_mps2: Quantity = amount(
        "noise", ACCELERATION, (0.0, 5.0), "Noise at rest, rms.", default="0.15 m/s2", source=ESTIMATE
    )
    vibration_mps2: Quantity = amount(
        "vibration",
        ACCELERATION,
        (0.0, 50.0),
        "Vibration at full throttle, rms.",
        default="3 m/s2",
        source=ESTIMATE,
    )
    bias_mps2: Quantity = amount(
        "bias",
        ACCELERATION,
        (-2.0, 2.0),
        "Constant error of the forward accelerometer.",
        spreads=("0.1 m/s2", "0.3 m/s2"),
        default="0 m/s2",
        source=ESTIMATE,
    )
    filter_hz: Quantity = amount(
        "filter",
        FREQUENCY,
        (0.0, 500.0),
        "Cut-off of the low pass before the cue; 0 for none.",
        default="10 Hz",
        source=ESTIMATE,
    )
    attitude_time_s: Quantity = amount(
        "attitude_time",
        TIME,
        (0.1, 60.0),
        "Time constant with which the accelerometers level the attitude.",
        default="2 s",
        source=ESTIMATE,
    )
    trust_band_mps2: Quantity = amount(
        "trust_band",
        ACCELERATION,
        (0.1, 1000.0),
        "The accelerometers level the attitude only while the felt force is this close to 1 g.",
        default="5 m/s2",
        source=ESTIMATE,
    )
    level_error_rad: Quantity = amount(
        "level_error",
        ANGLE,
        (0.0, 0.5),
        "Unknown error of the horizon in pitch, one sd.",
        default="1.5 deg",
        source=ESTIMATE,
    )
    bank_error_rad: Quantity = amount(
        "bank_error",
        ANGLE,
        (0.0, 0.5),
        "Unknown error of the horizon in bank, one sd.",
        default="1.5 deg",
        source=ESTIMATE,
    )
    speed_delay_s: Quantity = amount(
        "speed_delay", TIME, (0.0, 2.0), "Delay of the satellite speed.", default="0.2 s", source=ESTIMATE
    )
    pitch_response_per_s: Quantity = amount(
        "pitch_response",
        PER_TIME,
        (0.5, 20.0),
        "Pitch rate asked per pitch error.",
        default="5 1/s",
        source=ESTIMATE,
    )
    roll_response_per_s: Quantity = amount(
        "roll_response",
        PER_TIME,
        (0.5, 20.0),
        "Roll rate asked per bank error.",
        default="5 1/s",
        source=ESTIMATE,
    )
    integral_share: Quantity = amount(
        "integral_share",
        SHARE,
        (0.0, 1.0),
        "Most that an integral may hold, share of the travel.",
        default="40 %",
        source=ESTIMATE,
    )
    winds_up_in_hand: bool = Field(default=True, description="The integrals run while the model is held.")
    speed_aided: bool = Field(
        default=True, description="The attitude estimate allows for the change of the satellite speed."
    )


class Airframe(Card):
    """The aeroplane without its drive."""

    layout: Literal["flying wing", "conventional"] = Field(
        description="Flying wing with elevons, or wing and tail."
    )
    mass_kg: Quantity = amount(
        "mass", MASS, (0.05, 10.0), "All-up mass on scales, with the flight pack.", spreads=("1 %", "8 %")
    )
    span_m: Quantity = amount("span", LENGTH, (0.2, 5.0), "Wing span.", spreads=("0 %", "0 %"))
    area_m2: Quantity = amount("area", AREA, (0.005, 3.0), "Wing area.", spreads=("2 %", "5 %"))
    root_chord_m: Quantity = amount("root_chord", LENGTH, (0.02, 1.5), "Chord at the root.")
    tip_chord_m: Quantity = amount("tip_chord", LENGTH, (0.01, 1.5), "Chord at the tip.")
    sweep_rad: Quantity = amount(
        "sweep", ANGLE, (-0.7, 1.1), "Sweep of the leading edge.", default="0 deg", source="unswept"
    )
    dihedral_rad: Quantity = amount(
        "dihedral", ANGLE, (-0.3, 0.4), "Dihedral of each half wing.", default="0 deg", source="flat"
    )
    twist_rad: Quantity = amount(
        "twist",
        ANGLE,
        (-0.3, 0.2),
        "Twist of the tip against the root, nose-up positive.",
        default="0 deg",
        source="untwisted",
    )
    section: str = Field(
        default="reflexed",
        description="reflexed, flat-bottom, symmetric, or a name of the section database.",
    )
    section_thickness_share: Quantity | None = optional_amount(
        "section_thickness", SHARE, (0.02, 0.25), "Thickness over chord."
    )
    balance_point_m: Quantity = amount(
        "balance_point",
        LENGTH,
        (-0.5, 2.0),
        "Balance point behind the root leading edge.",
        spreads=("2 mm", "8 mm"),
    )
    neutral_point_m: Quantity | None = optional_amount(
        "neutral_point",
        LENGTH,
        (-0.5, 2.0),
        "Neutral point behind the root leading edge; computed if left out.",
    )
    lift_max: Quantity | None = optional_amount(
        "lift_max",
        NOTHING,
        (0.3, 3.0),
        "Largest trimmed lift coefficient; computed if left out.",
        spreads=("4 %", "8 %"),
    )
    drag_zero: Quantity | None = optional_amount(
        "drag_zero",
        NOTHING,
        (0.005, 0.3),
        "Drag coefficient at zero lift; computed if left out.",
        spreads=("8 %", "20 %"),
    )
    span_efficiency: Quantity | None = optional_amount(
        "span_efficiency",
        NOTHING,
        (0.3, 1.1),
        "Oswald's span efficiency; computed if left out.",
        spreads=("5 %", "8 %"),
    )
    lift_slope: Quantity | None = optional_amount(
        "lift_slope", NOTHING, (1.0, 7.0), "Lift slope per radian; computed if left out."
    )
    roll_inertia_kg_m2: Quantity | None = optional_amount(
        "roll_inertia",
        INERTIA,
        (1e-5, 20.0),
        "Moment of inertia in roll; estimated if left out.",
        spreads=("5 %", "20 %"),
    )
    pitch_inertia_kg_m2: Quantity | None = optional_amount(
        "pitch_inertia",
        INERTIA,
        (1e-5, 20.0),
        "Moment of inertia in pitch; estimated if left out.",
        spreads=("5 %", "20 %"),
    )
    yaw_inertia_kg_m2: Quantity | None = optional_amount(
        "yaw_inertia",
        INERTIA,
        (1e-5, 20.0),
        "Moment of inertia in yaw; estimated if left out.",
        spreads=("5 %", "20 %"),
    )
    grip_to_disc_m: Quantity = amount(
        "grip_to_disc",
        LENGTH,
        (0.02, 2.0),
        "Along the body from the hand to the propeller disc.",
        spreads=("10 mm", "30 mm"),
        kind="normal",
    )
    grip_gap_m: Quantity = amount(
        "grip_gap",
        LENGTH,
        (0.0, 1.0),
        "From the hand or forearm out to the edge of the disc.",
        default="50 mm",
        source=ESTIMATE,
    )
    surfaces: Surfaces = Field(default_factory=lambda: Surfaces.model_validate({}))
    tail: Tail | None = None
    board: Board = Field(default_factory=lambda: Board.model_validate({}))
    coefficients: dict[str, float] | None = Field(
        default=None, description="Any aerodynamic coefficient by name, instead of the computed one."
    )
