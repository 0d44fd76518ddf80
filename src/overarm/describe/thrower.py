"""The thrower card: how one person throws, and how much that scatters."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount
from overarm.units import ACCELERATION, ANGLE, FREQUENCY, LENGTH, NOTHING, SHARE, SPEED, TIME, TURN_RATE

ESTIMATE = "own estimate"


class Thrower(Card):
    """A person and a throw. A scatter is one standard deviation from throw to throw."""

    person: str = Field(default="", max_length=500, description="Who throws, in your own words.")
    arm: Literal["right", "left", "two-handed"] = Field(default="right", description="Which hand.")
    throw: Literal["overarm", "side", "underarm", "push"] = Field(default="overarm", description="How.")
    two_person: bool = Field(
        default=False, description="A second person or a cradle holds a pusher that spins before the throw."
    )
    release_speed_mps: Quantity = amount(
        "release_speed",
        SPEED,
        (2.0, 25.0),
        "Speed over the ground at release, mean.",
        spreads=("3 %", "15 %"),
    )
    release_speed_scatter_mps: Quantity = amount(
        "release_speed_scatter", SPEED, (0.0, 5.0), "Scatter of it.", default="0.8 m/s", source=ESTIMATE
    )
    release_path_rad: Quantity = amount(
        "release_path",
        ANGLE,
        (-0.6, 1.0),
        "Path above the horizon at release.",
        spreads=("2 deg", "4 deg"),
        default="8 deg",
        source=ESTIMATE,
    )
    release_path_scatter_rad: Quantity = amount(
        "release_path_scatter", ANGLE, (0.0, 0.5), "Scatter of it.", default="4 deg", source=ESTIMATE
    )
    release_pitch_rad: Quantity = amount(
        "release_pitch",
        ANGLE,
        (-0.6, 1.0),
        "Pitch at release.",
        spreads=("2 deg", "5 deg"),
        default="10 deg",
        source=ESTIMATE,
    )
    release_pitch_scatter_rad: Quantity = amount(
        "release_pitch_scatter", ANGLE, (0.0, 0.5), "Scatter of it.", default="4 deg", source=ESTIMATE
    )
    release_bank_rad: Quantity = amount(
        "release_bank",
        ANGLE,
        (-1.0, 1.0),
        "Bank at release, right wing down positive.",
        spreads=("3 deg", "6 deg"),
        default="0 deg",
        source=ESTIMATE,
    )
    release_bank_scatter_rad: Quantity = amount(
        "release_bank_scatter", ANGLE, (0.0, 0.8), "Scatter of it.", default="8 deg", source=ESTIMATE
    )
    release_heading_rad: Quantity = amount(
        "release_heading",
        ANGLE,
        (-0.8, 0.8),
        "Heading at release, right of the launch line positive.",
        default="0 deg",
        source=ESTIMATE,
    )
    release_heading_scatter_rad: Quantity = amount(
        "release_heading_scatter", ANGLE, (0.0, 0.8), "Scatter of it.", default="5 deg", source=ESTIMATE
    )
    release_height_m: Quantity = amount(
        "release_height",
        LENGTH,
        (0.5, 4.0),
        "Height of the model at release.",
        spreads=("3 %", "5 %"),
        default="1.8 m",
        source=ESTIMATE,
    )
    release_height_scatter_m: Quantity = amount(
        "release_height_scatter", LENGTH, (0.0, 0.5), "Scatter of it.", default="5 cm", source=ESTIMATE
    )
    stroke_m: Quantity = amount(
        "stroke",
        LENGTH,
        (0.3, 2.5),
        "Length of the forward stroke.",
        spreads=("8 %", "15 %"),
        default="1.25 m",
        source=ESTIMATE,
    )
    wind_up_m: Quantity = amount(
        "wind_up",
        LENGTH,
        (0.0, 1.5),
        "How far the arm is drawn back.",
        spreads=("10 cm", "15 cm"),
        default="40 cm",
        source=ESTIMATE,
    )
    wind_up_time_s: Quantity = amount(
        "wind_up_time", TIME, (0.1, 3.0), "How long the draw-back takes.", default="0.55 s", source=ESTIMATE
    )
    tumble_roll_radps: Quantity = amount(
        "tumble_roll",
        TURN_RATE,
        (0.0, 10.0),
        "Roll rate that the hand gives, one sd.",
        default="25 deg/s",
        source=ESTIMATE,
    )
    tumble_pitch_radps: Quantity = amount(
        "tumble_pitch",
        TURN_RATE,
        (0.0, 10.0),
        "Pitch rate that the hand gives, one sd.",
        default="25 deg/s",
        source=ESTIMATE,
    )
    tumble_yaw_radps: Quantity = amount(
        "tumble_yaw",
        TURN_RATE,
        (0.0, 10.0),
        "Yaw rate that the hand gives, one sd.",
        default="25 deg/s",
        source=ESTIMATE,
    )
    slip_share: Quantity = amount(
        "slip_share",
        SHARE,
        (0.0, 0.5),
        "Share of throws in which the grip slips.",
        default="1.5 %",
        source=ESTIMATE,
    )
    slip_loss_share: Quantity = amount(
        "slip_loss", SHARE, (0.0, 0.9), "Speed lost in such a throw.", default="30 %", source=ESTIMATE
    )
    speed_path_correlation: Quantity = amount(
        "speed_path_correlation",
        NOTHING,
        (-0.95, 0.95),
        "Who throws up throws slower: correlation of speed and path.",
        default="-0.3",
        source=ESTIMATE,
    )
    hand_deceleration_mps2: Quantity = amount(
        "hand_deceleration",
        ACCELERATION,
        (5.0, 200.0),
        "How the hand slows down after release, median.",
        spreads=("20 %", "45 %"),
        default="35 m/s2",
        source=ESTIMATE,
    )
    hand_deceleration_scatter: Quantity = amount(
        "hand_deceleration_scatter",
        SHARE,
        (0.0, 1.5),
        "Scatter of it, as a share.",
        default="20 %",
        source=ESTIMATE,
    )
    hand_lag_mps: Quantity = amount(
        "hand_lag",
        SPEED,
        (0.0, 3.0),
        "How much slower than the model the hand is at release.",
        default="0.4 m/s",
        source=ESTIMATE,
    )
    hand_lag_scatter_mps: Quantity = amount(
        "hand_lag_scatter", SPEED, (0.0, 2.0), "Scatter of it.", default="0.3 m/s", source=ESTIMATE
    )
    carry_pitch_rad: Quantity = amount(
        "carry_pitch",
        ANGLE,
        (-0.8, 1.2),
        "Pitch at which the listening model is held.",
        spreads=("2 deg", "5 deg"),
        default="5 deg",
        source=ESTIMATE,
    )
    carry_pitch_scatter_rad: Quantity = amount(
        "carry_pitch_scatter", ANGLE, (0.0, 0.6), "Scatter of it.", default="3 deg", source=ESTIMATE
    )
    carry_time_s: Quantity = amount(
        "carry_time",
        TIME,
        (0.2, 30.0),
        "How long the model listens before the throw or shake.",
        default="1 s",
        source=ESTIMATE,
    )
    sway_mps2: Quantity = amount(
        "sway",
        ACCELERATION,
        (0.0, 5.0),
        "Amplitude of sway or steps while it listens.",
        default="0.3 m/s2",
        source=ESTIMATE,
    )
    sway_rate_hz: Quantity = amount(
        "sway_rate", FREQUENCY, (0.2, 5.0), "Sways or steps a second.", default="1.5 Hz", source=ESTIMATE
    )
    shake_travel_m: Quantity = amount(
        "shake_travel",
        LENGTH,
        (0.01, 0.5),
        "Amplitude of the shake (half its travel).",
        spreads=("10 %", "30 %"),
        default="8 cm",
        source=ESTIMATE,
    )
    shake_rate_hz: Quantity = amount(
        "shake_rate",
        FREQUENCY,
        (0.5, 6.0),
        "Shakes a second.",
        spreads=("5 %", "15 %"),
        default="2.5 Hz",
        source=ESTIMATE,
    )
    shakes: int = Field(default=3, ge=1, le=20, description="Shakes in a row.")
    hold_time_s: Quantity = amount(
        "hold_time",
        TIME,
        (0.0, 15.0),
        "Spin-in-hand: from the start to the draw-back of the throw.",
        default="3.4 s",
        source=ESTIMATE,
    )
    hold_time_scatter_s: Quantity = amount(
        "hold_time_scatter", TIME, (0.0, 5.0), "Scatter of it.", default="0.4 s", source=ESTIMATE
    )
