"""Everything that is written on the page "Plan", as plain data that both page makers read."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from overarm.odds.finding import Word, worst_word
from overarm.plan.clearance import TERRAIN
from overarm.sheets.palette import FINDINGS
from overarm.sheets.rose import side_words
from overarm.sheets.wording import fixed, opened, percent, short, tied

if TYPE_CHECKING:
    from overarm.plan.result import Gap, PlanResult

MOST_GAPS = 6
MOST_REMARKS = 4
LONGEST_NAME = 40
LONGEST_NOTE = 170
LONGEST_REMARK = 230
ORDER: tuple[Word, ...] = ("stop", "watch", "not known", "good")

CAUTIONS = {
    "People": "Nobody stands, walks or rides below the climb-out, the way home or the circle. Look again "
    "before each launch; if someone comes, wait.",
    "Airspace": "This page knows no airspace. Ask what applies here and today, and keep well below whatever "
    "flies: it has the right of way, always.",
    "Rules": "The ceiling is the one on your site card. Your country, the owner of the ground and the club "
    "may ask for less height, more distance, or no flight.",
    "Heights": "All heights are above the ground at the launch. Rising ground, wires and new growth are not "
    "in it unless you put them on the card.",
}


WITH_MODEL = (
    "All heights are above the ground at the launch. Rising ground is in it only as the height model has "
    "it; wires and new growth are not, unless you put them on the card."
)


def _looks(word: Word) -> dict[str, str]:
    mark = FINDINGS[word]
    return {"word": mark.word, "kind": word.replace(" ", "-"), "ink": mark.ink, "sign": mark.sign}


def _metres(value: float) -> str:
    return f"{fixed(value, 0)} m"


def _up(value_m: float) -> int:
    """Return what is wanted [m], never told smaller than it is."""
    return math.ceil(value_m - 1e-9)


def _gap(gap: Gap) -> dict[str, str]:
    return {
        "name": short(gap.name, LONGEST_NAME) or "without a name",
        "distance": _metres(gap.distance_m),
        "height": _metres(gap.height_m),
        "wanted": _metres(_up(gap.wanted_m)),
        "p5": _metres(math.floor(gap.p5_m)),
        "p50": _metres(math.floor(gap.p50_m)),
        **_looks(gap.word),
    }


def _kilojoules(energy_j: float) -> str:
    return f"{fixed(energy_j / 1000.0, 1)} kJ"


def _facts(plan: PlanResult) -> list[dict[str, str]]:
    circle, home = plan.circle, plan.home
    handover = f"lowest that meets every condition: {_metres(_up(plan.handover.lowest_m))}"
    ring = (
        f"{_metres(circle.wanted_radius_m)} wanted, {_metres(circle.least_radius_m)} the least; in "
        f"{fixed(circle.wind_mps, 1)} m/s up there it needs {fixed(math.degrees(circle.bank_rad), 0)}° of "
        f"bank, and drifts {_metres(circle.drift_m)}"
    )
    way = (
        f"{_metres(home.distance_m)} of way, {fixed(home.time_s, 0)} s; {_metres(_up(home.wanted_height_m))} "
        f"wanted; over ground {fixed(home.ground_speed_mps, 1)} m/s, into the wind "
        f"{fixed(home.into_wind_mps, 1)} m/s"
    )
    energy = (
        f"launch {_kilojoules(home.launch_energy_j)}, home {_kilojoules(home.energy_j)}, at worst "
        f"{_kilojoules(home.energy_against_j)}; keep {percent(home.reserve_share)}"
    )
    top = f"it goes up to {_metres(plan.ceiling.highest_m)}, height error included"
    rows = (
        ("Handover at", _metres(plan.handover.height_m), handover, plan.handover.word),
        ("Home circle", _metres(circle.radius_m), ring, circle.word),
        ("Home at", _metres(home.height_m), way, home.word),
        ("Pack left", percent(home.capacity_share_left), energy, home.word),
        ("Your ceiling", _metres(plan.ceiling.legal_m), top, plan.ceiling.word),
    )
    return [
        {"label": label, "value": value, "note": short(note, LONGEST_NOTE), **_looks(word)}
        for label, value, note, word in rows
    ]


def _remarks(plan: PlanResult) -> list[dict[str, str]]:
    told = sorted((f for f in plan.findings if f.word != "good"), key=lambda f: ORDER.index(f.word))
    return [{**_looks(f.word), "words": short(f.sentence, LONGEST_REMARK)} for f in told]


def _cautions(plan: PlanResult) -> dict[str, str]:
    """Return the cautions; with a height model the ground is in the plan, what stands on it is not."""
    if not any(gap.name == TERRAIN for gap in plan.gaps):
        return CAUTIONS
    return {**CAUTIONS, "Heights": WITH_MODEL}


def plan_content(plan: PlanResult) -> dict[str, Any]:
    """Return the words of the page: the gaps, the figures, what to see to, and the cautions."""
    gaps = sorted(plan.gaps, key=lambda gap: (ORDER.index(gap.word), gap.p5_m - gap.wanted_m))
    remarks = _remarks(plan)
    word = worst_word("good", *(finding.word for finding in plan.findings))
    content = {
        **_looks(word),
        "summary": _summary(plan, word),
        "gaps": [_gap(gap) for gap in gaps[:MOST_GAPS]],
        "more_gaps": max(0, len(gaps) - MOST_GAPS),
        "facts": _facts(plan),
        "remarks": remarks,
        "on_paper": min(MOST_REMARKS, len(remarks)),
        "rose": short(plan.rose.sentence, LONGEST_REMARK),
        "best": opened(side_words(plan.rose.best_rad)),
        "cautions": [{"about": about, "words": words} for about, words in _cautions(plan).items()],
    }
    return {key: tied(value) for key, value in content.items()}


def _summary(plan: PlanResult, word: Word) -> str:
    wind = f"wind {fixed(plan.wind.speed_mps, 1)} m/s at 10 m"
    if word == "good":
        return f"every check of the plan says good; {wind}"
    count = sum(finding.word != "good" for finding in plan.findings)
    return f"{count} {'check' if count == 1 else 'checks'} to see to; {wind}"
