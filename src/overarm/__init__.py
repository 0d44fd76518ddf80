"""Overarm: odds, settings and launch sheets for aeroplanes that launch themselves.

The short public list is `load` and `odds`; each loads its room when it is first used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from overarm.describe import load
    from overarm.odds.run import odds

__all__ = ["__version__", "load", "odds"]
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    if name == "load":
        from overarm.describe import load as found

        return found
    if name == "odds":
        # The room of that name can be called: it is the function and the package at once.
        import importlib

        return importlib.import_module("overarm.odds")
    raise AttributeError(f"module 'overarm' has no attribute {name!r}")
