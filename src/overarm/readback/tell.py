"""Findings on a read-back: any difference is a stop, and each says what it does."""

from __future__ import annotations

import math
from collections.abc import Iterator

from overarm.odds.finding import Finding
from overarm.readback.compare import DECISIVE, Compared
from overarm.readback.consequence import Consequence
from overarm.readback.result import RouteAnswer, SettingsAnswer
from overarm.readback.route import SAME_HEIGHT_M, SAME_PLACE_M, Pair
from overarm.readback.way import OVER_M, PLACE_ERROR_M

MOST_NAMED = 8
BEHIND_RAD, ASIDE_RAD = 0.5 * math.pi, 0.25 * math.pi
UNSEEN = "cannot be compared, and it decides when the propeller turns"
HEIGHT_WORDS = ("height reference", "height unit")


def setting_findings(answer: SettingsAnswer) -> tuple[Finding, ...]:
    """Return a finding for each setting that differs, and for what could not be compared."""
    found = [
        _difference(item, answer.consequences.get(item.key), answer.metres.get(item.key, ""))
        for item in answer.items
        if item.kind in ("different", "missing", "extra")
    ]
    untied = [item.key for item in answer.items if item.kind == "not tied"]
    found += [
        Finding(key, "stop", f"no name is tied to {key}, so it {UNSEEN}: tie it", {})
        for key in untied
        if key in DECISIVE
    ]
    found += [_too_coarse(item) for item in answer.items if item.kind == "too coarse"]
    loose = [key for key in untied if key not in DECISIVE]
    if loose:
        said = f"no name is tied to {_listed(loose)}: look at them in the aircraft yourself"
        found.append(Finding("not tied", "not known", said, {"keys": float(len(loose))}))
    if answer.unknown:
        names = _listed(answer.unknown)
        said = f"the mapping does not know {names}: tie each to a key, or put it under ignore"
        found.append(Finding("unknown names", "watch", said, {"names": float(len(answer.unknown))}))
    same = sum(item.kind == "same" for item in answer.items)
    if same and not any(item.word == "stop" for item in found):
        said = f"{same} settings are as on the sheet" if same > 1 else "1 setting is as on the sheet"
        found.append(Finding("settings", "good", said, {"same": float(same)}))
    return tuple(found)


def _too_coarse(item: Compared) -> Finding:
    said = (
        f"{item.key} is reported too coarsely to tell: {item.may_be}, and the sheet has {item.sheet}; "
        "have it report more digits"
    )
    return Finding(
        item.key, "watch", said, {"sheet": item.sheet_si or 0.0, "reported": item.reported_si or 0.0}
    )


def _difference(item: Compared, consequence: Consequence | None, metres: str) -> Finding:
    parts = [_what(item)]
    numbers: dict[str, float] = {}
    if item.sheet_si is not None:
        numbers["sheet"] = item.sheet_si
    if item.reported_si is not None:
        numbers["reported"] = item.reported_si
    parts += [part for part in (metres, item.impossible) if part]
    if item.suspect is not None:
        parts.append(item.suspect.sentence)
        numbers["ratio"] = item.suspect.ratio
    if item.coarse:
        parts.append("the file has too few digits to tell the two apart: have it report more")
    sentence = "; ".join(parts)
    if consequence is not None:
        sentence = f"{sentence}: {consequence.words}"
        if consequence.difference is not None:
            numbers["points"] = 100.0 * consequence.difference.share
        if consequence.new_stops:
            sentence = f"{sentence}; new stop: {', '.join(consequence.new_stops)}"
    return Finding(item.key, "stop", sentence, numbers)


def _what(item: Compared) -> str:
    if item.kind == "missing":
        why = f", so it {UNSEEN}" if item.decides_start else ""
        return f"{item.key} is not in the report ({item.name}){why}; the sheet has {item.sheet}"
    if item.kind == "extra":
        return f"{item.key} {item.reported}, which the sheet leaves out"
    return f"{item.key} {item.reported} instead of {item.sheet}"


def _listed(names: list[str] | tuple[str, ...]) -> str:
    shown = ", ".join(names[:MOST_NAMED])
    return shown if len(names) <= MOST_NAMED else f"{shown} and {len(names) - MOST_NAMED} more"


def route_findings(
    answer: RouteAnswer, handover_m: float, obstacles: int, directed: bool
) -> tuple[Finding, ...]:
    """Return the findings on a route.

    Parameters: the route compared; height of the handover [m]; how many obstacles there are; whether the
    launch line is known.
    """
    found = [*_count(answer), *_suspicions(answer), *_points(answer), *_length(answer)]
    found += _first(answer, handover_m, directed)
    found += _obstacles(answer, obstacles, directed)
    if not any(item.word == "stop" for item in found):
        same = len(answer.paired.of_kind("same"))
        said = f"{same} points are as in {answer.planned_from}, in order and place"
        found.append(Finding("route", "good", said, {"points": float(same)}))
    return tuple(found)


