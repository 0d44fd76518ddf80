"""The reference of cards is what the card classes say."""

from __future__ import annotations

import runpy
from pathlib import Path


def test_the_page_is_up_to_date(project: Path) -> None:
    made = runpy.run_path(str(project / "docs" / "make_cards.py"))["cards_page"]()
    assert (project / "docs/reference/cards.md").read_text("utf-8") == made, "run `make docs`"


def test_the_page_holds_what_the_cards_say(project: Path) -> None:
    """A few rows, compared with the cards by eye: units, range, default with source, both spreads."""
    page = (project / "docs/reference/cards.md").read_text("utf-8")
    mass, gate, delay = (
        next(line for line in page.splitlines() if line.startswith(f"| `{key}` "))
        for key in ("mass", "speed_gate", "start_delay")
    )
    assert "| `1.2 kg`; 0.05 to 10 kg | required | 1 % / 8 % |" in mass
    assert "| – | – |" in gate
    assert "0.15 s (own estimate)" in delay
