"""Values that look as if they were in another unit: told, and left out where they would mislead.

Nothing is converted: the cure is always to say the unit in the mapping.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from overarm.odds.finding import Word
from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.mend.compare import air_over_ground, height_scale, rate_scale, speed_scale
from overarm.recordings.mend.gravity import NO_G_ABOVE, TILTED_MPS2
from overarm.recordings.mend.parts import changed, clocks, listed, usual_step
from overarm.recordings.mend.still import force_peak, quiet_blocks, rest_norm
from overarm.recordings.recording import Channel, Recording, Repair

REST_MPS2 = (7.0, 15.0)  # the force at rest, or in a steady turn of up to 60 degrees of bank
REST_UNITS = ((1.0, "g"), (32.17, "ft/s2"), (386.1, "in/s2"), (980.7, "cm/s2, or thousandths of g"))
REST_NEAR = 0.12
SHARE = 0.01  # of the samples that lie beyond what can be: more than strays
RATE_HZ = (3.0, 4000.0)  # of a recorder of forces
SPEED_UNITS = ((3.6, "km/h"), (1.9438, "knots"), (2.2369, "mph"), (3.2808, "ft/s"), (100.0, "cm/s"))
CLIMB_UNITS = (*SPEED_UNITS, (196.85, "ft/min"), (-1.0, "m/s downwards"))
HEIGHT_UNITS = (
    (3.2808, "feet"),
    (100.0, "cm"),
    (1000.0, "mm"),
    (0.3048, "metres, though feet are said"),
)
AGREES = 0.25  # of a rate of climb and a height by satellite, both late and noisy; own estimate
DEGREES = 57.2958
NO_WIND_MPS = 15.0  # nobody launches in more
NEAR = 0.06
DEGREES_NEAR = 0.5
TUMBLES_RADPS = 12.0  # no launch that is worth looking at turns faster: the rates are in degrees

BEYOND = {  # channel: the size beyond which it is in the other unit, and that unit
    "pitch_rad": (1.7, "degrees"),
    "bank_rad": (3.3, "degrees"),
    "heading_rad": (6.6, "degrees"),
    "course_rad": (6.6, "degrees"),
    "latitude_rad": (1.6, "degrees"),
    "longitude_rad": (3.2, "degrees"),
    "roll_rate_radps": (75.0, "degrees a second"),
    "pitch_rate_radps": (75.0, "degrees a second"),
    "yaw_rate_radps": (75.0, "degrees a second"),
    "propeller_radps": (6600.0, "turns a minute"),
    "left_surface_rad": (1.6, "degrees or microseconds"),
    "right_surface_rad": (1.6, "degrees or microseconds"),
    "volts_v": (125.0, "thousandths of a volt"),
    "current_a": (420.0, "thousandths of an ampere"),
}
THROTTLES = ((1.5, 150.0, "per cent"), (500.0, 2600.0, "microseconds of a pulse"))


class Suspect(NamedTuple):
    """Channels that look as if they were in another unit: which, in which unit, why, and how sure that is."""

    names: tuple[str, ...]
    unit: str
    why: str
    word: Word


def suspect_units(recording: Recording) -> Recording:
    """Tell of channels in the wrong unit; leave those out of which the unit is sure to be wrong."""
    channels: dict[str, Channel] = {}
    repairs = []
    for suspect in _suspects(recording):
        filed = suspect.names[0] if suspect.names else ""
        if listed(recording, "unit", filed):
            continue
        found = {name: c for name in suspect.names if (c := recording.channel(name)) is not None}
        left_out = suspect.word == "stop"
        if left_out:
            channels |= {
                name: Channel(c.t_s[:0], c.values[:0], f"{c.source}; left out, its unit is in doubt")
                for name, c in found.items()
            }
        said = f"{', '.join(found) or 'The time'}: {suspect.why}, as if in {suspect.unit}. "
        said += (
            "Left out; say the unit in the mapping."
            if left_out
            else "Taken as is; say the unit in the mapping."
        )
        times = sum(c.t_s.size for c in found.values())
        repairs.append(
            Repair("unit", filed, int(times), said, suspect.word, recording.from_s, recording.to_s)
        )
    return changed(recording, channels, repairs)


def _suspects(recording: Recording) -> Iterator[Suspect]:
    yield from _times(recording)
    yield from _forces(recording)
    beyond = list(_beyond(recording))
    yield from beyond
    told = {name for suspect in beyond for name in suspect.names}
    yield from (s for s in _compared(recording) if not told & set(s.names))


def _times(recording: Recording) -> Iterator[Suspect]:
    for clock in clocks(recording):
        step_s = usual_step(clock.t_s)
        if not set(clock.names) & set(FORCES) or clock.t_s.size < 20 or step_s == 0.0:
            continue
        if not RATE_HZ[0] <= 1.0 / step_s <= RATE_HZ[1]:
            why = f"{1.0 / step_s:.3g} samples of force a second, where recorders write 10 to 1000"
            yield Suspect((), "thousandths or millionths of a second, or in seconds", why, "watch")
            return


def _forces(recording: Recording) -> Iterator[Suspect]:
    quiet = quiet_blocks(recording)
    if quiet is None or not recording.gravity_felt:
        return
    rest = rest_norm(quiet)
    why = f"together {rest:.4g} at rest, where gravity is 9.81"
    for size, unit in REST_UNITS:
        if size == 1.0 and force_peak(recording) >= NO_G_ABOVE:
            continue
        if abs(rest / size - 1.0) <= REST_NEAR:
            yield Suspect(FORCES, unit, why, "stop")
            return
    if rest > REST_MPS2[1] or TILTED_MPS2 < rest < REST_MPS2[0]:
        yield Suspect(FORCES, "an unknown unit", why, "watch")


def _beyond(recording: Recording) -> Iterator[Suspect]:
    for name, (limit, unit) in BEYOND.items():
        channel = recording.channel(name)
        if channel is not None and float((np.abs(channel.values) > limit).mean()) > SHARE:
            most = float(np.abs(channel.values).max())
            yield Suspect((name,), unit, f"up to {most:.4g}", "stop")
    throttle = recording.channel("throttle")
    if throttle is None:
        return
    least, most = float(throttle.values.min()), float(throttle.values.max())
    if most > THROTTLES[0][0] and 0.4 * most < least:
        yield Suspect(("throttle",), "microseconds of a pulse", f"from {least:.4g} to {most:.4g}", "stop")
        return
    for low, high, unit in THROTTLES:
        if low < most <= high and float((throttle.values > low).mean()) > SHARE:
            yield Suspect(("throttle",), unit, f"up to {most:.4g}, where full is 1", "stop")


def _compared(recording: Recording) -> Iterator[Suspect]:
    scale = speed_scale(recording)
    if scale is not None:
        yield from _named("ground_speed_mps", scale, SPEED_UNITS, "of the speed by the positions")
    over = air_over_ground(recording)
    if over is not None and over > NO_WIND_MPS:
        why = f"{over:.0f} m/s more than the speed over the ground"
        yield Suspect(("airspeed_mps",), "km/h", why, "watch")
    yield from _heights(recording)
    yield from _turning(recording)


def _heights(recording: Recording) -> Iterator[Suspect]:
    """Rate of climb and two heights: where two of the three agree, the third one is in the other unit."""
    by_pressure = height_scale(recording, "climb_mps", "baro_height_m")
    by_satellite = height_scale(recording, "climb_mps", "satellite_height_m")
    if by_pressure is not None and by_satellite is not None and abs(by_satellite - 1.0) <= AGREES:
        found = list(_named("baro_height_m", 1.0 / by_pressure, HEIGHT_UNITS, "of the rate of climb"))
        yield from found
        if found:
            return
    for scale, reference in ((by_pressure, "baro_height_m"), (by_satellite, "satellite_height_m")):
        if scale is not None:
            yield from _named("climb_mps", scale, CLIMB_UNITS, f"of the slope of {reference}")
            break
    scale = height_scale(recording, "baro_height_m", "satellite_height_m")
    if scale is not None:
        yield from _named("baro_height_m", scale, HEIGHT_UNITS, "of the height by satellite")
        yield from _named("satellite_height_m", 1.0 / scale, HEIGHT_UNITS, "of the height by air pressure")


def _turning(recording: Recording) -> Iterator[Suspect]:
    for rate, angle in (("pitch_rate_radps", "pitch_rad"), ("roll_rate_radps", "bank_rad")):
        scale = rate_scale(recording, rate, angle)
        if scale is None:
            continue
        why = f"{scale:.3g} times the slope of {angle}"
        fastest = max(float(np.abs(c.values).max()) for name in RATES if (c := recording.channel(name)))
        if abs(scale * DEGREES - 1.0) <= DEGREES_NEAR:
            yield Suspect(RATES, "radians a second, though degrees are said", why, "stop")
        elif abs(scale / DEGREES - 1.0) <= DEGREES_NEAR and fastest > TUMBLES_RADPS:
            yield Suspect(RATES, "degrees a second", why, "stop")
        elif abs(scale / DEGREES - 1.0) <= DEGREES_NEAR:
            yield Suspect(
                ("pitch_rad", "bank_rad"), "radians, though degrees are said", f"the rate is {why}", "stop"
            )
        else:
            continue
        return


def _named(name: str, scale: float, units: tuple[tuple[float, str], ...], of_what: str) -> Iterator[Suspect]:
    for size, unit in units:
        if abs(scale / size - 1.0) <= NEAR:
            yield Suspect((name,), unit, f"{scale:.3g} times what it should be, {of_what}", "stop")
            return
