"""One advice: the single change with the largest gain, people first.

What a launch shows decides first where a hand is concerned; then the launch flown again with single changes;
then the margin that was nearest to its limit. Habits by failure: common practice, no source. A start wait is
never shortened below the time in which hands are clear.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from overarm.flight.outcomes import Outcome
from overarm.odds.format import signed_points
from overarm.odds.what_if import Changed
from overarm.review.again import shortest_wait_s
from overarm.review.result import Advice, Again, AsFlown, Margin, Trial, Verdict
from overarm.review.seen import Seen
from overarm.review.untold import ABORTED, CANNOT_TELL
from overarm.settings.limits import MOST_OF_PEAK

WORTH = 0.03  # of the share of clean launches: below it a change is not worth naming
STEEP_RAD, DOWN_RAD, BANKED_RAD = math.radians(25.0), math.radians(-5.0), math.radians(20.0)
HABITS = {
    "hand": "Grip it ahead of the disc and let the arm fall away at release; film five dry throws.",
    "carry": "Carry it level or nose-down, and let it listen only at the line.",
    "cue": "Throw firmly along the body, wings level; rehearse with an empty airframe.",
    "race": "Throw harder, or wait for more headwind: rehearse five throws with an empty airframe.",
    "speed": "Aim at the horizon and wait for headwind: it flew close to its stall speed.",
    "sink": "Aim a little up, 5 to 10 degrees, and throw into the start of a gust.",
    "power": "Use a fresh, warm pack of less resistance; give the autopilot a regulator of its own.",
    "roll": "Release with the wings level: two hands, or an underarm throw.",
    "climb": "Weigh it, and pull the propeller on a scale: it climbs less than the cards say.",
}


def advice_of(
    seen: Seen,
    verdict: Verdict,
    found: tuple[Sequence[AsFlown], Sequence[Margin], Margin | None],
    trials: Sequence[Trial],
    again: Again | None,
) -> Advice:
    """Return the one advice of a launch; ``found``: settings as flown, margins, and the weakest of them."""
    flown, _, weakest = found
    if verdict.outcome in (CANNOT_TELL, ABORTED) and not verdict.in_hand:
        return _without(seen, verdict)
    for one in (_people, _start, _carry_fires):
        advice = one(seen, verdict, flown, trials)
        if advice is not None:
            return advice
    best = _best(again)
    if best is not None:
        return best
    differs = next((item for item in flown if item.word in ("watch", "stop")), None)
    if differs is not None:
        return Advice("check", f"{differs.sentence} Read the settings back before the next launch.")
    throw = _throw(seen)
    if throw and verdict.word != "good":
        return Advice("habit", throw)
    if weakest is not None and weakest.word != "good":
        return Advice(
            "habit", HABITS.get(weakest.link, "Look at the recording again before the next launch.")
        )
    if verdict.word == "good":
        return Advice("none", "Change nothing: fly the same settings again and let the numbers grow.")
    return _without(seen, verdict)


def _without(seen: Seen, verdict: Verdict) -> Advice:
    if verdict.outcome == ABORTED:
        if seen.started is False:
            return Advice("none", "Nothing to change: the throw was broken off and the motor stayed off.")
        words = "Record the throttle too; what a throw does to level and dwell, the trigger room says."
        return Advice("check", words)
    if seen.setup is None:
        return Advice("check", "Give the setup that was flown: then limits and odds can be told.")
    return Advice(
        "check", "Record it to the handover, with throttle, forces and height, and review it again."
    )


def _people(seen: Seen, verdict: Verdict, flown: Sequence[AsFlown], trials: Sequence[Trial]) -> Advice | None:
    """Return what keeps hands clear, where this launch did not."""
    wait = next((item for item in flown if item.key == "settings.start_wait" and item.word == "stop"), None)
    if wait is not None:
        told = Changed(wait.key, f"{wait.flown:.2f} s", f"{wait.card:.2f} s")
        return Advice(
            "setting",
            f"Set the start wait to the {wait.card:.2f} s of the card (it was {wait.flown:.2f} s) and read "
            "all settings back before anybody holds it again.",
            (told,),
        )
    if not verdict.in_hand:
        return None
    if seen.setup is None:
        return Advice(
            "check", "Nobody holds it again until it is known why the motor started. Give the setup."
        )
    if verdict.outcome == Outcome.FALSE_START.label or seen.style == "spin-in-hand":
        return _higher(seen, trials) or Advice("habit", HABITS["carry"])
    card = seen.setup.settings.start_wait_s.value
    least = shortest_wait_s(seen.setup, seen.derived) if seen.derived is not None else card
    wanted = math.ceil(20.0 * max(least, card + 0.1)) / 20.0
    told = Changed("settings.start_wait", f"{card:.2f} s", f"{wanted:.2f} s")
    return Advice("setting", f"Wait longer: {wanted:.2f} s instead of {card:.2f} s, for the hand.", (told,))


def _higher(seen: Seen, trials: Sequence[Trial]) -> Advice | None:
    """Return the lowest level that this carry does not fire and this throw still does with room."""
    assert seen.setup is not None
    level, dwell = seen.setup.settings.jerk_level_mps2.value, seen.setup.settings.jerk_dwell_s.value
    fits = [
        item
        for item in trials
        if item.dwell_s == dwell
        and item.level_mps2 > level
        and item.carry_fires == 0
        and item.throw_fires
        and (item.factor or 0.0) >= 1.0 / MOST_OF_PEAK
    ]
    best = min(fits, key=lambda item: item.level_mps2, default=None)
    if best is None:
        return None
    told = Changed("settings.jerk_level", f"{level:.3g} m/s2", f"{best.level_mps2:.3g} m/s2")
    return Advice("setting", f"Raise the jerk level. {best.sentence}", (told,))


def _start(seen: Seen, verdict: Verdict, flown: Sequence[AsFlown], trials: Sequence[Trial]) -> Advice | None:
    """Return what makes it start, where it did not, or what keeps the power on."""
    del flown
    if verdict.outcome == Outcome.POWER_LOST.label:
        return Advice("habit", HABITS["power"])
    if verdict.outcome != Outcome.NO_START.label:
        return None
    if seen.event("first_throttle") is not None:
        return Advice(
            "check", "Run the motor for a second on a stand that day: it was asked to start and stood."
        )
    if seen.event("detection") is not None:
        return Advice("check", "See that it says it is listening before the throw; read the settings back.")
    if seen.setup is None:
        return _without(seen, verdict)
    level, dwell = seen.setup.settings.jerk_level_mps2.value, seen.setup.settings.jerk_dwell_s.value
    fits = [
        t for t in trials if t.throw_fires and t.carry_fires == 0 and t.level_mps2 <= level and not t.is_card
    ]
    best = max(fits, key=lambda item: (item.level_mps2, item.dwell_s), default=None)
    if best is None:
        return Advice("habit", HABITS["cue"])
    told = tuple(
        Changed(key, f"{old:.3g} {unit}", f"{new:.3g} {unit}")
        for key, old, new, unit in (
            ("settings.jerk_level", level, best.level_mps2, "m/s2"),
            ("settings.jerk_dwell", dwell, best.dwell_s, "s"),
        )
        if new != old
    )
    return Advice("setting", f"Let it start more easily. {best.sentence}", told)


def _carry_fires(
    seen: Seen, verdict: Verdict, flown: Sequence[AsFlown], trials: Sequence[Trial]
) -> Advice | None:
    """Return what keeps a carry like this one from starting the motor, where the card's trigger would not."""
    del verdict, flown
    own = next((item for item in trials if item.is_card), None)
    if own is None or not own.carry_fires:
        return None
    return _higher(seen, trials) or Advice("habit", HABITS["carry"])


