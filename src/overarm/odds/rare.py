"""From a setup to the probability of one rare outcome, far out in the tails of its inputs.

Every launch is a world of its own here: what we do not know and what varies from throw to throw are both
drawn anew, so that the figure is the share of all launches. See docs/theory/rare.md.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

import overarm
from overarm.errors import Cancelled, InputError, Problem
from overarm.flight.campaign import Inputs, fly_numbered
from overarm.flight.draw import RULE_RARELY_SCALE, RULE_RARELY_SET, draw, records_of
from overarm.flight.inputs import overridden
from overarm.flight.outcomes import Outcome
from overarm.flight.record import STYLE_SPIN_IN_HAND
from overarm.odds.as_flown import MOST_HANDS_AT_RISK
from overarm.odds.closeness import KINDS, closeness, kind_of
from overarm.odds.finding import Finding
from overarm.odds.mixture import Floats, Ints, as_it_comes
from overarm.odds.rare_cause import ways
from overarm.odds.rare_range import CHUNK, Range, Space
from overarm.odds.rare_result import RareResult, RareTrail
from overarm.odds.rare_search import Search, search
from overarm.odds.rare_share import Share, Tally, in_whole_launches
from overarm.odds.rare_words import left_out, of_launches

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

HAND = Outcome.HAND_AT_RISK.label
DEFAULT_ERROR = 0.2
LEAST_ERROR, MOST_ERROR = 0.02, 1.0
DEFAULT_LAUNCHES = 60_000
FEWEST_LAUNCHES, MOST_LAUNCHES = 20_000, 2_000_000
MOST_SEARCHED = 14_000
FEWEST_COUNTED = 4000  # a figure from fewer rests on luck
SPARE = 1.2  # more launches than the search says are needed
STEP = 0.5  # so much more each time the error is still too large: few looks, little to gain by luck
# These are decided before the hand is clear: nobody has to fly on to the height of the handover.
DECIDED_EARLY = (Outcome.HAND_AT_RISK, Outcome.FALSE_START, Outcome.NO_START)
DECIDED_HEIGHT_M = 8.0
NOT_OF_STYLE = {
    "line-launched": (Outcome.HAND_AT_RISK,),
    "throw-started": (Outcome.HOOK_STUCK,),
    "spin-in-hand": (Outcome.HOOK_STUCK,),
}


class RareProgress(NamedTuple):
    """How far the work is, and what it says so far."""

    done: int
    at_most: int
    words: str


class Asked(NamedTuple):
    """How well the figure has to be known, and with how many launches at most, search and all."""

    until_error: float
    launches: int


def outcome_named(name: str, style: str) -> Outcome:
    """Return the outcome of a name such as "hand at risk". InputError if a launch of that style has none."""
    wanted = " ".join(name.lower().replace("-", " ").replace("_", " ").split())
    wanted = HAND if wanted == "hands at risk" else wanted
    known = {item.label: item for item in Outcome if item is not Outcome.CLEAN}
    if wanted not in known:
        cure = f"Give one of: {', '.join(known)}"
        raise InputError([Problem("is no outcome that can be looked for", cure, key="outcome", value=name)])
    if known[wanted] in NOT_OF_STYLE.get(style, ()):
        cure = "Ask for another outcome; the model has no way to this one"
        raise InputError([Problem(f"cannot happen in a {style} launch", cure, key="outcome", value=name)])
    return known[wanted]


def hold_possible(outcome: Outcome, inputs: Inputs) -> None:
    """Refuse an outcome that the model has no way to with these inputs: a bound on it would be empty praise.

    Raises InputError.
    """
    base = inputs.base
    spun = base["logic"]["style"][0] == STYLE_SPIN_IN_HAND
    message = ""
    if outcome is Outcome.STRUCK_OBSTACLE and not len(inputs.obstacles):
        message, cure = "cannot happen: the site has no obstacle", "Put those of the field on the site card"
    elif outcome is Outcome.HAND_AT_RISK and spun and base["propeller"]["behind"][0] < 0.5:
        message = (
            "cannot happen in the model: spun in the hand on purpose, only a pusher's disc passes a hand"
        )
        cure = "Ask for another outcome"
    if message:
        raise InputError([Problem(message, cure, key="outcome", value=outcome.label)])


def asked(until_error: float, launches: int) -> Asked:
    """Return what was asked for. InputError if it makes no sense."""
    if not LEAST_ERROR <= until_error <= MOST_ERROR:
        cure = f"Give a share from {LEAST_ERROR:g} to {MOST_ERROR:g}, such as 0.2 for 20 %."
        raise InputError(
            [Problem("is outside what can be met", cure, key="until-error", value=f"{until_error:g}")]
        )
    if not FEWEST_LAUNCHES <= launches <= MOST_LAUNCHES:
        cure = f"Give a number from {FEWEST_LAUNCHES:,} to {MOST_LAUNCHES:,}."
        raise InputError(
            [Problem("is outside what can be flown", cure, key="launches", value=f"{launches:,}")]
        )
    return Asked(until_error, launches)


def space_of(inputs: Inputs, outcome: Outcome, seed: int) -> Space:
    """Return the inputs of a campaign as a space in which an outcome can be looked for."""
    height_m = float(inputs.base["logic"]["handover_height_m"][0])
    if outcome in DECIDED_EARLY:
        inputs = overridden(inputs, {"logic.handover_height_m": min(height_m, DECIDED_HEIGHT_M)})
    each = replace(inputs.rules, layer=np.ones_like(inputs.rules.layer))

    def plain(first: int, launches: int) -> Floats:
        return draw(inputs.base, each, launches, seed, first)[1]

    table, values = inputs.rules.table, inputs.rules.values
    lots = [k for k in range(len(table)) if table[k, 2] in (RULE_RARELY_SCALE, RULE_RARELY_SET)]

    def near(scores: Floats, numbers: Ints) -> tuple[Floats, Ints]:
        records = records_of(inputs.base, inputs.rules, scores)
        flown = fly_numbered(inputs, records, seed, numbers)
        kind = kind_of(flown)
        for place, k in enumerate(lots):  # with a slip it is another way than without
            kind += KINDS * 2**place * (scores[:, table[k, 0]] < values[k, 0])
        return closeness(outcome, flown), kind

    return Space(tuple(item.name for item in inputs.rules.inputs), plain, near)


def launches_needed(found: Search, wanted: Asked, left: int) -> int:
    """Return with how many launches to begin, in whole chunks: what the search says, or all that are left."""
    most = max(CHUNK, left // CHUNK * CHUNK)
    if found.proposal is None:
        return most
    guess = min(SPARE * found.relative_variance / wanted.until_error**2, float(most))
    return int(min(most, max(FEWEST_COUNTED, -(-guess // CHUNK) * CHUNK)))


class Counted(NamedTuple):
    """What a search and the launches counted after it say."""

    tally: Tally
    launches: int  # in all
    search_launches: int
    stopped_because: str
    cancelled: bool

    @property
    def share(self) -> Share:
        """Return the probability with its error."""
        return self.tally.share()


def count(field: Range, wanted: Asked, tell: Callable[[Share], None] | None = None) -> Counted:
    """Search, freeze the proposal, and fly from it until the error is small or the launches are spent.

    The first number of launches comes from the search, so that it does not hang on what they show; after
    that the error is looked at only when half as many again have been flown.

    Raises
    ------
    Cancelled
        If somebody asked for it before the first launches were counted.
    """
    found = search(field, min(MOST_SEARCHED, wanted.launches // 2))
    searched = field.flown
    proposal = as_it_comes(field.space.dimension) if found.proposal is None else found.proposal
    tally = Tally(in_whole_launches(proposal), (found.plain_launches, found.plain_events), found.settled)
    target = launches_needed(found, wanted, wanted.launches - searched)
    try:
        while tally.launches == 0 or field.flown + CHUNK <= wanted.launches:
            tally.add(field.draw(tally.proposal, CHUNK))
            share = tally.share()
            if tell is not None:
                tell(share)
            if tally.launches < target:
                continue
            if share.told and share.relative_error <= wanted.until_error:
                return Counted(tally, field.flown, searched, _close_enough(share, wanted), False)
            if not share.told and not share.rests_on_few:
                return _bounded(field, wanted, tally, searched)
            target += max(CHUNK, int(STEP * target) // CHUNK * CHUNK)
    except Cancelled:
        if not tally.launches:
            raise
        return Counted(tally, field.flown, searched, "it was cancelled", True)
    return Counted(tally, field.flown, searched, f"all {field.flown:,} launches were flown", False)


def _close_enough(share: Share, wanted: Asked) -> str:
    is_now, enough = 100.0 * share.relative_error, 100.0 * wanted.until_error
    return f"one standard error is {is_now:.0f} %, {enough:.0f} % were asked for"


def _bounded(field: Range, wanted: Asked, tally: Tally, searched: int) -> Counted:
    """Spend the launches that are left on the bound: the figure is too small to be told."""
    plain = as_it_comes(field.space.dimension)
    while field.flown + CHUNK <= wanted.launches:
        tally.add_plain(field.draw(plain, CHUNK))
    return Counted(tally, field.flown, searched, f"all {field.flown:,} launches were flown", False)


def finding_on(outcome: Outcome, share: Share) -> Finding | None:
    """Return the finding on a hand at risk: stop above one of 1000, not known if that is not excluded.

    None below, and for other outcomes: a small figure of a model is no word of praise.
    """
    if outcome is not Outcome.HAND_AT_RISK:
        return None
    numbers = {"probability": share.probability, "standard_error": share.standard_error}
    if not share.rests_on_few and share.probability > MOST_HANDS_AT_RISK:
        how_often = of_launches(share.probability)
        said = f"In the model the disc turns near a hand in {how_often}; one of 1000 is the most."
        return Finding(HAND, "stop", said, numbers, combined=True)
    if share.at_most > MOST_HANDS_AT_RISK:
        said = "More launches must show whether a hand is at risk in less than one of 1000."
        return Finding(HAND, "not known", said, numbers, combined=True)
    return None


def rare(
    setup: Setup,
    outcome: str = HAND,
    seed: int = 1,
    *,
    until_error: float = DEFAULT_ERROR,
    launches: int = DEFAULT_LAUNCHES,
    progress: Callable[[RareProgress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> RareResult:
    """Return how often one outcome happens, however rare, by drawing launches where it happens.

    Parameters
    ----------
    setup : Setup
        From `overarm.load`.
    outcome : str
        Name of an outcome, such as "hand at risk" or "rolled over".
    seed : int
        The same seed and setup give the same answer, on any number of cores.
    until_error : float
        Stop when one standard error is this share of the probability, 0.02 to 1.
    launches : int
        The most that are flown, search and all.
    progress, cancelled : callable, optional
        Told after, and asked before, each chunk of launches.

    Returns
    -------
    RareResult

    Raises
    ------
    InputError
        If the outcome cannot happen to that setup, or error or launches make no sense.
    Cancelled
        If it was cancelled before the first launches were counted.
    """
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of
    from overarm.odds.known import drawn_inputs

    wanted, sought = asked(until_error, launches), outcome_named(outcome, setup.style)
    inputs = inputs_of(setup, derive(setup))
    hold_possible(sought, inputs)
    so_far = ["looking for it"]

    def tell(done: int) -> None:
        if progress is not None:
            progress(RareProgress(done, launches, so_far[0]))

    def keep(share: Share) -> None:
        if share.probability > 0.0:
            error = f"{100.0 * share.relative_error:.0f} %"
            so_far[0] = f"so far {of_launches(share.probability)}, give or take {error}"

    space = space_of(inputs, sought, seed)
    counted = count(Range(space, tell, cancelled), wanted, keep)
    tally, share = counted.tally, counted.share
    trail = RareTrail(
        outcome=sought.label,
        seed=seed,
        version=overarm.__version__,
        setup_hash=setup.hash(),
        launches=counted.launches,
        search_launches=counted.search_launches,
        stopped_because=counted.stopped_because,
        cancelled=counted.cancelled,
    )
    return RareResult(
        trail=trail,
        share=share,
        ways=ways(tally.proposal, tally.weights, tally.scores, space.names),
        finding=finding_on(sought, share),
        inputs=drawn_inputs(setup, inputs.rules),
        left_out=left_out(sought),
    )
