"""Odds of a clean launch, what stands behind them, and what to measure next.

The room can be called: ``overarm.odds(setup, launches=10_000, seed=1)`` is `overarm.odds.run.odds`.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import Any


class _CallableRoom(ModuleType):
    """A module of which the main function has the same name."""

    def __call__(self, *args: Any, **options: Any) -> Any:
        from overarm.odds.run import odds

        return odds(*args, **options)


sys.modules[__name__].__class__ = _CallableRoom
