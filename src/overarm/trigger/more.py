"""What to record next, so that the figures of the trigger room say more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from overarm.odds.intervals import exact
from overarm.trigger.poisson import none_seen

if TYPE_CHECKING:
    from overarm.trigger.result import Row

ENOUGH_GESTURES, ENOUGH_S = 20, 1200.0  # own estimate


def record_next(rows: Sequence[Row], starts: str, gestures: int) -> tuple[str, ...]:
    """Return what to record next, the most telling first; nothing if the recordings are many.

    ``starts`` is the gesture that has to start the motor, ``gestures`` how many of them could tell.
    """
    deaf = [row.name for row in rows if row.tells != "yes"]
    said = [f"{name} again with 50 samples a second or more: as it is, it tells little." for name in deaf[:3]]
    carried_s = sum(row.seconds for row in rows if row.label == "carry" and row.tells != "cannot tell")
    if carried_s < ENOUGH_S:
        minutes = math.ceil((ENOUGH_S - carried_s) / 60.0)
        allowed = none_seen(ENOUGH_S)
        more = "more " if carried_s else ""
        said.append(
            f"{minutes} {more}{'minute' if minutes == 1 else 'minutes'} of carrying, with turns and stops, "
            f"on the ground that you walk to the launch: {ENOUGH_S / 60.0:.0f} minutes without a start still "
            f"allow up to {allowed:.0f} false starts an hour."
        )
    if gestures < ENOUGH_GESTURES:
        many = ENOUGH_GESTURES - gestures
        what = "throws or shakes" if starts == "either" else f"{starts}s"
        more = "more " if gestures else ""
        said.append(
            f"{many} {more}{what}, some on another day: {ENOUGH_GESTURES} without a miss still allow up to "
            f"{100.0 * exact(0, ENOUGH_GESTURES).high:.0f} missed in a hundred."
        )
    if not any(row.label == "other" for row in rows):
        said.append("Running, a stumble, the drive in the car: what must not start it, though nobody throws.")
    return tuple(said)
