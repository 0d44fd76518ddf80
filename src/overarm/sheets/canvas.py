"""A drawing surface measured in millimetres, and its SVG text."""

from __future__ import annotations

import contextlib
import io
import logging
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, cast
from xml.sax.saxutils import escape, quoteattr

from overarm.sheets.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FONTS = Path(__file__).parent / "fonts"
FAMILY = ("Fira Sans", "DejaVu Sans")
TEXT_PT = 8.6
SMALL_PT = 7.6
_MM_PER_INCH = 25.4
# A label that must be read on top of lines and hatches stands on a patch of paper.
LABEL: dict[str, Any] = {"facecolor": LIGHT["paper"], "edgecolor": "none", "boxstyle": "round,pad=0.15"}


class Size(NamedTuple):
    """The size of a picture; `narrow` asks for the phone layout."""

    width_mm: float
    height_mm: float
    narrow: bool = False


class Picture(NamedTuple):
    """One finished picture: its SVG text, and the words that say the same."""

    name: str
    svg: str
    title: str
    words: str


def _settings(name: str) -> dict[str, Any]:
    ink = LIGHT["ink"]
    return {
        "font.family": list(FAMILY),
        "font.size": TEXT_PT,
        "svg.fonttype": "none",
        "svg.hashsalt": name,
        "hatch.linewidth": 0.5,
        "axes.edgecolor": ink,
        "axes.labelcolor": ink,
        "axes.linewidth": 0.6,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.facecolor": "none",
        "figure.facecolor": "none",
        "text.color": ink,
        "xtick.color": ink,
        "ytick.color": ink,
        "xtick.major.size": 2.5,
        "ytick.major.size": 2.5,
        "xtick.major.width": 0.6,
        "ytick.major.width": 0.6,
        "xtick.labelsize": SMALL_PT,
        "ytick.labelsize": SMALL_PT,
        "axes.unicode_minus": True,
        "text.parse_math": False,
        "path.simplify": True,
        "path.simplify_threshold": 0.2,
    }


def _load_fonts() -> None:
    from matplotlib import font_manager

    known = {entry.fname for entry in font_manager.fontManager.ttflist}
    for file in sorted(FONTS.glob("*.ttf")):
        if str(file) not in known:
            font_manager.fontManager.addfont(str(file))


@contextlib.contextmanager
def sketch(name: str, size: Size) -> Iterator[Figure]:
    """Give a blank figure of `size` with the house settings; nothing outside is changed."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    log = logging.getLogger("matplotlib.font_manager")
    level = log.level
    log.setLevel(logging.ERROR)  # it reports each fallback face of the second family
    try:
        _load_fonts()
        with mpl.rc_context(cast(Any, _settings(name))):
            figure = Figure(figsize=(size.width_mm / _MM_PER_INCH, size.height_mm / _MM_PER_INCH))
            FigureCanvasSVG(figure)
            yield figure
    finally:
        log.setLevel(level)


class Box(NamedTuple):
    """A place on the picture, from its lower left corner."""

    left_mm: float
    bottom_mm: float
    width_mm: float
    height_mm: float


def axes(figure: Figure, size: Size, box: Box) -> Axes:
    """Add axes at a place given in millimetres."""
    return figure.add_axes(
        (
            box.left_mm / size.width_mm,
            box.bottom_mm / size.height_mm,
            box.width_mm / size.width_mm,
            box.height_mm / size.height_mm,
        )
    )


def quiet(ax: Axes, keep: str = "") -> None:
    """Hide every spine and tick but those named in `keep` ("bottom left")."""
    for side in ("top", "right", "bottom", "left"):
        ax.spines[side].set_visible(side in keep)
    below, beside = "bottom" in keep, "left" in keep
    ax.tick_params(axis="x", which="both", bottom=below, labelbottom=below)
    ax.tick_params(axis="y", which="both", left=beside, labelleft=beside)


_IDS = re.compile(r'(\bid="|url\(#|href="#)([^")]+)')
_LABELS = re.compile(r'aria-labelledby="(\S+) (\S+)"')
_HEAD = re.compile(r"^.*?<svg[^>]*>", re.DOTALL)
_META = re.compile(r"\s*<metadata>.*?</metadata>", re.DOTALL)
_NO_TURN = re.compile(r' transform="rotate\(-0 [^)]*\)"')
_VIEW = re.compile(r'viewBox="([^"]+)"')


def to_picture(figure: Figure, name: str, title: str, words: str) -> Picture:
    """Return the finished picture.

    Every id inside is prefixed by `name`, so that several pictures can stand in one page; the
    title and the words are put in for readers who cannot see it.
    """
    buffer = io.StringIO()
    figure.savefig(
        buffer, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None}
    )
    raw = buffer.getvalue()
    view = _VIEW.search(raw)
    box = view.group(1) if view else "0 0 100 100"
    body = _NO_TURN.sub("", _META.sub("", _HEAD.sub("", raw, count=1)))
    body = _IDS.sub(lambda hit: f"{hit.group(1)}{name}-{hit.group(2)}", body)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox={quoteattr(box)} role="img" aria-labelledby="{name}-t {name}-d">'
        f'<title id="{name}-t">{escape(title)}</title><desc id="{name}-d">{escape(words)}</desc>'
    )
    return Picture(name, head + body, title, words)


def prefixed(svg: str, prefix: str) -> str:
    """Return the SVG with `prefix` before every id, so that two of the same name fit one page."""
    renamed = _IDS.sub(lambda hit: f"{hit.group(1)}{prefix}{hit.group(2)}", svg)
    return _LABELS.sub(
        lambda hit: f'aria-labelledby="{prefix}{hit.group(1)} {prefix}{hit.group(2)}"', renamed
    )


def recoloured(svg: str) -> str:
    """Return the SVG with each palette colour named, so that a page theme can change it."""
    for name, value in LIGHT.items():
        svg = svg.replace(value, f"var(--{name})")
    return svg


def empty_picture(name: str, title: str, words: str, size: Size) -> Picture:
    """Return a hatched panel that says why there is nothing to draw."""
    with sketch(name, size) as figure:
        ax = axes(figure, size, Box(1, 1, size.width_mm - 2, size.height_mm - 2))
        quiet(ax)
        ax.axvspan(0, 1, facecolor=LIGHT["panel"], edgecolor=LIGHT["rule"], hatch="--", linewidth=0)
        ax.set_xlim(0, 1)
        lines = words if not size.narrow else words.replace(", ", ",\n")
        ax.text(0.5, 0.5, lines, transform=ax.transAxes, ha="center", va="center", fontweight=600, bbox=LABEL)
        return to_picture(figure, name, title, words)
