"""Clean a recording: find every defect, mend it or tell of it, and list what was done."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from overarm.recordings.mend.airspeed import zero_airspeed
from overarm.recordings.mend.aliasing import flag_aliasing
from overarm.recordings.mend.axes import turn_axes
from overarm.recordings.mend.clock import mend_clock
from overarm.recordings.mend.duplicates import leave_out_duplicates
from overarm.recordings.mend.finite import (
    leave_out_absurd,
    leave_out_beyond_range,
    leave_out_not_finite,
)
from overarm.recordings.mend.gaps import flag_gaps, flag_jitter
from overarm.recordings.mend.gravity import notice_gravity_removed
from overarm.recordings.mend.height import flag_height_steps
from overarm.recordings.mend.lag import take_out_lag
from overarm.recordings.mend.saturation import flag_saturation
from overarm.recordings.mend.still import forget
from overarm.recordings.mend.stuck import leave_out_stuck
from overarm.recordings.mend.units import suspect_units
from overarm.recordings.recording import Recording

# The order matters: what leaves samples out or moves them comes before what only looks.
STEPS: tuple[Callable[[Recording], Recording], ...] = (
    leave_out_not_finite,
    leave_out_absurd,
    mend_clock,
    leave_out_duplicates,
    suspect_units,
    leave_out_beyond_range,
    leave_out_stuck,
    notice_gravity_removed,
    turn_axes,
    take_out_lag,
    zero_airspeed,
    flag_height_steps,
    flag_saturation,
    flag_aliasing,
    flag_jitter,
    flag_gaps,
)
MOST_ROUNDS = 8


def clean(recording: Recording) -> Recording:
    """Return the recording with every defect of `overarm.recordings.defects` mended or told of.

    The times of every channel of the answer rise strictly and every value is a number within the range of
    its channel. Each thing done or seen is a `Repair`. A recording without defects comes back as it is,
    and so does one that was cleaned before. Rules and their reasons: docs/theory/cleaning.md.
    """
    with np.errstate(under="ignore"):  # numbers next to nothing are nothing
        for _ in range(MOST_ROUNDS):
            before = recording.channels
            for step in STEPS:
                recording = step(recording)
            if all(recording.channels[name] is channel for name, channel in before.items()):
                break  # no sample was left out or moved that would have hidden something from a step before
    forget()
    return recording
