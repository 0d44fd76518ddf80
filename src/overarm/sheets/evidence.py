"""From summaries and traces of launches to what each picture shows."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2
from overarm.flight.verdict import DIP_M
from overarm.odds.as_flown import as_meant, hand_wait_s, line_wait_s
from overarm.odds.clear import CLEAR_QUANTILE
from overarm.odds.race import BUDGET_RATIO, CLIMB_BELOW_PITCH_RAD, latest_thrust_s, throttle_needed
from overarm.physics.ramp import full_time
from overarm.sheets.blade import LEAST_LIVE_S, Beside, BladeData
from overarm.sheets.carpet import CarpetData, fill_carpet, rows_of
from overarm.sheets.fan import FanData, Path
from overarm.sheets.race import NO_RACE, RaceData
from overarm.sheets.strip import Course, StripData
from overarm.sheets.subject import Subject

Numbers = NDArray[np.float64]
Trace = dict[str, Numbers]

SPEED_QUANTILE = 0.20
WAITING = 2
STATE_NAMES = {1: "listening", 2: "waiting", 3: "rising", 4: "climbing", 5: "handed over", 6: "given up"}
CLEAN, HAND_AT_RISK, FALSE_START = 0, 2, 3
_KNOTS = 240
# Headwinds of the carpet at the hand [m/s]: for a calm or breezy day, for a windy one, for a tailwind.
_WINDS = ((-1, 0, 1, 2, 3, 4, 5), (-2, 0, 2, 4, 6, 8, 10), (-3, -2, -1, 0, 1, 2, 3))
_WINDY_MPS = 4.0
_FLYING_SHARE = 0.7


def released(trace: Trace) -> int | None:
    """Return the first sample of free flight (there is drag on it), or None if it never left."""
    free = np.flatnonzero(trace["drag_n"] > 0.0)
    return int(free[0]) if free.size else None


def detected_s(trace: Trace) -> float | None:
    """Return the time at which the cue fired [s], or None."""
    fired = np.flatnonzero(trace["state"] >= WAITING)
    return float(trace["t_s"][fired[0]]) if fired.size else None


def _flown(traces: Sequence[Trace]) -> list[tuple[Trace, int, float]]:
    out = []
    for trace in traces:
        first, fired = released(trace), detected_s(trace)
        if first is not None and fired is not None:
            out.append((trace, first, fired))
    return out


def track_m(x_m: Numbers, y_m: Numbers) -> Numbers:
    """Return the distance flown over ground from the hand: straight ahead it is x, and it never shrinks."""
    steps = np.hypot(np.diff(x_m), np.diff(y_m))
    return np.concatenate(([0.0], np.cumsum(steps)))


def fan_data(subject: Subject, traces: Sequence[Trace]) -> FanData:
    """Return what the launch fan shows."""
    paths = []
    for trace in traces:
        first = released(trace)
        if first is not None and len(trace["t_s"]) - first > 2:
            along = track_m(trace["x_m"][first:], trace["y_m"][first:])
            paths.append(Path(along, trace["height_m"][first:], trace["speed_ratio"][first:]))
    starts = [path.height_m[0] for path in paths]
    height = float(np.median(starts)) if starts else subject.release_height_m
    return FanData(
        tuple(paths),
        subject.obstacles,
        subject.settings.handover_height_m,
        DIP_M,
        height,
        subject.ramp,
        subject.headwind_mps,
    )


def _after_detection(table: NDArray[np.void], name: str) -> Numbers:
    """Return an event's time after detection in the launches that have both [s]."""
    use = (table["detection_s"] >= 0) & (table[name] >= 0) & as_meant(table)
    return np.asarray(table[name][use] - table["detection_s"][use], dtype=np.float64)


def away_s(subject: Subject, table: NDArray[np.void]) -> Numbers:
    """Return the seconds from detection until the hand, or the line, is out of the way."""
    return _after_detection(table, "release_s" if subject.by_line else "clear_s")


def reach_s(away: Numbers) -> float:
    """Return the time after detection at which hand or line is away in 999 launches of 1000 [s], or NaN."""
    return float(np.quantile(away, CLEAR_QUANTILE)) if away.size else math.nan


def earliest_wait_s(subject: Subject, table: NDArray[np.void]) -> float:
    """Return the shortest start wait that keeps hand and disc, or line and motor, apart [s], or NaN."""
    if subject.by_line:
        return line_wait_s(table, subject.start_delay_s)
    return hand_wait_s(table, subject.settings.start_wait_s)


def climb_need(subject: Subject, trace: Trace) -> Numbers:
    """Return the thrust needed to climb, over the weight.

    Equation: ``(D + m g sin(max(0, climb pitch - alpha)))/(m g)``.
    """
    weight = subject.mass_kg * GRAVITY_MPS2
    climb = np.maximum(0.0, subject.settings.climb_pitch_rad - np.maximum(trace["alpha_rad"], 0.0))
    return trace["drag_n"] / weight + np.sin(climb)


