"""The answer of the trigger room as a page of plain text."""

from __future__ import annotations

import math
import textwrap

from overarm.odds.finding import Word
from overarm.trigger.advice import KNOCK_S, THIN, Margins
from overarm.trigger.findings import hourly, lasting
from overarm.trigger.ladder import Rung
from overarm.trigger.more import ENOUGH_GESTURES, ENOUGH_S
from overarm.trigger.poisson import Rate
from overarm.trigger.result import Row, Share, TriggerResult

WIDTH = 100
ORDER: tuple[Word, ...] = ("stop", "watch", "not known", "good")


def answer(result: TriggerResult) -> str:
    """Return the whole answer, the gravest finding first."""
    blocks = [
        [_head(result), *(_finding(result, word) for word in ORDER)],
        _rows(result),
        _ladder(result),
        _margins("Margins as it is set", result.now),
        _advice(result),
        [_trail(result)],
    ]
    return "\n\n".join("\n".join(line for line in block if line) for block in blocks if block)


def _folded(text: str, head: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))


def _head(result: TriggerResult) -> str:
    low_pass = f"behind {result.filter_hz:g} Hz" if result.filter_hz > 0.0 else "not filtered"
    point = f"level {result.level_mps2:g} m/s2 for {result.dwell_s:g} s"
    return _folded(f"{result.name}: {result.family}, {point}, {low_pass}")


def _finding(result: TriggerResult, word: Word) -> str:
    head = f"  {'STOP' if word == 'stop' else word:<9}  "
    return "\n".join(_folded(item.sentence, head) for item in result.findings if item.word == word)


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _row(row: Row) -> str:
    counted = f"{_many(row.starts, 'start')}, {_many(row.nudges, 'nudge')}"
    if row.gestures:
        counted = f"{_many(row.gestures, row.label)}, {counted}"
    said = (
        f"{row.name}: {row.label}, {row.label_how}; {row.seconds:.1f} s at {row.rate_hz:.0f} Hz; {counted}; "
        f"peak {row.peak_mps2:.1f} m/s2, longest over the level {row.longest_above_s:.2f} s"
    )
    more = "".join(f"; {remark}" for remark in row.remarks)
    return _folded(f"{said}{more}.", "  ")


def _rows(result: TriggerResult) -> list[str]:
    return [
        "Recordings, each as a whole:",
        *(_row(row) for row in result.rows),
        *_rates(result),
    ]


def _rates(result: TriggerResult) -> list[str]:
    return [
        line
        for line in (
            rate_words("False starts, carried", result.false_starts),
            rate_words("Starts in other things", result.other_starts),
            share_words("Missed", result.missed),
            share_words("Early", result.early),
        )
        if line
    ]


def rate_words(what: str, rate: Rate) -> str:
    """Return a rate with its interval in a line; empty if there was nothing to listen to."""
    if rate.high is None:
        return ""
    return (
        f"  {what}: {rate.events} in {lasting(rate.time_s)} of listening, {hourly(rate.per_hour)} an hour "
        f"({hourly(rate.low)} to {hourly(rate.high)}, 95 %)"
    )


def share_words(what: str, share: Share) -> str:
    """Return a share with its interval in a line; empty if there was no gesture."""
    if share.share is None:
        return ""
    low, high = 100.0 * share.share.low, 100.0 * share.share.high
    return (
        f"  {what}: {share.seen} of {share.of}, {100.0 * share.share.share:.0f} in a hundred "
        f"({low:.0f} to {high:.0f}, 95 %)"
    )


def _rung(rung: Rung, level_mps2: float) -> str:
    if rung.source == "not known":
        return f"  {rung.name:<20} not known: {rung.words}"
    where = "over" if rung.low_mps2 > level_mps2 else "under" if rung.most_mps2 <= level_mps2 else "across"
    ends = f"{rung.low_mps2:6.1f} to {rung.high_mps2:5.1f}"
    most = f", highest {rung.most_mps2:.1f}" if rung.most_mps2 > rung.high_mps2 + 0.05 else ""
    return _folded(f"{ends}{most}; {where} the level; {rung.source}: {rung.words}", f"  {rung.name:<20} ")


