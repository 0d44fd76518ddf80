"""What a synthetic recording shall be like."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Before = Literal["carried", "in the air"]
After = Literal["as it ends", "log ends"]
Extra = Literal["turn round", "shake", "aborted throw", "nose-up carry"]


@dataclass(frozen=True, slots=True)
class Rates:
    """How often each kind of channel is written [Hz]; 0: not at all."""

    inertial_hz: float = 100.0
    attitude_hz: float = 25.0
    satellite_hz: float = 5.0
    baro_hz: float = 25.0
    throttle_hz: float = 25.0
    power_hz: float = 10.0
    propeller_hz: float = 0.0
    airspeed_hz: float = 0.0
    state_hz: float = 0.0


@dataclass(frozen=True, slots=True)
class Options:
    """What happens besides the launch, what is written, and what is wrong with it.

    ``second``: number of a launch that follows in the same file, after a carry back; None for none.
    ``defects``: names from `overarm.specimens.spoil.SPOILERS`, put in in this order.
    """

    rates: Rates = field(default_factory=Rates)
    extras: tuple[Extra, ...] = ("turn round",)
    before: Before = "carried"
    after: After = "as it ends"
    second: int | None = None
    defects: tuple[str, ...] = ()
    range_mps2: float = 156.9  # of the accelerometers, 16 g
    satellite_lag_s: float | None = None  # None: drawn from 0.1 to 0.4 s
    vibration_mps2: float | None = None  # rms at full throttle; None: drawn from 1 to 10 m/s2