def steady_need(subject: Subject) -> float:
    """Return the thrust over the weight that the steady climb needs, as in the finding of the race.

    Equation: ``1/E + sin(max(0, climb pitch - 3 degrees))``.
    """
    climb_rad = max(0.0, subject.settings.climb_pitch_rad - CLIMB_BELOW_PITCH_RAD)
    return 1.0 / subject.glide_ratio + math.sin(climb_rad)


def latest_wait_s(subject: Subject, table: NDArray[np.void], need: float) -> float:
    """Return the start wait at which the speed budget is spent in one launch of five [s].

    Equation: that of the race, with the release of each launch as it was flown:
    ``wait = latest thrust + (release - detection) - start delay``. Zero if full thrust does not cover
    the need.
    """
    use = (table["detection_s"] >= 0) & (table["release_s"] >= 0) & as_meant(table)
    rows = table[use]
    if not len(rows) or need <= 0:
        return math.nan
    settings, k = subject.settings, subject.thrust_exponent
    most = subject.full_thrust_n / (subject.mass_kg * GRAVITY_MPS2)
    if max(need, steady_need(subject)) > most:
        return 0.0
    rise_s = throttle_needed(settings.launch_ceiling, need, most, k) / settings.throttle_rise_per_s
    budget = rows["release_airspeed_mps"] - BUDGET_RATIO * subject.stall_speed_mps
    lead = rows["release_s"] - rows["detection_s"]
    wait = latest_thrust_s(budget, need, rise_s, k) + lead - subject.start_delay_s
    return float(np.quantile(wait, SPEED_QUANTILE))


def _bands(rows: list[Numbers]) -> Numbers:
    """Return the 10th, 50th and 90th percentile of each column; NaN where fewer than half have a value."""
    stack = np.array(rows)
    known = np.isfinite(stack).mean(axis=0) >= 0.5
    out = np.full((3, stack.shape[1]), np.nan)
    if known.any():
        out[:, known] = np.nanpercentile(stack[:, known], (10, 50, 90), axis=0)
    return out


def race_data(subject: Subject, table: NDArray[np.void], traces: Sequence[Trace]) -> RaceData:
    """Return what the race shows; it has no times if no traced launch was detected and released."""
    flown = _flown(traces)
    if not flown:
        none = np.zeros((3, 0))
        wait_s = subject.settings.start_wait_s
        return RaceData(none[0], none[0], none, none, wait_s, math.nan, math.nan, "", NO_RACE)
    away = away_s(subject, table)
    leaves = float(np.median([trace["t_s"][first] - fired for trace, first, fired in flown]))
    needs = [_need_at_first(subject, trace, first) for trace, first, _ in flown]
    need, least = float(np.median(needs)), steady_need(subject)
    full_s = full_time(subject.settings.throttle_rise_per_s, subject.settings.launch_ceiling)
    ends = max(leaves, subject.settings.start_wait_s) + min(full_s, 3.0) + 0.9
    grid = np.linspace(0.0, max(1.8, round(ends, 1)), _KNOTS)
    speed, thrust = [], []
    for trace, first, fired in flown:
        t = trace["t_s"] - fired
        left = np.interp(
            grid, t, subject.stall_speed_mps * (trace["speed_ratio"] - BUDGET_RATIO), right=np.nan
        )
        left[grid < t[first]] = np.nan
        speed.append(left)
        weight_n = subject.mass_kg * GRAVITY_MPS2
        # A wing that sinks at a large angle of attack, or falls, is not excused from the steady climb.
        needed = (
            np.where(trace["drag_n"] > 0.0, np.maximum(climb_need(subject, trace), least), need) * weight_n
        )
        thrust.append(np.interp(grid, t, trace["thrust_n"] / needed))
    earliest, latest = math.nan, math.nan
    if subject.style != "spin-in-hand" and away.size:
        earliest = earliest_wait_s(subject, table)
        latest = latest_wait_s(subject, table, need)
    hand = np.array([np.mean(away > t) if away.size else 1.0 for t in grid])
    return RaceData(
        grid, hand, _bands(speed), _bands(thrust), subject.settings.start_wait_s, earliest, latest,
        "line away" if subject.by_line else "hand away", _motor_words(subject), reach_s(away),
    )  # fmt: skip


def _need_at_first(subject: Subject, trace: Trace, first: int) -> float:
    t = trace["t_s"]
    use = (t >= t[first]) & (t <= t[first] + 0.5)
    return float(np.median(climb_need(subject, trace)[use]))


def _motor_words(subject: Subject) -> str:
    if subject.style == "spin-in-hand":
        return "Thrown under power: no throw before full pull is felt."
    return "The window of the wait is not known: too few launches were released."