def _count(answer: RouteAnswer) -> Iterator[Finding]:
    missing, extra = answer.paired.of_kind("missing"), answer.paired.of_kind("extra")
    planned = len(answer.paired.pairs) - len(extra)
    reported = len(answer.paired.pairs) - len(missing)
    numbers = {"planned": float(planned), "reported": float(reported)}
    many = f"({reported} points, {planned} planned)"
    if missing:
        said = f"{_listed([pair.name for pair in missing])} of the plan: not in the aircraft {many}"
        yield Finding("missing points", "stop", said, numbers)
    if extra:
        named = _listed([_told_place(pair) for pair in extra])
        said = f"in the aircraft and not in the plan: {named} {many}"
        yield Finding("extra points", "stop", said, numbers)


def _told_place(pair: Pair) -> str:
    there = pair.reported
    if there is None:
        return pair.name
    return f"{pair.name} at {there.ahead_m:.0f} m ahead, {_sideways(there.right_m)}"


def _sideways(right_m: float) -> str:
    return f"{abs(right_m):.0f} m to the {'right' if right_m >= 0.0 else 'left'}"


def _suspicions(answer: RouteAnswer) -> Iterator[Finding]:
    for item in answer.paired.suspicions:
        yield Finding(item.what, "stop", item.sentence, {"off_m": item.metres})


def _points(answer: RouteAnswer) -> Iterator[Finding]:
    """Yield each point that is elsewhere, unless one mistake explains them all."""
    whats = {item.what for item in answer.paired.suspicions}
    explained = bool(whats.intersection(HEIGHT_WORDS))
    if "coordinates" in whats:
        return
    for pair in answer.paired.of_kind("different"):
        parts = []
        if pair.off_m > SAME_PLACE_M and pair.planned is not None and pair.reported is not None:
            ahead = pair.reported.ahead_m - pair.planned.ahead_m
            right = pair.reported.right_m - pair.planned.right_m
            way = f"{abs(ahead):.0f} m {'further ahead' if ahead >= 0.0 else 'less far ahead'}"
            parts.append(f"{pair.off_m:.1f} m off ({way}, {_sideways(right)})")
        if pair.higher_m is not None and abs(pair.higher_m) > SAME_HEIGHT_M and not explained:
            parts.append(f"{abs(pair.higher_m):.1f} m {'higher' if pair.higher_m > 0.0 else 'lower'}")
        if parts:
            numbers = {"off_m": pair.off_m, "higher_m": pair.higher_m or 0.0}
            yield Finding(f"point {pair.number}", "stop", f"{pair.name} is {' and '.join(parts)}", numbers)


def _length(answer: RouteAnswer) -> Iterator[Finding]:
    planned, reported = answer.paired.planned_length_m, answer.paired.reported_length_m
    if abs(reported - planned) > max(2.0 * SAME_PLACE_M, 0.01 * planned):
        said = f"the route is {reported:.0f} m long instead of {planned:.0f} m"
        yield Finding("length", "watch", said, {"planned_m": planned, "reported_m": reported})


def _first(answer: RouteAnswer, handover_m: float, directed: bool) -> Iterator[Finding]:
    if any(item.what == "coordinates" for item in answer.paired.suspicions):
        return
    bearing = answer.first_bearing_rad
    if not directed:
        said = "site.launch_direction is not given, so nobody can say whether the first point lies ahead"
        yield Finding("first point", "not known", said, {})
    elif bearing is not None and abs(bearing) > ASIDE_RAD:
        behind = abs(bearing) > BEHIND_RAD
        side = "right" if bearing > 0.0 else "left"
        said = (
            f"the first point lies {math.degrees(abs(bearing)):.0f} degrees to the {side} of the launch line"
        )
        back = f"it turns back at the handover, {handover_m:.0f} m up"
        more = back if behind else "it turns as soon as it is handed over"
        numbers = {"bearing_rad": bearing}
        yield Finding("first point", "stop" if behind else "watch", f"{said}: {more}", numbers)


def _obstacles(answer: RouteAnswer, obstacles: int, directed: bool) -> Iterator[Finding]:
    if any(item.what == "coordinates" for item in answer.paired.suspicions):
        return
    if obstacles and not directed:
        said = "site.launch_direction is not given, so the legs are not held against the obstacles"
        yield Finding("obstacles", "not known", said, {"obstacles": float(obstacles)})
    for gap in answer.low_legs:
        how = f"{gap.gap_m:.0f} m above" if gap.gap_m >= 0.0 else f"{-gap.gap_m:.0f} m below"
        beside = f", {gap.aside_m:.0f} m beside it" if gap.aside_m > 0.0 else ""
        said = (
            f"the leg to point {gap.leg} passes {how} the top of {gap.obstacle}{beside}, at "
            f"{gap.height_m:.0f} m; {OVER_M:.0f} m over it are wanted, up to half the span and "
            f"{PLACE_ERROR_M:.0f} m to the side"
        )
        numbers = {"gap_m": gap.gap_m, "height_m": gap.height_m, "aside_m": gap.aside_m}
        yield Finding(f"leg {gap.leg}", "stop", said, numbers)
