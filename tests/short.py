"""Fewer launches than a person gets, for tests that look at nothing which they decide."""

from __future__ import annotations

from functools import partial

import pytest

from overarm.plan import run as plan_run

PROOF_LAUNCHES = 2_000
CELL_LAUNCHES, CORNER_LAUNCHES = 40, 200
PLAN_LAUNCHES = 100


def few_proofs(patch: pytest.MonkeyPatch) -> None:
    """Prove settings with fewer launches."""
    patch.setattr("overarm.settings.proof.PROOF_LAUNCHES", PROOF_LAUNCHES)


def quick_carpets(patch: pytest.MonkeyPatch) -> None:
    """Fly fewer launches in each cell of a sheet's odds carpet."""
    patch.setattr("overarm.sheets.launches.CELL_LAUNCHES", CELL_LAUNCHES)
    patch.setattr("overarm.sheets.launches.CORNER_LAUNCHES", CORNER_LAUNCHES)


def quick_plans(patch: pytest.MonkeyPatch) -> None:
    """Fly fewer launches for the fan and the rose of a sheet's third page."""
    patch.setattr("overarm.plan.run.plan", partial(plan_run.plan, launches=PLAN_LAUNCHES))
