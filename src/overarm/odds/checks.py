"""The checks that a builder would do by hand, one at a time. Limits: common practice, no source."""

from __future__ import annotations

import math

import numpy as np

from overarm.describe.outlines import HEIGHT_ERROR_M, HOME_ABOVE_M
from overarm.odds.clear import clear_slack, draw_back_fires, grip_gap, speed_gate
from overarm.odds.facts import Facts, felt_still_mps2, peak_push_mps2, stroke_time_s
from overarm.odds.finding import Finding, Word, graded, worst_word
from overarm.physics import trigger
from overarm.physics.ramp import full_time

P5_SD = 1.6449
NEAR_OBSTACLE_M = 150.0
ROLL_RATIOS = (0.7, 1.0, 1.2)


def _shake(facts: Facts) -> tuple[float, float]:
    """Return (peak felt, time above the level) of a shake of amplitude X: A = X (2 pi f)^2."""
    cue = facts.cue
    peak = cue.shake_m * (2.0 * math.pi * cue.shake_hz) ** 2
    still = felt_still_mps2(cue, cue.carry_pitch_rad)
    above = trigger.time_above(peak, cue.shake_hz, cue.level_mps2 - still)
    return peak + still, min(above, 0.5 / cue.shake_hz)


def _throw(facts: Facts) -> tuple[float, float]:
    """Return (peak, time above the level) of a weak throw, one of twenty."""
    throw = facts.throw
    speed = max(0.1, throw.speed_mps - P5_SD * throw.speed_sd_mps)
    peak = peak_push_mps2(throw, speed)
    if facts.cue.level_mps2 >= peak:
        return peak, 0.0
    return peak, stroke_time_s(throw, speed) * (1.0 - 2.0 * math.asin(facts.cue.level_mps2 / peak) / math.pi)


def _line(facts: Facts) -> tuple[float, float]:
    """Return (peak, time above the level) on the line, whose pull falls as a quarter cosine."""
    peak, level = facts.throw.first_pull_mps2, facts.cue.level_mps2
    if level >= peak:  # also for a line too weak to move the model off the ramp
        return peak, 0.0
    return peak, 2.0 * facts.throw.line_time_s / math.pi * math.acos(level / peak)


def trigger_margin(facts: Facts) -> Finding:
    """The jerk against the level and the dwell: a weak throw, the shake, or the first pull of the line."""
    level, dwell = facts.cue.level_mps2, facts.cue.dwell_s
    if facts.in_hand and not facts.cue.shakes:
        return Finding("trigger margin", "not known", "The thrower card says nothing about the shake.", {})
    peak, above = _shake(facts) if facts.in_hand else _line(facts) if facts.by_line else _throw(facts)
    what = "shake" if facts.in_hand else "pull of the line" if facts.by_line else "weak throw, one of twenty,"
    word = worst_word(
        graded(peak / level, 1.0 if facts.in_hand else 1.0 / 0.6, 1.0),
        graded(above, (1.0 / 0.7 if facts.in_hand else 1.5) * dwell, dwell),
    )
    sentence = (
        f"A {what} peaks at {peak:.0f} m/s², the level is {level:.3g} m/s²; it stays above for "
        f"{above:.2f} s, the dwell is {dwell:.2f} s."
    )
    return Finding(
        "trigger margin", word, sentence,
        {"peak_mps2": peak, "level_mps2": level, "above_s": above, "dwell_s": dwell},
    )  # fmt: skip


def carry_margin(facts: Facts) -> Finding:
    """The level against what carrying feels like: tilt and steps."""
    cue = facts.cue
    still = felt_still_mps2(cue, cue.carry_pitch_rad)
    walking = still + cue.sway_mps2
    margin = cue.level_mps2 - walking
    word: Word = graded(cue.level_mps2, max(still + 3.0, walking), still)
    pose = f"{math.degrees(cue.carry_pitch_rad):.0f}° nose-up"
    said = (
        f"Carried {pose} the cue feels {still:.1f} m/s² standing and {walking:.1f} m/s² walking; "
        f"the level is {cue.level_mps2:.3g} m/s²."
    )
    more = {
        "good": "",
        "watch": " That is close: carry it nose-down or raise the level.",
        "stop": " It starts by itself in that pose.",
        "not known": "",
    }[word]
    return Finding(
        "carry margin",
        word,
        said + more,
        {"margin_mps2": margin, "still_mps2": still, "walking_mps2": walking},
    )


def self_start_tilt(facts: Facts) -> Finding:
    """The nose-up angle at which the motor would start with no motion at all."""
    cue = facts.cue
    angle = trigger.self_start_tilt(cue.level_mps2, cue.tilt_rad, cue.bias_mps2) if cue.raw else math.inf
    if math.isinf(angle):
        return Finding("self-start tilt", "good", "No nose-up angle fires the cue by itself.", {})
    spare = angle - cue.carry_pitch_rad
    word = graded(spare, math.radians(10.0), 0.0)
    tilted = (
        f"; the board's tilt of {math.degrees(cue.tilt_rad):.1f}° brings that nearer"
        if cue.tilt_rad > 0.0
        else ""
    )
    sentence = (
        f"Held still, it fires at {math.degrees(angle):.0f}° nose-up{tilted}. "
        f"It is carried at {math.degrees(cue.carry_pitch_rad):.0f}°."
    )
    return Finding(
        "self-start tilt", word, sentence, {"tilt_deg": math.degrees(angle), "spare_deg": math.degrees(spare)}
    )


