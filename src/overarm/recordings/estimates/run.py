"""All estimates of one launch, and the events that only the estimates know."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from overarm.recordings.estimates.air import Air, air_of
from overarm.recordings.estimates.clear import clear_of
from overarm.recordings.estimates.climb import climb_estimates, handover_estimate
from overarm.recordings.estimates.cue import cue_estimates, detection_of
from overarm.recordings.estimates.drag import drag_estimates
from overarm.recordings.estimates.height import height_of
from overarm.recordings.estimates.lag import Lag, lag_estimate, lag_of
from overarm.recordings.estimates.lowpoint import low_estimates
from overarm.recordings.estimates.match import match_estimate, match_of
from overarm.recordings.estimates.motor import delay_estimate, throttle_estimates, wait_estimate
from overarm.recordings.estimates.ratio import ratio_estimate
from overarm.recordings.estimates.release import attitude_estimates
from overarm.recordings.estimates.rest import rest_estimates
from overarm.recordings.estimates.strapdown import Reckoned, begins_at, reckon
from overarm.recordings.estimates.stroke import stroke_estimates
from overarm.recordings.estimates.taken import Taken, take
from overarm.recordings.estimates.throw import Released, path_estimate, released, speed_estimate
from overarm.recordings.estimates.thrust import thrust_estimate
from overarm.recordings.estimates.wind import headwind_estimate
from overarm.recordings.launch import ESTIMATES, Estimate, Event, LaunchRecord
from overarm.recordings.recording import Recording

if TYPE_CHECKING:
    from overarm.describe.derived import Derived
    from overarm.describe.setup import Setup


class _Known(NamedTuple):
    """What several estimates need."""

    reckoned: Reckoned | None
    lag: Lag
    at_release: Released
    wind: Estimate
    air: Air | None


def _known(taken: Taken) -> _Known:
    reckoned = reckon(taken)
    lag = lag_of(taken, reckoned)
    at_release = released(taken, reckoned, lag)
    wind, number = headwind_estimate(taken, lag)
    return _Known(reckoned, lag, at_release, wind, air_of(taken, lag, reckoned, at_release, number))


def estimates_of(
    recording: Recording,
    launch: LaunchRecord,
    setup: Setup | None = None,
    derived: Derived | None = None,
) -> dict[str, Estimate]:
    """Return every figure of `overarm.recordings.launch.ESTIMATES` for one launch of a recording.

    Parameters
    ----------
    recording : Recording
        As cleaned.
    launch : LaunchRecord
        One of its launches, with the events that were seen.
    setup, derived : optional
        Without them what needs a mass, a polar, a trigger or a stall speed cannot be told.

    Returns
    -------
    dict of Estimate
        In the order of the names; each has a value with one standard error, or the reason that it cannot be
        told. Methods and their errors: docs/theory/estimates.md.
    """
    taken = take(recording, launch, setup, derived)
    with np.errstate(under="ignore"):  # numbers next to nothing are nothing
        found = _all(taken, _known(taken))
    return {name: found[name] for name in ESTIMATES}


def _all(taken: Taken, known: _Known) -> dict[str, Estimate]:
    begin_s = begins_at(taken)
    detection = detection_of(taken)
    attitude = attitude_estimates(taken, known.reckoned, known.at_release.level)
    height = height_of(taken, known.reckoned, known.lag, known.at_release)
    single = (
        speed_estimate(taken, known.at_release),
        path_estimate(taken, known.at_release, attitude["release_pitch_rad"]),
        lag_estimate(taken, known.lag),
        known.wind,
        wait_estimate(taken, detection),
        delay_estimate(taken),
        thrust_estimate(taken, known.reckoned, known.air, known.at_release.level),
        match_estimate(taken, match_of(taken, known.reckoned, known.air, known.at_release.level)),
        ratio_estimate(taken, known.air),
        handover_estimate(taken),
    )
    return {
        **{one.name: one for one in single},
        **attitude,
        **rest_estimates(taken, begin_s),
        **stroke_estimates(taken, known.reckoned),
        **cue_estimates(taken, begin_s, detection),
        **throttle_estimates(taken),
        **low_estimates(taken, height),
        **climb_estimates(taken, known.lag),
        **drag_estimates(taken, known.reckoned, known.air, known.at_release.level),
    }


def with_estimated_events(
    recording: Recording,
    launch: LaunchRecord,
    setup: Setup | None = None,
    derived: Derived | None = None,
) -> LaunchRecord:
    """Return the launch with the events detection, clear and thrust_match added where they can be told.

    Parameters as for `estimates_of`. Events that are there already stay as they are.
    """
    taken = take(recording, launch, setup, derived)
    with np.errstate(under="ignore"):
        return _with_events(taken, _known(taken))


def events_and_estimates(
    recording: Recording,
    launch: LaunchRecord,
    setup: Setup | None = None,
    derived: Derived | None = None,
) -> tuple[LaunchRecord, dict[str, Estimate]]:
    """Return what `with_estimated_events` and then `estimates_of` return, worked out together in less time.

    Parameters as for `estimates_of`.
    """
    taken = take(recording, launch, setup, derived)
    with np.errstate(under="ignore"):
        known = _known(taken)  # asks for no event that is added here
        record = _with_events(taken, known)
        found = _all(take(recording, record, setup, derived), known)
    return record, {name: found[name] for name in ESTIMATES}


def _with_events(taken: Taken, known: _Known) -> LaunchRecord:
    found: dict[str, Event | str | None] = {
        "detection": detection_of(taken),
        "clear": clear_of(taken, speed_estimate(taken, known.at_release)),
        "thrust_match": match_of(taken, known.reckoned, known.air, known.at_release.level),
    }
    added = {name: event for name, event in found.items() if isinstance(event, Event)}
    return taken.launch._replace(events={**added, **taken.launch.events})
