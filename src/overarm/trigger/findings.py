"""What stands out at the level and dwell of the trigger, as findings."""

from __future__ import annotations

import math
from collections.abc import Sequence

from overarm.odds.finding import Finding, Word
from overarm.trigger.advice import Margins
from overarm.trigger.hear import Heard
from overarm.trigger.poisson import Rate, none_seen
from overarm.trigger.result import Share
from overarm.trigger.settings import Starts

# Warn when the level is not this far above the pose; common practice, no source.
POSE_ROOM_MPS2 = 3.0
# The push at the end of the draw-back comes within this time before the stroke; own estimate.
DRAW_BACK_S = 0.5
# To have seen none is not good in a shorter carry, which still allows more than 220 an hour, nor in fewer
# gestures, which still allow more than 70 missed in a hundred; own estimate.
TELLING_S, TELLING_GESTURES = 60.0, 3


def lasting(time_s: float) -> str:
    """Return a time in words: "2.0 minutes", "44 s", "0.3 s"."""
    if time_s >= 60.0:
        return f"{time_s / 60.0:.1f} minutes"
    return f"{time_s:.0f} s" if time_s >= 10.0 else f"{time_s:.1f} s"


def hourly(value: float) -> str:
    """Return a rate an hour to two figures, with commas: "0", "0.25", "9.3", "74", "1,300"."""
    if value == 0.0:
        return "0"
    places = 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, places):,.{max(0, places)}f}"


def _of_rate(rate: Rate, carried_s: float) -> Finding:
    name = "false starts"
    if rate.high is None:
        said = "No carry was recorded that can tell: false starts are not known."
        return Finding(name, "not known", said, {})
    numbers = {
        "starts": float(rate.events),
        "carried_s": carried_s,
        "listened_s": rate.time_s,
        "high_per_hour": rate.high,
    }
    if rate.events:
        often = "once" if rate.events == 1 else f"{rate.events} times"
        most = rate.time_s >= 0.5 * carried_s
        while_s = "" if most else f", and it listened for only {lasting(rate.time_s)} of that"
        said = (
            f"Carrying started it {often} in {lasting(carried_s)}{while_s}: {hourly(rate.per_hour)} an hour "
            f"of listening ({hourly(rate.low)} to {hourly(rate.high)}, 95 %)."
        )
        return Finding(name, "stop", said, numbers)
    said = (
        f"No start in {lasting(rate.time_s)} of carrying. That still allows up to "
        f"{hourly(none_seen(rate.time_s))} an hour (95 %, two-sided: 3.7 divided by that time); only a "
        "longer carry can say less."
    )
    return Finding(name, "good" if rate.time_s >= TELLING_S else "watch", said, numbers)


def _of_early(share: Share, what: str, early_by_s: float) -> Finding:
    """Return whether gestures start it before they begin: in the draw-back, or while it is only held."""
    name = "early starts"
    if share.share is None:
        said = f"No {what} was recorded that can tell: whether it starts too early is not known."
        return Finding(name, "not known", said, {})
    numbers = {"seen": float(share.seen), "of": float(share.of), "early_by_s": early_by_s}
    many = f"{share.of} {what if share.of == 1 else f'{what}s'}"
    if not share.seen:
        word: Word = "good" if share.of >= TELLING_GESTURES else "watch"
        at_most = f"{100.0 * share.share.high:.0f} in a hundred (95 %, two-sided)"
        said = f"None of {many} started it before it began; so few still allow up to {at_most}."
        return Finding(name, word, said, numbers)
    held = early_by_s > DRAW_BACK_S
    when = "while it was only held" if held else "in the draw-back: the start wait runs from there"
    said = f"{share.seen} of {many} started it too early, up to {early_by_s:.2f} s before, {when}."
    return Finding(name, "stop" if held else "watch", said, numbers)


def _of_missed(share: Share, what: str) -> Finding:
    name = "missed starts"
    if share.share is None:
        said = f"No {what} was recorded that can tell: whether it starts is not known."
        return Finding(name, "not known", said, {})
    numbers = {"seen": float(share.seen), "of": float(share.of), "high": share.share.high}
    many = f"{share.of} {what if share.of == 1 else f'{what}s'}"
    if share.seen:
        low, middle, high = (round(100.0 * x) for x in (share.share.low, share.share.share, share.share.high))
        said = f"{share.seen} of {many} did not start it: {middle} in a hundred ({low} to {high}, 95 %)."
        return Finding(name, "stop", said, numbers)
    at_most = f"{100.0 * share.share.high:.0f} missed in a hundred (95 %, two-sided)"
    said = f"Each of {many} started it; so few still allow up to {at_most}."
    return Finding(name, "good" if share.of >= TELLING_GESTURES else "watch", said, numbers)


def _of_tilt(now: Margins) -> Finding:
    name, top = "self-start tilt", math.degrees(now.top_pitch_rad)
    numbers = {"at_rest_mps2": now.at_rest_mps2, "level_mps2": now.level_mps2}
    if now.self_start_rad is None:
        said = f"No pose starts it at rest: the level is {now.level_mps2:g} m/s2."
        return Finding(name, "good", said, numbers)
    angle = math.degrees(now.self_start_rad)
    room = now.level_mps2 - now.at_rest_mps2
    word: Word = "stop" if room <= 0.0 else "watch" if room < POSE_ROOM_MPS2 else "good"
    said = (
        f"At rest it starts by itself {angle:.0f} degrees nose-up; the most nose-up carry is "
        f"{top:.0f} degrees and reads {now.at_rest_mps2:.1f} m/s2."
    )
    return Finding(name, word, said, numbers)


def _of_recordings(heard: Sequence[Heard]) -> list[Finding]:
    found = []
    for word, tells, said in (
        ("not known", "cannot tell", "cannot tell at this trigger and count for nothing here"),
        ("watch", "coarse", "are coarse: between 25 and 50 samples a second"),
    ):
        names = [one.recording.name for one in heard if one.tells == tells]
        if names:
            what: Word = "not known" if word == "not known" else "watch"
            sentence = f"{', '.join(names)} {said if len(names) > 1 else _single(said)}."
            found.append(Finding(f"recordings: {tells}", what, sentence, {"recordings": float(len(names))}))
    flat = [
        one.recording.name
        for one in heard
        if one.label.label == "carry" and one.series.cue.t_s.size and not one.series.cue.tilt_felt
        and one.series.trigger.gravity_free < 0.5
    ]  # fmt: skip
    if flat:
        said = (
            f"In {', '.join(flat)} gravity was taken off: tilt is not in it, and a raw cue reads up to "
            "9.8 m/s2 more nose-up."
        )
        found.append(Finding("tilt", "watch", said, {"recordings": float(len(flat))}))
    return found


def _single(words: str) -> str:
    return words.replace("count for", "counts for").replace("are coarse", "is coarse")


def findings_on(
    heard: Sequence[Heard],
    starts: Starts,
    rate: Rate,
    shares: tuple[Share, Share],
    early_by_s: float,
    now: Margins,
) -> tuple[Finding, ...]:
    """Return the findings at the level and dwell of the trigger; ``shares``: of missed and of early ones."""
    carried = sum(one.heard_s for one in heard if one.label.label == "carry" and one.tells != "cannot tell")
    what = "gesture" if starts == "either" else starts
    missed, early = shares
    return (
        _of_rate(rate, carried),
        _of_missed(missed, what),
        _of_early(early, what, early_by_s),
        _of_tilt(now),
        *_of_recordings(heard),
    )
