"""Settings that the aircraft reports beside those of the sheet, one line a key."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from overarm.describe.document import trouble
from overarm.describe.quantity import Quantity
from overarm.errors import InputError, Problem
from overarm.readback.keys import SettingKey, setting_keys, value_in
from overarm.readback.mapping import Mapping, Tie
from overarm.readback.report import Report, Reported
from overarm.readback.suspect import Suspect, suspect_unit
from overarm.readback.value import Value, ValueFault, value_of
from overarm.units import from_si, unit_of

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

# Rounding of the reported digits excuses no more than this share of a setting. Own estimate.
MOST_ROUNDED_SHARE = 0.03
# An aircraft may hold numbers in single precision (IEEE 754: 24 bits, 6e-8 of the number).
ROUNDING_NOISE = 1e-6
# What decides when the propeller turns must be compared, and of these the digits must tell enough.
DECISIVE = ("jerk_level", "jerk_dwell", "speed_gate", "start_wait", "throttle_rise")
NEED_DIGITS = frozenset({"start_wait", "jerk_level", "jerk_dwell"})

Kind = Literal["same", "different", "missing", "extra", "not tied", "too coarse"]


@dataclass(frozen=True, slots=True)
class Compared:
    """One key of the settings card: what the sheet has, what the aircraft has."""

    key: str
    kind: Kind
    name: str  # of the aircraft; "" if the mapping ties none
    sheet: str
    reported: str
    sheet_si: float | None = None
    reported_si: float | None = None
    suspect: Suspect | None = None
    coarse: bool = False  # its few digits could mean the sheet's value too
    impossible: str = ""  # why the card does not take what the aircraft has
    line: int = 0
    change: Any = None  # what to put into the setup to fly it; None for nothing
    may_be: str = ""  # what a value that is reported too coarsely stands for, such as "0.45 to 0.55 s"

    @property
    def uncompared(self) -> bool:
        """Return True if the sheet has it and no value of the aircraft stands beside it."""
        return self.kind in ("missing", "not tied")

    @property
    def decides_start(self) -> bool:
        """Return True if it decides when the propeller turns."""
        return self.key in DECISIVE


@dataclass(frozen=True, slots=True)
class Settled:
    """All keys compared, and the names that nobody knows."""

    items: tuple[Compared, ...]
    unknown: tuple[Reported, ...]
    ignored: int

    @property
    def differences(self) -> tuple[Compared, ...]:
        """Return the keys that are not as on the sheet."""
        return tuple(item for item in self.items if item.kind in ("different", "missing", "extra"))


def compare_settings(setup: Setup, mapping: Mapping, report: Report) -> Settled:
    """Return what differs between a report and the sheet.

    Raises InputError with every reported text that is no value of its key, at its place.
    """
    by_name = {item.name.casefold(): item for item in report.values}
    values: dict[str, tuple[Reported, Value]] = {}
    problems: list[Problem] = []
    for tie in mapping.ties:
        item = by_name.get(tie.name.casefold())
        if item is None:
            continue
        try:
            values[tie.key.key] = item, value_of(tie, item.text, mapping.decimal_comma)
        except ValueFault as error:
            reason, _, cure = str(error).partition("; ")
            cure = f"{cure[:1].upper()}{cure[1:]}"
            problems.append(trouble(reason, cure, item.place, item.name, item.text))
    if problems:
        raise InputError(problems)
    if mapping.ties and not values:
        names = ", ".join(item.name for item in report.values[:5])
        cure = f"Give the mapping of this aircraft; the file has {names}"
        reason = f"has none of the names of {mapping.file}"
        raise InputError([Problem(reason, cure, report.file)])
    ties = {tie.key.key: tie for tie in mapping.ties}
    items = tuple(_compared(setup, key, ties.get(key.key), values) for key in setting_keys().values())
    unknown = [
        item
        for item in report.values
        if mapping.tie_of(item.name) is None and item.name.casefold() not in mapping.ignore
    ]
    ignored = sum(item.name.casefold() in mapping.ignore for item in report.values)
    return Settled(tuple(item for item in items if item is not None), tuple(unknown), ignored)


def _compared(
    setup: Setup, key: SettingKey, tie: Tie | None, values: dict[str, tuple[Reported, Value]]
) -> Compared | None:
    """Compare one key; None for one that neither has."""
    wanted = value_in(setup, key)
    sheet = _shown(setup, key, wanted)
    si = wanted if isinstance(wanted, float) else None
    if tie is None:
        return None if wanted is None else Compared(key.key, "not tied", "", sheet, "", si)
    if key.key not in values:
        kind: Kind = "missing" if wanted is not None else "same"
        return Compared(key.key, kind, tie.name, sheet, "nothing", si)
    item, value = values[key.key]
    if value.si is None or wanted is None:
        return _used_or_not(setup, key, tie, sheet, (item, value))
    if isinstance(value.si, str) or isinstance(wanted, str):
        kind = "same" if value.si == wanted else "different"
        shown = _both(item.text, str(value.si))
        change = int(value.si) if str(value.si).isdigit() else value.si
        return Compared(key.key, kind, tie.name, sheet, shown, line=item.place.line, change=change)
    return _amounts(setup, key, tie, (item, value), wanted)


def _used_or_not(
    setup: Setup, key: SettingKey, tie: Tie, sheet: str, found: tuple[Reported, Value]
) -> Compared:
    item, value = found
    wanted = value_in(setup, key)
    si = wanted if isinstance(wanted, float) else None
    line = item.place.line
    if value.si is None:
        kind: Kind = "same" if wanted is None else "different"
        impossible = "" if key.optional or wanted is None else "the card cannot be without it"
        shown = f"{item.text} (not used)"
        return Compared(
            key.key, kind, tie.name, sheet, shown, si, None, None, False, impossible, line, "none"
        )
    if isinstance(value.si, str):
        shown = _both(item.text, value.si)
        return Compared(key.key, "extra", tie.name, sheet, shown, line=line, change=value.si)
    impossible, change = _allowed(setup, key, value.si)
    shown = _both(_raw(item.text, value), _amount(setup, key, value.si))
    return Compared(
        key.key, "extra", tie.name, sheet, shown, None, value.si, None, False, impossible, line, change
    )


def _amounts(
    setup: Setup, key: SettingKey, tie: Tie, found: tuple[Reported, Value], wanted: float
) -> Compared:
    item, value = found
    assert key.amount is not None, f"{key.key} is no amount"
    assert isinstance(value.si, float), f"{key.key} is no number"
    off = abs(value.si - wanted)
    noise = ROUNDING_NOISE * max(abs(wanted), abs(value.si))
    within = off <= value.half_step * (1.0 + 1e-6) + noise
    same = off <= noise or (within and off <= MOST_ROUNDED_SHARE * abs(wanted))
    suspect = None
    if not same and value.scale is not None:
        suspect = suspect_unit(value.raw, value.scale, value.si, wanted, key.amount.dimension)
    impossible, change = _allowed(setup, key, value.si)
    kind: Kind = "same" if same else "different"
    # A number that is the sheet's to the last digit is taken at its word: many leave trailing zeros out.
    rounded = same and off > noise
    too_coarse = rounded and key.key in NEED_DIGITS and value.half_step > MOST_ROUNDED_SHARE * abs(wanted)
    return Compared(
        key=key.key,
        kind="too coarse" if too_coarse else kind,
        name=tie.name,
        sheet=_shown(setup, key, wanted),
        reported=_both(_raw(item.text, value), _amount(setup, key, value.si)),
        sheet_si=wanted,
        reported_si=value.si,
        suspect=suspect,
        coarse=within and not same,
        impossible="" if same else impossible,
        line=item.place.line,
        change=None if same else change,
        may_be=_range(setup, key, value.si, value.half_step) if too_coarse else "",
    )


def _raw(text: str, value: Value) -> str:
    unit = value.scale.unit if value.scale is not None else ""
    return text if not unit or text.strip().endswith(unit) else f"{text} {unit}"


def _both(theirs: str, ours: str) -> str:
    return theirs if "".join(theirs.split()) == "".join(ours.split()) else f"{ours} ({theirs})"


def _allowed(setup: Setup, key: SettingKey, si: float) -> tuple[str, Any]:
    """Return why the card does not take a value, and what to put into the setup."""
    rule = key.amount
    assert rule is not None, f"{key.key} is no amount"
    text = _amount(setup, key, si)
    if not rule.low * (1 - 1e-12) <= si <= rule.high * (1 + 1e-12):
        unit = unit_of(text)
        low, high = (from_si(limit, rule.dimension, unit, 3) for limit in (rule.low, rule.high))
        return f"outside {low} to {high}, which the card takes", None
    return "", Quantity(min(max(si, rule.low), rule.high), 0.0, rule.kind, "guessed", text)


def _quantity(setup: Setup, key: SettingKey) -> Quantity | None:
    found: Any = setup.settings
    for part in key.field.split("."):
        found = getattr(found, part, None)
    return found if isinstance(found, Quantity) else None


def _amount(setup: Setup, key: SettingKey, si: float) -> str:
    """Return an SI value in the unit in which the sheet has it."""
    assert key.amount is not None, f"{key.key} is no amount"
    there = _quantity(setup, key)
    unit = unit_of(there.text) if there is not None else ""
    return from_si(si, key.amount.dimension, unit or unit_of(key.amount.example))


def _range(setup: Setup, key: SettingKey, si: float, half_step: float) -> str:
    low, high = (_amount(setup, key, end) for end in (si - half_step, si + half_step))
    return f"{low.removesuffix(unit_of(low)).strip()} to {high}"


def _shown(setup: Setup, key: SettingKey, wanted: float | str | None) -> str:
    if wanted is None:
        return "left out"
    return _amount(setup, key, wanted) if isinstance(wanted, float) else wanted


def changes_of(items: Iterator[Compared] | tuple[Compared, ...]) -> dict[str, Any]:
    """Return the changes that give a setup what the aircraft has; what no card takes is left out."""
    return {
        f"settings.{item.key}": item.change
        for item in items
        if item.change is not None and not item.impossible
    }
