"""Find the settings of a setup, prove them with fresh launches, and say what they are worth."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

import overarm
from overarm.errors import Cancelled
from overarm.flight.campaign import run
from overarm.odds.assess import clean_share, is_clean
from overarm.odds.clear import hand_as_flown
from overarm.odds.finding import Finding
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference, paired
from overarm.settings import empty
from overarm.settings.choices import BY_KEY, chosen_in, written
from overarm.settings.desk import Desk, Trial
from overarm.settings.explain import explained
from overarm.settings.result import Chosen, Need, SettingsResult, Usual
from overarm.settings.search import Effort, Found, Tell, around, evolve, middle
from overarm.settings.usual import usual_settings

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

CLAIM_LAUNCHES = 20_000
# Launches that took part in no choice: far from every seed that a person types.
PROOF_SEED_AHEAD, CLAIM_SEED_AHEAD = 500_000_003, 1_000_000_007
MOST_SEED = 2**62
MOST_REPAIRS = 8
LEVEL_MOVE = 0.1  # of the jerk level, at a time
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
    proof = Proof(setup, desk, found, effort, launches, tell, asked)
    return proof.result(usual, derived.stall_speed_mps)


class Proof:
    """Everything after the search: is it kept, is it good enough, and what is it worth."""

    def __init__(
        self,
        setup: Setup,
        desk: Desk,
        found: Found,
        effort: Effort,
        launches: int,
        tell: Tell,
        asked: Callable[[], bool],
    ) -> None:
        self.setup, self.desk, self.found = setup, desk, found
        self.effort, self.launches, self.tell, self.asked = effort, launches, tell, asked
        self.claim_seed = (desk.seed + CLAIM_SEED_AHEAD) % MOST_SEED
        self.proof_seed = (desk.seed + PROOF_SEED_AHEAD) % MOST_SEED

    def result(self, usual: dict[str, float], stall_speed_mps: float) -> SettingsResult:
        """Return the answer. Raises Cancelled."""
        self.tell("proving it", 0.0)
        before = self._fly(chosen_in(self.setup), self.claim_seed)
        refused = self._refused()
        after, compared = None, None
        if not refused:
            self._not_behind(usual)
            settings, refused = self._proved()
            self.tell("proving it", 0.6)
            after = fresh(settings, self.launches, self.claim_seed, self.asked)
            told = {item.name for item in after.stops}
            refused = (
                *(text for text in refused if text.partition(":")[0] not in told),
                *(f"{item.name}: {item.sentence}" for item in after.stops),
            )
        if after is not None and not refused:
            self.tell("proving it", 0.8)
            trade = self._fly(usual, self.claim_seed)
            broken = [item.words for item in self._on_desk(usual).broken]
            stops = [f"{item.name}: {item.sentence.rstrip('.')}" for item in trade.stops]
            compared = Usual(written(usual), gain_of(trade, after), (*broken, *stops))
        kept = after if not refused else None
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
            after=kept.clean if kept is not None else None,
            gain=gain_of(before, kept) if kept is not None else None,
            usual=compared,
            settings=self._explained(kept.setup) if kept is not None else (),
            chosen_hash=kept.setup.hash() if kept is not None else "",
            findings=after.findings if after is not None else before.findings,
            refused=refused,
            needs=self._needs() if refused else (),
            options=() if refused else self._options(stall_speed_mps),
        )

    def _fly(self, values: dict[str, float], seed: int) -> Flown:
        from overarm.describe.change import changed

        return fresh(changed(self.setup, written(values)), self.launches, seed, self.asked)

    def _on_desk(self, values: dict[str, float]) -> Trial:
        return self.desk.fly_out(self.desk.start(values), self.effort.fine_launches)

    def _refused(self) -> tuple[str, ...]:
        """Return why the search came to nothing; nothing if it came to something."""
        trial = self.found.chosen
        if trial.broken:
            return _broken(self.found)
        if trial.share < empty.GOOD_ENOUGH:
            least = 100.0 * empty.GOOD_ENOUGH
            best = (
                f"even the best settings give {100.0 * trial.share:.0f} % at the weak end of the day's wind"
            )
            return (f"{best}; {least:.0f} % is the least that is advised",)
        return ()

    def _not_behind(self, usual: dict[str, float]) -> None:
        """Take the usual settings if they keep every limit and fresh launches show them clearly better."""
        trade = self._on_desk(usual)
        if trade.broken:
            return
        self.tell("proving it", 0.2)
        ours = self._fly(self.found.chosen.values, self.proof_seed)
        theirs = self._fly(trade.values, self.proof_seed)
        if gain_of(theirs, ours).high < 0.0 and not theirs.stops:
            self.found = around(self.desk, trade, self.found.best_share, self.effort, self.tell)

    def _proved(self) -> tuple[Setup, tuple[str, ...]]:
        """Return the setup with its settings, and why they do not do if they do not.

        Many fresh launches look for hands at risk. If there are more than one of 1000, the jerk level rises,
        for most of them come from a draw-back that fires the cue, and then the start wait; each within its
        band.
        """
        values = dict(self.found.chosen.values)
        flown = self._fly(values, self.proof_seed)
        for _ in range(MOST_REPAIRS):
            if not _risky(flown):
                break
            safer = self._safer(values)
            if safer is None:
                break
            values, flown = safer, self._fly(safer, self.proof_seed)
        return flown.setup, _risky(flown)

    def _safer(self, values: dict[str, float]) -> dict[str, float] | None:
        """Return settings one move further from people at risk; None if their bands end."""
        bands = {band.key: band for band in self.found.bands}
        for key, share in (("jerk_level", LEVEL_MOVE), ("start_wait", 0.0)):
            choice = BY_KEY[key]
            move = max(choice.step, share * values[key])
            further = choice.rounded(values[key] + move)
            if further <= bands[key].high + 1e-9:
                return {**values, key: further}
        return None

    def _explained(self, settings: Setup) -> tuple[Chosen, ...]:
        values, before = chosen_in(settings), chosen_in(self.setup)
        bands = (band._replace(value=values[band.key]) for band in self.found.bands)
        return tuple(explained(band, before) for band in bands)

    def _broken_as_written(self) -> tuple[str, ...]:
        """Return the hard limits that the setup as written breaks."""
        own = chosen_in(self.setup)
        trial = self.desk.fly_out({c.key: own[c.key] for c in self.desk.choices}, self.effort.launches)
        return tuple(item.words for item in trial.broken)

    def _flown_best(self) -> Trial:
        return self.desk.fly_out(self.found.chosen.values, self.effort.launches)

    def _needs(self) -> tuple[Need, ...]:
        best = self._flown_best()
        found = empty.ideas(self.setup, best.values)
        return empty.tried(self.setup, best, found, self.effort.launches, self.desk.seed, self.asked)

    def _options(self, stall_speed_mps: float) -> tuple[Need, ...]:
        """Return the unused options that gain clearly."""
        best = self._flown_best()
        found = empty.options(self.setup, stall_speed_mps)
        needs = empty.tried(self.setup, best, found, self.effort.launches, self.desk.seed, self.asked)
        return tuple(need for need in needs if need.gain.low > 0.0)


def _broken(found: Found) -> tuple[str, ...]:
    """Return the limits that the nearest settings break, and what those that keep the first one break."""
    told = [f"{item.name}: {item.words}" for item in found.chosen.broken]
    other = found.instead.broken if found.instead is not None else ()
    if other:
        told.append(f"settings that keep it break another, {other[0].name}: {other[0].words}")
    return tuple(told)


def _risky(flown: Flown) -> tuple[str, ...]:
    return tuple(
        f"{item.name}: {item.sentence}" for item in flown.stops if item.name == "hand and disc, as flown"
    )
