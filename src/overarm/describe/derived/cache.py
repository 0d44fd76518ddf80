"""Keep slow results between runs: one small JSON file for each distinct input.

The file is named by a hash of the inputs, of the libraries' versions and of the source files here and in
the physics, so a stale result is never found. A file that cannot be read, or a folder that cannot be written,
only costs time.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Mapping
from functools import cache
from importlib import metadata
from pathlib import Path

import numpy as np
import platformdirs

from overarm.errors import Problem, UnphysicalError
from overarm.files import write_whole

MAKERS = ("aerosandbox", "neuralfoil")

Figures = dict[str, float]


def cache_folder() -> Path:
    """Return the folder of the kept results, in the user's cache."""
    return Path(platformdirs.user_cache_dir("overarm")) / "derived"


@cache
def _makers() -> dict[str, str]:
    """Return what made a result: versions of the libraries, and a hash of the source files here and
    of the physics that they call."""
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for folder in (here, here.parent.parent / "physics"):
        for file in sorted(folder.glob("*.py")):
            digest.update(file.read_bytes())
    return {**{name: metadata.version(name) for name in MAKERS}, "source": digest.hexdigest()}


def _key(kind: str, inputs: Mapping[str, object]) -> str:
    made = {"kind": kind, "made_by": _makers(), "inputs": inputs}
    text = json.dumps(made, sort_keys=True, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _read(file: Path, names: tuple[str, ...]) -> Figures | None:
    try:
        found = json.loads(file.read_text("utf-8"))
        figures = {name: float(found[name]) for name in names}
    except (OSError, ValueError, TypeError, KeyError):
        return None
    return figures if all(math.isfinite(value) for value in figures.values()) else None


def _write(file: Path, figures: Figures) -> None:
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_whole(file, json.dumps(figures, allow_nan=False).encode("utf-8"))
    except OSError:
        return


def kept(
    kind: str, inputs: Mapping[str, object], names: tuple[str, ...], compute: Callable[[], Figures]
) -> Figures:
    """Return the figures of these inputs, from the cache or computed now and kept.

    Parameters: ``kind`` and ``inputs`` (plain values) make the key; ``names`` are the figures that
    must be there; ``compute`` gives them. Raises UnphysicalError when one is not finite.
    """
    file = cache_folder() / f"{kind}-{_key(kind, inputs)}.json"
    found = _read(file, names)
    if found is not None:
        return found
    with np.errstate(all="ignore"):  # the libraries underflow on purpose; the result is checked
        figures = {name: float(value) for name, value in compute().items()}
    wrong = [name for name in names if not math.isfinite(figures[name])]
    if wrong:
        cure = "Check chords, span, sweep, section and surfaces of the airframe card."
        raise UnphysicalError([Problem(f"the {kind} gives no finite {', '.join(wrong)}", cure)])
    _write(file, figures)
    return figures
