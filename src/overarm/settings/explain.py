"""Each advised setting in one sentence: what it may be, and what ends its band on either side."""

from __future__ import annotations

from overarm.settings.choices import BY_KEY, Choice
from overarm.settings.result import Chosen
from overarm.settings.search import Band


def explained(band: Band, before: dict[str, float]) -> Chosen:
    """Return a setting of the search with its words; ``before`` holds what the setup has, SI."""
    choice = BY_KEY[band.key]
    return Chosen(
        key=band.key,
        words=choice.words,
        value=band.value,
        text=choice.text(band.value),
        before=choice.text(before[band.key]) if band.key in before else "",
        low=band.low,
        high=band.high,
        band=f"{choice.text(band.low)} to {choice.text(band.high)}",
        below=band.below,
        above=band.above,
        sentence=_sentence(choice, band),
    )


def _sentence(choice: Choice, band: Band) -> str:
    ends = []
    if band.below.reason != "range":
        ends.append(f"Not below {choice.text(band.low)}: {band.below.words}.")
    if band.above.reason != "range":
        ends.append(f"Not above {choice.text(band.high)}: {band.above.words}.")
    return " ".join(ends) if ends else "Anything that is usual for this style works about as well."
