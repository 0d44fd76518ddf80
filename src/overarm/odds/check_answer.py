"""The answer of a check as JSON-ready data: the derived figures, the findings, and what is guessed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import overarm

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.describe.derived.propulsion import Match
    from overarm.odds.finding import Finding
    from overarm.odds.result import Inputs

FORM = 1

# Fields of the derived figures that are printed as they are; the names carry the units.
PLAIN = (
    "stall_speed_mps", "best_glide_ratio", "best_glide_speed_mps", "static_margin_share",
    "trim_elevator_rad", "stall_elevator_rad", "thrust_to_weight", "spool_time_s", "pitch_reserve",
    "thrust_line_share", "self_start_tilt_rad", "blade_pass_full_hz", "blade_pass_half_hz",
    "rpm_at_tip_25", "rpm_at_tip_60", "density_kgpm3", "lift_max", "reynolds",
)  # fmt: skip


def check_dict(card: Setup, derived: Derived, found: tuple[Finding, ...]) -> dict[str, Any]:
    """Return the answer on a setup that is well formed; ``docs/reference/check.schema.json`` describes it."""
    drawn = drawn_of(card)
    return {
        "overarm_check": FORM,
        "version": overarm.__version__,
        "good": True,
        "name": card.name,
        "style": card.style,
        "setup_hash": card.hash(),
        "derived": as_numbers(derived),
        "notes": list(derived.notes),
        "findings": [item._asdict() for item in found],
        "inputs": drawn.count,
        "unknown_inputs": list(drawn.guessed),
    }


def drawn_of(card: Setup) -> Inputs:
    """Return how many inputs of a setup are uncertain, and which are guessed."""
    from overarm.flight.inputs import uncertain
    from overarm.odds.known import drawn_inputs

    return drawn_inputs(card, uncertain(card))


def as_numbers(derived: Derived) -> dict[str, Any]:
    """Return the figures as plain SI numbers."""
    found: dict[str, Any] = {name: getattr(derived, name) for name in PLAIN}
    found["full"], found["half"] = _match(derived.full), _match(derived.half)
    found["roll_reserve"] = {f"{speed:g}": ratio for speed, ratio in derived.roll_reserve.items()}
    found["hand_reach"] = None if derived.hand_reach is None else derived.hand_reach._asdict()
    return found


def _match(match: Match) -> dict[str, float]:
    named = match._asdict()
    return {("volts_v" if name == "volts" else name): value for name, value in named.items()}