def dwell_fits(facts: Facts) -> Finding:
    """The dwell against a knock and, if the model is shaken, against half a period of the shake."""
    cue = facts.cue
    numbers = {"dwell_s": cue.dwell_s}
    if cue.dwell_s < 0.04:
        return Finding(
            "dwell",
            "stop",
            f"A dwell of {cue.dwell_s:.2f} s lets a knock fire the cue; 0.04 s at least.",
            numbers,
        )
    if not facts.in_hand or not cue.shake_hz:
        return Finding("dwell", "good", f"A dwell of {cue.dwell_s:.2f} s is longer than a knock.", numbers)
    half_s = 0.5 / cue.shake_hz
    word = graded(half_s, 2.0 / 1.4 * cue.dwell_s, cue.dwell_s)
    sentence = (
        f"A shake of {cue.shake_hz:.1f} Hz is above any level for less than {half_s:.2f} s; "
        f"the dwell is {cue.dwell_s:.2f} s."
    )
    return Finding("dwell", word, sentence, numbers | {"half_period_s": half_s})


def release_speed(facts: Facts) -> Finding:
    """The airspeed at release over the stall speed."""
    throw, stall = facts.throw, facts.airframe.stall_speed_mps
    ratio = (throw.speed_mps + throw.headwind_mps) / stall
    word = graded(ratio, 1.15, 0.0 if facts.in_hand else 1.0)
    sentence = (
        f"It leaves at {throw.speed_mps:.1f} m/s into {throw.headwind_mps:.1f} m/s of wind: "
        f"{ratio:.2f} times the stall speed of {stall:.1f} m/s."
    )
    return Finding("release speed", word, sentence, {"ratio": ratio})


def wind_side(facts: Facts) -> Finding:
    """The wind along the launch line."""
    wind = facts.throw.headwind_mps
    if wind < -0.05:
        return Finding(
            "wind",
            "stop",
            f"{-wind:.1f} m/s of tailwind at the hand: turn the launch line.",
            {"headwind_mps": wind},
        )
    words = (
        f"{wind:.1f} m/s of headwind at the hand."
        if wind > 0.05
        else "Calm at the hand: no help from the wind."
    )
    return Finding("wind", "good" if wind > 0.05 else "watch", words, {"headwind_mps": wind})


def thrust(facts: Facts) -> Finding:
    """Thrust over weight, standing, at the launch ceiling."""
    ratio = facts.power.thrust_to_weight
    word = graded(ratio, 0.5 if facts.style == "throw-started" else 0.4, 0.35)
    return Finding(
        "thrust", word, f"Standing thrust is {ratio:.2f} of the weight.", {"thrust_to_weight": ratio}
    )


def throttle_rise(facts: Facts) -> Finding:
    """The throttle rise against what hand, torque and motor controller bear."""
    rise = 100.0 * facts.plan.rise_per_s
    most = 50.0 if facts.in_hand else 300.0
    why = "too quick for a hand that holds it" if facts.in_hand else "torque and a stuttering start"
    word: Word = "good" if rise <= most else "watch"
    full_s = full_time(facts.plan.rise_per_s, facts.plan.launch_ceiling)
    tail = "." if word == "good" else f": beware of {why}."
    return Finding(
        "throttle rise",
        word,
        f"{rise:.0f} %/s, {full_s:.1f} s to its ceiling{tail}",
        {"rise_pct_per_s": rise},
    )


def roll_reserve_at(reserves: tuple[float, float, float], ratio: float) -> float:
    """Return the roll reserve at a speed ratio: between the given ones linear, beyond as the square."""
    lowest, highest = ROLL_RATIOS[0], ROLL_RATIOS[-1]
    if ratio > highest:
        return reserves[-1] * (ratio / highest) ** 2
    if ratio < lowest:
        return reserves[0] * (ratio / lowest) ** 2
    return float(np.interp(ratio, ROLL_RATIOS, reserves))


def roll_reserve(facts: Facts) -> Finding:
    """Roll authority over motor torque at a slow release, one of twenty."""
    throw, airframe = facts.throw, facts.airframe
    slow = max(0.1, throw.speed_mps - P5_SD * throw.speed_sd_mps) + throw.headwind_mps
    reserve = roll_reserve_at(airframe.roll_reserve, slow / airframe.stall_speed_mps)
    word = graded(reserve, 2.0, 1.0)
    sentence = (
        f"At a slow release the surfaces roll {reserve:.1f} times as hard as the motor's torque; 2 is wanted."
    )
    return Finding("roll reserve", word, sentence, {"reserve": reserve})


