"""Synthetic recordings with the truth beside them: what an estimator is held against.

>>> from overarm.specimens import Options, make
"""

from __future__ import annotations

from overarm.specimens.maker import Specimen, make
from overarm.specimens.options import Options

__all__ = ["Options", "Specimen", "make"]
