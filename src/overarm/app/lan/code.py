"""An address as a QR code in the terminal."""

from __future__ import annotations

from io import StringIO


def code_lines(address: str) -> str:
    """Return the code of an address (ISO/IEC 18004), drawn with half blocks."""
    import segno

    out = StringIO()
    segno.make(address, error="l", micro=False).terminal(out, compact=True)
    return out.getvalue().rstrip("\n")