def _ladder(result: TriggerResult) -> list[str]:
    head = f"Trigger ladder, m/s2 of the cue; the level is {result.level_mps2:g}:"
    return [head, *(_rung(rung, result.level_mps2) for rung in reversed(result.ladder))]


def margin_words(now: Margins) -> list[str]:
    """Return each margin in a sentence."""
    said = []
    if now.carry_mps2 is not None and now.carry_margin_mps2 is not None:
        margin = f"{now.carry_margin_mps2:+.1f}".replace("-", "\u2212")
        said.append(f"carry margin {margin} m/s2 over the carry's p99 of {now.carry_mps2:.1f}")
    if now.self_start_rad is None:
        said.append("self-start tilt: no pose reaches the level at rest")
    else:
        angle, top = (math.degrees(x) for x in (now.self_start_rad, now.top_pitch_rad))
        said.append(f"self-start tilt {angle:.0f} degrees; carried up to {top:.0f} degrees")
    if now.peak_ratio is not None:
        peak = f"{now.weakest_peak_mps2:.1f} m/s2"
        said.append(f"weakest gesture peaks at {peak}, {now.peak_ratio:.1f} times the level")
    if now.time_ratio is not None:
        lasts = f"{now.shortest_s:.2f} s"
        said.append(f"the shortest is over the level for {lasts}, {now.time_ratio:.1f} times the dwell")
    if now.carry_longest_s is not None and now.dwell_over_carry is not None:
        knock = now.carry_longest_s <= KNOCK_S
        what = (
            f"a knock of {KNOCK_S:.2f} s"
            if knock
            else f"a carry's {now.carry_longest_s:.2f} s over the level"
        )
        said.append(f"dwell {now.dwell_over_carry:.1f} times {what}")
    return said


def _margins(head: str, now: Margins) -> list[str]:
    return [f"{head}:", *(_folded(line, "  - ") for line in margin_words(now))]


def few_words(result: TriggerResult) -> str:
    """Return how little the advice stands on."""
    carries = [row.seconds for row in result.rows if row.label == "carry" and row.tells != "cannot tell"]
    what = "gesture" if result.starts == "either" else result.starts
    enough = result.missed.of >= ENOUGH_GESTURES and sum(carries) >= ENOUGH_S
    few = "" if enough else " That is little: record more, on another day too."
    walks = "1 carry" if len(carries) == 1 else f"{len(carries)} carries"
    return f"This stands on {walks}, {lasting(sum(carries))}, and {_many(result.missed.of, what)}.{few}"


def _advice(result: TriggerResult) -> list[str]:
    advice = result.advice
    if advice.margins is None:
        return [_folded(f"Nothing is advised. {advice.refused}"), *(_folded(c, "  - ") for c in advice.cures)]
    new = advice.margins
    thin = " The margins are thin." if advice.least < THIN else ""
    same = math.isclose(new.level_mps2, result.level_mps2) and math.isclose(new.dwell_s, result.dwell_s)
    head = "Advised, as it is set" if same else "Advised"
    said = (
        f"{head}: level {new.level_mps2:g} m/s2 for {new.dwell_s:.2f} s; every margin is a factor of "
        f"{advice.least:.2f} or more.{thin} {few_words(result)}"
    )
    return [_folded(said), *(_folded(line, "  - ") for line in margin_words(new))]


def _trail(result: TriggerResult) -> str:
    setup = f"setup {result.setup_hash}" if result.setup_hash else "no setup"
    files = ", ".join(row.sha256[:12] for row in result.rows[:4])
    more = f" and {len(result.rows) - 4} more" if len(result.rows) > 4 else ""
    return _folded(
        f"{_many(len(result.rows), 'recording')} ({files}{more}), {setup}, nothing drawn at random, Overarm "
        f"{result.version}. Whether to launch is the pilot's decision."
    )
