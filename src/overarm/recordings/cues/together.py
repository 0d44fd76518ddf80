"""All cues of a recording together."""

from __future__ import annotations

from overarm.recordings.cues.drive import drive_scores
from overarm.recordings.cues.going import going_scores
from overarm.recordings.cues.grid import Grid, Numbers
from overarm.recordings.cues.lobes import Lobe
from overarm.recordings.cues.motion import shake_scores, unrest_scores
from overarm.recordings.cues.strokes import stroke_scores
from overarm.recordings.recording import Recording


def all_scores(grid: Grid, recording: Recording, lobes: tuple[Lobe, ...], *, in_hand: bool) -> Numbers:
    """Return the sum of the scores of every cue that the channels allow, shape (n, S)."""
    return (
        unrest_scores(grid, recording)
        + shake_scores(grid, recording)
        + going_scores(grid, recording)
        + drive_scores(grid, recording, in_hand=in_hand)
        + stroke_scores(grid, recording, lobes)
    )
