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
# Where an answer holds that of another command; the published schema only says whose it is.
WITHIN = {("ReviewAnswer", "sound"): "SoundAnswer", ("LearnAnswer", "odds"): "WhatIfAnswer"}
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
_ANYTHING = {"type": "object", "additionalProperties": True}
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

_MAYBE = _or_null(_NUMBER)
_BANDS = _list(_list(_MAYBE))
_CARPET = _object(
    overarm_carpet={"const": 1}, version=_TEXT, setup_hash=_TEXT, seed=_WHOLE, launches=_WHOLE,
    speed_words=_TEXT, speeds_mps=_list(_NUMBER), headwinds_mps=_list(_NUMBER),
    cells=_list(_list(_ref("Interval"))), speed_mean_mps=_NUMBER, speed_sd_mps=_NUMBER,
    wind_mean_mps=_NUMBER, wind_sd_mps=_NUMBER, by_wind=_list(_NUMBER),
)  # fmt: skip
_SCENE = {
    "SceneSite": _object(
        style=_TEXT, by_line=_YES, pusher=_YES, release_height_m=_NUMBER,
        ramp=_or_null(_object(length_m=_NUMBER, angle_rad=_NUMBER)), handover_height_m=_NUMBER,
        dip_height_m=_NUMBER, headwind_mps=_NUMBER, wind_10m_mps=_NUMBER, wind_angle_rad=_NUMBER,
        jerk_level_mps2=_NUMBER, stall_speed_mps=_NUMBER, joules_per_mps2=_NUMBER, propeller=_TEXT,
        ahead=_list(_object(name=_TEXT, distance_m=_NUMBER, height_m=_NUMBER)),
        around=_list(_object(
            name=_TEXT, ahead_m=_list(_NUMBER), right_m=_list(_NUMBER), height_m=_NUMBER, closed=_YES,
        )),
    ),
    "SceneAirframe": _object(
        layout=_TEXT, span_m=_NUMBER, root_chord_m=_NUMBER, tip_chord_m=_NUMBER, sweep_rad=_NUMBER,
        dihedral_rad=_NUMBER, balance_m=_NUMBER, tail_area_m2=_NUMBER, tail_span_m=_NUMBER, tail_x_m=_NUMBER,
        fin_area_m2=_NUMBER, fin_height_m=_NUMBER, propeller_diameter_m=_NUMBER, pusher=_YES,
    ),
    "SceneRace": _object(
        time_s=_list(_NUMBER), hand_share=_list(_NUMBER), speed_left_mps=_BANDS, thrust_share=_BANDS,
        wait_s=_NUMBER, earliest_s=_MAYBE, latest_s=_MAYBE, reach_s=_MAYBE, hand_words=_TEXT, sentence=_TEXT,
    ),
    "SceneBlade": _object(time_s=_list(_NUMBER), tip_mps=_BANDS, reach_s=_NUMBER, words=_TEXT),
    "SceneSpeed": _object(distance_m=_list(_NUMBER), speed_ratio=_list(_NUMBER)),
    "FailedLaunches": _object(count=_WHOLE, first=_list(_WHOLE)),
    "SceneAnswer": _object(
        overarm_scene={"const": 1}, version=_TEXT, setup_hash=_TEXT, seed=_WHOLE, launches=_WHOLE,
        traced=_WHOLE, failed=_ref("FailedLaunches"), site=_ref("SceneSite"),
        airframe=_ref("SceneAirframe"), race=_ref("SceneRace"), blade=_ref("SceneBlade"),
        middle=_ref("SceneSpeed"),
    ),
}  # fmt: skip

