"""Hand and disc: when the cue fires, when the hand is clear, when the propeller turns.

The behaviour of a hand after release has no good public data; the extra 0.10 s is the protection, not
the tail of a guess. Limits: common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np

from overarm.describe.derived.reach import time_to_clear_s
from overarm.odds.facts import Facts, cue_lag_s, detection_lead_s, draw_back, gate_time_s, peak_push_mps2
from overarm.odds.finding import Finding, graded
from overarm.physics.hand import CLEAR_MARGIN_M

CLEAR_QUANTILE = 0.999
CLEAR_EXTRA_S = 0.10
ROUNDING_S = 5e-4
HAND_GAP_M = 0.15
SAMPLES = 20_000
DETECTION_SD_S = 0.05  # of the time from detection to release, unmeasured
SIDE_GAP_M = 0.10
GATE_SPARE_MPS = 2.0
CLOSE_MPS2 = 1.5  # what noise, sway, tilt and another draw-back may add; own estimate


def draw_back_fires(facts: Facts) -> Finding:
    """The draw-back of the arm against level and dwell: a cue that fires there starts the wait early.

    Watch, too, if 1.5 m/s² less of a level would be passed for the dwell: another throw fires it.
    """
    if facts.style != "throw-started":
        return Finding("draw-back", "good", "The throw is not what fires the cue.", {})
    peak, above = draw_back(facts)
    numbers = {"peak_mps2": peak, "above_s": above, "lead_s": detection_lead_s(facts)}
    level = facts.cue.level_mps2
    said = (
        f"Turning round at the end of the draw-back feels like {peak:.1f} m/s²; the level is {level:.3g} m/s²"
    )
    if above < facts.cue.dwell_s:
        lower = facts.cue._replace(level_mps2=level - CLOSE_MPS2)
        if draw_back(facts._replace(cue=lower)).above_s < facts.cue.dwell_s:
            return Finding("draw-back", "good", f"{said}: it does not fire the cue.", numbers)
        return Finding(
            "draw-back", "watch", f"{said}: it comes close; in some launches it fires early.", numbers
        )
    early = f"it fires the cue {numbers['lead_s']:.2f} s before release, before the throw itself"
    return Finding("draw-back", "watch", f"{said}: {early}. The wait counts from there.", numbers)


def clear_time_s(facts: Facts) -> float:
    """Return the time from detection at which 999 of 1000 hands are clear of a pusher's disc.

    The throw itself fires the cue here, not the draw-back before it.

    Equation: that of `time_to_clear_s` after release, with lognormal deceleration and normal lag not below
    zero, plus the time from detection to release of each throw, itself only known to 0.05 s.
    The quantile is taken over 20 000 fixed draws. The behaviour of the hand is a guess: the extra
    0.10 s is the protection.
    """
    throw = facts.throw
    draws = np.random.default_rng(2006).standard_normal((4, SAMPLES))
    slow = throw.hand_deceleration_mps2 * np.exp(throw.hand_deceleration_log_sd * draws[0])
    lag = np.maximum(0.0, throw.hand_lag_mps + throw.hand_lag_sd_mps * draws[1])
    speed = np.maximum(0.3 * throw.speed_mps, throw.speed_mps + throw.speed_sd_mps * draws[2])
    clear = time_to_clear_s(throw.grip_to_disc_m + CLEAR_MARGIN_M, speed, slow, lag)
    peak = peak_push_mps2(throw, 1.0) * speed**2
    share = np.minimum(1.0, facts.cue.level_mps2 / peak)
    lead = 2.0 * throw.stroke_m / speed * (1.0 - np.arcsin(share) / math.pi) - cue_lag_s(facts.cue)
    lead = lead + DETECTION_SD_S * draws[3]
    return float(np.quantile(np.maximum(lead, 0.0) + clear, CLEAR_QUANTILE))


def clear_slack(facts: Facts) -> Finding:
    """The start wait against the time at which the hand, or the line, is out of the way."""
    wait = facts.plan.start_wait_s
    if facts.in_hand:
        return _hand_beside_disc(facts)
    if facts.by_line:
        turns = wait + facts.power.start_delay_s - detection_lead_s(facts)
        word = graded(turns, 0.10, 0.0)
        when = f"{abs(turns):.2f} s {'after' if turns >= 0 else 'before'} the model leaves the line"
        gate = f", gate met {gate_time_s(facts):.2f} s after the cue" if facts.throw.gate_mps > 0.0 else ""
        return Finding("clear slack", word, f"The propeller starts about {when}{gate}.", {"slack_s": turns})
    if not facts.power.pusher:
        return Finding(
            "clear slack", "good", "A tractor's disc moves away from the hand at release.", {"wait_s": wait}
        )
    clear = clear_time_s(facts)
    slack = wait - clear
    word = graded(slack, CLEAR_EXTRA_S - ROUNDING_S, 0.0)
    sentence = f"999 of 1000 hands are clear {clear:.2f} s after detection; the motor waits {wait:.2f} s."
    if word != "good":
        sentence += f" At least {clear + CLEAR_EXTRA_S:.2f} s is wanted, since nobody knows that tail well."
    return Finding("clear slack", word, sentence, {"wait_s": wait, "clear_s": clear, "slack_s": slack})


def speed_gate(facts: Facts) -> Finding:
    """The speed gate against the speed that the line, or the throw, gives: an unmet gate starts nothing."""
    gate, speed = facts.throw.gate_mps, facts.throw.speed_mps
    if gate <= 0.0:
        return Finding("speed gate", "good", "No speed has to be reached before the motor starts.", {})
    spare = speed - gate
    sentence = f"The motor waits for {gate:.1f} m/s over the ground; the launch gives about {speed:.1f} m/s."
    if spare < GATE_SPARE_MPS:
        sentence += " Some launches, or all, never start it: lower the gate or leave it out."
    word = graded(spare, GATE_SPARE_MPS, 0.0)
    return Finding("speed gate", word, sentence, {"gate_mps": gate, "speed_mps": speed})


def grip_gap(facts: Facts) -> Finding:
    """The gap from the hand out to the disc: the computed clear time covers no arm from the side."""
    if facts.by_line or not facts.power.pusher:
        return Finding("grip", "good", "No disc passes the hand at release.", {})
    gap = facts.throw.grip_gap_m
    sentence = f"{1000 * gap:.0f} mm from the hand out to the edge of the disc."
    if gap < SIDE_GAP_M:
        sentence += " An arm that swings through sideways meets it: grip further ahead and below."
    return Finding("grip", "good" if gap >= SIDE_GAP_M else "watch", sentence, {"gap_m": gap})


def _hand_beside_disc(facts: Facts) -> Finding:
    gap = facts.throw.grip_gap_m
    live = max(0.0, detection_lead_s(facts) - facts.plan.start_wait_s)
    numbers = {"live_s": live, "gap_m": gap}
    if facts.power.pusher and gap < HAND_GAP_M:
        words = f"A pusher spun in the hand, {1000 * gap:.0f} mm between hand and disc; 150 mm at least."
        return Finding("clear slack", "stop", words, numbers)
    words = f"The propeller turns for about {live:.1f} s beside the person. That is the price of this style."
    return Finding("clear slack", "watch", words, numbers)
