"""Everything that is written on a sheet, as plain data that both page makers read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from overarm.odds.format import percent as odds_percent
from overarm.odds.format import plain_percent, with_interval
from overarm.odds.intervals import Interval
from overarm.physics.ramp import full_time
from overarm.sheets.carpet import CarpetData, go_band, weak_throw_mps, worst_by_wind
from overarm.sheets.checks import (
    ABORT,
    ADVICE,
    CAUTIONS,
    PROPELLER_OFF,
    Limits,
    field_checks,
    home_words,
    path_words,
)
from overarm.sheets.palette import FINDINGS, GOOD_FROM, finding_of
from overarm.sheets.pictures import PictureData
from overarm.sheets.race import window_words
from overarm.sheets.subject import Subject
from overarm.sheets.wording import fixed, number, opened, percent, short, span, tied, whole

LONGEST_NAME = 400
LONGEST_LINE = 110
_AFTER = {"carry on": "then carries on", "come home and circle": "home and circle"}


class Odds(NamedTuple):
    """The answer: share of clean launches, its interval, and what it rests on."""

    clean: Interval
    guessed: int
    inputs: int
    outcomes: tuple[tuple[str, float], ...]  # label and share of each failure that happened
    unsure: tuple[float, float] | None = None  # 5th and 95th percentile over what nobody has measured


class Trail(NamedTuple):
    """Where the numbers come from."""

    version: str
    setup_hash: str
    seed: int
    launches: int
    date: str


class Remark(NamedTuple):
    """One finding: its word and its sentence."""

    word: str
    words: str


def _to_see(remarks: Sequence[Remark]) -> str:
    """Return how many findings are not good: "1 stop, 2 to watch", or nothing."""
    said = (("stop", "stop"), ("watch", "to watch"), ("not known", "not known"))
    counts = [(sum(r.word == word for r in remarks), words) for word, words in said]
    return ", ".join(f"{count} {words}" for count, words in counts if count)


def headline_word(clean: Interval, remarks: Sequence[Remark]) -> str:
    """Return the worst of the odds and the findings: a sheet is never better than one of them."""
    words = {finding_of(clean.share), *(remark.word for remark in remarks)}
    return next((word for word in ("stop", "watch") if word in words), "good")


def _unsure_words(odds: Odds) -> str:
    """Return what the odds may be if the guesses are off; nothing if that is not known."""
    if odds.unsure is None:
        return ""
    low, high = (min(99, max(1, round(100 * share))) for share in odds.unsure)
    return (
        f"If our guesses are off: {low} to {high} %"
        if low < high
        else f"If our guesses are off: still {low} %"
    )


def _odds(odds: Odds, remarks: Sequence[Remark]) -> dict[str, str]:
    clean = odds.clean
    word = headline_word(clean, remarks)
    mark = FINDINGS[word]
    said = odds_percent(clean)
    ends = with_interval(clean).removeprefix(said).strip(" ()")
    return {
        "percent": said,
        "interval": f"{ends} %",
        "level": f"{round(100 * clean.level)} % interval",
        "guessed": f"{odds.guessed} of {odds.inputs} inputs guessed"
        if odds.inputs
        else f"{odds.guessed} inputs guessed",
        "unsure": _unsure_words(odds),
        "to_see": _to_see(remarks),
        "word": mark.word,
        "sign": mark.sign,
        "kind": word,
        "ink": mark.ink,
    }


def shown_band(carpet: CarpetData) -> tuple[float, float] | None:
    """Return the wind band at the hand as it is printed, from a whole or half m/s up; None without one."""
    band = go_band(carpet)
    if band is None:
        return None
    low = max(0.0, math.ceil(band[0] * 2 - 1e-9) / 2)
    return (low, band[1]) if band[1] > low else None


def wind_words(carpet: CarpetData) -> tuple[str, str]:
    """Return the wind band at the hand, and the sentence under it."""
    if go_band(carpet) is None:
        best = float(worst_by_wind(carpet).max())
        most = f"; the best is {percent(best)}" if best < GOOD_FROM else ""
        return "none", (
            f"no wind gives {percent(GOOD_FROM)} at {fixed(weak_throw_mps(carpet), 1)} m/s, the weakest "
            f"throw of ten{most}"
        )
    band = shown_band(carpet)
    if band is None:
        return "none", "only a tailwind gives the odds asked for"
    return span(*band, 1, "m/s").replace(".0 ", " "), (
        f"headwind at the hand, mean of 2 minutes; {percent(GOOD_FROM)} there even at "
        f"{fixed(weak_throw_mps(carpet), 1)} m/s"
    )


def _throw_words(subject: Subject, carpet: CarpetData) -> tuple[str, str]:
    """Return what to do, since nobody can read a speed before letting go, and the speeds behind it."""
    usual = f"{fixed(subject.speed_mean_mps, 1)} ± {fixed(subject.speed_sd_mps, 1)} m/s"
    weak = f"nine in ten above {fixed(weak_throw_mps(carpet), 1)}"
    if subject.by_line:
        return "to the mark", f"stretched as on the card: {usual}, {weak}"
    return "as practised", f"{usual}, {weak}"


def _band(subject: Subject, carpet: CarpetData) -> list[dict[str, str]]:
    low, high = subject.mass_band_kg
    wind, wind_note = wind_words(carpet)
    throw, throw_note = _throw_words(subject, carpet)
    rows = (
        ("Wind", wind, wind_note),
        ("Speed" if subject.by_line else "Throw", throw, throw_note),
        ("Pack at rest", f"{fixed(subject.least_volts, 1)} V or more",
         f"{fixed(subject.least_volts / subject.cells, 2)} V a cell; 15 °C or more"),
        ("Mass", span(low, high, 2, "kg"), f"{fixed(subject.mass_kg, 2)} kg ± 5 %, pack in"),
    )  # fmt: skip
    return [{"label": a, "value": b, "note": c} for a, b, c in rows]


def _degrees(angle_rad: float) -> str:
    return f"{fixed(math.degrees(angle_rad), 0)}°"


def _steps(subject: Subject) -> list[dict[str, str]]:
    s = subject.settings
    full_s = full_time(s.throttle_rise_per_s, s.launch_ceiling)
    jerk = "two jerks above" if s.jerks == 2 else "a jerk above"
    early = "" if s.early_pitch_rad is None else f"first {_degrees(s.early_pitch_rad)}"
    rows = (
        (jerk, f"{number(s.jerk_level_mps2)} m/s²", f"held for {fixed(s.jerk_dwell_s, 2)} s"),
        ("then wait", f"{fixed(s.start_wait_s, 2)} s", "motor still off"),
        (
            "throttle rises",
            f"{fixed(100 * s.throttle_rise_per_s, 0)} %/s",
            f"{fixed(full_s, 1)} s to its ceiling",
        ),
        ("up to", f"{fixed(100 * s.launch_ceiling, 0)} %", f"cruise {fixed(100 * s.cruise_ceiling, 0)} %"),
        ("climbs at", _degrees(s.climb_pitch_rad), early or "pitch held"),
        (
            "hands over at",
            f"{fixed(s.handover_height_m, 0)} m",
            _AFTER.get(s.after_task or "", "then carries on"),
        ),
    )
    return [{"label": a, "value": b, "note": c} for a, b, c in rows]


def _more(subject: Subject) -> str:
    s = subject.settings
    parts = [f"gives up after {fixed(s.give_up_s, 0)} s without a climb"]
    if s.speed_gate_mps is not None:
        parts.append(f"motor only above {fixed(s.speed_gate_mps, 1)} m/s")
    if s.pose_words:
        parts.append(s.pose_words)
    if s.home_height_m is not None:
        circle = "" if s.home_circle_m is None else f", circle {fixed(s.home_circle_m, 0)} m"
        parts.append(f"home height {fixed(s.home_height_m, 0)} m{circle}")
    text = "; ".join(parts)
    return short(opened(text) + ".", 190)


def _failures(odds: Odds) -> str:
    worst = sorted(odds.outcomes, key=lambda item: -item[1])[:3]
    if not worst:
        return "No launch failed."
    return "When it fails: " + ", ".join(f"{label} {plain_percent(share)}" for label, share in worst) + "."


def _limits(subject: Subject, carpet: CarpetData) -> Limits:
    wind, _ = wind_words(carpet)
    return Limits(
        wind_words="no wind band: do not launch" if wind == "none" else f"band {wind}",
        pack_words=f"{fixed(subject.least_volts, 1)} V or more",
        home_words=home_words(subject.settings.home_height_m, subject.tallest_m),
        balance_words=subject.balance_words,
        style=subject.style,
        path_words=path_words(subject.release_path_rad),
    )


class Answer(NamedTuple):
    """What the odds room found, in the words and numbers of a sheet."""

    odds: Odds
    trail: Trail
    remarks: Sequence[Remark]


def sheet_content(subject: Subject, answer: Answer, data: PictureData) -> dict[str, Any]:
    """Return the content of both pages as JSON-ready data; no picture, no markup."""
    odds, trail, remarks = answer
    race, chain, carpet = data.race, data.chain, data.carpet
    checks = [
        {"number": str(c.number), "step": c.step, "evidence": c.evidence, "stop": c.stop}
        for c in field_checks(_limits(subject, carpet))
    ]
    order = {"stop": 0, "watch": 1, "not known": 2, "good": 3}
    ranked = sorted(remarks, key=lambda r: order.get(r.word, 2))
    stopped = headline_word(odds.clean, remarks) == "stop"
    content = {
        "name": short(subject.name, LONGEST_NAME),
        "full_name": short(subject.name, 600),
        "style": subject.style.capitalize(),
        "lines": [
            short(t, LONGEST_LINE)
            for t in (subject.airframe_words, subject.power_words, subject.launch_words)
        ],
        "site": short(subject.site_words, LONGEST_LINE),
        "odds": _odds(odds, remarks),
        "gate": "Mend the stop first; then go only if all hold" if stopped else "Go only if all hold",
        "failures": _failures(odds),
        "band": _band(subject, carpet),
        "steps": _steps(subject),
        "more": _more(subject),
        "weakest": short(chain.sentence, 300),
        "race": window_words(race),
        "remarks": [_remark(r) for r in ranked if r.word != "good"],
        "checks": checks,
        "cautions": [
            {"about": c.about, "words": c.words} for c in CAUTIONS if c.about != "Bungee" or subject.by_line
        ],
        "abort": ABORT,
        "advice": ADVICE,
        "propeller_off": PROPELLER_OFF,
        "plan": None,
        "date": trail.date,
        "trail": (
            f"Overarm {trail.version} · setup {short(trail.setup_hash, 16)} · seed {trail.seed} · "
            f"{whole(trail.launches)} launches · {trail.date}"
        ),
    }
    return {key: tied(value) for key, value in content.items()}


def _remark(remark: Remark) -> dict[str, str]:
    mark = FINDINGS.get(remark.word, FINDINGS["not known"])
    return {
        "word": mark.word,
        "sign": mark.sign,
        "kind": mark.word.lower().replace(" ", "-"),
        "ink": mark.ink,
        "words": short(remark.words, 340),
    }
