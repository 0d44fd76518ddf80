"""A plan as a few lines that a person reads."""

from __future__ import annotations

import math
import textwrap

from overarm.odds.finding import worst_word
from overarm.odds.format import plain_percent
from overarm.plan.result import PlanResult

WIDTH = 100
INDENT = 11
ADVICE = "The tool advises; you and the pilot in charge decide, and local rules come first."


def _wind(result: PlanResult) -> str:
    angle_deg = math.degrees(result.wind.angle_rad)
    if abs(angle_deg) < 5.0:
        where = "from ahead"
    elif abs(angle_deg) > 175.0:
        where = "from behind"
    else:
        where = f"from {abs(angle_deg):.0f} deg to the {'right' if angle_deg > 0.0 else 'left'}"
    return f"wind {result.wind.speed_mps:.1f} m/s at 10 m {where}"


def _parts(result: PlanResult) -> list[tuple[str, str, str]]:
    """Return name, word and sentence of the parts; those that are not good stand at the top already."""
    words = {item.name: item.word for item in result.findings}
    return [
        ("direction", words["launch direction"], result.rose.sentence),
        ("handover", result.handover.word, result.handover.sentence),
        ("circle", result.circle.word, result.circle.sentence),
    ]


def _wrapped(line: str) -> list[str]:
    """Return a line in pieces that fit a screen, the later ones under the words of the first."""
    return textwrap.wrap(line, WIDTH, subsequent_indent=" " * INDENT, break_long_words=False)


def answer(result: PlanResult) -> str:
    """Return the plan in words: what to see to, the climb-out, the way home, and your local limit."""
    fan, home = result.fan, result.home
    word = worst_word("good", *(item.word for item in result.findings))
    lines = [f"{result.setup_name}: plan {word}; {result.launches:,} launches, {_wind(result)}"]
    lines += [f"  {item.word.upper()}  {item.sentence}" for item in result.findings if item.word != "good"]
    good = [item.name for item in result.findings if item.word == "good"]
    if good:
        lines.append(f"  good: {', '.join(good)}")
    climb_out = (
        f"{plain_percent(fan.handed_over_share)} handed over on an open field (no obstacles, level "
        f"ground), the middle one {fan.handover_ahead_m:.0f} m ahead after {fan.handover_time_s:.0f} s"
    )
    power = (
        f"Level flight takes {home.level_power_w:.0f} W ({100.0 * home.level_efficiency:.0f} % "
        f"efficiency); {home.loiter_s / 60.0:.0f} min of circling before the reserve. "
        f"It stays up longest at {home.longest_mps:.1f} m/s and goes farthest at {home.farthest_mps:.1f} m/s."
    )
    glide = (
        f"Motor off from home height it glides {home.glide_still_m:.0f} m in calm, "
        f"{home.glide_into_wind_m:.0f} m into the wind."
    )
    lines += [
        f"climb-out  {climb_out}",
        *(f"           {gap.sentence}" for gap in result.gaps if gap.word == "good"),
        *(f"{name:<11}{sentence}" for name, word, sentence in _parts(result) if word == "good"),
        f"way home   {home.sentence}",
        f"           {power}",
        f"           {glide}",
        *([f"ceiling    {result.ceiling.sentence}"] if result.ceiling.word == "good" else []),
        ADVICE,
    ]
    return "\n".join(line for said in lines for line in _wrapped(said))
