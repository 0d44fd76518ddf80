"""Overarm: odds, settings and launch sheets for aeroplanes that launch themselves.

>>> import overarm
>>> setup = overarm.load("examples/b-kestrel.yaml")
>>> result = overarm.odds(setup, launches=1000, seed=1)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from overarm.describe.reader import load
    from overarm.odds.rare import rare
    from overarm.odds.run import odds

__version__ = "0.1.0"
__all__ = ["__version__", "load", "odds", "rare"]

_HOMES = {"load": "overarm.describe.reader", "odds": "overarm.odds.run", "rare": "overarm.odds.rare"}


def __getattr__(name: str) -> Any:
    """Import a public function when it is first asked for, so that the import is quick."""
    from importlib import import_module

    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'overarm' has no attribute {name!r}")
