"""The one palette of every picture and page: paper, ink, one rust accent, blue for air.

Each colour has a name and one value for light and one for dark pages. Values are all different, so
that a picture drawn in light colours can be re-coloured by name. Green is for "good" alone.
"""

from __future__ import annotations

from typing import NamedTuple

LIGHT: dict[str, str] = {
    "paper": "#fbf8f1",
    "panel": "#f3ede1",
    "rule": "#b8af9f",
    "muted": "#4f4942",
    "ink": "#221e1a",
    "rust": "#8c3512",
    "rust-mid": "#cf9777",
    "rust-pale": "#e8cbb7",
    "rust-faint": "#f4e4d8",
    "blue": "#1d4f7c",
    "blue-pale": "#cfdeea",
    "green": "#1c5c36",
    "green-pale": "#d6e8da",
    "stop": "#7b1e14",
    "stop-pale": "#f0d6d0",
    "leaf": "#8f8878",
}

DARK: dict[str, str] = {
    "paper": "#1c1916",
    "panel": "#2a2520",
    "rule": "#70685c",
    "muted": "#c9c0b2",
    "ink": "#f3ede2",
    "rust": "#f3ab86",
    "rust-mid": "#a8623f",
    "rust-pale": "#653a26",
    "rust-faint": "#3d281d",
    "blue": "#a3caee",
    "blue-pale": "#2b435a",
    "green": "#97d8ac",
    "green-pale": "#24462f",
    "stop": "#f5ab9c",
    "stop-pale": "#5e2b23",
    "leaf": "#8a8272",
}


class Mark(NamedTuple):
    """How a finding looks: a colour, a fill, a hatch and a shape, so that no colour is needed."""

    word: str
    ink: str
    fill: str
    hatch: str
    sign: str


FINDINGS: dict[str, Mark] = {
    "good": Mark("Good", "green", "green-pale", "", "●"),
    "watch": Mark("Watch", "ink", "panel", "///", "◐"),
    "stop": Mark("Stop", "stop", "stop-pale", "xxx", "■"),
    "not known": Mark("Not known", "muted", "paper", "---", "○"),
}

GOOD_FROM = 0.90
STOP_BELOW = 0.75


def finding_of(share: float) -> str:
    """Return the finding word of a share of clean launches.

    Parameters: share [-], 0 to 1.
    Source: warn below 90 %, stop below 75 % (common practice, no source).
    """
    shown = round(share, 2)  # the figure that is printed, so that 90 % never looks like 89 %
    if shown >= GOOD_FROM:
        return "good"
    return "watch" if shown >= STOP_BELOW else "stop"


def colour(name: str) -> str:
    """Return the light-page value of a named colour; KeyError if there is no such name."""
    return LIGHT[name]


def css_variables(theme: dict[str, str]) -> str:
    """Return the theme as CSS custom properties, one a line."""
    return "\n".join(f"  --{name}: {value};" for name, value in theme.items())