def blade_data(subject: Subject, table: NDArray[np.void], traces: Sequence[Trace]) -> BladeData:
    """Return what the blade clock shows."""
    away = away_s(subject, table)
    reach = reach_s(away) if away.size else 0.0
    full_s = full_time(subject.settings.throttle_rise_per_s, subject.settings.launch_ceiling)
    end = max(reach + 0.4, subject.settings.start_wait_s + min(full_s, 4.5) + 0.4, 1.5)
    grid = np.linspace(0.0, end, _KNOTS)
    rows = []
    for trace in traces:
        fired = detected_s(trace)
        if fired is not None:
            rows.append(np.interp(grid, trace["t_s"] - fired, trace["tip_mps"]))
    tips = np.percentile(rows, (10, 50, 90), axis=0) if rows else np.zeros((3, _KNOTS))
    passed = subject.pusher and not subject.by_line
    at_risk = np.isin(table["outcome"], (HAND_AT_RISK, FALSE_START) if passed else (HAND_AT_RISK,))
    beside = Beside(
        len(table), int(np.count_nonzero(at_risk)), int(np.count_nonzero(table["live_s"] >= LEAST_LIVE_S)),
        float(np.max(table["live_s"], initial=0.0)),
    )  # fmt: skip
    return BladeData(
        grid, tips, subject.joules_per_mps2, reach, beside, subject.propeller_words, subject.by_line
    )


def _course(trace: Trace, outcome: str) -> Course:
    fired = detected_s(trace)
    t = trace["t_s"] - (fired if fired is not None else trace["t_s"][0])
    state = trace["state"].astype(int)
    cuts = [0, *(np.flatnonzero(np.diff(state)) + 1), len(t) - 1]
    states = tuple(
        (STATE_NAMES.get(int(state[a]), "asleep"), float(t[a]), float(t[b]))
        for a, b in itertools.pairwise(cuts)
        if b > a
    )
    return Course(
        t, trace["felt_mps2"], trace["throttle"], trace["tip_mps"], trace["speed_ratio"], trace["height_m"],
        states, outcome,
    )  # fmt: skip


def strip_data(subject: Subject, traces: Sequence[Trace], outcomes: Sequence[int]) -> StripData:
    """Return the middle launch and one bad one.

    The middle launch is the clean one (any, if none is clean) with the median lowest speed ratio; the
    bad one is of the commonest failure among the traced launches, again the median one.
    """
    ratio = [_lowest_ratio(trace) for trace in traces]
    from overarm.flight.outcomes import Outcome

    labels = [Outcome(o).label for o in outcomes]
    clean = [k for k, o in enumerate(outcomes) if o == CLEAN]
    bad = [k for k, o in enumerate(outcomes) if o != CLEAN and detected_s(traces[k]) is not None]
    middle = _median_of(clean or list(range(len(traces))), ratio)
    worst = None
    if clean and bad:
        kinds = [outcomes[k] for k in bad]
        commonest = max(sorted(set(kinds)), key=kinds.count)
        worst = _median_of([k for k in bad if outcomes[k] == commonest], ratio)
    full_s = full_time(subject.settings.throttle_rise_per_s, subject.settings.launch_ceiling)
    until = max(5.0, subject.settings.start_wait_s + full_s + 2.0)
    end = float(max(trace["t_s"][-1] - (detected_s(trace) or 0.0) for trace in traces))
    return StripData(
        _course(traces[middle], labels[middle]),
        None if worst is None else _course(traces[worst], labels[worst]),
        subject.settings.jerk_level_mps2,
        min(until, max(end, 2.0)),
    )


def _lowest_ratio(trace: Trace) -> float:
    first = released(trace)
    return float(np.min(trace["speed_ratio"][first:])) if first is not None else 0.0


def _median_of(places: list[int], key: list[float]) -> int:
    ordered = sorted(places, key=lambda k: key[k])
    return ordered[len(ordered) // 2]


def carpet_data(
    subject: Subject,
    share: Callable[[float, float], float],
    progress: Callable[[str, float], None] | None = None,
) -> CarpetData:
    """Return the filled carpet: `share(speed, headwind)` is asked for each cell."""
    kind = 2 if subject.headwind_mps < -0.5 else 1 if subject.headwind_mps > _WINDY_MPS else 0
    winds = np.array(_WINDS[kind], dtype=np.float64)
    speeds = rows_of(subject.speed_mean_mps, subject.speed_sd_mps)

    def tell(done: int, of: int) -> None:
        if progress is not None:
            progress("flying the carpet", _FLYING_SHARE * done / of)

    return CarpetData(
        speeds, winds, fill_carpet(share, speeds, winds, tell), subject.speed_mean_mps, subject.speed_sd_mps,
        subject.headwind_mps, subject.wind_sd_mps * subject.hand_share,
        "speed off the line" if subject.by_line else "throw speed",
    )  # fmt: skip
