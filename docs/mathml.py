"""Formulas as MathML, which a browser draws by itself: no script and no network. A Sphinx extension."""

from __future__ import annotations

from docutils import nodes
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator


def inline(writer: HTML5Translator, node: nodes.math) -> None:
    """Write a formula that stands in a line."""
    writer.body.append(tex2mathml(node.astext(), as_block=False))
    raise nodes.SkipNode


def block(writer: HTML5Translator, node: nodes.math_block) -> None:
    """Write a formula that stands alone."""
    writer.body.append(f'<div class="math">{tex2mathml(node.astext(), as_block=True)}</div>\n')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    """Make it known under the name that conf.py asks for."""
    app.add_html_math_renderer("mathml", (inline, None), (block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
