"""The search for settings, in launches' worth: what it takes against flying launches plainly."""

from __future__ import annotations

from benchmarks.rows import Row, example, in_words, median_s, spent
from overarm.describe.derived import derive
from overarm.flight.campaign import run
from overarm.settings.find import find_settings
from overarm.settings.search import Effort

SHORT, LAUNCHES = Effort(200, 1, 4, 200), 10_000


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    setup, inputs = example()
    derived = derive(setup)
    each = median_s(lambda: list(run(inputs, LAUNCHES, 1)), 3) / LAUNCHES
    find_settings(setup, derived, effort=SHORT, launches=1000)
    if quick:
        whole = spent(lambda: find_settings(setup, derived, effort=SHORT, launches=1000))
    else:
        whole = spent(lambda: find_settings(setup, derived))
    worth = f"worth {whole / each:,.0f} launches of {in_words(each)}".replace(",", " ")
    return [Row("a short search" if quick else "a whole search, proof included", in_words(whole), worth)]
