"""From settings that a search has found to settings that are proved, or to why there are none."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

import overarm
from overarm.odds.as_flown import HAND_AS_FLOWN, hands_shown
from overarm.odds.finding import Finding
from overarm.odds.what_if import Pair
from overarm.settings import empty
from overarm.settings.choices import BY_KEY, chosen_in, written
from overarm.settings.desk import Desk, Trial
from overarm.settings.explain import explained
from overarm.settings.fresh import Flown, fresh
from overarm.settings.result import Chosen, Need, SettingsResult, Usual
from overarm.settings.search import Band, Edge, Effort, Found, Tell, around

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

# Launches that took part in no choice: far from every seed that a person types.
PROOF_SEED_AHEAD, CLAIM_SEED_AHEAD = 500_000_003, 1_000_000_007
MOST_SEED = 2**62
PROOF_LAUNCHES = 20_000  # that one hand of 1000 can be seen in
# Moves away from people at risk, by what hand and disc are as flown.
MOST_MOVES = {"good": 0, "watch": 3, "not known": 3, "stop": 8}
LEVEL_MOVE = 0.1  # of the jerk level, at a time
PROVED = ("start_wait", "jerk_level")


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
        hand = before.hand
        after, compared = None, None
        if not refused:
            self._not_behind(usual)
            proved = self._proved()
            hand = proved.hand
            refused = _told([hand] if hand is not None and hand.word == "stop" else [])
        if not refused:
            if hand is not None:
                self._prove_edges()
            self.tell("proving it", 0.7)
            after = fresh(proved.setup, self.launches, self.claim_seed, self.asked, self.desk.flyers)
            refused = _told(after.stops)
        if after is not None and not refused:
            self.tell("proving it", 0.8)
            trade = self._fly(usual, self.claim_seed)
            broken = [item.words for item in self._on_desk(usual).broken]
            stops = (text.rstrip(".") for text in _told(trade.stops))
            compared = Usual(written(usual), Pair(trade.table, after.table).difference, (*broken, *stops))
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
            hard_wind_10m_mps=float(self.desk.inputs.base["air"]["wind_10m_mps"][0]),
            search_share=self.found.best_share,
            before=before.clean,
            before_broken=self._broken_as_written(),
            after=kept.clean if kept is not None else None,
            gain=Pair(before.table, kept.table).difference if kept is not None else None,
            usual=compared,
            settings=self._explained(kept.setup) if kept is not None else (),
            chosen_hash=kept.setup.hash() if kept is not None else "",
            findings=_with_hand((after or before).findings, hand),
            refused=refused,
            needs=self._needs() if refused else (),
            options=() if refused else self._options(stall_speed_mps),
        )

    def _fly(self, values: dict[str, float], seed: int, launches: int | None = None) -> Flown:
        from overarm.describe.change import changed

        there = changed(self.setup, written(values))
        return fresh(there, launches or self.launches, seed, self.asked, self.desk.flyers)

    def _around(self, now: Trial, done: float) -> Found:
        """Return settings as they are with their bands anew; ``done``: share of the proof before it."""

        def tell(share: float) -> None:
            self.tell("proving it", done + 0.2 * share)

        return around(self.desk, now, self.found.best_share, self.effort, tell)

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
                f"even the best settings give {100.0 * trial.share:.0f} % at the hard end of the day's wind"
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
        if Pair(theirs.table, ours.table).difference.high < 0.0 and not theirs.stops:
            self.found = self._around(trade, 0.3)

    def _proved(self) -> Flown:
        """Return the setup with its settings, flown many times to look for hands at risk.

        Until hand and disc are good as flown the jerk level rises, for most hands at risk come from a
        draw-back that fires the cue, and then the start wait; each within its band, and no more than a few
        moves unless it is a stop. Bands are then found anew.
        """
        values = dict(self.found.chosen.values)
        flown = self._fly(values, self.proof_seed, PROOF_LAUNCHES)
        moves = 0
        while moves < MOST_MOVES[flown.hand.word if flown.hand is not None else "good"]:
            safer = self._safer(values)
            if safer is None:
                break
            values, flown = safer, self._fly(safer, self.proof_seed, PROOF_LAUNCHES)
            moves += 1
        if moves:
            moved = self.desk.fly_out(values, self.effort.fine_launches)
            self.found = self._around(moved, 0.5)
        return flown

    def _prove_edges(self) -> None:
        """Let start wait and jerk level reach no lower than as many launches have shown hands clear."""
        self.found = self.found._replace(bands=tuple(self._proved_band(band) for band in self.found.bands))

    def _proved_band(self, band: Band) -> Band:
        if band.key not in PROVED or band.low >= band.value or self._clear_at(band.key, band.low):
            return band
        words = f"with less, {PROOF_LAUNCHES:,} launches do not show hands clear"
        return band._replace(low=band.value, below=Edge("limit", words, HAND_AS_FLOWN))

    def _clear_at(self, key: str, value: float) -> bool:
        flown = self._fly({**self.found.chosen.values, key: value}, self.proof_seed, PROOF_LAUNCHES)
        return flown.hand is not None and hands_shown(flown.hand)

    def _safer(self, values: dict[str, float]) -> dict[str, float] | None:
        """Return settings one move further from people at risk; None where their bands end.

        Each band holds with the other setting where it was, so what both moves come to is flown.
        """
        bands = {band.key: band for band in self.found.bands}
        for key, share in (("jerk_level", LEVEL_MOVE), ("start_wait", 0.0)):
            choice = BY_KEY[key]
            move = max(choice.step, share * values[key])
            further = choice.rounded(values[key] + move)
            safer = {**values, key: further}
            if further <= bands[key].high + 1e-9 and not self._on_desk(safer).broken:
                return safer
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

    def _helped(self, ideas: Callable[[Trial], list[empty.Idea]]) -> tuple[Need, ...]:
        """Return what some ideas give, with launches that took part in no choice."""
        other = self.desk.at_seed(self.proof_seed)
        best = other.fly_out(self.found.chosen.values, self.effort.launches)
        launches = self.effort.launches
        return empty.tried(other, best, ideas(best), launches, self.asked)

    def _needs(self) -> tuple[Need, ...]:
        return self._helped(lambda best: empty.ideas(self.setup, best.values))

    def _options(self, stall_speed_mps: float) -> tuple[Need, ...]:
        """Return the unused options that gain clearly."""
        needs = self._helped(lambda _best: empty.options(self.setup, stall_speed_mps))
        return tuple(need for need in needs if need.gain.low > 0.0)


def _broken(found: Found) -> tuple[str, ...]:
    """Return the limits that the nearest settings break, and what those that keep the first one break."""
    told = [f"{item.name}: {item.words}" for item in found.chosen.broken]
    other = found.instead.broken if found.instead is not None else ()
    if other:
        told.append(f"settings that keep it break another, {other[0].name}: {other[0].words}")
    return tuple(told)


def _told(found: Iterable[Finding]) -> tuple[str, ...]:
    return tuple(f"{item.name}: {item.sentence}" for item in found)


def _with_hand(found: tuple[Finding, ...], hand: Finding | None) -> tuple[Finding, ...]:
    """Return the findings with that on hand and disc of the proof, which flew the most launches."""
    return tuple(hand if item.name == HAND_AS_FLOWN and hand is not None else item for item in found)
