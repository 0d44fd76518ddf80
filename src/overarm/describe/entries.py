"""Entries under names that a person chose, as in a mapping: each is a card of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from pydantic import ValidationError

from overarm.describe.card import Card
from overarm.describe.document import Document, Keys, trouble
from overarm.describe.faults import in_words
from overarm.describe.places import Place

AnyCard = TypeVar("AnyCard", bound=Card)


def entries(
    document: Document, top: str, found: Mapping[str, Any], card: type[AnyCard], form: str
) -> Iterator[tuple[str, AnyCard, Place]]:
    """Yield name, card and place of each entry under the key ``top``.

    What is no such card is kept among the problems of the document; ``form`` shows how one is written.
    """
    for name, raw in found.items():
        place = document.place_of((top, name), at_key=True) or Place("", 1, 1)
        key = f"{top}.{name}"
        if not isinstance(raw, dict):
            document.problems.append(
                trouble("says not what it is", f"Write it as {form}", place, key, str(raw))
            )
            continue
        try:
            yield name, card.model_validate(raw), place
        except ValidationError as error:
            told = in_words(card, error, _inside(document, (top, name)), place)
            document.problems += [replace(problem, key=f"{key}.{problem.key}") for problem in told]


def _inside(document: Document, prefix: Keys) -> Document:
    """Return the places below a path as a document of their own."""
    n = len(prefix)
    keys = {path[n:]: place for path, place in document.keys.items() if path[:n] == prefix}
    values = {path[n:]: place for path, place in document.values.items() if path[:n] == prefix}
    return Document(None, keys, values)
