"""The answer as a page of plain text."""

from __future__ import annotations

import re
import textwrap

from overarm.odds.format import plain_percent, whole_percent
from overarm.odds.names import WHEN_LOW, plain_name
from overarm.odds.result import Campaign, OddsResult
from overarm.odds.sensitivity import Contribution
from overarm.odds.stop import DEFAULT_LAUNCHES, FEWEST_WORLDS

WIDTH = 100
BAR = 24
MOST_INPUTS = 8
ADVICE = "The tool gives odds from a model; you decide."
SIGNS = {"stop": "STOP", "watch": "watch", "not known": "not known", "good": "good"}


def _wrapped(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)


def _spread(result: OddsResult) -> str:
    spread, worlds = result.over_worlds, result.campaign.worlds
    low, middle, high = (whole_percent(value) for value in (spread.p5, spread.p50, spread.p95))
    if worlds < FEWEST_WORLDS:
        return "Too few launches to say what hangs on the things we do not know; fly 1000 or more."
    if spread.sd == 0.0:
        return "What we do not know makes no visible difference."
    return (
        "The figure above is the mean over all launches. Over what we do not know the odds have their median "
        f"at {middle} %, from {low} % in the unlucky twentieth to {high} % in "
        "the lucky one. Measuring narrows that; more launches do not."
    )


def _chain(result: OddsResult) -> list[str]:
    lines = ["The chain, each link with the odds that it holds:"]
    width = max(len(link.name) for link in result.links)
    for link in result.links:
        if link.odds is None:
            lines.append(f"  {link.name:<{width}}  {'':<{BAR}}  {'-':>8}  not reached")
            continue
        bar = "=" * round(BAR * link.odds)
        broke = f"{link.failed:,} broke of {link.reached:,}" if link.failed else "never broke"
        mark = "  <- weakest" if link.name == result.weakest_link.name else ""
        lines.append(f"  {link.name:<{width}}  {bar:<{BAR}}  {plain_percent(link.odds):>8}  {broke}{mark}")
    return lines


def _outcomes(result: OddsResult) -> str:
    launches = result.campaign.launches
    failed = {name: count for name, count in result.outcomes.items() if count and name != "clean"}
    if not failed:
        return f"All {launches:,} launches were clean."
    parts = [
        f"{name} {plain_percent(count / launches)}"
        for name, count in sorted(failed.items(), key=lambda i: -i[1])
    ]
    return "When it was not clean: " + ", ".join(parts) + "."


def _findings(result: OddsResult) -> list[str]:
    order = ("stop", "watch", "not known", "good")
    lines = ["Findings:"]
    width = max(len(sign) for sign in SIGNS.values())
    for word in order:
        for item in result.findings:
            if item.word == word and word != "good":
                head = f"  {SIGNS[word]:<{width}}  "
                lines.append(_wrapped(f"{item.name}: {item.sentence}", head, " " * len(head)))
    good = [item.name for item in result.findings if item.word == "good"]
    if good:
        head = f"  {'good':<{width}}  "
        lines.append(_wrapped(", ".join(good) + ".", head, " " * len(head)))
    return lines


def _line(item: Contribution, one_sd: str) -> str:
    layer = "not known" if item.layer == "unknown" else "varies"
    bowed = abs(item.points_per_sd) < abs(item.bow_points)
    points = item.bow_points if bowed else item.points_per_sd * (-1.0 if item.name in WHEN_LOW else 1.0)
    each = f" for each sd ({one_sd})" if one_sd else " for each sd"
    said = (
        f"{plain_name(item.name)}: {points:+.1f} points{' either way' if bowed else ''}{each}, give or take "
        f"{2.0 * item.standard_error:.1f}; {layer}"
    )
    return _wrapped(said, "  ", "    ")


def _no_measurement(result: OddsResult) -> list[str]:
    """Say why nothing stands under "measure next", if something is guessed at all."""
    launches = result.campaign.launches
    if not result.inputs.guessed or result.clean.share in (0.0, 1.0):
        return []
    if launches < DEFAULT_LAUNCHES:
        return [f"{launches:,} launches cannot tell what to measure first; run {DEFAULT_LAUNCHES:,}."]
    return ["No single measurement would visibly narrow the odds."]


def _inputs(result: OddsResult) -> list[str]:
    shown = [item for item in result.contributions if item.clear][:MOST_INPUTS]
    lines = (
        [
            "What moves the odds, for one standard deviation (sd) more:",
            *(_line(item, result.inputs.one_sd.get(item.name, "")) for item in shown),
        ]
        if shown
        else []
    )
    if result.measure_next:
        lines += ["", "Measure next:"]
        lines += [_wrapped(item.sentence, "  ", "  ") for item in result.measure_next]
    else:
        lines += ["", *_no_measurement(result)]
    guessed = len(result.inputs.guessed)
    if guessed:
        names = ", ".join(result.inputs.guessed)
        lines += ["", _wrapped(f"{guessed} of {result.inputs.count} inputs are guessed: {names}.")]
    return lines


def _trail(campaign: Campaign) -> str:
    worlds = "1 world" if campaign.worlds == 1 else f"{campaign.worlds:,} worlds"
    return (
        f"{campaign.launches:,} launches in {worlds}, seed {campaign.seed}, setup {campaign.setup_hash}, "
        f"Overarm {campaign.version}; {campaign.stopped_because}."
    )


def answer(result: OddsResult) -> str:
    """Return the answer for a person at a screen."""
    campaign = result.campaign
    low = result.low_point_height_m
    lines = []
    if campaign.cancelled:
        lines.append(f"CANCELLED after {campaign.launches:,} launches; this is what they say.")
    lines += [
        f"{result.headline}.",
        "",
        _wrapped(result.weakest_link.sentence),
        "",
        _wrapped(_spread(result)),
        _wrapped(_outcomes(result)),
    ]
    if low is not None:
        lines.append(
            f"Lowest point after release: {low.p50:.1f} m ({low.p5:.1f} to {low.p95:.1f} in nine of ten)."
        )
    lines += ["", *_chain(result), "", *_findings(result), "", *_inputs(result), ""]
    lines.append(_wrapped(f"{_trail(campaign)} {ADVICE}"))
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines))
