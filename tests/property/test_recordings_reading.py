"""Whatever channels are written in whatever units, they are read back within the rounding."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.recordings.channels import CHANNELS
from overarm.recordings.columns import stems
from overarm.recordings.reading import read_recording
from overarm.units import ACCELERATION, ANGLE, CURRENT, LENGTH, SHARE, SPEED, TURN_RATE, VOLTAGE

# Head suffix, and what one of it is in SI. SI brochure (BIPM 2019), ISO 80000-3.
UNITS = {
    ACCELERATION.name: {"mps2": 1.0, "g": 9.80665, "cm_s2": 0.01, "mg": 9.80665e-3},
    ANGLE.name: {"rad": 1.0, "deg": math.pi / 180, "mrad": 1e-3, "rev": 2 * math.pi},
    TURN_RATE.name: {"radps": 1.0, "deg_s": math.pi / 180, "rpm": math.pi / 30, "hz": 2 * math.pi},
    SPEED.name: {"mps": 1.0, "kmh": 1 / 3.6, "kt": 1852 / 3600, "cm_s": 0.01, "mph": 0.44704},
    LENGTH.name: {"m": 1.0, "cm": 0.01, "ft": 0.3048, "mm": 1e-3},
    SHARE.name: {"": 1.0, "pct": 0.01},
    VOLTAGE.name: {"v": 1.0, "mv": 1e-3},
    CURRENT.name: {"a": 1.0, "ma": 1e-3},
}
TIMES = {"time_s": 1.0, "time_ms": 1e-3, "time_us": 1e-6, "t_min": 60.0, "timestamp_s": 1.0}
STEMS = {channel: stem for stem, channel in stems().items()}
NUMBERS = st.floats(-1e5, 1e5, allow_subnormal=False).map(lambda x: 0.0 if abs(x) < 1e-9 else x)


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[str], list[list[float | None]], float, dict[str, float]]:
    names = draw(st.lists(st.sampled_from(sorted(CHANNELS)), min_size=1, max_size=8, unique=True))
    heads, factors = [], {}
    for name in names:
        known = {unit: one for unit, one in UNITS[CHANNELS[name].dimension.name].items() if one is not None}
        unit = "" if name == "state" else draw(st.sampled_from(sorted(known)))
        heads.append(f"{STEMS[name]}_{unit}" if unit else STEMS[name])
        factors[name] = known.get(unit, 1.0)
    time = draw(st.sampled_from(sorted(TIMES)))
    rows = draw(st.lists(st.lists(st.none() | NUMBERS, min_size=len(names), max_size=len(names)), min_size=1))
    return [time, *heads], rows, TIMES[time], factors


@settings(max_examples=60, deadline=None)
@given(
    table=tables(),
    form=st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", ","), ("|", ".")]),
    codec=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    end=st.sampled_from(["\n", "\r\n"]),
)
def test_any_channels_in_any_units(
    tmp_path_factory: pytest.TempPathFactory,
    table: tuple[list[str], list[list[float | None]], float, dict[str, float]],
    form: tuple[str, str],
    codec: str,
    end: str,
) -> None:
    heads, rows, second, factors = table
    separator, point = form
    if all(cell is None for row in rows for cell in row):
        rows = [[1.0] * len(factors), *rows]

    def written(cell: float | None) -> str:
        return "" if cell is None else repr(float(cell)).replace(".", point)

    lines = [separator.join(heads)]
    lines += [separator.join([written(float(k)), *map(written, row)]) for k, row in enumerate(rows)]
    file = tmp_path_factory.getbasetemp() / "any.csv"
    file.write_bytes((end.join(lines) + end).encode(codec))
    found = read_recording(Path(file))
    for column, (name, factor) in enumerate(factors.items()):
        kept = [(k, row[column]) for k, row in enumerate(rows) if row[column] is not None]
        times = np.array([k for k, _ in kept], dtype=float) * second
        values = np.array([cell for _, cell in kept], dtype=float) * factor
        np.testing.assert_allclose(found.channels[name].t_s, times, rtol=1e-12, atol=1e-15)
        np.testing.assert_allclose(found.channels[name].values, values, rtol=1e-12, atol=1e-15)
