"""From a cleaned recording to its review, launch by launch."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

import overarm
from overarm.errors import InputError, Problem
from overarm.recordings.estimates import events_and_estimates
from overarm.recordings.estimates.taken import take
from overarm.recordings.launch import LaunchRecord
from overarm.recordings.phases import phases_of
from overarm.review.advice import advice_of
from overarm.review.again import Try, fly_again, tries_of
from overarm.review.day import OneAWorld
from overarm.review.flown import as_flown, overrides_of
from overarm.review.margins import margins_of, weakest_of
from overarm.review.outcome import verdict_of
from overarm.review.predict import LAUNCHES, only_seen, predict, stopping
from overarm.review.remarks import remarks_of
from overarm.review.result import LaunchReview, Review
from overarm.review.seen import Seen
from overarm.review.trials import trials_of

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.flight.campaign import Inputs
    from overarm.recordings.recording import Recording

FEWEST_LAUNCHES, MOST_LAUNCHES = 50, 20_000
MEASURED_SHARE, PREDICTED_SHARE = 0.1, 0.5  # of the time that a launch takes
Progress = Callable[[str, float], None]


class Wanted(NamedTuple):
    """What is wanted besides: one launch of the recording (0: all), and changes to fly it again with.

    The changes are as `overarm.describe.change.changed` takes them, all at once.
    """

    only: int = 0
    changes: Mapping[str, str] = MappingProxyType({})


ALL = Wanted()


class Telling(NamedTuple):
    """Who hears of the work, and may stop it."""

    tell: Progress
    cancelled: Callable[[], bool] | None
    parts: int

    def of(self, k: int, number: int) -> Callable[[float], None]:
        """Return what hears of the share that is done of one launch."""

        def heard(share: float) -> None:
            self.tell(f"launch {number}", (k + share) / self.parts)

        return stopping(self.cancelled, heard)


class _Cards(NamedTuple):
    """What all launches of a recording share."""

    setup: Setup
    derived: Derived
    inputs: Inputs
    expected: OneAWorld  # launches behind what was to be expected
    again: OneAWorld  # launches for each thing that is changed
    tries: Sequence[Try]
    trigger: tuple[tuple[float, float], ...]  # level and dwell that were asked for


def review(
    recording: Recording,
    setup: Setup | None = None,
    derived: Derived | None = None,
    *,
    seed: int = 1,
    launches: int = LAUNCHES,
    wanted: Wanted = ALL,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Review:
    """Return what a recording holds: each launch, what was to be expected, and what to change.

    Parameters
    ----------
    recording : Recording
        As cleaned (`overarm.recordings.reading.opened`).
    setup, derived : optional
        What was flown. Without it there are no limits, no prediction and no counterfactuals.
    seed, launches : int
        So many launches are flown for what was to be expected, and half as many for each thing that is
        changed: differences of the same launches are known better than shares.
    wanted : Wanted
        Which launch, and one more change to try.
    progress, cancelled : callable, optional
        Told what is being done and which share of all is done; asked often.

    Raises
    ------
    InputError
        For a number of launches that makes no sense, a change that no card takes, or one without a setup.
    Cancelled
        As soon as it is asked for.
    """
    _check(setup, launches, wanted.changes)
    tell = progress or (lambda _what, _share: None)
    stopping(cancelled, lambda share: tell("dividing the recording", share))(0.0)
    cards = _cards_of(setup, derived, (launches, seed, wanted.changes))
    phases = phases_of(recording, setup)
    chosen = [launch for launch in phases.launches if wanted.only in (0, launch.number)]
    if wanted.only and not chosen:
        cure = f"It holds {len(phases.launches)}; leave it out for all"
        raise InputError(
            [Problem("is no launch of this recording", cure, key="launch", value=str(wanted.only))]
        )
    telling = Telling(tell, cancelled, len(chosen))
    found = [
        _launch(recording, launch, cards, telling.of(k, launch.number)) for k, launch in enumerate(chosen)
    ]
    return Review(
        name=recording.name,
        sha256=recording.sha256,
        form=recording.form,
        start_utc=recording.start_utc,
        seconds=recording.to_s - recording.from_s,
        rates_hz={name: round(channel.rate_hz, 2) for name, channel in recording.channels.items()},
        version=overarm.__version__,
        setup_name="" if setup is None else setup.name,
        setup_hash="" if setup is None else setup.hash(),
        seed=seed,
        asked_launches=launches,
        launches=tuple(found),
        spans=phases.spans,
        repairs=recording.repairs,
        remarks=(*phases.remarks, *remarks_of(recording, found)),
    )


def _check(setup: Setup | None, launches: int, changes: Mapping[str, str]) -> None:
    if not FEWEST_LAUNCHES <= launches <= MOST_LAUNCHES:
        cure = f"Give {FEWEST_LAUNCHES} to {MOST_LAUNCHES:,}"
        raise InputError(
            [Problem("cannot be what launches are compared with", cure, key="launches", value=str(launches))]
        )
    if changes and setup is None:
        raise InputError([Problem("changes a setup, and there is none", "Add --setup FILE", key="--set")])
    if changes and setup is not None:
        from overarm.describe.change import changed

        changed(setup, changes)  # raises before anything is flown


def _cards_of(
    setup: Setup | None, derived: Derived | None, flying: tuple[int, int, Mapping[str, str]]
) -> _Cards | None:
    if setup is None:
        return None
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of

    launches, seed, changes = flying
    found = derived if derived is not None else derive(setup)
    return _Cards(
        setup,
        found,
        inputs_of(setup, found),
        OneAWorld(launches, seed),
        OneAWorld(max(FEWEST_LAUNCHES, launches // 2), seed),
        tries_of(setup, found, changes),
        _asked(setup, changes),
    )


def _launch(
    recording: Recording,
    launch: LaunchRecord,
    cards: _Cards | None,
    tell: Callable[[float], None],
) -> LaunchReview:
    setup, derived = (None, None) if cards is None else (cards.setup, cards.derived)
    tell(0.0)
    known, estimates = events_and_estimates(recording, launch, setup, derived)
    seen = Seen(take(recording, known, setup, derived), estimates)
    verdict = verdict_of(seen)
    margins, flown = margins_of(seen), as_flown(seen)
    weakest = weakest_of(margins, verdict.outcome)
    prediction = again = None
    trials = trials_of(seen, () if cards is None else cards.trigger)
    if cards is not None:
        tell(MEASURED_SHARE)
        wide = PREDICTED_SHARE - MEASURED_SHARE
        prediction = predict(
            seen, cards.inputs, cards.expected, lambda share: tell(MEASURED_SHARE + wide * share)
        )
        again = fly_again(
            seen,
            cards.inputs,
            overrides_of(flown),
            cards.tries,
            cards.again,
            lambda share: tell(PREDICTED_SHARE + (1.0 - PREDICTED_SHARE) * share),
        )
    advice = advice_of(seen, verdict, (flown, margins, weakest), trials, again)
    return LaunchReview(
        record=known,
        estimates=seen.estimates,
        verdict=verdict,
        margins=margins,
        weakest=weakest,
        as_flown=flown,
        trials=trials,
        prediction=prediction,
        again=again,
        advice=advice,
        seen=only_seen(seen),
    )


def _asked(setup: Setup, changes: Mapping[str, str]) -> tuple[tuple[float, float], ...]:
    """Return the level and dwell of a change, if it is one of the trigger."""
    if not {"settings.jerk_level", "settings.jerk_dwell"} & set(changes):
        return ()
    from overarm.describe.change import changed

    card = changed(setup, changes).settings
    return ((card.jerk_level_mps2.value, card.jerk_dwell_s.value),)