OPEN = {"properties", "additionalProperties", "patternProperties", "oneOf", "anyOf", "allOf"}
OWN: dict[str, dict[str, Any]] = {
    "Interval": _INTERVAL,
    "Asked": _ANYTHING,
    "FanPath": _PATH,
    "FanSide": _SIDE,
    "FanAnswer": _object(
        overarm_fan={"const": 1}, version=_TEXT, setup_hash=_TEXT, seed=_WHOLE, launches=_WHOLE,
        compared=_WHOLE, before=_ref("FanSide"), after=_or_null(_ref("FanSide")),
        difference=_or_null(_DIFFERENCE), difference_words=_TEXT,
    ),
    "TraceAnswer": _object(
        overarm_trace={"const": 1}, version=_TEXT, setup_hash=_TEXT, seed=_WHOLE, launch=_WHOLE,
        outcome=_TEXT, summary={"type": "object", "additionalProperties": {"type": ["number", "null"]}},
        columns={"type": "object", "additionalProperties": _list(_NUMBER)},
    ),
    "CarpetAnswer": _CARPET,
    **_SCENE,
    "CardsAnswer": _object(overarm_cards={"const": 1}, version=_TEXT, schema=_ANYTHING),
    "ExamplesAnswer": _object(examples=_list(_object(file=_TEXT, name=_TEXT, style=_TEXT, text=_TEXT))),
    "ConvertAnswer": _object(text=_TEXT, value=_NUMBER, si=_TEXT),
    "TextAnswer": {"type": "object", "properties": {"text": _TEXT, "name": _TEXT}, "required": ["text"]},
    "FormAnswer": _object(name=_TEXT, text=_TEXT),
    "QuestionsAnswer": _object(questions=_list(_QUESTION)),
    "ColumnsAnswer": _object(
        heads=_list(_TEXT), proposals=_list(_PROPOSAL), gravity_removed=_TEXT,
        channels=_list(_object(name=_TEXT, words=_TEXT, units=_TEXT)),
    ),
    "DraftAnswer": _object(
        rows=_list(_object(
            key=_TEXT, help=_TEXT, sheet=_TEXT, decides_start=_YES, choices=_list(_TEXT), units=_list(_TEXT),
            name=_TEXT, unit=_TEXT, agrees=_YES,
        )),
        names=_list(_object(name=_TEXT, text=_TEXT)), comma=_TEXT, notes=_list(_TEXT),
    ),
    "HabitsAnswer": _object(
        overarm_habits={"const": 1}, version=_TEXT,
        found=_list(_object(
            key=_TEXT, name=_TEXT, value=_NUMBER, error=_NUMBER, text=_TEXT, words=_TEXT,
        )),
        lacking=_list(_object(key=_TEXT, name=_TEXT, why=_TEXT)),
    ),
    "NoteAnswer": _object(
        overarm_logbook={"const": 1}, command={"const": "note"}, version=_TEXT, book=_TEXT, book_id=_TEXT,
        added=_ANYTHING,
    ),
    "PackAnswer": _object(
        overarm_pack={"const": 1}, html=_TEXT, bytes=_WHOLE, stops=_list(_TEXT),
        cells=_object(go=_WHOLE, change=_WHOLE, stop=_WHOLE), no_way_home=_TEXT, odds=_ref("OddsAnswer"),
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
            found[name] = _ANYTHING
    for (name, key), other in WITHIN.items():
        inside = found[name]["properties"]
        inside[key] = {**_or_null(_ref(other)), "description": inside[key]["description"]}
    found["AnyAnswer"] = {
        "anyOf": [_ref(name) for name in (*OF_JOBS, "SheetAnswer", "PackAnswer", "CarpetAnswer")]
    }
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
        if told.get("type") == "object" and not OPEN.intersection(told):
            told["additionalProperties"] = True  # the same, but readers of types would take it for empty
        reference = told.get("$ref")
        if reference == "#":
            told["$ref"] = f"#/components/schemas/{name}"
        elif isinstance(reference, str):
            told["$ref"] = reference.replace("#/$defs/", f"#/components/schemas/{name}_")
        return told

    return {name: over(schema), **{f"{name}_{key}": over(part) for key, part in inner.items()}}
