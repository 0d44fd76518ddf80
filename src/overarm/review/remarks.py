"""What stands over a whole review: nothing found, a column unread, perhaps another setup."""

from __future__ import annotations

from collections.abc import Sequence

from overarm.recordings.recording import Recording
from overarm.review.result import LaunchReview

NO_LAUNCH = (
    "No launch was found in it. A launch needs a hold, a throw and some seconds after it in one recording. "
    "Carries, shakes and throws that the hand keeps are for the trigger room."
)
FEWEST_FIGURES = 6  # that must be held against the setup before it is doubted; an own estimate
LIKE_SHARE = 0.5  # of the figures; of the right setup 0.9 lie within what was to be expected


def remarks_of(recording: Recording, found: Sequence[LaunchReview]) -> list[str]:
    """Return what a person must know before reading the launches, the gravest first."""
    said = [] if found else [NO_LAUNCH]
    unread = sorted({one.channel or "the recording" for one in recording.repairs if one.word == "stop"})
    if unread:
        said.append(f"Not used as it came: {', '.join(unread)}. The repairs tell what that leaves out.")
    return said + [text for item in found if (text := _unlike(item))]


def _unlike(item: LaunchReview) -> str:
    """Return the doubt that another setup was flown; "" if the figures give no reason for it."""
    if item.prediction is None or len(item.prediction.places) < FEWEST_FIGURES:
        return ""
    many, good = len(item.prediction.places), sum(one.word == "good" for one in item.prediction.places)
    if good >= LIKE_SHARE * many:
        return ""
    return (
        f"Launch {item.record.number}: {good} of {many} figures are what this setup leads to expect. "
        "Is it the setup that was flown? If not, what stands against its limits says nothing."
    )
