"""A number that counts what is done with it, and the plain Python functions of the engine flown with it.

``NUMBA_DISABLE_JIT=1 python -m benchmarks.counting [LAUNCHES]`` flies launches of the example and prints the
operations of a mean launch as JSON. Counted: additions and subtractions, multiplications, divisions, roots,
elementary functions (exp, log, pow, and the sines that come from the library), comparisons. Not counted:
the whole-number arithmetic of the random generator, loads and stores.
"""

from __future__ import annotations

import json
import math
import sys
from collections import Counter
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np

COUNTS: Counter[str] = Counter()
ELEMENTARY = ("exp", "log", "log1p", "pow", "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "hypot")


class Number:
    """A float that counts."""

    __slots__ = ("value",)

    def __init__(self, value: float) -> None:
        self.value = float(value)

    def __float__(self) -> float:
        return self.value

    def __int__(self) -> int:
        return int(self.value)

    def __neg__(self) -> Number:
        return Number(-self.value)

    def __abs__(self) -> Number:
        return Number(abs(self.value))

    def __bool__(self) -> bool:
        return bool(self.value)

    __hash__ = None  # type: ignore[assignment]


def _operator(kind: str, work: Callable[[float, float], Any]) -> tuple[Any, Any]:
    """Return the operator and its reflection."""

    def forward(self: Number, other: Any) -> Any:
        COUNTS[kind] += 1
        found = work(self.value, float(other))
        return found if isinstance(found, bool) else Number(found)

    def reflected(self: Number, other: Any) -> Number:
        COUNTS[kind] += 1
        return Number(work(float(other), self.value))

    return forward, reflected


def _equip() -> None:
    for name, kind, work in (
        ("add", "additions", lambda a, b: a + b),
        ("sub", "additions", lambda a, b: a - b),
        ("mul", "multiplications", lambda a, b: a * b),
        ("truediv", "divisions", lambda a, b: a / b),
        ("pow", "elementary functions", lambda a, b: a**b),
    ):
        forward, reflected = _operator(kind, work)
        setattr(Number, f"__{name}__", forward)
        setattr(Number, f"__r{name}__", reflected)
    for name, work in (
        ("lt", lambda a, b: a < b),
        ("le", lambda a, b: a <= b),
        ("gt", lambda a, b: a > b),
        ("ge", lambda a, b: a >= b),
        ("eq", lambda a, b: a == b),
        ("ne", lambda a, b: a != b),
    ):
        setattr(Number, f"__{name}__", _operator("comparisons", work)[0])


_equip()


def _counted(kind: str, work: Callable[..., float]) -> Callable[..., Number]:
    def call(*given: Any) -> Number:
        COUNTS[kind] += 1
        return Number(work(*map(float, given)))

    return call


def counting_math() -> SimpleNamespace:
    """Return a stand-in for the module ``math`` whose functions count."""
    found = SimpleNamespace(**{name: getattr(math, name) for name in dir(math) if name[0] != "_"})
    found.sqrt = _counted("roots", math.sqrt)
    found.floor = lambda value: Number(math.floor(float(value)))
    found.copysign = lambda size, sign: Number(math.copysign(float(size), float(sign)))
    for name in ELEMENTARY:
        setattr(found, name, _counted("elementary functions", getattr(math, name)))
    return found


def numbers_of(record: Any) -> SimpleNamespace:
    """Return one launch record, or one summary, with counting numbers as attributes."""
    found = SimpleNamespace()
    for name in record.dtype.names:
        part = record[name]
        setattr(
            found,
            name,
            numbers_of(part) if getattr(part, "dtype", None) and part.dtype.names else Number(part),
        )
    return found


def _watched(module: Any, name: str, calls: Counter[str], inside: Counter[str] | None = None) -> None:
    """Let a function of a module say how often it is called, and what is counted inside."""
    work = getattr(module, name)

    def call(*given: Any) -> Any:
        before = COUNTS.copy()
        found = work(*given)
        calls[name] += 1
        if inside is not None:
            inside.update(COUNTS - before)
        return found

    setattr(module, name, call)


def mean_launch(launches: int) -> dict[str, dict[str, float]]:
    """Fly launches of the example; return operations and calls of a mean launch, and operations of a step."""
    from benchmarks.rows import example
    from overarm import rng
    from overarm.flight import one, step
    from overarm.flight.campaign import blank_summary
    from overarm.flight.draw import draw
    from overarm.flight.trace import empty_trace

    _, inputs = example()
    records, _ = draw(inputs.base, inputs.rules, launches, 1, 0)
    for name, module in list(sys.modules.items()):
        if name.startswith("overarm.") and getattr(module, "math", None) is math:
            module.math = counting_math()  # type: ignore[attr-defined]
    quantile = rng.normal_quantile
    rng.normal_quantile = lambda share: quantile(Number(share))
    calls: Counter[str] = Counter()
    inside: Counter[str] = Counter()
    for name in ("step_start", "to_middle", "to_end", "table_pair", "blow"):
        _watched(one, name, calls, inside)
    _watched(one, "hold", calls)
    for name in ("rates_at", "mind_step", "noted"):
        _watched(step, name, calls)
    COUNTS.clear()
    for launch in range(launches):
        out = numbers_of(blank_summary(1, launch)[0])
        one.fly(numbers_of(records[launch]), inputs.table, inputs.obstacles, 1, launch, out, empty_trace())
    return {
        "launch": {kind: count / launches for kind, count in COUNTS.items()},
        "step": {kind: count / calls["to_end"] for kind, count in inside.items()},
        "calls": {name: count / launches for name, count in calls.items()},
    }


if __name__ == "__main__":
    np.seterr(over="ignore")
    print(json.dumps(mean_launch(int(sys.argv[1]) if len(sys.argv) > 1 else 20)))
