"""Write docs/reference/cards.md from the card classes: `make docs`. A test holds the page to them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

import numpy as np
from pydantic.fields import FieldInfo

from overarm.describe.cards import Card, PropellerSize, Setup
from overarm.describe.quantity import Amount
from overarm.units import SHARE, to_si, unit_of

PAGE = Path(__file__).parent / "reference" / "cards.md"
PLAIN = {
    str: "text",
    bool: "`true` or `false`",
    int: "whole number",
    float: "number",
    Path: "path of a file",
}
HEAD = """\
# Cards: every key of a setup

Written from the card classes by `make docs`; do not edit. How values, spreads and flags are written:
[Values](values.md).

Each amount shows an example of how it may be written, and the range that is taken. *Required* means that the
key has no default. The two spreads (one standard deviation) hold when the value is *measured* and when it is
*guessed*; "–" means that it is taken as exact.
"""


def parts(annotation: Any) -> Iterator[Any]:
    """Yield the plain types inside unions and tuples."""
    if get_origin(annotation) is Literal or not get_args(annotation):
        yield annotation
        return
    for part in get_args(annotation):
        if part not in (type(None), Ellipsis):
            yield from parts(part)


def card_of(annotation: Any) -> type[Card] | None:
    """Return the card class inside an annotation, if there is one."""
    kinds = (part for part in parts(annotation) if isinstance(part, type))
    return next((kind for kind in kinds if issubclass(kind, Card)), None)


def amount_of(info: FieldInfo) -> Amount | None:
    """Return the rule of a quantity."""
    extra = info.json_schema_extra
    found = extra.get("amount") if isinstance(extra, dict) else None
    return found if isinstance(found, Amount) else None


def limits(rule: Amount) -> str:
    """Return the range in the unit of the example, rounded."""
    unit = unit_of(rule.example)
    nothing = to_si(f"0 {unit}", rule.dimension)
    one = to_si(f"1 {unit}", rule.dimension) - nothing
    low, high = (
        np.format_float_positional((limit - nothing) / one, precision=3, fractional=False, trim="-")
        for limit in (rule.low, rule.high)
    )
    return f"{low} to {high} {unit}".rstrip()


def written(info: FieldInfo) -> str:
    """Return how the value of a field is written."""
    rule = amount_of(info)
    if rule is not None:
        return f"`{rule.example}`; {limits(rule)}"
    kinds = list(parts(info.annotation))
    words = [f"`{word}`" for kind in kinds if get_origin(kind) is Literal for word in get_args(kind)]
    if words:
        return " or ".join(words)
    if PropellerSize in kinds:
        return "`9x6 in`: diameter by pitch"
    return " or ".join(dict.fromkeys(PLAIN[kind] for kind in kinds if kind in PLAIN))


def default_of(info: FieldInfo) -> str:
    """Return the default with where it comes from."""
    if info.is_required():
        return "required"
    value, rule = info.get_default(call_default_factory=True, validated_data={}), amount_of(info)
    if isinstance(value, Card):
        return "its defaults"
    if value in (None, "", (), {}):
        return "–"
    text = str(value).lower() if isinstance(value, bool) else str(value).removesuffix(" default")
    return f"{text} ({rule.source})" if rule is not None and rule.source else text


def spreads_of(info: FieldInfo) -> str:
    """Return both spreads, or a dash for what has none."""
    rule = amount_of(info)
    if rule is None or (rule.measured, rule.guessed) == ("0 %", "0 %"):
        return "–"
    unit = " of the whole" if rule.dimension is SHARE else ""
    return f"{rule.measured} / {rule.guessed}{unit}"


def section(path: str, card: type[Card], level: int) -> Iterator[str]:
    """Yield the lines of a card and then those of the cards inside it."""
    about = (card.__doc__ or "").strip().splitlines()[0]
    yield from ("", f"{'#' * level} {path}", "", about, "")
    yield from ("| key | what | written as | default | spread |", "| --- | --- | --- | --- | --- |")
    inner = []
    for name, info in card.model_fields.items():
        key = info.alias or name
        inside = card_of(info.annotation)
        what = info.description or ((inside.__doc__ or "").strip().splitlines()[0] if inside else "")
        how, spread = written(info), spreads_of(info)
        if inside is not None:
            inner.append((f"{path}.{key}", inside))
            anchor = f"{path}{key}".replace(".", "")
            how = f"[a card](#{anchor})" if get_origin(info.annotation) is not tuple else f"[list](#{anchor})"
        yield f"| `{key}` | {what} | {how} | {default_of(info)} | {spread} |"
    for where, inside in inner:
        yield from section(where, inside, level + 1)


def cards_page() -> str:
    """Return the whole page."""
    lines = [HEAD.rstrip()]
    for name, info in Setup.model_fields.items():
        card = card_of(info.annotation)
        if card is not None:
            lines += section(info.alias or name, card, 2)
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(cards_page(), "utf-8")
