"""The sheet's colours and fonts: contrast on paper, findings that do not need colour, licence."""

from __future__ import annotations

import pytest

from overarm.sheets.palette import DARK, FINDINGS, LIGHT


def luminance(colour: str) -> float:
    """Relative luminance; source: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ink", ["ink", "muted", "rust", "blue", "green", "stop"])
def test_every_ink_has_seven_to_one_on_paper(theme: dict[str, str], ink: str) -> None:
    assert contrast(theme[ink], theme["paper"]) >= 7.0


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_text_on_panels_and_tints_is_readable(theme: dict[str, str]) -> None:
    assert contrast(theme["ink"], theme["panel"]) >= 7.0
    assert contrast(theme["stop"], theme["panel"]) >= 7.0
    assert contrast(theme["muted"], theme["panel"]) >= 7.0
    for fill in ("green-pale", "stop-pale", "panel"):
        assert contrast(theme["ink"], theme[fill]) >= 7.0


def test_colours_are_all_different_and_findings_differ_without_colour() -> None:
    assert len(set(LIGHT.values())) == len(LIGHT)
    assert LIGHT.keys() == DARK.keys()
    assert len({mark.hatch for mark in FINDINGS.values()}) == len(FINDINGS)
    assert len({mark.sign for mark in FINDINGS.values()}) == len(FINDINGS)
    green = [word for word, mark in FINDINGS.items() if "green" in mark.ink or "green" in mark.fill]
    assert green == ["good"]


def test_shipped_fonts_are_small_and_carry_their_licence() -> None:
    from overarm.sheets.canvas import FONTS

    assert sum(f.stat().st_size for f in FONTS.iterdir()) < 2_000_000
    assert "SIL OPEN FONT LICENSE Version 1.1" in (FONTS / "OFL.txt").read_text("utf-8")
