"""Every input with evidence held against its card, and the one that is most off named in a sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from overarm.learn.disagree import (
    LEANS,
    OFF,
    Check,
    Split,
    Verdict,
    above_chi2,
    each_z,
    gap_of,
    held,
    split,
    two_sided,
)
from overarm.learn.evidence import Evidence
from overarm.learn.targets import TARGETS, Target, scale_prior, scatter_prior
from overarm.learn.words import Shower
from overarm.odds.finding import Word

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

YOUR = {
    "thrower.release_speed": "Your throws are",
    "thrower.release_path": "Your throws leave the hand",
    "thrower.release_pitch": "The nose at release is",
    "thrower.release_bank": "The bank at release is",
}
TOO_VARIED = 0.025  # a probability below this, or above one minus it: the scatter is off


def judged(setup: Setup, derived: Derived, by_input: Mapping[str, Sequence[Evidence]]) -> Verdict:
    """Return the verdict over all inputs that have evidence; the jig is left out, it is no prediction.

    Lower bounds are left out too: a throw that was at least so fast is no evidence against a faster card.
    Equation: chi-square of the squared z of each input's mean, one degree of freedom each.
    """
    told = {key: [item for item in items if not item.lower_bound] for key, items in by_input.items()}
    keys = [key for key, items in told.items() if items and TARGETS[key].model != "jig"]
    gaps = {key: gap_of(setup, derived, TARGETS[key], told[key]) for key in keys}
    splits = {key: split(gaps[key]) for key in keys}
    ps = held([two_sided(splits[key].z) for key in keys])
    checks = tuple(
        _check(setup, derived, TARGETS[key], splits[key], (p, each_z(gaps[key])))
        for key, p in zip(keys, ps, strict=True)
    )
    chi2 = sum(item.z**2 for item in checks)
    p = above_chi2(chi2, len(checks)) if checks else 1.0
    worst = max(checks, key=lambda item: abs(item.z), default=None)
    off = worst is not None and (worst.p_held < OFF or p < OFF)
    share = worst.z**2 / chi2 if worst is not None and chi2 > 0.0 else 0.0
    return Verdict(
        checks,
        chi2,
        len(checks),
        p,
        worst.input if off and worst else "",
        share,
        _whole(checks, worst, p, off=off),
    )


def _check(
    setup: Setup, derived: Derived, target: Target, found: Split, ps: tuple[float, tuple[float, ...]]
) -> Check:
    p, (p_held, each) = two_sided(found.z), ps
    spread_p = above_chi2(found.rest, found.degrees) if found.degrees else None
    if target.model == "scale":
        expected = scale_prior(setup, derived, target.input).median
        seen = expected * math.exp(found.mean)
    else:
        card = scatter_prior(setup, target)
        expected = math.exp(card.mean) if target.model == "positive" else card.mean
        seen = math.exp(card.mean + found.mean) if target.model == "positive" else card.mean + found.mean
    scatter_off = spread_p is not None and spread_p < TOO_VARIED
    word: Word = "watch" if p_held < OFF or scatter_off else "good"
    sentence = _sentence(setup, target, (expected, seen, found.z, p_held)) + _scatter_words(target, spread_p)
    return Check(target.input, expected, seen, found.z, p, p_held, spread_p, each, word, sentence)


def _sentence(setup: Setup, target: Target, figures: tuple[float, float, float, float]) -> str:
    expected, seen, z, p_held = figures
    show = Shower(setup, target.input)
    side = target.more if seen > expected else target.less
    by = f"{show(abs(seen - expected), 2)} {side}"
    if target.model != "normal":
        by = f"{100.0 * abs(seen / expected - 1.0):.0f} % {side}"
    name = YOUR.get(target.input, f"The {target.words} is")
    if p_held >= OFF and two_sided(z) >= LEANS:
        return f"The {target.words} agrees with the card ({show(seen)}, card {show(expected)})."
    end = "more than chance explains" if p_held < OFF else "no more than chance explains"
    return f"{name} {by} than the card says ({show(seen)}, card {show(expected)}): {end} (z {z:+.1f})."


def _scatter_words(target: Target, spread_p: float | None) -> str:
    if spread_p is None or TOO_VARIED <= spread_p <= 1.0 - TOO_VARIED:
        return ""
    which = "more" if spread_p < TOO_VARIED else "less"
    if target.scatter:
        return f" They scatter {which} than the card and their errors allow."
    return f" The readings differ {which} than their errors allow."


def _whole(checks: Sequence[Check], worst: Check | None, p: float, *, off: bool) -> str:
    if worst is None:
        return "Nothing here can be held against the cards."
    if not off and any(item.word == "watch" for item in checks):
        return "The means of what was seen agree with the cards, but not how much it scatters."
    if not off:
        return "What was seen agrees with the cards, as far as so few readings can tell."
    if worst.p_held >= OFF:
        most = TARGETS[worst.input].words
        return (
            f"No input alone, but all of them together are further from the cards than chance explains "
            f"(p {p:.2g}); the {most} has the largest share."
        )
    fine = [TARGETS[item.input].words for item in checks if item is not worst and item.p >= LEANS]
    also = f" {_listed(fine)} agree{'s' if len(fine) == 1 else ''}." if fine else ""
    return f"{worst.sentence}{also}"


def _listed(names: Sequence[str]) -> str:
    said = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
    return said[0].upper() + said[1:]
