"""The keys of the settings card as a read-back sees them: amounts, words and whole numbers."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from types import UnionType
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, Union, get_args, get_origin

from rapidfuzz import process

from overarm.describe.card import Card, amount_of, card_of, keys_of
from overarm.describe.quantity import Amount, Quantity
from overarm.describe.settings import Settings

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

LEAST_ALIKE = 60.0


class SettingKey(NamedTuple):
    """One key of the settings card; the amount it takes, or the words or whole numbers it may be."""

    key: str  # "start_wait", "pose_window.bank"
    field: str  # attribute path in the card
    amount: Amount | None
    choices: tuple[str | int, ...]
    optional: bool
    help: str


@cache
def setting_keys() -> dict[str, SettingKey]:
    """Return every key of the settings card by its name."""
    return {item.key: item for item in _walk(Settings, "", "", False)}


def _walk(card: type[Card], key_path: str, field_path: str, optional: bool) -> Iterator[SettingKey]:
    fields = {info.alias or name: name for name, info in card.model_fields.items()}
    for key, info in keys_of(card).items():
        inside = card_of(info.annotation)
        here, there = f"{key_path}{key}", f"{field_path}{fields[key]}"
        may_be_none = optional or type(None) in get_args(info.annotation)
        if inside is not None:
            yield from _walk(inside, f"{here}.", f"{there}.", may_be_none)
        else:
            choices = tuple(_choices(info.annotation))
            yield SettingKey(here, there, amount_of(info), choices, may_be_none, info.description or "")


def _choices(annotation: Any) -> Iterator[str | int]:
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    elif get_origin(annotation) in (Union, UnionType):
        for part in get_args(annotation):
            yield from _choices(part)


def value_in(setup: Setup, key: SettingKey) -> float | str | None:
    """Return what the sheet has for a key, in SI; None if it is left out."""
    found: Any = setup.settings
    for part in key.field.split("."):
        found = getattr(found, part, None)
    if isinstance(found, Quantity):
        return found.value
    return None if found is None else str(found)


def nearest_key(text: str) -> str:
    """Return a cure for a key that the settings card has not."""
    known = list(setting_keys())
    near = process.extractOne(text, known, score_cutoff=LEAST_ALIKE)
    return f"Did you mean {near[0]}?" if near else f"The keys are {', '.join(known)}"
