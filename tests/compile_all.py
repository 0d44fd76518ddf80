"""Compile every loop once and keep it: `python -m tests.compile_all`.

`make test` does so while it looks at style; else processes of the tests that begin together each compile
for themselves.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from tests.reviewed import CLEAN, csv_of
from tests.uncompiled import everything


def main() -> None:
    """Fly, read and listen as the tests of the loops do; what comes of it is theirs to look at."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "clean.csv"
        file.write_bytes(csv_of(CLEAN))
        everything(file)


if __name__ == "__main__":
    main()
