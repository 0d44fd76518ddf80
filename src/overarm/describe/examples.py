"""The example setups that come with the package."""

from __future__ import annotations

from pathlib import Path

FIRST = "b-kestrel.yaml"


def examples_folder() -> Path:
    """Return the folder of the example setups; InputError if this installation has none."""
    import overarm
    from overarm.errors import InputError

    package = Path(overarm.__file__).resolve().parent
    for folder in (package / "examples", package.parents[1] / "examples"):
        if (folder / FIRST).is_file():
            return folder
    raise InputError("the example setups are missing from this installation; install Overarm again")
