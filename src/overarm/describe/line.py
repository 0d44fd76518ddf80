"""The line card: rubber, ramp and hook."""

from __future__ import annotations

from pydantic import Field

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount, optional_amount
from overarm.physics.line import fit_pull
from overarm.units import ANGLE, FORCE, LENGTH, MASS, NOTHING, SHARE, STIFFNESS

ESTIMATE = "own estimate"


class PullPoint(Card):
    """One point of pull against stretch, taken with a spring scale while walking back."""

    stretch_m: Quantity = amount("stretch", LENGTH, (0.05, 100.0), "Stretch beyond the slack length.")
    pull_n: Quantity = amount("pull", FORCE, (0.1, 2000.0), "Pull on the scale.")


class Line(Card):
    """A rubber line, the ramp it draws along, and the hook."""

    stiffness_npm: Quantity | None = optional_amount(
        "stiffness",
        STIFFNESS,
        (0.2, 500.0),
        "Pull per stretch; or give pull_points.",
        spreads=("5 %", "15 %"),
    )
    pull_points: tuple[PullPoint, ...] = Field(
        default=(), description="Pull against stretch, better four points.", strict=False
    )
    stretch_m: Quantity = amount(
        "stretch", LENGTH, (0.5, 100.0), "Stretch at the latch.", spreads=("3 %", "8 %")
    )
    stretch_scatter_m: Quantity = amount(
        "stretch_scatter",
        LENGTH,
        (0.0, 5.0),
        "Scatter of it from launch to launch.",
        default="0.3 m",
        source="half a pace",
    )
    natural_length_m: Quantity = amount(
        "natural_length",
        LENGTH,
        (1.0, 200.0),
        "Slack length from peg to hook.",
        default="15 m",
        source=ESTIMATE,
    )
    returned_share: Quantity = amount(
        "returned_share",
        SHARE,
        (0.3, 1.0),
        "Pull on the way back over pull on the way out.",
        spreads=("3 %", "6 %"),
        default="80 %",
        source=ESTIMATE,
    )
    returned_share_scatter: Quantity = amount(
        "returned_share_scatter",
        SHARE,
        (0.0, 0.5),
        "Scatter of it, as a share.",
        default="3 %",
        source=ESTIMATE,
    )
    line_mass_kg: Quantity = amount(
        "line_mass", MASS, (0.01, 10.0), "Mass of the line.", default="250 g", source=ESTIMATE
    )
    friction: Quantity = amount(
        "friction",
        NOTHING,
        (0.0, 1.5),
        "Coefficient of friction on the ramp.",
        spreads=("0.03", "0.08"),
        default="0.15",
        source=ESTIMATE,
    )
    ramp_length_m: Quantity = amount(
        "ramp_length", LENGTH, (0.2, 10.0), "Length of the ramp.", default="1.5 m", source=ESTIMATE
    )
    ramp_angle_rad: Quantity = amount(
        "ramp_angle", ANGLE, (0.0, 0.9), "Ramp above the horizon.", default="14 deg", source=ESTIMATE
    )
    ramp_height_m: Quantity = amount(
        "ramp_height", LENGTH, (0.1, 5.0), "Height of the model at the latch.", default="1 m", source=ESTIMATE
    )
    hook_forward_m: Quantity = amount(
        "hook_forward",
        LENGTH,
        (-1.0, 1.0),
        "Hook ahead of the balance point.",
        default="100 mm",
        source=ESTIMATE,
    )
    hook_down_m: Quantity = amount(
        "hook_down", LENGTH, (-0.5, 0.5), "Hook below the balance point.", default="50 mm", source=ESTIMATE
    )
    hook_limit_rad: Quantity = amount(
        "hook_limit",
        ANGLE,
        (0.3, 2.5),
        "Angle between line and body at which the ring slips off.",
        default="75 deg",
        source=ESTIMATE,
    )
    stuck_share: Quantity = amount(
        "stuck_share",
        SHARE,
        (0.0, 0.5),
        "Share of launches in which the ring does not come off.",
        default="1 %",
        source=ESTIMATE,
    )
    cold_stiffness_share: Quantity = amount(
        "cold_stiffness",
        SHARE,
        (-0.5, 0.5),
        "Change of the stiffness on the day: -15 % for cold rubber.",
        default="0 %",
        source="at 20 C",
    )
    pitch_scatter_rad: Quantity = amount(
        "pitch_scatter",
        ANGLE,
        (0.0, 0.3),
        "Scatter of the pitch on the ramp.",
        default="2 deg",
        source=ESTIMATE,
    )
    bank_scatter_rad: Quantity = amount(
        "bank_scatter",
        ANGLE,
        (0.0, 0.3),
        "Scatter of the bank on the ramp.",
        default="2 deg",
        source=ESTIMATE,
    )

    def stiffness_and_hardening(self) -> tuple[float, float]:
        """Return pull per stretch [N/m] and hardening, fitted to the points if there are any."""
        factor = 1.0 + self.cold_stiffness_share.value
        if self.pull_points:
            points = [(point.stretch_m.value, point.pull_n.value) for point in self.pull_points]
            fit = fit_pull(points, self.natural_length_m.value)
            return factor * fit.stiffness_npm, fit.hardening
        assert self.stiffness_npm is not None  # the setup has checked it
        return factor * self.stiffness_npm.value, 0.0
