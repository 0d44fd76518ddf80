"""The shapes of the answers: those of the commands from the published schemas, the others written here."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

# The published schema of each command's answer, by its name in the description of the interface.
PUBLISHED = {
    "CheckAnswer": "check", "OddsAnswer": "odds", "WhatIfAnswer": "what-if", "MeasureAnswer": "measure",
    "SettingsAnswer": "settings", "TrapsAnswer": "traps", "TriggerAnswer": "trigger", "PlanAnswer": "plan",
    "ReadbackAnswer": "readback", "ReviewAnswer": "review", "SoundAnswer": "sound", "LearnAnswer": "learn",
    "LogbookAnswer": "logbook",
}  # fmt: skip
OF_JOBS = tuple(name for name in PUBLISHED if name != "CheckAnswer")

_TEXT, _NUMBER, _WHOLE, _YES = ({"type": kind} for kind in ("string", "number", "integer", "boolean"))


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/components/schemas/{name}"}


def _list(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items}


def _object(**properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


_INTERVAL = _object(share=_NUMBER, low=_NUMBER, high=_NUMBER, level=_NUMBER)
_PATH = _object(
    launch=_WHOLE, outcome=_TEXT, handed_over=_YES, ahead_m=_list(_NUMBER), right_m=_list(_NUMBER),
    height_m=_list(_NUMBER),
)  # fmt: skip
_SIDE = _object(clean=_ref("Interval"), paths=_list(_ref("FanPath")))
_QUESTION = _object(key=_TEXT, ask=_TEXT, choices=_list(_TEXT), offer=_TEXT, answer=_TEXT, problem=_TEXT)
_PROPOSAL = _object(
    column=_WHOLE, head=_TEXT, channel=_TEXT, unit=_TEXT, scale=_NUMBER, offset=_NUMBER, sure=_NUMBER,
    words=_TEXT, reasons=_list(_TEXT),
)  # fmt: skip
_DIFFERENCE = _object(share=_NUMBER, low=_NUMBER, high=_NUMBER, won=_WHOLE, lost=_WHOLE, level=_NUMBER)

OWN: dict[str, dict[str, Any]] = {
    "Interval": _INTERVAL,
    "FanPath": _PATH,
    "FanSide": _SIDE,
    "FanAnswer": _object(
        overarm_fan={"const": 1}, version=_TEXT, setup_hash=_TEXT, seed=_WHOLE, launches=_WHOLE,
        compared=_WHOLE, before=_ref("FanSide"), after=_or_null(_ref("FanSide")),
        difference=_or_null(_DIFFERENCE),
    ),
    "TraceAnswer": _object(
        overarm_trace={"const": 1}, version=_TEXT, setup_hash=_TEXT, seed=_WHOLE, launch=_WHOLE,
        outcome=_TEXT, summary={"type": "object", "additionalProperties": {"type": ["number", "null"]}},
        columns={"type": "object", "additionalProperties": _list(_NUMBER)},
    ),
    "CardsAnswer": _object(overarm_cards={"const": 1}, version=_TEXT, schema={"type": "object"}),
    "ExamplesAnswer": _object(examples=_list(_object(file=_TEXT, name=_TEXT, style=_TEXT, text=_TEXT))),
    "ConvertAnswer": _object(text=_TEXT, value=_NUMBER, si=_TEXT),
    "TextAnswer": {"type": "object", "properties": {"text": _TEXT, "name": _TEXT}, "required": ["text"]},
    "FormAnswer": _object(name=_TEXT, text=_TEXT),
    "QuestionsAnswer": _object(questions=_list(_QUESTION)),
    "ColumnsAnswer": _object(heads=_list(_TEXT), proposals=_list(_PROPOSAL), gravity_removed=_TEXT),
    "NoteAnswer": _object(
        overarm_logbook={"const": 1}, command={"const": "note"}, version=_TEXT, book=_TEXT, book_id=_TEXT,
        added={"type": "object"},
    ),
    "SheetAnswer": _object(pdf=_TEXT, html=_TEXT, no_way_home=_TEXT, odds=_ref("OddsAnswer")),
}  # fmt: skip


def schemas_folder() -> Path:
    """Return the folder of the published schemas: in the package, or beside its sources."""
    import overarm

    package = Path(overarm.__file__).resolve().parent
    inside = package / "schemas"
    return inside if inside.is_dir() else package.parents[1] / "docs" / "reference"


def answer_schemas() -> dict[str, Any]:
    """Return every shape by its name in ``#/components/schemas``."""
    found: dict[str, Any] = dict(OWN)
    for name, stem in PUBLISHED.items():
        file = schemas_folder() / f"{stem}.schema.json"
        if file.is_file():
            found |= _moved(name, json.loads(file.read_text("utf-8")))
        else:
            found[name] = {"type": "object"}
    found["AnyAnswer"] = {"anyOf": [_ref(name) for name in (*OF_JOBS, "SheetAnswer")]}
    return found


def _moved(name: str, schema: dict[str, Any]) -> dict[str, Any]:
    """Return a schema with what it defines as shapes of their own, such as OddsAnswer_interval."""
    inner = schema.pop("$defs", {})
    for key in ("$schema", "$id"):
        schema.pop(key, None)

    def over(part: Any) -> Any:
        if isinstance(part, list):
            return [over(item) for item in part]
        if not isinstance(part, dict):
            return part
        told = {key: over(item) for key, item in part.items()}
        reference = told.get("$ref")
        if reference == "#":
            told["$ref"] = f"#/components/schemas/{name}"
        elif isinstance(reference, str):
            told["$ref"] = reference.replace("#/$defs/", f"#/components/schemas/{name}_")
        return told

    return {name: over(schema), **{f"{name}_{key}": over(part) for key, part in inner.items()}}
