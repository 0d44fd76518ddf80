"""Clean a recording: find every defect, mend it or tell of it, and list what was done."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from overarm.recordings.mend.clock import mend_clock
from overarm.recordings.mend.duplicates import leave_out_duplicates
from overarm.recordings.mend.finite import (
    leave_out_absurd_times,
    leave_out_beyond_range,
    leave_out_not_finite,
)
from overarm.recordings.mend.gaps import flag_gaps, flag_jitter
from overarm.recordings.recording import Recording

# The order matters: what leaves samples out or moves them comes before what only looks.
STEPS: tuple[Callable[[Recording], Recording], ...] = (
    leave_out_not_finite,
    leave_out_absurd_times,
    mend_clock,
    leave_out_duplicates,
    leave_out_beyond_range,
    flag_jitter,
    flag_gaps,
)


def clean(recording: Recording) -> Recording:
    """Return the recording with every defect of `overarm.recordings.defects` mended or told of.

    The times of every channel of the answer rise strictly and every value is a number within the range of
    its channel. Each thing done or seen is a `Repair`. A recording without defects comes back as it is,
    and so does one that was cleaned before. Rules and their reasons: docs/theory/cleaning.md.
    """
    with np.errstate(under="ignore"):  # numbers next to nothing are nothing
        for step in STEPS:
            recording = step(recording)
    return recording