def pitch_reserve(facts: Facts) -> Finding:
    """Pitch authority over the moment of the thrust line at the stall speed."""
    reserve = facts.airframe.pitch_reserve
    word = graded(reserve, 2.0, 1.0)
    many = "more than 20" if reserve > 20.0 else f"{reserve:.1f}"
    sentence = (
        f"At the stall speed the surfaces can pitch {many} times as hard as the thrust line; 2 is wanted."
    )
    return Finding("pitch reserve", word, sentence, {"reserve": min(reserve, 1e3)})


def static_margin(facts: Facts) -> Finding:
    """The balance point against the neutral point."""
    margin = 100.0 * facts.airframe.static_margin
    word: Word = "watch" if margin > 20.0 else graded(margin, 3.0, 0.0)
    more = (
        ""
        if word == "good"
        else " Nose-heavy: much of the elevator is spent on trim."
        if margin > 20.0
        else " Tail-heavy: rebalance."
    )
    return Finding(
        "static margin",
        word,
        f"The balance point is {margin:.1f} % of the mean chord ahead of the neutral point.{more}",
        {"margin_pct": margin},
    )


def throttle_ceiling(facts: Facts) -> Finding:
    """The ceiling of the launch against that of normal flight."""
    launch, cruise = 100.0 * facts.plan.launch_ceiling, 100.0 * facts.plan.cruise_ceiling
    word: Word = "good" if launch > cruise + 5.0 else "watch"
    more = "" if word == "good" else ": the launch has no more thrust than normal flight"
    return Finding(
        "throttle ceiling",
        word,
        f"{launch:.0f} % in the launch, {cruise:.0f} % later{more}.",
        {"launch_pct": launch, "cruise_pct": cruise},
    )


def climb_pitch(facts: Facts) -> Finding:
    """The pitch that is held in the climb."""
    pitch, ratio = math.degrees(facts.plan.climb_pitch_rad), facts.power.thrust_to_weight
    word: Word = "stop" if pitch > 25.0 + 1e-9 else "watch" if pitch > 15.0 + 1e-9 and ratio < 0.7 else "good"
    more = {"good": "", "watch": ", steep for this thrust", "stop": ": pitch hold is not speed hold"}.get(
        word, ""
    )
    return Finding("climb pitch", word, f"{pitch:.0f}° held in the climb{more}.", {"pitch_deg": pitch})


def battery(facts: Facts) -> Finding:
    """The pack under full load against its cells and the regulator."""
    power = facts.power
    cell = power.full_volts_v / power.cells
    word: Word = "good"
    if cell < 3.2 or power.full_volts_v < power.floor_volts_v + 1.0:
        word = "watch"
    if power.full_volts_v < power.floor_volts_v:
        word = "stop"
    sentence = (
        f"{power.full_volts_v:.1f} V at full load, {cell:.2f} V a cell; "
        f"the regulator needs {power.floor_volts_v:.1f} V."
    )
    return Finding("battery", word, sentence, {"volts_v": power.full_volts_v, "cell_v": cell})


def obstacles(facts: Facts) -> Finding:
    """Handover height and home height against the obstacles."""
    plan = facts.plan
    tallest = max([plan.around_m, *(h for _, h in plan.obstacles)])
    if tallest <= 0.0:
        return Finding(
            "obstacles",
            "not known",
            "The site card names no obstacles. Look, and write down none or each.",
            {},
        )
    near = max((h for x, h in plan.obstacles if x <= NEAR_OBSTACLE_M), default=0.0)
    word: Word = "good" if plan.handover_height_m >= 1.5 * near else "watch"
    there = f"the tallest obstacle within 150 m is {near:.0f} m" if near else "nothing is within 150 m ahead"
    said = f"Handover at {plan.handover_height_m:.0f} m; {there}."
    wanted_m = tallest + HOME_ABOVE_M + HEIGHT_ERROR_M
    if 0.0 <= plan.home_height_m < wanted_m:
        word = "stop" if plan.home_height_m < tallest + HEIGHT_ERROR_M else worst_word(word, "watch")
        said += f" It comes home at {plan.home_height_m:.0f} m; {wanted_m:.0f} m is wanted."
    return Finding(
        "obstacles", word, said, {"handover_m": plan.handover_height_m, "near_m": near, "tallest_m": tallest}
    )


def unknowns(facts: Facts) -> Finding:
    """Mass and balance point, which no launch should guess."""
    missing = [
        name
        for name, known in (
            ("mass", facts.airframe.mass_known),
            ("balance point", facts.airframe.balance_known),
        )
        if not known
    ]
    if not missing:
        return Finding("mass and balance", "good", "Mass and balance point are measured.", {})
    what = " and ".join(missing)
    return Finding(
        "mass and balance",
        "not known",
        f"Guessed, not measured: {what}. Scales and two fingers settle it.",
        {},
    )


SINGLE = (
    trigger_margin, carry_margin, self_start_tilt, dwell_fits, draw_back_fires, clear_slack, grip_gap,
    release_speed, wind_side, thrust, throttle_rise, roll_reserve, pitch_reserve, static_margin,
    throttle_ceiling, climb_pitch, battery, obstacles, speed_gate, unknowns,
)  # fmt: skip
