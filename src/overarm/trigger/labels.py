"""What a recording shows: a carry, shakes, throws or something else; as somebody said, or as it looks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple, get_args

from overarm.errors import InputError, Problem
from overarm.recordings.cue import Cue
from overarm.recordings.recording import Label, Recording
from overarm.recordings.replay import CLOCK_SHARE, COARSE_FROM_HZ
from overarm.trigger.gestures import THROW_APART_S, Lobe, lobes_of, shakes_of, throws_of
from overarm.trigger.settings import Starts

LABELS: tuple[Label, ...] = tuple(label for label in get_args(Label) if label)
SHAKE_LASTS_S = 6.0  # what goes on for longer is no shake: running, a car
QUIET_MPS2 = 6.0  # over the pose; steps are below it


class Labelled(NamedTuple):
    """A label, and how it is known."""

    label: Label
    how: str


class Asked(NamedTuple):
    """A file and the label that was given with it, if any."""

    file: Path
    label: Label


def label_of(text: str) -> Label:
    """Return the label that a text is. Raises InputError for any other text."""
    wanted = text.strip().lower()
    for label in LABELS:
        if wanted == label:
            return label
    raise InputError(
        [Problem("is no label", f"Write one of {', '.join(LABELS)}", key="label", value=text.strip())]
    )


def asked_of(words: Sequence[str], label: str) -> tuple[Asked, ...]:
    """Return the files of a command line; ``FILE=carry`` labels one, ``label`` all that are not labelled so.

    Raises InputError for a label that there is not.
    """
    general: Label = label_of(label) if label else ""
    found = []
    for word in words:
        name, mark, behind = word.rpartition("=")
        if mark and not Path(word).exists():
            found.append(Asked(Path(name), label_of(behind)))
        else:
            found.append(Asked(Path(word), general))
    return tuple(found)


def _in_name(name: str) -> Label:
    """Return the label that is a part of a file's name, such as "walk-carry-2.csv"; "" if none or several."""
    words = re.split(r"[^a-z]+", Path(name).stem.lower())
    stems = {label: (label, f"{label}s", f"{label}n" if label == "throw" else label) for label in LABELS}
    hits: list[Label] = [label for label in LABELS if any(word in stems[label] for word in words)]
    return hits[0] if len(hits) == 1 else ""


def label_recording(recording: Recording, cue: Cue, given: Label, starts: Starts) -> Labelled:
    """Return what a recording shows: as given, by its own line, by its name, else as it looks.

    A recording of a whole launch by a shake has a throw in it, too: there the gesture that starts counts.
    """
    if given:
        return Labelled(given, "as you said")
    if recording.label:
        return Labelled(recording.label, "as it says itself")
    named = _in_name(recording.name)
    return Labelled(named, "by its name") if named else _by_content(cue, starts)


def _alone(lobe: Lobe, lobes: Sequence[Lobe], cue: Cue) -> bool:
    """Return whether no other lobe of half its peak is near: a throw, not one of many swings."""
    near = [
        other
        for other in lobes
        if other is not lobe
        and abs(cue.t_s[other.first] - cue.t_s[lobe.first]) < 0.5 * THROW_APART_S
        and other.peak_mps2 > 0.5 * lobe.peak_mps2
    ]
    return not near


def _by_content(cue: Cue, starts: Starts) -> Labelled:
    if not cue.t_s.size or cue.rate_hz < COARSE_FROM_HZ * CLOCK_SHARE:
        return Labelled("other", "nobody said what it is, and it has too few samples a second to see")
    lobes = lobes_of(cue)
    rows = [row for row in shakes_of(lobes, cue.t_s) if max(lobe.peak_mps2 for lobe in row) >= QUIET_MPS2]
    lasts = [float(cue.t_s[row[-1].last - 1] - cue.t_s[row[0].first]) for row in rows]
    if starts == "shake" and any(time_s <= SHAKE_LASTS_S for time_s in lasts):
        return Labelled("shake", "by its looks: a few swings in a row")
    if any(_alone(lobe, lobes, cue) for lobe in throws_of(lobes, cue.t_s)):
        return Labelled("throw", "by its looks: single strokes that give a speed")
    strong = tuple(lobe for lobe in lobes if lobe.peak_mps2 >= QUIET_MPS2)
    if not strong:
        return Labelled("carry", "by its looks: no stroke and no shake in it")
    if lasts and max(lasts) <= SHAKE_LASTS_S:
        return Labelled("shake", "by its looks: a few swings in a row")
    return Labelled("other", "by its looks: neither a walk nor a gesture")
