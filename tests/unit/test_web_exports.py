"""Nothing in the pages' code is offered to other files that none of them takes."""

from __future__ import annotations

import re
from pathlib import Path

SOURCES = Path(__file__).parents[2] / "web" / "src"
IMPORT = re.compile(r"import\s+(?:type\s+)?(?:\w+,\s*)?\{([^}]*)\}\s+from\s+\"(\.[^\"]+)\"")
EXPORT = re.compile(r"^export (?:async )?(?:const|function|class|interface|type) (\w+)", re.MULTILINE)


def test_what_is_exported_is_imported() -> None:
    texts = {
        file: file.read_text("utf-8")
        for file in SOURCES.rglob("*")
        if file.suffix in (".ts", ".svelte") and file.name != "schema.d.ts"
    }
    taken = set()
    for file, text in texts.items():
        for names, place in IMPORT.findall(text):
            where = (file.parent / place).resolve()
            for name in names.split(","):
                plain = name.strip().removeprefix("type ").split(" as ")[0].strip()
                taken |= {(where, plain), (where.with_name(f"{where.name}.ts"), plain)}
    offered = [(file, name) for file, text in texts.items() for name in EXPORT.findall(text)]
    assert len(offered) > 100
    assert [f"{file.name}: {name}" for file, name in offered if (file, name) not in taken] == []
