"""The forms of the bench tests: what may stand in each, with units, ranges and usual errors."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, field_validator
from pydantic_core import PydanticCustomError

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount, optional_amount
from overarm.units import (
    ACCELERATION,
    ANGLE,
    AREA,
    CURRENT,
    FORCE,
    FREQUENCY,
    LENGTH,
    MASS,
    NOTHING,
    SHARE,
    SPEED,
    TIME,
    VOLTAGE,
)

FORM_VERSION = 1
ESTIMATE = "own estimate"
MOST_ROWS = 200


def _both(spread: str) -> tuple[str, str]:
    return spread, spread


def _refusal(reason: str) -> PydanticCustomError:
    """Return what a validator raises; what stands behind the semicolon is the cure."""
    return PydanticCustomError("amount", "{reason}", {"reason": reason})


def _two_at_least(rows: tuple[Any, ...]) -> tuple[Any, ...]:
    if len(rows) < 2:
        raise _refusal("has fewer than two entries; add a reading")
    return rows


def _one_at_least(rows: tuple[Any, ...]) -> tuple[Any, ...]:
    if not rows:
        raise _refusal("has no entry; add one")
    return rows


class Form(Card):
    """A bench test or a list of launches, as it was written down."""

    form_version: Literal[1] = Field(alias="overarm_bench", description="Version of this form.")
    day: str = Field(default="", max_length=10, description="Day of the test, such as 2031-05-17.")
    remark: str = Field(default="", max_length=500, description="Anything worth knowing.")

    @field_validator("day", mode="before")
    @classmethod
    def _is_day(cls, day: Any) -> Any:
        if not isinstance(day, str) or not day:
            return "" if day is None else day
        try:
            return dt.date.fromisoformat(day).isoformat()
        except ValueError:
            raise _refusal("is no day; write year, month and day, such as 2031-05-17") from None


class PullRow(Card):
    """One reading of the spring scale."""

    throttle_share: Quantity = amount("throttle", SHARE, (0.02, 1.0), "Throttle.")
    pull_n: Quantity = amount("pull", FORCE, (0.01, 500.0), "Pull on the scale.", spreads=_both("4 %"))
    current_a: Quantity | None = optional_amount(
        "current", CURRENT, (0.01, 300.0), "Current from the pack.", spreads=_both("3 %")
    )
    volts_v: Quantity | None = optional_amount(
        "volts", VOLTAGE, (1.0, 100.0), "Volts of the pack under load.", spreads=_both("0.03 V")
    )


class PullForm(Form):
    """Pull at two throttles or more."""

    test: Literal["pull"] = Field(description="Which test this is.")
    readings: Annotated[tuple[PullRow, ...], AfterValidator(_two_at_least)] = Field(
        max_length=MOST_ROWS, strict=False, description="One entry a reading."
    )


class TimeRow(Card):
    """One timing of the swing."""

    time_s: Quantity = amount(
        "time", TIME, (1.0, 600.0), "Time of all swings together.", spreads=_both("0.2 s")
    )


class SwingForm(Form):
    """The model turning on two lines."""

    test: Literal["swing"] = Field(description="Which test this is.")
    axis: Literal["roll", "pitch", "yaw"] = Field(description="Which axis of the model hung upright.")
    mass_kg: Quantity = amount("mass", MASS, (0.05, 10.0), "Mass as it hung.", spreads=_both("0.5 %"))
    line_m: Quantity = amount(
        "line_length", LENGTH, (0.2, 5.0), "Length of the two lines.", spreads=_both("5 mm")
    )
    spacing_m: Quantity = amount(
        "line_spacing", LENGTH, (0.05, 3.0), "Between the two lines.", spreads=_both("2 mm")
    )
    amplitude_rad: Quantity = amount(
        "amplitude",
        ANGLE,
        (0.0, 0.6),
        "Swing to each side, on the average.",
        default="5 deg",
        source=ESTIMATE,
    )
    swings: int = Field(ge=1, le=200, description="Full swings, there and back, in each timing.")
    times: Annotated[tuple[TimeRow, ...], AfterValidator(_one_at_least)] = Field(
        max_length=MOST_ROWS, strict=False, description="One entry a timing."
    )


class GlideRow(Card):
    """One glide."""

    distance_m: Quantity = amount(
        "distance",
        LENGTH,
        (1.0, 500.0),
        "Over the ground, from release to touch-down.",
        spreads=_both("0.5 m"),
    )
    time_s: Quantity = amount(
        "time", TIME, (0.3, 120.0), "From release to touch-down.", spreads=_both("0.2 s")
    )


class SlowRow(Card):
    """One stall of a glide."""

    airspeed_mps: Quantity = amount(
        "airspeed", SPEED, (2.0, 30.0), "Airspeed at which the nose dropped.", spreads=_both("0.5 m/s")
    )


class GlideForm(Form):
    """Glides without power from a known height."""

    test: Literal["glide"] = Field(description="Which test this is.")
    mass_kg: Quantity = amount("mass", MASS, (0.05, 10.0), "Mass as it flew.", spreads=_both("0.5 %"))
    height_m: Quantity = amount(
        "height", LENGTH, (0.5, 100.0), "Release above the touch-down.", spreads=_both("10 cm")
    )
    headwind_mps: Quantity = amount(
        "headwind",
        SPEED,
        (-5.0, 10.0),
        "Wind against the glides; below zero from behind.",
        spreads=_both("0.3 m/s"),
        default="0 m/s",
        source="calm",
    )
    glides: Annotated[tuple[GlideRow, ...], AfterValidator(_one_at_least)] = Field(
        max_length=MOST_ROWS, strict=False, description="One entry a glide."
    )
    stalls: tuple[SlowRow, ...] = Field(
        default=(), max_length=MOST_ROWS, strict=False, description="If an airspeed was recorded: stalls."
    )
    area_m2: Quantity | None = optional_amount(
        "area", AREA, (0.005, 3.0), "Wing area; that of the setup if left out.", spreads=_both("2 %")
    )
    span_efficiency: Quantity | None = optional_amount(
        "span_efficiency",
        NOTHING,
        (0.3, 1.1),
        "Oswald's span efficiency; that of the setup if left out.",
        spreads=_both("8 %"),
    )


class JigRow(Card):
    """One reading on the jig."""

    angle_rad: Quantity = amount(
        "angle",
        ANGLE,
        (-3.1416, 3.1416),
        "Nose-up angle of the model; 180 deg is inverted.",
        spreads=_both("0.3 deg"),
    )
    force_mps2: Quantity = amount(
        "force",
        ACCELERATION,
        (-20.0, 20.0),
        "Mean of the forward accelerometer over 10 s.",
        spreads=_both("0.03 m/s2"),
    )


class TiltForm(Form):
    """The model on a level jig, and at other known angles."""

    test: Literal["tilt"] = Field(description="Which test this is.")
    readings: Annotated[tuple[JigRow, ...], AfterValidator(_two_at_least)] = Field(
        max_length=MOST_ROWS, strict=False, description="One entry an angle; level first."
    )


class FrameRow(Card):
    """One throw in the video."""

    frames: float = Field(ge=1.0, le=10_000.0, description="Frames from release until the disc is past.")


class ClearForm(Form):
    """Video of throws from the side, motor unplugged, propeller off."""

    test: Literal["clear"] = Field(description="Which test this is.")
    frame_rate_hz: Quantity = amount(
        "frame_rate", FREQUENCY, (25.0, 2000.0), "Frames a second; 240 or more is wanted."
    )
    grip_to_disc_m: Quantity = amount(
        "grip_to_disc",
        LENGTH,
        (0.02, 2.0),
        "Along the body from the hand to the disc.",
        spreads=_both("10 mm"),
    )
    hand_lag_mps: Quantity = amount(
        "hand_lag",
        SPEED,
        (0.0, 3.0),
        "How much slower than the model the hand is at release.",
        spreads=_both("0.3 m/s"),
        default="0.4 m/s",
        source=ESTIMATE,
    )
    throws: Annotated[tuple[FrameRow, ...], AfterValidator(_one_at_least)] = Field(
        max_length=MOST_ROWS, strict=False, description="One entry a throw."
    )


class FigureRow(Card):
    """One predicted figure and what it came to, all in one unit."""

    name: str = Field(max_length=80, description="Which figure.")
    p5: float = Field(description="Predicted: one in twenty is lower.")
    p50: float = Field(description="Predicted: half are lower.")
    p95: float = Field(description="Predicted: one in twenty is higher.")
    was: float = Field(description="What it came to.")


class LaunchRow(Card):
    """One launch: what was predicted, and what happened."""

    day: str = Field(default="", max_length=10, description="Day of the launch.")
    odds_share: Quantity = amount("odds", SHARE, (0.0, 1.0), "Predicted odds of a clean launch.")
    low_share: Quantity | None = optional_amount("low", SHARE, (0.0, 1.0), "Lower end of their interval.")
    high_share: Quantity | None = optional_amount("high", SHARE, (0.0, 1.0), "Upper end of their interval.")
    clean: bool = Field(description="true if the launch was clean.")
    figures: tuple[FigureRow, ...] = Field(
        default=(), max_length=MOST_ROWS, strict=False, description="Predicted figures."
    )


class HistoryForm(Form):
    """Predictions and what happened."""

    test: Literal["history"] = Field(description="Which form this is.")
    launches: Annotated[tuple[LaunchRow, ...], AfterValidator(_one_at_least)] = Field(
        max_length=1000, strict=False, description="One entry a launch."
    )


FORMS: dict[str, type[Form]] = {
    "pull": PullForm,
    "swing": SwingForm,
    "glide": GlideForm,
    "tilt": TiltForm,
    "clear": ClearForm,
    "history": HistoryForm,
}
