"""Ground effect: near the ground the wing's downwash, and with it the induced drag, is smaller."""

from __future__ import annotations

from overarm.jit import scalar


@scalar
def induced_factor(height_m: float, span_m: float) -> float:
    """Return the factor on the induced drag of a wing at a height [m] above the ground.

    ``height_m`` is that of the wing, ``span_m`` its span; below the ground it counts as zero.

    Equation: ``(16 h/b)^2 / (1 + (16 h/b)^2)``. Source: McCormick, *Aerodynamics, Aeronautics and
    Flight Mechanics*, 2nd ed. (1995), section 7 (from memory).
    """
    ratio = 16.0 * max(0.0, height_m) / span_m
    square = ratio * ratio
    return square / (1.0 + square)
