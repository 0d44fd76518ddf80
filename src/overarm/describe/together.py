"""What only shows when cards are seen together: each fault with the key to change, and its cure.

The rules take whichever cards could be read, so that one look at a file finds all that is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from overarm.describe.airframe import Airframe
from overarm.describe.card import Card
from overarm.describe.day import Day
from overarm.describe.line import Line
from overarm.describe.power import Power
from overarm.describe.settings import Settings
from overarm.describe.site import Site
from overarm.describe.thrower import Thrower
from overarm.units import AREA, LENGTH, from_si

AREA_TOLERANCE = 0.03
LEAST_SPIN_GAP_M = 0.15
# The log law of the wind holds well above what the wind blows over. Common practice.
LEAST_WIND_HEIGHT = 5.0
# Volts of one lithium cell at rest: below it is not to be used, above it is counted wrong. Common practice.
LEAST_CELL_V, MOST_CELL_V = 2.8, 4.4
CARDS: dict[str, type[Card]] = {
    "airframe": Airframe,
    "power": Power,
    "thrower": Thrower,
    "line": Line,
    "settings": Settings,
    "site": Site,
    "day": Day,
}


class Fault(NamedTuple):
    """Something wrong between cards."""

    where: str  # path of the key to change, "airframe.area"
    reason: str
    cure: str


class Parts(NamedTuple):
    """The cards that could be read, and the names of all that are there."""

    style: str | None
    there: frozenset[str]
    airframe: Airframe | None = None
    power: Power | None = None
    thrower: Thrower | None = None
    line: Line | None = None
    settings: Settings | None = None
    site: Site | None = None
    day: Day | None = None


def faults(parts: Parts) -> tuple[Fault, ...]:
    """Return every fault between the cards."""
    found = list(_style(parts))
    if parts.airframe is not None:
        found += _airframe(parts.airframe)
    if parts.line is not None:
        found += _line(parts.line)
    if parts.settings is not None:
        found += _settings(parts.settings, parts.thrower)
        if parts.site is not None:
            found += _heights(parts.settings, parts.site)
    if parts.site is not None and parts.day is not None:
        found += _wind(parts.site, parts.day)
    if parts.site is not None:
        found += _site(parts.site)
    found += _pack(parts)
    return tuple(found)


def _style(parts: Parts) -> Iterator[Fault]:
    thrower, line = "thrower" in parts.there, "line" in parts.there
    if parts.style == "line-launched":
        if not line:
            cure = "Add line: with stretch and stiffness"
            yield Fault("line", "a line-launched setup needs a line card", cure)
        if thrower:
            yield Fault("thrower", "a line-launched setup has no thrower", "Take this card out")
    elif parts.style is not None:
        if not thrower:
            cure = "Add thrower: with its release_speed"
            yield Fault("thrower", "a hand launch needs a thrower card", cure)
        if line:
            cure = "Take this card out, or choose style: line-launched"
            yield Fault("line", "a hand launch has no line", cure)
    if parts.style == "spin-in-hand" and parts.power is not None and parts.power.position == "pusher":
        yield from _spinning_pusher(parts)


def _spinning_pusher(parts: Parts) -> Iterator[Fault]:
    gap_known, held_known = parts.airframe is not None, parts.thrower is not None
    near = parts.airframe is not None and parts.airframe.grip_gap_m.value < LEAST_SPIN_GAP_M
    alone = parts.thrower is not None and not parts.thrower.two_person
    if (gap_known and near) or (held_known and alone):
        yield Fault(
            "style",
            "a pusher that spins in the hand shares its space with the arm: refused",
            "Choose throw-started, or give airframe.grip_gap of 15 cm or more and thrower.two_person: true",
        )


def _airframe(card: Airframe) -> Iterator[Fault]:
    sheet_m2 = 0.5 * (card.root_chord_m.value + card.tip_chord_m.value) * card.span_m.value
    if abs(card.area_m2.value / sheet_m2 - 1.0) > AREA_TOLERANCE:
        area = from_si(sheet_m2, AREA, "m2", 3)
        reason = f"does not fit span and chords, which give {area}"
        cure = "Correct the area, the span or a chord; 3 % are allowed"
        if card.root_chord_m.value > card.span_m.value:
            cure = "The chord is longer than the span: did you swap them? Span goes from tip to tip"
        yield Fault("airframe.area", reason, cure)
    if card.layout == "conventional" and card.tail is None:
        cure = "Add tail: with arm, area and span"
        yield Fault("airframe.tail", "a conventional layout needs its tail", cure)
    if card.neutral_point_m is not None and card.balance_point_m.value >= card.neutral_point_m.value:
        place = from_si(card.neutral_point_m.value, LENGTH, "mm")
        reason = f"the balance point is behind the neutral point at {place}: it cannot fly"
        yield Fault("airframe.balance_point", reason, "Move the pack forward and balance it again")
    if card.surfaces.span_from_share.value >= card.surfaces.span_to_share.value:
        reason = "the surfaces end before they begin"
        yield Fault("airframe.surfaces.span_to", reason, "Make span_to larger than span_from")


def _line(card: Line) -> Iterator[Fault]:
    if card.stiffness_npm is not None and card.pull_points:
        yield Fault(
            "line.stiffness", "the stiffness is given twice", "Give stiffness or pull_points, not both"
        )
    elif card.stiffness_npm is None and not card.pull_points:
        yield Fault("line.stiffness", "the line has no stiffness", "Give stiffness, or better pull_points")
    elif not (falling := list(_falling(card))):
        try:
            card.stiffness_and_hardening()
        except ValueError as error:
            cure = "Measure pull against stretch again, from slack to the latch"
            yield Fault("line.pull_points", str(error).replace("; ", ": "), cure)
    else:
        yield from falling


def _falling(card: Line) -> Iterator[Fault]:
    """Yield the points that do not rise above the one before."""
    cure = "Give the points in the order of walking back; take wrong ones out"
    for number, (before, point) in enumerate(pairwise(card.pull_points), start=1):
        for key, last, now in (
            ("stretch", before.stretch_m.value, point.stretch_m.value),
            ("pull", before.pull_n.value, point.pull_n.value),
        ):
            if now <= last:
                reason = f"the {key} does not rise above that of the point before"
                yield Fault(f"line.pull_points.{number}.{key}", reason, cure)


def _settings(card: Settings, thrower: Thrower | None) -> Iterator[Fault]:
    pose = card.pose_window
    if pose is not None and pose.pitch_low_rad.value >= pose.pitch_high_rad.value:
        reason = "the pose window is empty: nothing is above pitch_low and below pitch_high"
        yield Fault("settings.pose_window.pitch_high", reason, "Make pitch_high larger than pitch_low")
    if (card.early_pitch_rad is None) != (card.early_speed_mps is None):
        here = "early_speed" if card.early_speed_mps is None else "early_pitch"
        reason = "early_pitch and early_speed belong together"
        yield Fault(f"settings.{here}", reason, "Give both, or neither")
    if thrower is not None and card.handover_height_m.value <= thrower.release_height_m.value:
        reason = "the handover is below the height of release"
        yield Fault("settings.handover_height", reason, "Give the height above the ground, such as 30 m")


def _heights(settings: Settings, site: Site) -> Iterator[Fault]:
    ceiling = from_si(site.legal_ceiling_m.value, LENGTH, "m")
    for key, height in (
        ("handover_height", settings.handover_height_m),
        ("home_height", settings.home_height_m),
    ):
        if height.value >= site.legal_ceiling_m.value:
            reason = f"is not below the legal ceiling of {ceiling}"
            yield Fault(f"settings.{key}", reason, "Lower it, or correct site.legal_ceiling")


def _wind(site: Site, day: Day) -> Iterator[Fault]:
    least_m = LEAST_WIND_HEIGHT * site.roughness_m.value
    if day.wind_height_m.value < least_m:
        least = from_si(least_m, LENGTH, "m")
        roughness = from_si(site.roughness_m.value, LENGTH, "m")
        reason = f"is under {least}, five times the roughness length of {roughness}"
        cure = f"Give the wind at {least} or higher, such as a forecast for 10 m, or correct site.ground"
        yield Fault("day.wind_height", reason, cure)


def _site(site: Site) -> Iterator[Fault]:
    """Yield the files of the site that cannot be laid under the launch."""
    there = {"launch_point": site.launch_point, "launch_direction": site.launch_direction_rad}
    missing = " and ".join(key for key, value in there.items() if value is None)
    for key, file in (("obstacle_file", site.obstacle_file), ("height_model", site.height_model)):
        if file is not None and missing:
            reason = f"cannot be laid under the launch without {missing}"
            cure = "Give launch_point: {latitude: 47.00117 deg, longitude: 8.00099 deg} and the true "
            cure += "bearing of the launch line, launch_direction: 250 deg"
            yield Fault(f"site.{key}", reason, cure)


def _pack(parts: Parts) -> Iterator[Fault]:
    if parts.power is None:
        return
    cells, floor_v = parts.power.cells, parts.power.regulator_floor_v.value
    if floor_v >= MOST_CELL_V * cells:
        reason = f"the autopilot would never run on {cells} cells"
        yield Fault("power.regulator_floor", reason, "Give the pack voltage below which it resets")
    volts = parts.day.pack_volts_v if parts.day is not None else None
    if volts is None:
        return
    if not LEAST_CELL_V <= volts.value / cells <= MOST_CELL_V:
        each = f"{volts.value / cells:.2f} V a cell for {cells} cells"
        reason = f"is {each}, outside {LEAST_CELL_V} to {MOST_CELL_V} V"
        cure = "Give the volts of the whole pack at rest, and check power.cells"
        yield Fault("day.pack_volts", reason, cure)
    elif floor_v >= volts.value:
        reason = "is above the volts of the pack at rest: the autopilot would not run"
        yield Fault("power.regulator_floor", reason, "Give the pack voltage below which it resets")
