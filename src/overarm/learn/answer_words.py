"""The answer of learning, as a person reads it."""

from __future__ import annotations

from overarm.learn.result import LearnResult
from overarm.odds.what_if_words import what_if_answer


def answer(result: LearnResult) -> str:
    """Return the whole answer in lines."""
    lines: list[str] = []
    for item in result.updates:
        lines.append(item.moved)
        lines.append(f"  {item.little}")
        lines += [f"  {item.besides}"] if item.besides else []
    if not result.updates and result.history is None:
        lines.append("Nothing was learned: no evidence speaks of a card.")
    lines += list(result.told)
    if result.left_out:
        lines.append("Teaches nothing:")
        lines += [f"  {item.what}: {item.why}" for item in result.left_out]
    if result.verdict.checks:
        lines += ["Evidence against cards:", f"  {result.verdict.sentence}"]
        others = [item for item in result.verdict.checks if item.sentence != result.verdict.sentence]
        lines += [
            f"  {item.word}: {item.sentence}"
            for item in others
            if not result.verdict.sentence.startswith(item.sentence)
        ]
    if result.history is not None:
        lines += ["Predicted and happened:", *(f"  {said}" for said in result.history.sentences)]
    if result.odds is not None:
        lines += ["With the cards as learned:", what_if_answer(result.odds)]
    lines.append(f"setup {result.setup_hash}, version {result.version}, seed {result.seed}")
    if result.written:
        lines.append(result.written)
    return "\n".join(lines)
