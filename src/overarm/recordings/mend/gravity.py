"""Forces from which gravity was taken off before they were recorded."""

from __future__ import annotations

from dataclasses import replace

from overarm.recordings.channels import FORCES
from overarm.recordings.mend.parts import changed
from overarm.recordings.mend.still import force_peak, quiet_blocks, rest_norm, together
from overarm.recordings.recording import Recording, Repair

NEAR_NOTHING_MPS2 = 0.6  # two biases of 0.3 m/s2 at rest
MOVES_MPS2 = 2.0
TILTED_MPS2 = 1.5  # what gravity leaves if it is taken off along an axis that is 9 degrees out
NO_G_ABOVE = 12.0  # no throw reaches 12 g: forces that do are in m/s2


def notice_gravity_removed(recording: Recording) -> Recording:
    """Mark the recording if its forces are near nothing at rest, though they move at other times."""
    found = together(recording, FORCES)
    quiet = quiet_blocks(recording)
    if not recording.gravity_felt or found is None or quiet is None:
        return recording
    rest_mps2, peak_mps2 = rest_norm(quiet), force_peak(recording)
    small = rest_mps2 < NEAR_NOTHING_MPS2 and peak_mps2 >= MOVES_MPS2
    if not small and not (rest_mps2 < TILTED_MPS2 and peak_mps2 >= NO_G_ABOVE):
        return recording
    sentence = (
        f"At rest the forces are {rest_mps2:.2f} m/s2 together, where gravity would be 9.81: it was "
        f"taken off before. They are used as accelerations; how the board is tilted is not known."
    )
    ends = float(found[0][0]), float(found[0][-1])
    repair = Repair("gravity removed", "", int(found[0].size), sentence, "watch", *ends)
    return changed(replace(recording, gravity_felt=False), {}, [repair])
