"""Find the settings of a setup, prove them with fresh launches, and say what they are worth."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from overarm.odds.flyers import HERE, Flyers
from overarm.settings.choices import chosen_in
from overarm.settings.desk import Desk
from overarm.settings.proof import Proof
from overarm.settings.result import SettingsResult
from overarm.settings.search import Effort, Tell, careful, evolve, middle
from overarm.settings.usual import usual_settings

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

CLAIM_LAUNCHES = 20_000
# How much of the time each part takes.
SHARES = {"searching": (0.0, 0.35), "finding the middle": (0.35, 0.75), "proving it": (0.75, 1.0)}


def find_settings(
    setup: Setup,
    derived: Derived,
    seed: int = 1,
    effort: Effort | None = None,
    *,
    launches: int = CLAIM_LAUNCHES,
    progress: Tell | None = None,
    cancelled: Callable[[], bool] | None = None,
    flyers: Flyers = HERE,
) -> SettingsResult:
    """Return settings that keep all hard limits and whose odds are best where they are flat.

    Parameters
    ----------
    setup, derived
        The cards and their derived figures.
    seed : int
        The same seed gives the same answer, on any number of cores.
    effort : Effort, optional
        How many trials, of how many launches.
    launches : int
        Fresh launches behind the odds before and after; they took part in no choice.
    progress, cancelled : callable, optional
        Told what is being done and which share of all is done; asked before each trial.
    flyers : Flyers
        Who flies: this machine, or the workers of a cluster. The answer is the same.

    Returns
    -------
    SettingsResult

    Raises
    ------
    InputError
        If the setup cannot be derived.
    Cancelled
        If somebody asked it to end; nothing is known then.
    """
    asked, effort = cancelled or (lambda: False), effort or Effort()

    def tell(what: str, share: float) -> None:
        if progress is not None:
            low, high = SHARES[what]
            progress(what, low + (high - low) * share)

    desk = Desk(setup, derived, seed, asked, flyers)
    usual = usual_settings(setup, derived)
    trials = evolve(desk, [chosen_in(setup), usual, careful(desk, usual)], effort, tell)
    found = middle(desk, trials, effort, tell)
    proof = Proof(setup, desk, found, effort, launches, tell, asked)
    return proof.result(usual, derived.stall_speed_mps)
