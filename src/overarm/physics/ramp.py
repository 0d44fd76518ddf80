"""The throttle ramp: how the autopilot raises the throttle after the start wait."""

from __future__ import annotations

from overarm.jit import scalar


@scalar
def throttle_ramp(rate_per_s: float, ceiling: float, since_s: float) -> float:
    """Return the throttle [0..1] at a time [s] after it began to rise.

    ``rate_per_s`` is the rise as a fraction of full throttle per second, ``ceiling`` its end [0..1].

    Equation: ``s = min(ceiling, r t)``, zero before. Source: common practice, no source.
    """
    return min(ceiling, max(0.0, rate_per_s * since_s))


@scalar
def full_time(rate_per_s: float, ceiling: float) -> float:
    """Return the time [s] from the first rise to the ceiling."""
    return ceiling / rate_per_s
