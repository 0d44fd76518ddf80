"""What pydantic finds wrong with a card, in the words of a person, at its place in the file."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails
from rapidfuzz import process

from overarm.describe.card import Card, amount_of, card_at, field_at, keys_of
from overarm.describe.document import Document, Keys, trouble
from overarm.describe.places import Place
from overarm.errors import Problem

LEAST_ALIKE = 60.0
TOGETHER = "together"

# What pydantic says, and what is said here: reason and cure. {} is filled from pydantic's context.
WORDS = {
    "bool_type": ("is neither true nor false", "Write true or false"),
    "dict_type": ("is not a card", "Write its keys below it, indented"),
    "finite_number": ("is not a finite number", "Write a number such as 0.05"),
    "float_type": ("is not a number", "Write a number such as 0.05"),
    "greater_than_equal": ("is below {ge}", "Write {ge} or more"),
    "int_type": ("is not a whole number", "Write a whole number such as 3"),
    "less_than_equal": ("is above {le}", "Write {le} or less"),
    "model_type": (
        "is not a card",
        "Write its keys below it, indented, or the name of a .yaml file beside the setup",
    ),
    "path_type": ("is not the name of a file", "Write the name of a file beside the setup"),
    "string_too_long": ("is longer than {max_length} characters", "Shorten it"),
    "string_type": ("is not text", "Put it in quotes"),
    "too_long": ("has more than {max_length} entries", "Take some out"),
    "tuple_type": ("is not a list", "Begin each entry with a dash, indented below the key"),
}


def in_words(card: type[Card], error: ValidationError, document: Document, start: Place) -> list[Problem]:
    """Return each thing that a card refuses, at its place; ``start`` is the place of what is nowhere.

    Faults between cards are left out: they are told by their own rules.
    """
    return [_problem(card, item, document, start) for item in error.errors() if item["type"] != TOGETHER]


def _problem(card: type[Card], item: ErrorDetails, document: Document, start: Place) -> Problem:
    path: Keys = tuple(item["loc"])
    kind = item["type"]
    place = document.place_of(path, at_key=kind == "extra_forbidden") or start
    key = ".".join(str(part) for part in path)
    if kind == "missing":
        return trouble("is missing", help_on(card, path), place, key)
    if kind == "extra_forbidden":
        return trouble("is not a key of this card", _nearest_key(card, path), place, key)
    reason, cure = _reason(card, path, item)
    return trouble(reason, cure, place, key, _shown(item.get("input")))


def _reason(card: type[Card], path: Keys, item: ErrorDetails) -> tuple[str, str]:
    kind, context = item["type"], item.get("ctx", {})
    if kind in WORDS:
        reason, cure = WORDS[kind]
        return reason.format(**context), cure.format(**context)
    if kind == "literal_error":
        info = field_at(card, path)
        words = [str(word) for word in getattr(info.annotation if info else None, "__args__", ())]
        near = process.extractOne(str(item.get("input")), words, score_cutoff=LEAST_ALIKE)
        return f"is none of {', '.join(words)}", f"Did you mean {near[0]}?" if near else "Write one of them"
    reason, _, cure = item["msg"].partition("; ")
    return reason, f"{cure[0].upper()}{cure[1:]}" if cure else help_on(card, path)


def _nearest_key(card: type[Card], path: Keys) -> str:
    holder = card_at(card, path[:-1])
    known = list(keys_of(holder)) if holder is not None else []
    near = process.extractOne(str(path[-1]), known, score_cutoff=LEAST_ALIKE)
    return f"Did you mean {near[0]}?" if near else f"Its keys are {', '.join(known)}"


def help_on(card: type[Card], path: Keys) -> str:
    """Return what a key wants, such as "Give it: wing span; for example 280 mm"."""
    info = field_at(card, path)
    if info is None or not info.description:
        inside = card_at(card, path)
        about = (inside.__doc__ or "").splitlines()[0] if inside is not None else ""
        return f"Add it: {about[0].lower()}{about[1:].rstrip('.')}" if about else "See the reference of cards"
    spec = amount_of(info)
    example = f"; for example {spec.example}" if spec is not None else ""
    return f"Give it: {info.description[0].lower()}{info.description[1:].rstrip('.')}{example}"


def _shown(value: Any) -> str:
    """Return a value for a message: short, one line, nothing for what is a card or a list."""
    if isinstance(value, dict | list | tuple) or value is None:
        return "nothing" if value is None else ""
    return str(value).lower() if isinstance(value, bool) else str(value)
