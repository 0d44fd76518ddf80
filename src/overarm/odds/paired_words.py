"""Where the interval of a paired difference comes from, in words."""

from __future__ import annotations

from overarm.odds.paired import Difference


def interval_words(difference: Difference, few: int | None, worlds: int, launches: int) -> str:
    """Return where the interval of a difference comes from if not from the spread of worlds; else nothing.

    Parameters: the difference; what `overarm.odds.paired.few_unlike_worlds` says of it; worlds and launches.
    """
    if not difference.won and not difference.lost:
        return (
            f"None of {launches:,} launches turned. That bounds the change, it does not exclude one: "
            f"{100.0 * difference.high:.1f} points either way at most, 3.7 over {worlds:,} worlds "
            "(the rule of three, on two sides)."
        )
    if few is None:
        return ""
    differ = "world differs" if few == 1 else "worlds differ"
    said = (
        f"Only {few} {differ} from the rest of {worlds:,}" if few else f"All {worlds:,} worlds changed alike"
    )
    return (
        f"{said}, too few to show a spread: the interval comes from how rare such worlds are, so it does not "
        "lie evenly about the middle."
    )
