"""What a recorded launch came to: the first outcome that applies, people first, or that nobody can tell.

The order is that of `overarm.flight.outcomes.Outcome`, so that what happened and what was predicted are
counted alike. A launch is clean only if the record shows it to the handover.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from overarm.flight.outcomes import Outcome
from overarm.flight.verdict import DIP_M, LONG_STALL_S
from overarm.flight.watch import ROLLED_OVER_RAD
from overarm.odds.finding import Word
from overarm.recordings.estimates.say import together
from overarm.recordings.estimates.series import integral, part
from overarm.review.result import Verdict
from overarm.review.seen import SHUT, Seen
from overarm.review.untold import ABORTED, CANNOT_TELL

LONG_AGO = 3.0  # of the give-up time: however it climbs, it does not climb to the handover
EARLY_S = 0.05  # before the person moved: more than the errors of both
SPUN_FROM_S = 1.0  # nobody holds a turning propeller on purpose for less; own estimate
NEAR_SHARE, NEAR_M = 0.15, 6.0  # how well a distance over ground is known; own estimate
COARSE_S = 0.1  # with a larger error a hand is clear only beyond two of them; own estimate
OVER_GROUND_M = 2.5  # a flight that ends this high ends on something
LATE_START_S = 0.5
SAGGING_SHARE = 0.5  # of the volts over the floor; own estimate
IN_THE_AIR_S = 1.5  # of the give-up time: after it a launch that is not handed over has mushed
WORDS: dict[str, Word] = {
    Outcome.CLEAN.label: "good",
    Outcome.DIPPED.label: "watch",
    Outcome.OVER_HEIGHT.label: "watch",
    ABORTED: "not known",
    CANNOT_TELL: "not known",
}


def verdict_of(seen: Seen) -> Verdict:
    """Return what a launch came to, in the words of the outcomes, and the sentence that says it."""
    for judge in JUDGES:
        found = judge(seen)
        if found is not None:
            return found
    return _cannot(f"The record ends {_after(seen, seen.end_s)} before a handover or the ground.")


def _is(outcome: Outcome, sentence: str, *, in_hand: bool = False) -> Verdict:
    return Verdict(outcome.label, WORDS.get(outcome.label, "stop"), sentence, in_hand)


def _cannot(sentence: str, *, in_hand: bool = False) -> Verdict:
    return Verdict(CANNOT_TELL, "stop" if in_hand else "not known", sentence, in_hand)


def turns_at(seen: Seen) -> tuple[float, float, bool] | None:
    """Return (time [s], error [s], seen turning) of the start of the motor; None if it never started.

    Where nothing tells when it turned, the first throttle stands for it: it cannot have turned before.
    """
    spin, throttle = seen.event("first_spin"), seen.event("first_throttle")
    if spin is not None and seen.started:
        return spin.t_s, spin.error_s, True
    return None if throttle is None else (throttle.t_s, throttle.error_s, False)


def clear_at(seen: Seen) -> tuple[float, float] | None:
    """Return (time [s], error [s]) at which the hand was past the disc; the release if no model tells it."""
    event = seen.event("clear") or seen.event("release")
    return None if event is None else (event.t_s, event.error_s)


def _in_the_air(seen: Seen) -> Verdict | None:
    if seen.launch.kind != "already in the air":
        return None
    return _cannot("The record begins in the air: there is no launch in it.")


def _aborted(seen: Seen) -> Verdict | None:
    if seen.launch.kind != ABORTED:
        return None
    if seen.started and turns_at(seen) is not None:
        return _is(Outcome.FALSE_START, "The throw was broken off and the motor started.", in_hand=True)
    motor = ", the motor off" if seen.started is False else "; whether the motor started is not recorded"
    words = f"The throw was broken off: the model stayed in the hand{motor}."
    return Verdict(ABORTED, WORDS[ABORTED], words)


def _hand(seen: Seen) -> Verdict | None:
    turns, clear = turns_at(seen), clear_at(seen)
    if turns is None or clear is None or seen.style == "line-launched":
        return None
    slack = turns[0] - clear[0]
    if slack >= 0.0:
        return None
    pusher = seen.setup is None or seen.setup.power.position == "pusher"
    if seen.style == "spin-in-hand":
        return _is(Outcome.HAND_AT_RISK, _risk_words(seen, slack, turns), in_hand=True) if pusher else None
    if not seen.style and -slack >= SPUN_FROM_S:
        held = f"The propeller turned {-slack:.1f} s before the release."
        told = "If it was to be spun in the hand, give the setup; otherwise it started while carried."
        return _cannot(f"{held} {told}", in_hand=True)
    return _is(Outcome.HAND_AT_RISK, _risk_words(seen, slack, turns), in_hand=True)


def _until(seen: Seen) -> str:
    """Return what `clear_at` is the time of: without a setup nobody knows when the hand was clear."""
    return "the hand was clear" if seen.event("clear") is not None else "the release"


def _risk_words(seen: Seen, slack: float, turns: tuple[float, float, bool]) -> str:
    what = "The propeller turned" if turns[2] else "The throttle was open"
    until = _until(seen)
    began = seen.gesture_s
    early = f", {began - turns[0]:.1f} s before the throw began" if began and turns[0] < began else ""
    error = together(turns[1], (clear_at(seen) or (0.0, 0.0))[1])
    near = f" (one standard error {error:.2f} s)" if -slack < 2.0 * error else ""
    return f"{what} {-slack:.2f} s before {until}{early}{near}."


def _false_start(seen: Seen) -> Verdict | None:
    """Return a start before the person moved; one in the hand that was asked for by a shake is none."""
    turns, began = turns_at(seen), seen.gesture_s
    throttle = seen.event("first_throttle")
    at_s = throttle.t_s if throttle is not None else turns[0] if turns is not None else None
    if at_s is None or began is None or at_s > began - EARLY_S:
        return None
    return _is(
        Outcome.FALSE_START,
        f"The motor started {began - at_s:.1f} s before the person began, while the model was carried.",
        in_hand=True,
    )


def _no_start(seen: Seen) -> Verdict | None:
    if seen.release_s is None or seen.started is None:
        return None
    current, throttle = seen.flown("current_a"), seen.flown("throttle")
    if seen.started and seen.event("first_spin") is None and current is not None and throttle is not None:
        wanted = float(np.max(throttle.values))
        if wanted > 0.5:
            words = f"The throttle rose to {100.0 * wanted:.0f} % and no current flowed: the motor stood."
            return _is(Outcome.NO_START, words)
    if seen.started or (throttle is not None and float(np.max(throttle.values)) > SHUT):
        return None
    if seen.event("detection") is not None:
        return None
    peak, level = seen.value("throw_peak_mps2"), seen.setup and seen.setup.settings.jerk_level_mps2.value
    why = f": the throw peaked at {peak:.0f} m/s², the level is {level:.3g} m/s²" if peak and level else ""
    return _is(Outcome.NO_START, f"The motor never started{why}.")


def _not_listening(seen: Seen) -> Verdict | None:
    """A motor that stayed off though the throw passes the trigger of the card, with time to start."""
    detection = seen.event("detection")
    if seen.started is not False or detection is None or seen.setup is None or seen.release_s is None:
        return None
    if seen.end_s < detection.t_s + seen.setup.settings.start_wait_s.value + LATE_START_S:
        return None
    words = "The motor never started, though this throw passes level and dwell: it was not listening, or"
    return _is(Outcome.NO_START, f"{words} other settings were flown.")


def _power(seen: Seen) -> Verdict | None:
    volts = seen.flown("volts_v")
    if volts is None or seen.derived is None:
        return None
    lowest, floor = float(np.min(volts.values)), seen.derived.pack.floor_volts
    if lowest >= floor:
        stops = seen.launch.ended in ("log ends", "log breaks") and lowest == float(volts.values[-1])
        if not stops or lowest > floor + SAGGING_SHARE * (seen.derived.pack.open_volts - floor):
            return None
        words = f"The pack had sagged to {lowest:.1f} V, and was falling, when the record stops"
        return _is(Outcome.POWER_LOST, f"{words}; the regulator needs {floor:.1f} V.")
    return _is(Outcome.POWER_LOST, f"The pack sagged to {lowest:.1f} V; the regulator needs {floor:.1f} V.")


def _rolled(seen: Seen) -> Verdict | None:
    bank = seen.flown("bank_rad")
    if bank is None:
        return None
    most = float(np.max(np.abs(bank.values)))
    if most <= ROLLED_OVER_RAD:
        return None
    return _is(Outcome.ROLLED_OVER, f"It banked to {math.degrees(most):.0f} degrees and rolled over.")


def slow_s(seen: Seen) -> float | None:
    """Return for how long it flew under the stall speed [s]; None without an airspeed."""
    speed, derived = seen.flown("airspeed_mps"), seen.derived
    if speed is None or derived is None or speed.t_s.size < 2:
        return None
    steps = np.diff(speed.t_s)
    return float(np.sum(steps[speed.values[:-1] < derived.stall_speed_mps]))


def _down(seen: Seen) -> Verdict | None:
    ground = seen.event("ground")
    if seen.launch.ended != "ground" or ground is None:
        return None
    after = _after(seen, ground.t_s)
    slow, high = slow_s(seen), seen.height_at(ground.t_s)
    if high is not None and high > OVER_GROUND_M:
        return _is(Outcome.STRUCK_OBSTACLE, f"It met something {high:.0f} m up, {after}.")
    struck = _struck(seen)
    if struck:
        return _is(Outcome.STRUCK_OBSTACLE, struck)
    if slow is not None and slow >= LONG_STALL_S:
        return _is(Outcome.STALLED, f"It flew {slow:.1f} s under its stall speed and came down {after}.")
    told = "" if slow is not None else " Whether it stalled cannot be told without an airspeed."
    return _is(Outcome.GROUNDED, f"It came down {after}{_why_down(seen)}.{told}")


def _struck(seen: Seen) -> str:
    """Return the sentence of a flight that came down from where an obstacle of the site stands; else ""."""
    speed, height, release = seen.flown("ground_speed_mps"), seen.height, seen.release_s
    if speed is None or height is None or release is None or seen.setup is None or seen.derived is None:
        return ""
    from overarm.odds.gather import gather_facts

    flown = part(height, release, seen.end_s)
    if flown.t_s.size < 2 or speed.t_s.size < 2:
        return ""
    k = int(np.argmax(flown.values))
    top, at_s = float(flown.values[k]), float(flown.t_s[k])
    there = float(np.interp(at_s, speed.t_s, integral(speed.t_s, speed.values)))
    for far, tall in gather_facts(seen.setup, seen.derived).plan.obstacles:
        if OVER_GROUND_M < top < tall and abs(there - far) <= NEAR_SHARE * far + NEAR_M:
            return (
                f"It came down from {top:.0f} m, {there:.0f} m out, where something {tall:.0f} m high stands "
                f"{far:.0f} m ahead."
            )
    return ""


def _why_down(seen: Seen) -> str:
    ground, turns = seen.event("ground"), turns_at(seen)
    match = seen.event("thrust_match")
    if ground is None:
        return ""
    if turns is None:
        return ", the motor off" if seen.started is False else ""
    if match is None or match.t_s > ground.t_s:
        return ", before thrust covered drag and climb"
    return ""


def _after(seen: Seen, t_s: float) -> str:
    release = seen.release_s
    return f"{t_s - release:.1f} s after release" if release is not None else "early"


def _over(seen: Seen) -> Verdict | None:
    if seen.launch.ended != "handed over":
        return None
    low, high = seen.value("low_point_m"), _top(seen)
    setup = seen.setup
    if low is not None and low < DIP_M:
        error = seen.error("low_point_m")
        near = f" Its error is {error:.1f} m." if abs(low - DIP_M) < 2.0 * error else ""
        return _is(Outcome.DIPPED, f"It sank to {low:.1f} m and then climbed away.{near}")
    if setup is not None and high is not None and high > setup.site.legal_ceiling_m.value:
        return _is(
            Outcome.OVER_HEIGHT,
            f"It rose to {high:.0f} m; {setup.site.legal_ceiling_m.value:.0f} m is allowed.",
        )
    if low is None:
        return _cannot("It reached the handover; how low it was before cannot be told.")
    unsure = _hand_unsure(seen)
    if unsure is not None:
        return unsure
    return _is(Outcome.CLEAN, _clean_words(seen, low))


def _hand_unsure(seen: Seen) -> Verdict | None:
    """Return that a coarse record cannot tell whether the hand was clear; None if it can."""
    turns, clear = turns_at(seen), clear_at(seen)
    if turns is None or clear is None or seen.style in ("line-launched", "spin-in-hand"):
        return None
    slack, error = turns[0] - clear[0], together(turns[1], clear[1])
    if error <= COARSE_S or slack >= 2.0 * error:
        return None
    words = f"the motor started {slack:.2f} s after {_until(seen)}, give or take {error:.2f} s"
    return _cannot(f"It reached the handover; {words}: whether the hand was clear cannot be told.")


def _top(seen: Seen) -> float | None:
    release = seen.release_s
    if seen.height is None or release is None:
        return None
    values = part(seen.height, release, seen.end_s).values
    return float(np.max(values)) if values.size else None


def _clean_words(seen: Seen, low: float) -> str:
    speed, after = seen.value("throw_speed_mps"), seen.value("handover_after_s")
    turns, clear = turns_at(seen), clear_at(seen)
    began = "off the line" if seen.style == "line-launched" else "thrown"
    said = [f"{began} at {speed:.1f} m/s"] if speed is not None else []
    if turns is not None and clear is not None and turns[0] > clear[0] and seen.style != "line-launched":
        slack, error = turns[0] - clear[0], together(turns[1], clear[1])
        near = f" (one standard error {error:.2f} s)" if slack < 2.0 * error else ""
        said.append(f"motor {slack:.2f} s after {_until(seen)}{near}")
    said.append(f"never below {low:.1f} m")
    if after is not None:
        said.append(f"handed over after {after:.1f} s")
    if turns is None and seen.started is None:
        said.append("when the motor started is not recorded")
    text = ", ".join(said)
    return f"{text[:1].upper()}{text[1:]}."


def _mushed(seen: Seen) -> Verdict | None:
    setup, release = seen.setup, seen.release_s
    if setup is None or release is None or seen.launch.ended not in ("log ends", "log breaks"):
        return None
    flown_s, high = seen.launch.to_s - release, _top(seen)
    wanted = setup.settings.handover_height_m.value
    if flown_s < IN_THE_AIR_S * setup.settings.give_up_time_s.value or high is None or high >= wanted:
        return None
    climb = seen.value("climb_mps")
    if climb is not None and climb > 0.5 and flown_s < LONG_AGO * setup.settings.give_up_time_s.value:
        return None
    return _is(
        Outcome.MUSHED,
        f"It flew on for {flown_s:.0f} s and rose to {high:.0f} m; {wanted:.0f} m was asked for.",
    )


JUDGES: tuple[Callable[[Seen], Verdict | None], ...] = (
    _in_the_air,
    _aborted,
    _hand,
    _false_start,
    _no_start,
    _power,
    _rolled,
    _not_listening,
    _down,
    _over,
    _mushed,
)
