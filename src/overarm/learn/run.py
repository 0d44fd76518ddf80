"""From a setup and files of evidence to what they teach."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import overarm
from overarm.describe.derived import derive
from overarm.errors import InputError, Problem
from overarm.learn.answers import read_answer
from overarm.learn.bench.cards import HistoryForm
from overarm.learn.bench.evidence import of_form
from overarm.learn.bench.pull import PullReading
from overarm.learn.bench.read import read_form
from overarm.learn.bench.tilt import JigReading
from overarm.learn.card_values import ID_LETTERS, card_values
from overarm.learn.disagree import OFF, Verdict
from overarm.learn.evidence import Evidence, LeftOut, evidence_of
from overarm.learn.history import Happened, happened_in, score_history
from overarm.learn.judge import judged
from overarm.learn.result import LearnResult, UpdateSaid
from overarm.learn.targets import TARGETS, limits_of, reachable
from overarm.learn.update import (
    BIAS,
    TILT,
    Update,
    update_jig,
    update_part,
    update_scale,
    update_scatter,
)
from overarm.learn.words import Shower, little_words, moved_words, slip_words, stubborn_words, wider_words

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.odds.run import Progress

FORM_SUFFIXES = (".yaml", ".yml")
LEAST_ERROR = 1e-6  # of the value


class Gathered(NamedTuple):
    """All that was read: evidence, what teaches nothing, sentences, readings of the jig and of the scale."""

    evidence: tuple[Evidence, ...] = ()
    told: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    jig: tuple[JigReading, ...] = ()
    pulls: tuple[PullReading, ...] = ()
    history: tuple[Happened, ...] = ()

    def with_(self, more: Gathered) -> Gathered:
        """Return it with what another file holds."""
        return Gathered(
            self.evidence + more.evidence,
            self.told + more.told,
            self.left_out + more.left_out,
            self.jig + more.jig,
            self.pulls + more.pulls,
            self.history + more.history,
        )


def gather(files: Sequence[Path], setup: Setup, derived: Derived) -> Gathered:
    """Return what files of evidence hold: forms (.yaml) and review answers (.json).

    Raises InputError with everything that is wrong with any of them, and for a form or a recording that
    is there twice: it would count twice.
    """
    found = Gathered()
    problems: list[Problem] = []
    seen: dict[str, Path] = {}
    for file in files:
        try:
            part, source = _read(file, setup, derived)
        except InputError as error:
            problems += error.problems
            continue
        if source in seen:
            cure = "Give each recording and each form once"
            problems.append(Problem(f"has the same source as {seen[source]}", cure, str(file)))
        seen[source] = file
        found = found.with_(part)
    if problems:
        raise InputError(problems)
    return found


def _read(file: Path, setup: Setup, derived: Derived) -> tuple[Gathered, str]:
    """Return what one file holds, and the hash of the form or of the recording."""
    if file.suffix.lower() in FORM_SUFFIXES:
        filled = read_form(file)
        history = happened_in(filled.form) if isinstance(filled.form, HistoryForm) else ()
        bench = of_form(filled, setup, derived)
        return Gathered(*bench, history), filled.source
    launches = read_answer(file, setup.name)
    told = [evidence_of(launch) for launch in launches]
    evidence = tuple(item for found, _ in told for item in found)
    left = tuple(item for _, lost in told for item in lost)
    return Gathered(evidence, (), left), launches[0].source if launches else str(file)


def _usable(found: Gathered, setup: Setup) -> Gathered:
    """Leave out what this setup has no card for, and what no card takes."""
    kept: list[Evidence] = []
    left: dict[LeftOut, None] = {}
    for item in found.evidence:
        why = _no_use(item, setup)
        if why:
            left[LeftOut(TARGETS[item.input].words if item.input in TARGETS else item.input, why)] = None
        else:
            kept.append(item)
    return found._replace(evidence=tuple(kept), left_out=found.left_out + tuple(left))


def _no_use(item: Evidence, setup: Setup) -> str:
    """Return why evidence cannot be learned from; empty if it can."""
    if item.input not in TARGETS:
        return "this version learns nothing about it"
    if not reachable(setup, item.input):
        return "this setup has no thrower; a line launches it"
    low, high = limits_of(item.input)
    if not low <= item.value <= high and not (item.value < low and TARGETS[item.input].model == "positive"):
        show = Shower(setup, item.input)
        return f"{show(item.value)} is outside {show(low)} to {show(high)}, which a card takes"
    if not LEAST_ERROR * max(abs(item.value), low) <= item.error < math.inf:
        return f"an error of {item.error:g} cannot be"
    return ""


def check_new_evidence(setup: Setup, evidence: Sequence[Evidence]) -> None:
    """Refuse evidence that a setup says it was learned from already; it would count twice.

    Raises InputError. Learning writes the first letters of each source into a comment.
    """
    file = setup.origin.file
    if not file:
        return
    text = Path(file).read_text("utf-8-sig")
    marks = {
        word.strip("();,") for line in text.splitlines() if "(evidence " in line for word in line.split()
    }
    old = dict.fromkeys(item.source for item in evidence if item.source[:ID_LETTERS] in marks)
    if old:
        cure = "Leave it out, or start from the setup as it was before"
        raise InputError(
            [
                Problem("was learned from already", cure, file, key="evidence", value=source[:ID_LETTERS])
                for source in old
            ]
        )


def updates_of(setup: Setup, derived: Derived, found: Gathered) -> tuple[Update, ...]:
    """Return every input that the evidence speaks of, before and after, in the order of the cards."""
    updates: list[Update] = []
    for target in TARGETS.values():
        items = [item for item in found.evidence if item.input == target.input]
        if not items or (target.model == "jig" and found.jig):
            continue
        if target.model == "jig":
            updates.append(update_part(setup, target, items))
        elif target.model == "scale":
            updates.append(update_scale(setup, derived, target, items))
        else:
            updates.append(update_scatter(setup, target, items))
    if found.jig:
        both = [item for item in found.evidence if item.input in (TILT, BIAS)]
        updates += update_jig(setup, found.jig, both)
    return tuple(updates)


def learn(
    setup: Setup,
    files: Sequence[str | Path],
    *,
    launches: int = 0,
    seed: int = 1,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> LearnResult:
    """Return what review answers and bench forms teach about a setup.

    Parameters
    ----------
    setup : Setup
    files : sequence of paths
        Forms (``.yaml``) and answers of ``overarm review --json``.
    launches, seed : int
        So many launches are flown with the cards before and after, the same throws and gusts; 0 for none.
    progress, cancelled : callable, optional
        Told after, and asked before, each chunk of those launches.

    Returns
    -------
    LearnResult

    Raises
    ------
    InputError
        With everything that is wrong with the files, given twice or learned from before.
    Cancelled
        If it was cancelled before the first launches were done.
    """
    derived = derive(setup)
    found = gather([Path(file) for file in files], setup, derived)
    how: Any = {"launches": launches, "seed": seed, "progress": progress, "cancelled": cancelled}
    return learn_from(setup, derived, found, **how)


def learn_from(
    setup: Setup,
    derived: Derived,
    found: Gathered,
    *,
    launches: int = 0,
    seed: int = 1,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> LearnResult:
    """Return what evidence teaches that is at hand already; else as `learn`.

    A logbook gives ``Gathered(evidence=...)``. Without the readings of the jig, tilt and bias are
    learned one by one, which loses how their errors go together.
    """
    found = _usable(found, setup)
    check_new_evidence(setup, found.evidence)
    updates = updates_of(setup, derived, found)
    cards = card_values(setup, updates, found.pulls)
    verdict = judged(setup, derived, {item.target.input: item.evidence for item in updates})
    odds = None
    if launches and cards.changes:
        from overarm.odds.what_if import what_if

        odds = what_if(setup, cards.changes, launches, seed, progress=progress, cancelled=cancelled)
    return LearnResult(
        setup_name=setup.name,
        setup_hash=setup.hash(),
        version=overarm.__version__,
        seed=seed,
        evidence=found.evidence,
        left_out=found.left_out,
        updates=tuple(
            UpdateSaid(
                item, moved_words(setup, item), little_words(setup, item), _besides(setup, item, verdict)
            )
            for item in updates
        ),
        verdict=verdict,
        cards=cards,
        told=found.told,
        history=score_history(found.history) if found.history else None,
        odds=odds,
    )


def _besides(setup: Setup, update: Update, verdict: Verdict) -> str:
    """Return what else is worth knowing of an update: slips, and a card that holds its ground."""
    off = any(item.input == update.target.input and item.p_held < OFF for item in verdict.checks)
    said = (
        slip_words(update, setup),
        wider_words(update, setup),
        stubborn_words(update, setup) if off else "",
    )
    return " ".join(part for part in said if part)
