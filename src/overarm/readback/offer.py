"""What a new mapping is asked for, all at once: each key of the sheet with the name that may be it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from overarm.errors import InputError, Problem
from overarm.readback.compare import DECISIVE
from overarm.readback.draft import (
    Line,
    asked_keys,
    mapping_text,
    problem_with_unit,
    propose,
    usual_unit,
    with_comma,
)
from overarm.readback.keys import SettingKey, setting_keys, value_in
from overarm.readback.report import read_report
from overarm.readback.suspect import UNITS
from overarm.units import from_si

if TYPE_CHECKING:
    from overarm.describe.cards import Setup


def offers(setup: Setup, report_file: Path) -> dict[str, Any]:
    """Return JSON-ready questions: each key of the sheet, the name that is most alike and its unit.

    Raises InputError for a file that is no report.
    """
    report = read_report(report_file)
    taken: list[str] = []
    rows = []
    for key in asked_keys(setup):
        offer = propose(key, report.values, taken, setup)
        if offer is not None:
            taken.append(offer.name)
        units = UNITS.get(key.amount.dimension.name, ()) if key.amount is not None else ()
        rows.append(
            {
                "key": key.key,
                "help": key.help,
                "sheet": _sheet(setup, key),
                "decides_start": key.key in DECISIVE,
                "choices": [str(choice) for choice in key.choices] if key.amount is None else [],
                "units": list(units),
                "name": offer.name if offer is not None else "",
                "unit": offer.unit if offer is not None and offer.agrees else usual_unit(key),
                "agrees": offer is not None and offer.agrees,
            }
        )
    return {
        "rows": rows,
        "names": [{"name": item.name, "text": item.text} for item in report.values],
        "comma": with_comma(report.values),
        "notes": list(report.notes),
    }


def _sheet(setup: Setup, key: SettingKey) -> str:
    wanted = value_in(setup, key)
    if isinstance(wanted, float) and key.amount is not None:
        return from_si(wanted, key.amount.dimension, usual_unit(key))
    return str(wanted)


def confirmed(lines: list[dict[str, Any]], ignored: list[str], aircraft: str, *, decimal_comma: bool) -> str:
    """Return the text of a mapping of confirmed lines (name, key, unit, words).

    Raises InputError with every key that there is not and every unit of another kind.
    """
    known = setting_keys()
    problems = []
    for line in lines:
        key = known.get(line["key"])
        wrong = "is not a key of the settings card" if key is None else problem_with_unit(key, line["unit"])
        if wrong:
            value = line["unit"] if key is not None else line["key"]
            problems.append(Problem(wrong, "Choose another unit", key=line["name"], value=value))
    if problems:
        raise InputError(problems)
    tied = [Line(line["name"], line["key"], line["unit"], dict(line["words"])) for line in lines]
    return mapping_text(tied, ignored, aircraft, decimal_comma=decimal_comma)
