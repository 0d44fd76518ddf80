"""Write the description of the workbench's interface (OpenAPI 3.1) into a file: `make web`, `make lint`.

The types of the pages are made from it, so it has every answer's shape; the same code gives the same bytes.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from overarm.app.build import interface


def description() -> str:
    """Return it as JSON."""
    return json.dumps(interface().openapi(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(description(), "utf-8")
