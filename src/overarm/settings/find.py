"""Find the settings of a setup, prove them with fresh launches, and say what they are worth."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

import overarm
from overarm.flight.campaign import run
from overarm.odds.assess import clean_share, is_clean
from overarm.odds.clear import hand_as_flown
from overarm.odds.finding import Finding
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference, paired
from overarm.settings import empty
from overarm.settings.choices import BY_KEY, chosen_in, written
from overarm.settings.desk import Cancelled, Desk, Trial
from overarm.settings.explain import explained
from overarm.settings.result import Chosen, Need, SettingsResult, Usual
from overarm.settings.search import Effort, Found, Tell, evolve, middle
from overarm.settings.usual import usual_settings

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

CLAIM_LAUNCHES = 20_000
# Launches that took part in no choice: far from every seed that a person types.
PROOF_SEED_AHEAD, CLAIM_SEED_AHEAD = 500_000_003, 1_000_000_007
MOST_SEED = 2**62
MOST_REPAIRS = 6
# How much of the time each part takes.
SHARES = {"searching": (0.0, 0.55), "finding the middle": (0.55, 0.9), "proving it": (0.9, 1.0)}


class Flown(NamedTuple):
    """Launches of a setup with fresh numbers, and what its findings say."""

    setup: Setup
    table: NDArray[np.void]
    findings: tuple[Finding, ...]

    @property
    def clean(self) -> Interval:
        """Return the share of clean launches."""
        return clean_share(self.table)

    @property
    def stops(self) -> tuple[Finding, ...]:
        """Return the findings that say stop."""
        return tuple(item for item in self.findings if item.word == "stop")


def fresh(setup: Setup, launches: int, seed: int, cancelled: Callable[[], bool]) -> Flown:
    """Fly a setup over the whole day, wind band and all. Raises Cancelled."""
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of
    from overarm.odds.findings import findings

    derived = derive(setup)
    tables = [chunk.table for chunk in run(inputs_of(setup, derived), launches, seed, cancelled=cancelled)]
    if sum(len(table) for table in tables) < launches:
        raise Cancelled
    table = np.concatenate(tables)
    hand = hand_as_flown(table, setup.style, setup.power.position == "pusher")
    found = findings(setup, derived)
    return Flown(setup, table, found if hand is None else (*found, hand))


def gain_of(before: Flown, after: Flown) -> Difference:
    """Return the paired difference of two setups flown with the same numbers."""
    count = min(len(before.table), len(after.table))
    old, new = before.table[:count], after.table[:count]
    return paired(is_clean(old), is_clean(new), old["world"])


def find_settings(
    setup: Setup,
    derived: Derived,
    seed: int = 1,
    effort: Effort | None = None,
    *,
    launches: int = CLAIM_LAUNCHES,
    progress: Tell | None = None,
    cancelled: Callable[[], bool] | None = None,
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

    desk = Desk(setup, derived, seed, asked)
    usual = usual_settings(setup, derived)
    trials = evolve(desk, [chosen_in(setup), usual], effort, tell)
    found = middle(desk, trials, effort, tell)
    tell("proving it", 0.0)
    return _Proof(setup, derived, desk, found, effort, launches, tell, asked).result(usual)


class _Proof:
    """Everything after the search: is it kept, is it good enough, and what is it worth."""

    def __init__(
        self,
        setup: Setup,
        derived: Derived,
        desk: Desk,
        found: Found,
        effort: Effort,
        launches: int,
        tell: Tell,
        asked: Callable[[], bool],
    ) -> None:
        self.setup, self.derived, self.desk, self.found = setup, derived, desk, found
        self.effort, self.launches, self.tell, self.asked = effort, launches, tell, asked
        self.claim_seed = (desk.seed + CLAIM_SEED_AHEAD) % MOST_SEED

    def result(self, usual: dict[str, float]) -> SettingsResult:
        """Return the answer. Raises Cancelled."""
        from overarm.describe.change import changed

        before = fresh(self.setup, self.launches, self.claim_seed, self.asked)
        self.tell("proving it", 0.3)
        refused = self._refused()
        chosen: tuple[Chosen, ...] = ()
        after, compared = None, None
        if not refused:
            settings, reason = self._proved()
            self.tell("proving it", 0.5)
            after = fresh(settings, self.launches, self.claim_seed, self.asked)
            refused = (*reason, *(f"{item.name}: {item.sentence}" for item in after.stops))
            chosen = self._explained(settings)
            self.tell("proving it", 0.8)
            trade = changed(self.setup, written(usual))
            half = fresh(trade, self.launches // 2, self.claim_seed, self.asked)
            on_desk = self.desk.fly_out(self.desk.start(usual), self.effort.fine_launches)
            broken = tuple(item.words for item in on_desk.broken)
            compared = Usual(written(usual), gain_of(half, after), broken)
        needs = self._needs() if refused else ()
        kept = () if refused else chosen
        return SettingsResult(
            setup_name=self.setup.name,
            style=self.setup.style,
            setup_hash=self.setup.hash(),
            version=overarm.__version__,
            seed=self.desk.seed,
            claim_seed=self.claim_seed,
            launches=self.launches,
            trials=self.desk.tried,
            weak_wind_10m_mps=float(self.desk.inputs.base["air"]["wind_10m_mps"][0]),
            search_share=self.found.best_share,
            before=before.clean,
            before_broken=self._broken_as_written(),
            after=after.clean if after is not None and not refused else None,
            gain=gain_of(before, after) if after is not None and not refused else None,
            usual=compared if not refused else None,
            settings=kept,
            chosen_hash=after.setup.hash() if after is not None and not refused else "",
            findings=after.findings if after is not None else before.findings,
            refused=refused,
            needs=needs,
            options=() if refused else self._options(),
        )

    def _refused(self) -> tuple[str, ...]:
        """Return why the search came to nothing; nothing if it came to something."""
        trial = self.found.chosen
        if trial.broken:
            return tuple(f"{item.name}: {item.words}" for item in trial.broken)
        if trial.share < empty.GOOD_ENOUGH:
            least = 100.0 * empty.GOOD_ENOUGH
            best = (
                f"even the best settings give {100.0 * trial.share:.0f} % at the weak end of the day's wind"
            )
            return (f"{best}; {least:.0f} % is the least that is advised",)
        return ()

    def _proved(self) -> tuple[Setup, tuple[str, ...]]:
        """Return the setup with its settings, and why they do not do if they do not.

        Many fresh launches look for hands at risk; if there are more than one of 1000 the start wait grows
        by a step, within its band.
        """
        from overarm.describe.change import changed

        values = dict(self.found.chosen.values)
        band = next(item for item in self.found.bands if item.key == "start_wait")
        step = BY_KEY["start_wait"].step
        seed = (self.desk.seed + PROOF_SEED_AHEAD) % MOST_SEED
        for _ in range(MOST_REPAIRS):
            settings = changed(self.setup, written(values))
            flown = fresh(settings, self.launches, seed, self.asked)
            risky = [item for item in flown.stops if item.name == "hand and disc, as flown"]
            if not risky:
                return settings, ()
            longer = BY_KEY["start_wait"].rounded(values["start_wait"] + step)
            if longer > band.high + 1e-9:
                return settings, tuple(f"{item.name}: {item.sentence}" for item in risky)
            values["start_wait"] = longer
        return settings, tuple(f"{item.name}: {item.sentence}" for item in risky)

    def _explained(self, settings: Setup) -> tuple[Chosen, ...]:
        values, before = chosen_in(settings), chosen_in(self.setup)
        bands = (band._replace(value=values[band.key]) for band in self.found.bands)
        return tuple(explained(band, before) for band in bands)

    def _broken_as_written(self) -> tuple[str, ...]:
        """Return the hard limits that the setup as written breaks."""
        own = chosen_in(self.setup)
        trial = self.desk.fly_out({c.key: own[c.key] for c in self.desk.choices}, self.effort.launches)
        return tuple(item.words for item in trial.broken)

    def _needs(self) -> tuple[Need, ...]:
        best = self._flown_best()
        found = empty.ideas(self.setup, best.values)
        launches = self.effort.launches
        return empty.tried(self.setup, best, found, launches, self.desk.seed, self.asked)

    def _flown_best(self) -> Trial:
        return self.desk.fly_out(self.found.chosen.values, self.effort.launches)

    def _options(self) -> tuple[Need, ...]:
        """Return the unused options that gain clearly."""
        best = self._flown_best()
        found = empty.options(self.setup, self.derived.stall_speed_mps)
        needs = empty.tried(self.setup, best, found, self.effort.launches, self.desk.seed, self.asked)
        return tuple(need for need in needs if need.gain.low > 0.0)
