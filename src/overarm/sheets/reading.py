"""From the cards, the derived figures and the odds to what a sheet shows."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from overarm.describe.derived.figures import thrust_exponent
from overarm.describe.outlines import Outline, ahead_m, outlines
from overarm.flight.groups import to_ten_metres
from overarm.sheets.fan import Obstacle
from overarm.sheets.subject import Settings, Subject
from overarm.sheets.wording import fixed, opened, trimmed

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.flight.campaign import Inputs

INCH_M = 0.0254
MOST_DRAWN = 12  # obstacles in the side view


def _settings(setup: Setup) -> Settings:
    card = setup.settings
    window = card.pose_window
    pose = None
    if window is not None:
        low, high, bank = (
            f"{fixed(math.degrees(angle.value), 0)}°"
            for angle in (window.pitch_low_rad, window.pitch_high_rad, window.bank_rad)
        )
        pose = f"starts only with pitch {low} to {high}, bank within {bank}"
    optional = {
        name: None if item is None else item.value
        for name, item in (
            ("speed_gate_mps", card.speed_gate_mps),
            ("early_pitch_rad", card.early_pitch_rad),
            ("home_height_m", card.home_height_m),
            ("home_circle_m", card.home_circle_radius_m),
        )
    }
    return Settings(
        jerk_level_mps2=card.jerk_level_mps2.value,
        jerk_dwell_s=card.jerk_dwell_s.value,
        jerks=int(card.jerks),
        start_wait_s=card.start_wait_s.value,
        throttle_rise_per_s=card.throttle_rise_per_s.value,
        launch_ceiling=card.launch_ceiling_share.value,
        cruise_ceiling=card.cruise_ceiling_share.value,
        climb_pitch_rad=card.climb_pitch_rad.value,
        handover_height_m=card.handover_height_m.value,
        give_up_s=card.give_up_time_s.value,
        pose_words=pose,
        after_task=card.after_task,
        **optional,
    )


def _airframe_words(setup: Setup, derived: Derived) -> str:
    card = setup.airframe
    return (
        f"{card.layout.capitalize()}, {trimmed(card.mass_kg.value, 3)} kg, {trimmed(card.span_m.value, 3)} m "
        f"span, {trimmed(card.area_m2.value, 3)} m²; stalls at {fixed(derived.stall_speed_mps, 1)} m/s"
    )


def propeller_words(setup: Setup) -> str:
    """Return the propeller as builders write it: diameter by pitch in inches."""
    size = setup.power.propeller
    return f"{trimmed(size.diameter_m.value / INCH_M, 3)}x{trimmed(size.pitch_m.value / INCH_M, 2)} in"


def _power_words(setup: Setup, derived: Derived) -> str:
    card = setup.power
    return (
        f"{propeller_words(setup)} {card.position}, {card.turning} seen from behind; {card.cells} cells, "
        f"{trimmed(card.capacity_ah.value, 2)} Ah; full pull {fixed(derived.full.thrust_n, 1)} N"
    )


def _launch_words(setup: Setup) -> str:
    thrower, line = setup.thrower, setup.line
    if thrower is not None:
        hand = "both hands" if thrower.arm == "two-handed" else f"{thrower.arm} arm"
        words = (thrower.person, hand, f"{thrower.throw} throw")
        return opened(", ".join(word for word in words if word))
    assert line is not None  # a setup has a thrower or a line
    return (
        f"Line stretched {fixed(line.stretch_m.value, 1)} m, ramp {fixed(line.ramp_length_m.value, 1)} m "
        f"at {fixed(math.degrees(line.ramp_angle_rad.value), 0)}°"
    )


def _from_words(angle_rad: float) -> str:
    angle = math.degrees(math.remainder(angle_rad, math.tau))
    names = (
        (22.5, "from ahead"),
        (67.5, "from ahead on the"),
        (112.5, "from the"),
        (157.5, "from behind on the"),
    )
    words = next((words for edge, words in names if abs(angle) <= edge), "from behind")
    side = "right" if angle > 0 else "left"
    return f"{words} {side}" if words.endswith("the") else words


def _site_words(setup: Setup) -> str:
    day = setup.day
    warmth = f"{fixed(day.temperature_k.value - 273.15, 0)} °C"
    return (
        f"{opened(setup.site.place or setup.site.ground)}; wind {fixed(day.wind_mps.value, 1)} m/s at "
        f"{fixed(day.wind_height_m.value, 0)} m, {_from_words(day.wind_angle_rad.value)}; {warmth}"
    )


def _balance_words(setup: Setup) -> str:
    return f"{fixed(1000 * setup.airframe.balance_point_m.value, 0)} mm behind the root’s leading edge"


def _speed(setup: Setup, table: NDArray[np.void]) -> tuple[float, float]:
    """Return the mean and spread of the release speed: of the card, or, off a line, as flown [m/s]."""
    card = setup.thrower
    if card is not None:
        return card.release_speed_mps.value, card.release_speed_scatter_mps.value
    flown = table["release_speed_mps"][table["release_s"] >= 0]
    return (float(np.mean(flown)), float(np.std(flown))) if flown.size else (1.0, 0.1)


def _ahead(all_round: tuple[Outline, ...]) -> tuple[Obstacle, ...]:
    """Return the nearest obstacles ahead, in the order in which they are described."""
    found = [
        Obstacle(item.name, far, item.height_m) for item in all_round if (far := ahead_m(item)) is not None
    ]
    last_m = sorted(item.distance_m for item in found)[:MOST_DRAWN][-1] if found else 0.0
    return tuple(item for item in found if item.distance_m <= last_m)[:MOST_DRAWN]


def subject_of(setup: Setup, derived: Derived, inputs: Inputs, table: NDArray[np.void]) -> Subject:
    """Return the setup as a sheet sees it."""
    speed, spread = _speed(setup, table)
    air, hand = inputs.base["air"][0], inputs.base["hand"][0]
    wind, all_round = float(air["wind_10m_mps"]), outlines(setup)
    return Subject(
        name=setup.name,
        style=setup.style,
        settings=_settings(setup),
        airframe_words=_airframe_words(setup, derived),
        power_words=_power_words(setup, derived),
        launch_words=_launch_words(setup),
        site_words=_site_words(setup),
        balance_words=_balance_words(setup),
        propeller_words=propeller_words(setup),
        pusher=setup.power.position == "pusher",
        mass_kg=setup.airframe.mass_kg.value,
        cells=int(setup.power.cells),
        pack_volts=float(inputs.base["pack"]["open_volts"][0]),
        stall_speed_mps=derived.stall_speed_mps,
        full_thrust_n=derived.full.thrust_n,
        thrust_exponent=thrust_exponent(derived.full, derived.half),
        start_delay_s=float(inputs.base["motor"]["start_delay_s"][0]),
        joules_per_mps2=derived.full.energy_j / derived.full.tip_speed_mps**2,
        speed_mean_mps=speed,
        speed_sd_mps=spread,
        release_height_m=float(hand["height_m"]),
        wind_10m_mps=wind,
        wind_sd_mps=setup.day.wind_mps.spread * to_ten_metres(setup),
        wind_angle_rad=float(air["wind_angle_rad"]),
        roughness_m=float(air["roughness_m"]),
        obstacles=_ahead(all_round),
        around_m=max((item.height_m for item in all_round), default=0.0),
        ramp=None
        if setup.line is None
        else (setup.line.ramp_length_m.value, setup.line.ramp_angle_rad.value),
        release_path_rad=None if setup.thrower is None else setup.thrower.release_path_rad.value,
        glide_ratio=derived.best_glide_ratio,
    )
