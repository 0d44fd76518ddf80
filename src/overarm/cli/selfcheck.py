"""`overarm selfcheck`: is the engine on this machine sound?

Two launches whose answers are known without the engine: a throw in (almost) a vacuum, and the same
throw again, which must give the same bytes.
"""

from __future__ import annotations

import importlib.metadata
import math
import platform
import time
from typing import TYPE_CHECKING, NamedTuple

import typer

from overarm.cli.exits import STOP_EXIT
from overarm.cli.first import tell_if_first

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from overarm.flight.campaign import Inputs

PACKAGES = ("numba", "llvmlite", "numpy", "scipy", "aerosandbox", "neuralfoil", "matplotlib", "typst")

# The throw of the check: any numbers do, as long as the motor stays off and the arm is at rest first.
SPEED_MPS = 12.0
PATH_RAD = math.radians(20.0)
HEIGHT_M = 1.8
# One step of the flight at the speed of the impact; the ground is met within one step.
STEP_S = 0.005


class Line(NamedTuple):
    """One number of the check."""

    name: str
    expected: float
    found: float
    tolerance: float

    @property
    def good(self) -> bool:
        """Return True if the number is where it must be."""
        return abs(self.found - self.expected) <= self.tolerance


def vacuum_inputs() -> Inputs:
    """Return a throw in air so thin that it does nothing, with a motor that never starts."""
    import numpy as np

    from overarm.flight.campaign import Inputs
    from overarm.flight.draw import Rules
    from overarm.flight.record import LAUNCH, STYLE_THROW_STARTED

    base = np.ones(1, LAUNCH)
    fields = {
        "air": {"density_kgpm3": 1e-12, "wind_10m_mps": 0.0, "gust_scale": 0.0, "roughness_m": 0.03},
        "trigger": {"level_mps2": 1e6},
        "board": {"rate_hz": 200.0, "noise_mps2": 0.0, "bias_mps2": 0.0, "tilt_rad": 0.0},
        "hand": {
            "speed_mps": SPEED_MPS, "path_rad": PATH_RAD, "pitch_rad": PATH_RAD, "height_m": HEIGHT_M,
            "bank_rad": 0.0, "heading_rad": 0.0, "roll_rate_radps": 0.0, "pitch_rate_radps": 0.0,
            "yaw_rate_radps": 0.0, "shakes": 0.0, "step_mps2": 0.0, "spin_in_hand": 0.0,
        },
        "mass": {"ixz_kg_m2": 0.0},
        "propeller": {"tilt_rad": 0.0, "height_m": 0.0},
        "logic": {
            "style": STYLE_THROW_STARTED, "handover_height_m": 1e3, "legal_ceiling_m": 1e3,
            "give_up_s": 1e3, "stall_speed_mps": 1.0, "step_s": STEP_S,
        },
    }  # fmt: skip
    for group, values in fields.items():
        for name, value in values.items():
            base[group][name] = value
    table = np.zeros((2, 65))
    table.flags.writeable = False  # as that of a setup: the engine is compiled for just these arrays
    return Inputs(base, Rules.of([], []), table, np.zeros((0, 5)))


def vacuum_lines(row: NDArray[np.void]) -> list[Line]:
    """Compare a flown throw with a stone's path: ``h + v_z^2/(2 g)`` and ``v_x t``."""
    from overarm.air import GRAVITY_MPS2
    from overarm.flight.watch import GROUND_M

    up_mps = SPEED_MPS * math.sin(PATH_RAD)
    along_mps = SPEED_MPS * math.cos(PATH_RAD)
    fall_m = HEIGHT_M - GROUND_M
    time_s = (up_mps + math.sqrt(up_mps**2 + 2.0 * GRAVITY_MPS2 * fall_m)) / GRAVITY_MPS2
    flown_s = float(row["end_s"] - row["release_s"])
    top_m = HEIGHT_M + up_mps**2 / (2.0 * GRAVITY_MPS2)
    return [
        Line("time to the ground [s]", time_s, flown_s, 1.01 * STEP_S),
        Line("distance at the ground [m]", along_mps * time_s, float(row["distance_m"]), along_mps * STEP_S),
        Line("greatest height [m]", top_m, float(row["top_height_m"]), 1e-3),
    ]


def beside_a_line(inputs: Inputs, alone: NDArray[np.void]) -> bool:
    """Return True if the throw flies the same beside a launch from a line, whose loops are others."""
    import numpy as np

    from overarm.flight.campaign import fly_numbered
    from overarm.flight.record import STYLE_LINE_LAUNCHED

    both = np.repeat(inputs.base, 2)
    both["logic"]["style"][1] = STYLE_LINE_LAUNCHED
    beside = fly_numbered(inputs, both, 1, np.array([0, 0]))[0]
    return all(math.isclose(beside[name], alone[name], rel_tol=1e-9) for name in ("end_s", "distance_m"))


def flown() -> tuple[list[Line], bool, float]:
    """Compile and fly; return the numbers, whether a second flight was the same, and the seconds."""
    from overarm.flight.campaign import fly_records, run

    inputs = vacuum_inputs()
    began = time.perf_counter()
    first = fly_records(inputs, inputs.base, 1)
    (again,) = run(inputs, 1, 1)  # by way of the draw, which is compiled too
    same = first.tobytes() == again.table.tobytes() and beside_a_line(inputs, first[0])
    return vacuum_lines(first[0]), same, time.perf_counter() - began


def selfcheck() -> None:
    """Fly a launch whose answer is known, and print versions. The engine is compiled first, if need be."""
    typer.echo(f"overarm {importlib.metadata.version('overarm')}, Python {platform.python_version()}")
    typer.echo(", ".join(f"{name} {importlib.metadata.version(name)}" for name in PACKAGES))
    typer.echo("")
    tell_if_first("throw-started", "line-launched")
    lines, same, took_s = flown()
    typer.echo(f"compiled (or found in the cache) and flown in {took_s:.1f} s")
    for line in lines:
        word = "good" if line.good else "STOP"
        typer.echo(f"{word}  {line.name}: {line.found:.4f}, textbook {line.expected:.4f}")
    typer.echo(f"{'good' if same else 'STOP'}  the same seed gives the same bytes")
    if not same or not all(line.good for line in lines):
        typer.echo("STOP: the engine on this machine gives wrong numbers. Do not use its odds.", err=True)
        raise typer.Exit(STOP_EXIT)
    typer.echo("good")