def _best(again: Again | None) -> Advice | None:
    """Return the change that gains most when this launch is flown again; None if none is worth naming."""
    if again is None:
        return None
    fits = [
        item
        for item in again.others
        if not item.refused and item.difference.low > 0.0 and item.difference.share >= WORTH
    ]
    best = max(fits, key=lambda item: item.difference.share, default=None)
    if best is None:
        return None
    gap = best.difference
    low, high = signed_points(100.0 * gap.low), signed_points(100.0 * gap.high)
    gain = f"{signed_points(100.0 * gap.share)} points ({low} to {high})"
    habit = all(item.key.startswith("thrower.") for item in best.changes)
    names = " and ".join(
        f"{item.key.rpartition('.')[2].replace('_', ' ')} {item.after} instead of {item.before}"
        for item in best.changes
    )
    return Advice(
        "habit" if habit else "setting",
        f"{names[:1].upper()}{names[1:]}: of launches like this one {gain} more end clean.",
        best.changes,
        gap,
    )


def _throw(seen: Seen) -> str:
    """Return what to do about a throw that was nose-high, down or banked; "" if it was none of these."""
    pitch, path = seen.value("release_pitch_rad"), seen.value("release_path_rad")
    bank = seen.value("release_bank_rad")
    if pitch is not None and pitch > STEEP_RAD:
        return "Aim at the horizon: it left the hand with the nose far up."
    if path is not None and path < DOWN_RAD:
        return "Aim slightly up, 5 to 10 degrees: it was thrown down."
    if bank is not None and abs(bank) > BANKED_RAD:
        return HABITS["roll"]
    return ""
