"""One desk on which settings are tried: same aeroplane, same wind, same random numbers for all of them.

The wind is held at the hard end of the day's band, because that is where odds are lost; all else
that is not known varies as ever.
"""

from __future__ import annotations

import copy
import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.describe.outlines import ahead_m, outlines, wanted_gap_m
from overarm.errors import Cancelled
from overarm.flight.campaign import Inputs
from overarm.flight.inputs import inputs_of, overridden, without_rules
from overarm.flight.outcomes import Outcome
from overarm.odds.facts import Facts
from overarm.odds.flyers import HERE, Flyers, Job
from overarm.settings import limits
from overarm.settings.carry import carry_of
from overarm.settings.choices import CHOICES, Choice, Range, as_fields, chosen_in, written

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

WIND_QUANTILE = 0.20
# By rank: one limit of a rank, broken ever so little, outweighs all of the next, broken as far as it goes.
WEIGHTS = (5000.0, 200.0, 1.0)
BROKEN = 0.05  # what breaking a limit costs, however little
NEAR_OBSTACLE_M, TIMES_OBSTACLE = 150.0, 1.5
CEILING_SHARE = 0.9
ALIKE_M = 1e-9  # gaps that differ by less are one

Values = Mapping[str, float]


class Trial(NamedTuple):
    """Settings, their odds on the desk, and their limits."""

    values: dict[str, float]
    clean: NDArray[np.bool_]  # (n,), empty if a limit on paper was broken and nothing was flown
    margins: tuple[limits.Margin, ...]
    outcomes: NDArray[np.int64]

    @property
    def share(self) -> float:
        """Return the share of clean launches; 0 if nothing was flown."""
        return float(np.mean(self.clean)) if len(self.clean) else 0.0

    @property
    def broken(self) -> tuple[limits.Margin, ...]:
        """Return the limits that are broken, people first."""
        return tuple(sorted((item for item in self.margins if not item.kept), key=lambda item: item.rank))

    @property
    def score(self) -> float:
        """Return the share less what broken limits cost; above -1 only if all limits are kept."""
        cost = sum(WEIGHTS[item.rank] * (BROKEN + min(1.0, -item.spare)) for item in self.broken)
        return self.share - cost - (1.0 if cost else 0.0)


class Desk:
    """Tries settings of one setup."""

    def __init__(
        self,
        setup: Setup,
        derived: Derived,
        seed: int,
        cancelled: Callable[[], bool] | None = None,
        flyers: Flyers = HERE,
    ) -> None:
        self.setup, self.seed, self.flyers = setup, seed, flyers
        self.choices = playable(setup)
        self.ranges = {choice.key: range_for(setup, choice) for choice in self.choices}
        self.inputs = at_hard_wind(inputs_of(setup, derived), setup)
        self.carry = carry_of(setup)
        self.tried = 0
        self._cancelled = cancelled or (lambda: False)
        self._facts: dict[float, Facts] = {}
        self._paper: dict[tuple[float, ...], tuple[limits.Margin, ...]] = {}

    def at_seed(self, seed: int) -> Desk:
        """Return a desk like this one with other random numbers."""
        other = copy.copy(self)
        other.seed = seed
        return other

    def facts(self, values: Values) -> Facts:
        """Return the figures of the setup with other settings."""
        ceiling = values["launch_ceiling"]
        if ceiling not in self._facts:
            self._facts[ceiling] = _facts_at(self.setup, ceiling)
        base = self._facts[ceiling]
        cue = base.cue._replace(level_mps2=values["jerk_level"], dwell_s=values["jerk_dwell"])
        plan = base.plan._replace(
            start_wait_s=values["start_wait"],
            rise_per_s=values["throttle_rise"],
            climb_pitch_rad=values["climb_pitch"],
            handover_height_m=values["handover_height"],
        )
        throw = base.throw._replace(gate_mps=values.get("speed_gate", base.throw.gate_mps))
        return base._replace(cue=cue, plan=plan, throw=throw)

    def on_paper(self, values: Values) -> tuple[limits.Margin, ...]:
        """Return the limits that need no flight."""
        key = tuple(values[choice.key] for choice in self.choices)
        if key not in self._paper:
            carry = self.carry._replace(
                level_mps2=values["jerk_level"],
                dwell_s=values["jerk_dwell"],
                pitch_high_rad=values.get("pose_window.pitch_high", self.carry.pitch_high_rad),
            )
            self._paper[key] = limits.on_paper(self.facts(values), carry)
        return self._paper[key]

    def fly(self, values: Values, launches: int) -> NDArray[np.void]:
        """Return the summaries of launches with these settings. Raises Cancelled."""
        (table,) = self.flyers.tables([self._job(values, launches)], self._cancelled)
        return table

    def over_wanted_m(self, values: Values, table: NDArray[np.void]) -> NDArray[np.float64] | None:
        """Return the least height of each launch over the gap wanted over each obstacle. Raises Cancelled."""
        raised = self._raised(values, len(table))
        return self._over_wanted_m(table, self.flyers.tables(raised, self._cancelled))

    def try_out(self, values: Values, launches: int, strict: bool = False) -> Trial:
        """Return the trial of some settings, as `try_all` does. Raises Cancelled."""
        (trial,) = self.try_all([values], launches, strict)
        return trial

    def try_all(self, asked: Sequence[Values], launches: int, strict: bool = False) -> list[Trial]:
        """Return the trials of several settings, flown together.

        Nothing is flown if people are at risk on paper already, or with ``strict`` if any limit on paper
        is broken. Raises Cancelled.
        """
        if self._cancelled():
            raise Cancelled
        self.tried += len(asked)
        papers = [self.on_paper(values) for values in asked]
        flies = [
            not any(not item.kept and (strict or item.rank == limits.Rank.PEOPLE) for item in paper)
            for paper in papers
        ]
        flown = iter(self._flown([values for values, fly in zip(asked, flies, strict=True) if fly], launches))
        return [
            next(flown) if fly else Trial(dict(values), np.zeros(0, bool), paper, np.zeros(0, np.int64))
            for values, paper, fly in zip(asked, papers, flies, strict=True)
        ]

    def fly_out(self, values: Values, launches: int) -> Trial:
        """Return the trial of some settings, flown whatever its limits on paper say. Raises Cancelled."""
        self.tried += 1
        (trial,) = self._flown([values], launches)
        return trial

    def _job(self, values: Values, launches: int) -> Job:
        return Job(overridden(self.inputs, as_fields(dict(values))), launches, self.seed)

    def _raised(self, values: Values, launches: int) -> list[Job]:
        """Return what is flown besides to see gaps: if they differ, against obstacles raised by them."""
        wanted = self._wanted_m()
        if not len(wanted) or np.ptp(wanted) < ALIKE_M:
            return []
        job = self._job(values, launches)
        walls = self.inputs.obstacles.copy()
        walls[:, -1] += wanted
        raised = dataclasses.replace(job.inputs, obstacles=np.ascontiguousarray(walls))
        return [job._replace(inputs=raised)]

    def _over_wanted_m(
        self, table: NDArray[np.void], raised: Sequence[NDArray[np.void]]
    ) -> NDArray[np.float64] | None:
        """Return the least height over the gaps wanted, from the launches and those against raised walls."""
        wanted = self._wanted_m()
        if not len(wanted):
            return None
        if raised:
            return np.asarray(raised[0]["obstacle_gap_m"])
        gap = table["obstacle_gap_m"]
        return np.where(gap < limits.FAR_M, gap - wanted[0], gap)

    def _wanted_m(self) -> NDArray[np.float64]:
        return np.array([wanted_gap_m(_distance_m(wall)) for wall in self.inputs.obstacles])

    def _flown(self, wanted: Sequence[Values], launches: int) -> list[Trial]:
        jobs = [[self._job(values, launches), *self._raised(values, launches)] for values in wanted]
        flown = iter(self.flyers.tables([job for own in jobs for job in own], self._cancelled))
        trials = []
        for values, own in zip(wanted, jobs, strict=True):
            table, *raised = (next(flown) for _ in own)
            over_m = self._over_wanted_m(table, raised)
            margins = (*self.on_paper(values), *limits.as_flown(table, self.facts(values), over_m))
            outcomes = table["outcome"].astype(np.int64)
            trials.append(Trial(dict(values), outcomes == Outcome.CLEAN, margins, outcomes))
        return trials

    def start(self, values: Values) -> dict[str, float]:
        """Return settings brought into the ranges, each on its step, with what is missing filled in."""
        own = chosen_in(self.setup)
        out = {}
        for choice in self.choices:
            low, high = self.ranges[choice.key]
            out[choice.key] = choice.rounded(min(max(values.get(choice.key, own[choice.key]), low), high))
        return out


