"""How the site of documents is built: `make site`.

``docs/README.md`` is the index of all pages; the order of the site follows it, so that no page is
listed twice. Nothing is fetched from a network.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from sphinx.application import Sphinx

import overarm

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))  # for mathml.py
HEADING = re.compile(r"^## (.+)$", re.MULTILINE)
PAGE_LINK = re.compile(r"\]\(([\w/-]+)\.md(?:#[\w-]+)?\)")
TO_THE_INDEX = (
    '<!doctype html><meta http-equiv="refresh" content="0; url={0}.html"><a href="{0}.html">Overarm</a>\n'
)

project = "Overarm"
author = copyright = "Overarm developers"
version = release = overarm.__version__
language = "en"

root_doc = "README"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "mathml"]
myst_enable_extensions = ["dollarmath"]
html_math_renderer = "mathml"
myst_heading_anchors = 4
autodoc_typehints = "description"
autodoc_member_order = "bysource"

html_theme = "furo"
html_title = "Overarm"
html_show_sphinx = False
html_copy_source = False
PAPER = {
    "color-background-primary": "#fbf8f1",
    "color-background-secondary": "#f3eee2",
    "color-brand-primary": "#9a3f17",
    "color-brand-content": "#9a3f17",
    "color-brand-visited": "#6b4a3a",
}
INK = {
    "color-background-primary": "#1b1916",
    "color-background-secondary": "#24211c",
    "color-brand-primary": "#f0a073",
    "color-brand-content": "#f0a073",
    "color-brand-visited": "#d5b3a0",
}
html_theme_options = {"light_css_variables": PAPER, "dark_css_variables": INK}


def sections(index: str) -> dict[str, list[str]]:
    """Return heading -> pages of an index in Markdown; a page stands only where it is named first."""
    parts = HEADING.split(index)[1:]
    found: dict[str, list[str]] = {}
    seen: set[str] = set()
    for heading, body in zip(parts[::2], parts[1::2], strict=True):
        pages = dict.fromkeys(PAGE_LINK.findall(body))
        found[heading] = [page for page in pages if page not in seen]
        seen.update(pages)
    return found


def add_contents(_app: Sphinx, name: str, source: list[str]) -> None:
    """Give the index its tables of contents, one a heading."""
    if name != root_doc:
        return
    for heading, pages in sections(source[0]).items():
        listed = "\n".join(pages)
        source[0] += f"\n```{{toctree}}\n:hidden:\n:caption: {heading}\n\n{listed}\n```\n"


def write_front_door(app: Sphinx, error: Exception | None) -> None:
    """Write index.html, which leads to the index."""
    if error is None and app.builder.format == "html":
        (Path(app.outdir) / "index.html").write_text(TO_THE_INDEX.format(root_doc), "utf-8")


def setup(app: Sphinx) -> None:
    """Tie both to the build."""
    app.connect("source-read", add_contents)
    app.connect("build-finished", write_front_door)
