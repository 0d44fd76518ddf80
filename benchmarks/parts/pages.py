"""The workbench as its user waits for it, in Chromium of the system; see ``benchmarks/workbench.py``."""

from __future__ import annotations

import importlib.util

from benchmarks.rows import ROOT, Row, in_words

PAGES = ROOT / "src" / "overarm" / "app" / "pages" / "index.html"


def missing() -> str:
    """Return why it cannot be measured here; nothing if it can."""
    if importlib.util.find_spec("playwright") is None:
        return "playwright is not installed"
    from benchmarks.workbench import chromium

    if chromium() is None:
        return "no Chromium on this machine"
    return "" if PAGES.is_file() else "the pages are not built: make web"


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    why = missing()
    if why:
        return [Row("first view, slider", "not measured", why)]
    from benchmarks.workbench import FIRST_VIEW_S, SLIDER_S, waits

    found = waits("b", 8 if quick else 40)
    bare = found["bare answer"]

    def row(what: str, name: str, limit_s: float) -> Row:
        ratios = (
            f"{found[name] / limit_s:.2f} of the {limit_s:g} s allowed, {found[name] / bare:.1f} bare answers"
        )
        return Row(what, in_words(found[name]), ratios)

    return [
        Row("a bare answer of the server, painted", in_words(bare)),
        row("first view, nothing in the cache", "first view", FIRST_VIEW_S),
        row("first view, again", "again", FIRST_VIEW_S),
        row("slider to redrawn fan, median", "slider", SLIDER_S),
        row("slider to redrawn fan, slowest", "slowest", SLIDER_S),
    ]