def playable(setup: Setup) -> tuple[Choice, ...]:
    """Return the choices of a setup: all that every setup has, and the optional ones that it uses."""
    own = chosen_in(setup)
    return tuple(choice for choice in CHOICES if not choice.optional or choice.key in own)


def range_for(setup: Setup, choice: Choice) -> Range:
    """Return where a setting is looked for; the handover height fits the obstacles and the ceiling."""
    low, high = choice.range_of(setup.style)
    if choice.key != "handover_height":
        return Range(low, high)
    ahead = [(ahead_m(item), item.height_m) for item in outlines(setup)]
    placed = [(away, height) for away, height in ahead if away is not None]
    near = [height for away, height in placed if away <= NEAR_OBSTACLE_M]
    tops = [height + wanted_gap_m(away) for away, height in placed]
    ceiling = CEILING_SHARE * setup.site.legal_ceiling_m.value
    low = min(max(low, TIMES_OBSTACLE * max(near, default=0.0)), ceiling)
    high = min(max(high, 1.2 * max(tops, default=0.0)), ceiling)
    step = choice.step
    return Range(step * math.ceil(low / step - 1e-9), max(low, step * math.floor(high / step + 1e-9)))


def at_hard_wind(inputs: Inputs, setup: Setup) -> Inputs:
    """Return inputs whose mean wind is at the hard end of the day's band, and does not vary.

    The 20th percentile of a wind from ahead, which helps; the 80th of one from behind, which does not.
    """
    from scipy.special import ndtri

    from overarm.flight.groups import to_ten_metres

    sd = setup.day.wind_mps.spread * to_ten_metres(setup)
    ahead = math.cos(setup.day.wind_angle_rad.value) >= 0.0
    z = float(ndtri(WIND_QUANTILE if ahead else 1.0 - WIND_QUANTILE))
    wind = float(inputs.base["air"]["wind_10m_mps"][0]) + z * sd
    return overridden(without_rules(inputs, ("air.wind_10m_mps",)), {"air.wind_10m_mps": wind})


def _distance_m(wall: NDArray[np.float64]) -> float:
    """Return how far a wall (x1, y1, x2, y2, height) is from the point of release [m]."""
    along = wall[2:4] - wall[:2]
    length = float(along @ along)
    share = min(1.0, max(0.0, -float(wall[:2] @ along) / length)) if length > 0.0 else 0.0
    return float(np.hypot(*(wall[:2] + share * along)))


def _facts_at(setup: Setup, ceiling: float) -> Facts:
    from overarm.describe.change import changed
    from overarm.describe.derived import derive
    from overarm.odds.gather import gather_facts

    there = changed(setup, written({"launch_ceiling": ceiling}))
    return gather_facts(there, derive(there))
