"""The usual settings of the trade by style and mass: where one starts without a model.

Source: common practice, no source; the middle of what is usual, not an optimum.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from overarm.settings.choices import BY_KEY, chosen_in

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

SMALL_KG = 0.8
GATE_SHARE = 0.65  # of the speed at the end of the line

_SMALL = {
    "jerk_level": 6.0, "jerk_dwell": 0.10, "start_wait": 0.60, "throttle_rise": 1.50,
    "launch_ceiling": 0.95, "climb_pitch": math.radians(14.0), "handover_height": 30.0,
}  # fmt: skip
_LARGER = {
    "jerk_level": 8.0, "jerk_dwell": 0.11, "start_wait": 0.65, "throttle_rise": 2.00,
    "launch_ceiling": 0.95, "climb_pitch": math.radians(13.0), "handover_height": 35.0,
}  # fmt: skip
_LINE = {
    "jerk_level": 11.0, "jerk_dwell": 0.15, "start_wait": 0.65, "throttle_rise": 1.00,
    "launch_ceiling": 0.95, "climb_pitch": math.radians(11.0), "handover_height": 40.0,
}  # fmt: skip
_IN_HAND = {"start_wait": 0.35}
_RISE_IN_HAND = (0.25, 0.20)  # small, larger


def usual_settings(setup: Setup, derived: Derived) -> dict[str, float]:
    """Return the usual settings for the style and mass of a setup, by key, SI, as a builder enters them.

    Optional settings that the setup has (an early pitch, a pose window) stay as they are; a speed gate
    on a line becomes 65 % of the speed at its end.
    """
    from overarm.odds.gather import gather_facts

    small = setup.airframe.mass_kg.value < SMALL_KG
    values = dict(_LINE if setup.style == "line-launched" else _SMALL if small else _LARGER)
    if setup.style == "spin-in-hand":
        values |= _IN_HAND | {"throttle_rise": _RISE_IN_HAND[0 if small else 1]}
    kept = {key: value for key, value in chosen_in(setup).items() if BY_KEY[key].optional}
    if "speed_gate" in kept and setup.style == "line-launched":
        kept["speed_gate"] = GATE_SHARE * gather_facts(setup, derived).throw.speed_mps
    return {key: BY_KEY[key].rounded(value) for key, value in (values | kept).items()}
