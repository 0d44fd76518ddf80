"""Every figure that a recording of a launch gives, with its error or the reason that it cannot be told."""

from __future__ import annotations

from overarm.recordings.estimates.run import estimates_of, events_and_estimates, with_estimated_events

__all__ = ["estimates_of", "events_and_estimates", "with_estimated_events"]
