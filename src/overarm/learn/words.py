"""What was learned, how far it moved and how little it is, in sentences."""

from __future__ import annotations

from overarm.describe.setup import Setup
from overarm.learn.targets import dimension_of, learning_prior, scatter_prior, unit_for
from overarm.learn.update import Update
from overarm.units import Dimension, from_si

# The 90 % interval of a scatter, high over low: below the first it is known well, above the second hardly.
WELL, HARDLY = 1.5, 2.5
FEW = 3
SAME = 0.25  # of one sd: less than this is no move
WIDER, LARGER = 1.02, 1.1  # a spread, a scatter so many times that of before has grown


class Shower:
    """Writes figures of one input in the unit of its card."""

    def __init__(self, setup: Setup, key: str) -> None:
        self.dimension: Dimension = dimension_of(key)
        self.unit = unit_for(setup, key)

    def __call__(self, value: float, digits: int = 3) -> str:
        """Return an SI number in the person's unit; a plain number without one."""
        return from_si(value, self.dimension, self.unit, digits)

    def bare(self, value: float, digits: int = 3) -> str:
        """Return the same without its unit."""
        return self(value, digits).removesuffix(f" {self.unit}")


def count_words(update: Update) -> str:
    """Return how much stands behind an update: "2 throws", "1 bench test and 3 launches"."""
    parts = []
    if update.bench:
        name = "throw in a video" if update.target.counted == "throw" else "bench test"
        plural = "throws in a video" if update.target.counted == "throw" else "bench tests"
        parts.append(f"{update.bench} {name if update.bench == 1 else plural}")
    if update.launches:
        name = update.target.counted
        parts.append(f"{update.launches} {name if update.launches == 1 else _plural(name)}")
    return " and ".join(parts)


def _plural(name: str) -> str:
    return "launches" if name == "launch" else f"{name}s"


def moved_words(setup: Setup, update: Update) -> str:
    """Return how far an input moved, in a sentence."""
    show, target = Shower(setup, update.target.input), update.target
    before, after = update.before, update.after
    known = f"known to +-{show(after.spread, 2)} (before +-{show(before.spread, 2)})"
    head = f"{target.words[0].upper()}{target.words[1:]}: {show(after.value)}, {known}"
    if abs(update.moved) < SAME * max(before.spread, after.spread):
        return f"{head}; as good as the card's {show(before.value)}."
    side = target.more if update.moved > 0.0 else target.less
    if target.model == "normal":
        return f"{head}; {show(abs(update.moved), 2)} {side} than the card's {show(before.value)}."
    if before.value > 0.0 and after.value > 0.0 and target.model != "jig":
        share = 100.0 * abs(after.value / before.value - 1.0)
        return f"{head}; {share:.0f} % {side} than the card's {show(before.value)}."
    return f"{head}; {show(abs(update.moved), 2)} {side} than the card's {show(before.value)}."


def little_words(setup: Setup, update: Update) -> str:
    """Return how little stands behind an update, in a sentence: nothing is learned without it."""
    count, after = count_words(update), update.after
    show = Shower(setup, update.target.input)
    head = f"{count}: the {'median' if update.target.model == 'positive' else 'mean'} is known to "
    if after.scatter is None:
        said = f"{count}: {_share(update)}"
        if update.launches:
            said += "; more launches of this kind share part of their error"
        return f"{said}."
    scatter = after.scatter
    if update.target.model == "positive":
        ends = f"{100.0 * scatter.low:.0f} to {100.0 * scatter.high:.0f} %"
    else:
        ends = f"{show.bare(scatter.low, 2)} to {show(scatter.high, 2)}"
    number = update.launches + update.bench
    wide = scatter.high / scatter.low
    how = "hardly at all" if wide > HARDLY or number < FEW else "well" if wide < WELL else "roughly"
    said = f"{head}+-{show(after.spread, 2)}; the scatter {how} ({ends})"
    return f"{said}. One {update.target.counted} is no habit." if number == 1 else f"{said}."


def _share(update: Update) -> str:
    before, after = update.before, update.after
    if before.value > 0.0 and after.value > 0.0 and update.target.model == "scale":
        was, now = 100.0 * before.spread / before.value, 100.0 * after.spread / after.value
        return f"one sd went from {was:.1f} to {now:.1f} %"
    return f"one sd is {update.narrowed:.2f} of what it was"


def slip_words(update: Update, setup: Setup) -> str:
    """Return a sentence about throws that look like slips of the grip; empty if there is none."""
    if (
        update.target.input != "thrower.release_speed"
        or update.after.scatter is None
        or setup.thrower is None
    ):
        return ""
    after = update.after
    assert after.scatter is not None
    slow = after.value - 3.0 * after.scatter.value
    slips = [item for item in update.evidence if not item.lower_bound and item.value + item.error < slow]
    if not slips:
        return ""
    show = Shower(setup, update.target.input)
    which = ", ".join(show(item.value) for item in slips)
    return f"Looks like a slip of the grip and counts little: {which}."


def wider_words(update: Update, setup: Setup) -> str:
    """Return why a mean is less sure than its card said, or a scatter larger; empty if neither is."""
    before, after = update.before.scatter, update.after.scatter
    if before is None or after is None:
        return ""
    larger = after.value > LARGER * before.value
    if update.narrowed <= WIDER:
        return (
            "What was seen lies far from the card, so the scatter may be larger than it says."
            if larger
            else ""
        )
    claimed, counted = (of(setup, update.target).mean_throws for of in (scatter_prior, learning_prior))
    why = []
    if claimed > counted:
        throws = _plural(update.target.counted)
        why.append(
            f"learning counts a card as {counted:.2g} {throws} at most, and this one claims {claimed:.2g}"
        )
    if larger:
        why.append(
            "what was seen lies far from the card, so the scatter may be larger, and the mean is less sure"
        )
    return f"Less sure than before: {'; '.join(why)}." if why else ""


def stubborn_words(update: Update, setup: Setup) -> str:
    """Return how much a card counts that is off, and what to do if it should count less."""
    if update.after.scatter is not None:
        throws = learning_prior(setup, update.target).mean_throws
        said = f"The card counts as {throws:.2g} {_plural(update.target.counted)}"
    else:
        said = f"The card says it is known to +-{Shower(setup, update.target.input)(update.before.spread, 2)}"
    return f"{said}; if it was measured less well than that, give it a wider spread and learn again."
