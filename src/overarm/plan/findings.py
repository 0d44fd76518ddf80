"""The findings of a plan, in the order in which a person reads them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from overarm.describe.outlines import HEIGHT_ERROR_M, HOME_ABOVE_M
from overarm.odds.finding import Finding, Word
from overarm.odds.format import plain_percent
from overarm.plan import home as way
from overarm.plan.clearance import shape_of
from overarm.plan.result import Ceiling, Circle, Gap, Handover, Rose, WayHome
from overarm.plan.way import GRID_M, highest_ground

if TYPE_CHECKING:
    from overarm.plan.scene import Scene

CEILING_NEAR_M = 10.0
CHECK_RULES = "your local limit, as your site card says it: check the rules that hold at this place today"
WATCH_GAIN_SHARE = 0.02
FOOT_M = 2.0  # of ground under an obstacle, from which on it is told; own estimate


def ceiling_of(legal_m: float, highest_m: float) -> Ceiling:
    """Return the height that is allowed against the highest that this flight goes (its 95th percentile)."""
    word: Word = "good"
    if highest_m > legal_m:
        word = "stop"
    elif highest_m > legal_m - CEILING_NEAR_M:
        word = "watch"
    sentence = f"It goes up to {highest_m:.0f} m, height error included; {legal_m:.0f} m is {CHECK_RULES}."
    return Ceiling(legal_m, highest_m, word, sentence)


def _of_gap(gap: Gap) -> Finding:
    numbers = {
        "p5_m": gap.p5_m,
        "p50_m": gap.p50_m,
        "wanted_m": gap.wanted_m,
        "struck_share": gap.struck_share,
        "short_share": gap.short_share,
    }
    return Finding(f"gap over {gap.name}", gap.word, gap.sentence, numbers, True)


def _of_rose(rose: Rose, model: bool) -> Finding:
    """Return what the directions say; with a height model, whose ground they do not see, not known."""
    watch = rose.best_rad != 0.0 and rose.gain.share >= WATCH_GAIN_SHARE
    numbers = {"best_deg": math.degrees(rose.best_rad), "gain_share": rose.gain.share}
    word: Word = "watch" if watch else "good"
    return Finding("launch direction", "not known" if model else word, rose.sentence, numbers, True)


def _of_home(home: WayHome, scene: Scene) -> list[Finding]:
    strong_mps = scene.strong_wind_at(scene.home_m)
    return [
        Finding(
            "home height",
            way.height_word(home),
            f"Home height {home.height_m:.0f} m; {home.wanted_height_m:.0f} m is wanted: "
            f"{home.tallest_m:.0f} m of obstacle or ground on the way, {HOME_ABOVE_M:.0f} m above "
            f"it, and {HEIGHT_ERROR_M:.0f} m of height error.",
            {"height_m": home.height_m, "wanted_m": home.wanted_height_m},
        ),
        Finding(
            "wind on the way home",
            way.speed_word(home, strong_mps),
            f"Into the wind at home height it makes {home.into_wind_mps:.1f} m/s over ground "
            f"({home.airspeed_mps - strong_mps:.1f} m/s in a strong gust; {home.least_ground_speed_mps:.1f} "
            "m/s is wanted).",
            {"into_wind_mps": home.into_wind_mps, "wanted_mps": home.least_ground_speed_mps},
            True,
        ),
        Finding(
            "climb to home height",
            way.climb_word(home, scene),
            f"Level flight takes {100.0 * home.level_throttle:.0f} % throttle of a cruise ceiling of "
            f"{100.0 * scene.cruise_ceiling:.0f} %, which climbs {home.climb_rate_mps:.1f} m/s.",
            {"level_throttle": home.level_throttle, "climb_rate_mps": home.climb_rate_mps},
            True,
        ),
        Finding(
            "energy to come home",
            way.energy_word(home),
            f"{100.0 * home.capacity_share_left:.0f} % of the pack is left at home, counted with "
            f"{100.0 * way.CAUTIOUS_EFFICIENCY:.0f} % efficiency; the reserve is "
            f"{100.0 * way.RESERVE_SHARE:.0f} %.",
            {"capacity_share_left": home.capacity_share_left, "reserve_share": way.RESERVE_SHARE},
            True,
        ),
        Finding(
            "cell under load",
            way.volts_word(home),
            f"{home.cell_volts_v:.2f} V a cell when it climbs again with the reserve left; "
            f"{way.LEAST_CELL_V:.1f} V is wanted.",
            {"cell_volts_v": home.cell_volts_v},
            True,
        ),
    ]


def _of_feet(scene: Scene) -> list[Finding]:
    """Return a watch for every obstacle that stands on ground above the launch: its top may be higher."""
    if scene.surface is None:
        return []
    found = []
    for outline in scene.outlines:
        foot_m = highest_ground(shape_of(outline).buffer(GRID_M), scene)
        if foot_m >= FOOT_M:
            words = (
                f"The height model has the ground at {outline.name} up to {foot_m:.0f} m above the launch. "
                f"Its {outline.height_m:.0f} m count from the launch: add the ground if they do not yet."
            )
            found.append(Finding(f"foot of {outline.name}", "watch", words, {"foot_m": foot_m}))
    return found


def _of_model(unknown_share: float) -> list[Finding]:
    """Return what there is to say of a height model that does not cover the whole way home."""
    if unknown_share == 0.0:
        return []
    words = (
        f"The height model has no height for {plain_percent(unknown_share)} of the ground on the way home."
    )
    return [Finding("height model", "not known", words, {"unknown_share": unknown_share})]


def findings_of(
    scene: Scene,
    gaps: tuple[Gap, ...],
    rose: Rose,
    parts: tuple[Handover, Circle, WayHome, Ceiling],
    shares: tuple[float, float],
) -> tuple[Finding, ...]:
    """Return the findings of a plan.

    ``shares``: of the launches that were handed over; of the ground on the way whose height is not known.
    """
    handed_over_share, unknown_share = shares
    handover, circle, home, ceiling = parts
    found = [_of_gap(gap) for gap in gaps]
    if handed_over_share == 0.0:
        words = "No launch reached the handover: the way home starts from where they ended."
        found.append(Finding("launches", "stop", words, {"handed_over_share": 0.0}))
    found.append(_of_rose(rose, scene.surface is not None))
    lowest = {"height_m": handover.height_m, "lowest_m": handover.lowest_m}
    found.append(Finding("handover height", handover.word, handover.sentence, lowest, True))
    radii = {"radius_m": circle.radius_m, "wanted_m": circle.wanted_radius_m}
    found.append(Finding("home circle", circle.word, circle.sentence, radii, True))
    found += _of_home(home, scene)
    found += _of_model(unknown_share)
    found += _of_feet(scene)
    heights = {"highest_m": ceiling.highest_m, "legal_m": ceiling.legal_m}
    found.append(Finding("legal ceiling", ceiling.word, ceiling.sentence, heights))
    return tuple(found)
