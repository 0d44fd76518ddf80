"""The settings card: everything that decides when the motor starts and how the model climbs."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount, optional_amount
from overarm.units import ACCELERATION, ANGLE, LENGTH, PER_TIME, SHARE, SPEED, TIME


class PoseWindow(Card):
    """Attitudes in which the cue may fire, as the autopilot believes them."""

    pitch_low_rad: Quantity = amount("pitch_low", ANGLE, (-1.6, 1.6), "Lowest pitch.")
    pitch_high_rad: Quantity = amount("pitch_high", ANGLE, (-1.6, 1.6), "Highest pitch.")
    bank_rad: Quantity = amount("bank", ANGLE, (0.0, 3.2), "Largest bank either way.")


class Settings(Card):
    """The settings of the launch."""

    jerk_level_mps2: Quantity = amount(
        "jerk_level", ACCELERATION, (0.5, 100.0), "Forward acceleration that counts as a jerk."
    )
    jerk_dwell_s: Quantity = amount("jerk_dwell", TIME, (0.0, 2.0), "How long it must last.")
    jerk_cue: Literal["raw", "tilt-free"] = Field(
        default="raw", description="Forward reading as it is, or with gravity taken off."
    )
    jerks: Literal[1, 2] = Field(default=1, description="One jerk, or two separate ones.")
    still_time_s: Quantity | None = optional_amount(
        "still_time", TIME, (0.0, 60.0), "The model must have been still this long before."
    )
    pose_window: PoseWindow | None = Field(
        default=None, description="Pose in which the cue may fire; any if left out."
    )
    speed_gate_mps: Quantity | None = optional_amount(
        "speed_gate",
        SPEED,
        (0.5, 30.0),
        "Satellite speed that must be reached before the start wait begins.",
    )
    start_wait_s: Quantity = amount("start_wait", TIME, (0.0, 20.0), "From the cue to the first throttle.")
    throttle_rise_per_s: Quantity = amount(
        "throttle_rise", PER_TIME, (0.01, 100.0), "How fast the throttle rises."
    )
    launch_ceiling_share: Quantity = amount(
        "launch_ceiling",
        SHARE,
        (0.1, 1.0),
        "Highest throttle of the launch.",
        default="95 %",
        source="common practice",
    )
    cruise_ceiling_share: Quantity = amount(
        "cruise_ceiling",
        SHARE,
        (0.1, 1.0),
        "Highest throttle after the launch.",
        default="65 %",
        source="common practice",
    )
    climb_pitch_rad: Quantity = amount("climb_pitch", ANGLE, (-0.2, 1.2), "Pitch held in the climb.")
    early_pitch_rad: Quantity | None = optional_amount(
        "early_pitch", ANGLE, (-0.2, 1.2), "Lower pitch until early_speed is reached."
    )
    early_speed_mps: Quantity | None = optional_amount(
        "early_speed", SPEED, (1.0, 40.0), "Satellite speed that ends the early pitch."
    )
    handover_height_m: Quantity = amount(
        "handover_height", LENGTH, (3.0, 500.0), "Height at which the launch hands over."
    )
    give_up_time_s: Quantity = amount(
        "give_up_time",
        TIME,
        (0.5, 60.0),
        "After the cue; then a model that is still low and slow stops its motor.",
        default="6 s",
        source="common practice",
    )
    after_task: Literal["carry on", "come home and circle"] = Field(
        default="come home and circle", description="What happens after the handover."
    )
    home_height_m: Quantity = amount(
        "home_height",
        LENGTH,
        (3.0, 500.0),
        "Height of the way home, above home.",
        default="40 m",
        source="common practice",
    )
    home_circle_radius_m: Quantity = amount(
        "home_circle_radius",
        LENGTH,
        (5.0, 1000.0),
        "Radius of the circle at home.",
        default="40 m",
        source="common practice",
    )
