"""Derived figures: what follows from the cards before anything is flown."""

from __future__ import annotations

from overarm.describe.derived.figures import Derived
from overarm.describe.derived.from_setup import derive

__all__ = ["Derived", "derive"]
