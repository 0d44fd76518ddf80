"""Bodies of requests out of their own description: right in form, or wrong in one place and another."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from fuzz.api_bodies import forms
from fuzz.mutate import VALUES, Luck

WRONG = 0.06  # how often a value is anything else
MOST_DEEP = 12


@cache
def schemas() -> tuple[dict[str, Any], ...]:
    """Return the JSON Schema of the body of every path, in the order of `fuzz.api_bodies.forms`."""
    return tuple(form.json_schema() for _, form in forms())


def body(luck: Luck) -> bytes:
    """Return an input of the target `api_bodies`: a byte that says which path, and a body for it."""
    which = luck.randrange(len(schemas()))
    whole = schemas()[which]
    told = json.dumps(_value(whole, whole, luck, 0))
    return bytes([which]) + told.encode("utf-8", "surrogatepass")


def _value(schema: dict[str, Any], whole: dict[str, Any], luck: Luck, deep: int) -> Any:
    if luck.random() < WRONG or deep > MOST_DEEP:
        return luck.choice(VALUES)
    if "$ref" in schema:
        return _value(whole["$defs"][schema["$ref"].rpartition("/")[2]], whole, luck, deep + 1)
    if "const" in schema:
        return schema["const"]
    if "default" in schema and luck.random() < 0.3:
        return schema["default"]
    choices = schema.get("anyOf") or schema.get("oneOf")
    if choices:
        return _value(luck.choice(choices), whole, luck, deep + 1)
    if "enum" in schema:
        return luck.choice(schema["enum"])
    kind = schema.get("type")
    if kind == "object":
        return _object(schema, whole, luck, deep)
    if kind == "array":
        items = schema.get("items") or {}
        return [_value(items, whole, luck, deep + 1) for _ in range(luck.choice((0, 1, 1, 2, 5)))]
    return _plain(kind, schema, luck)


def _object(schema: dict[str, Any], whole: dict[str, Any], luck: Luck, deep: int) -> dict[str, Any]:
    needed = schema.get("required", ())
    made = {
        name: _value(part, whole, luck, deep + 1)
        for name, part in schema.get("properties", {}).items()
        if (name in needed and luck.random() > 0.02) or luck.random() < 0.5
    }
    more = schema.get("additionalProperties")
    if isinstance(more, dict):
        for key in luck.sample(
            ("settings.start_wait", "day.wind", "a.csv", "", "x" * 300), luck.randint(0, 3)
        ):
            made[key] = _value(more, whole, luck, deep + 1)
    elif luck.random() < 0.05:
        made["extra"] = luck.choice(VALUES)
    return made


def _plain(kind: str | None, schema: dict[str, Any], luck: Luck) -> Any:
    low = schema.get("minimum", schema.get("exclusiveMinimum", 0))
    high = schema.get("maximum", schema.get("exclusiveMaximum", low + 100))
    if kind == "integer":
        return luck.choice((low, high, low - 1, high + 1, (low + high) // 2))
    if kind == "number":
        return luck.choice((float(low), float(high), low - 1e-9, high * 1.01, 0.5 * (low + high)))
    if kind == "boolean":
        return luck.random() < 0.5
    if kind == "string":
        words = (
            "",
            "0" * 32,
            "a-sparrow.yaml",
            "0.7 s",
            "640 g",
            "mass",
            "overarm: 1\nname: x\n",
            "x" * 70,
            "é\n",
        )
        return luck.choice(words)
    return luck.choice(VALUES)
