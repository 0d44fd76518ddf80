"""How long a command takes to begin and end, against Python that does nothing."""

from __future__ import annotations

import subprocess
import sys

from benchmarks.rows import EXAMPLE, ROOT, Row, in_words, median_s

OVERARM = "import sys; from overarm.cli import main; sys.argv = ['overarm', *sys.argv[1:]]; main()"


def process_s(repeats: int, *words: str) -> float:
    """Return the median seconds of a process."""

    def once() -> None:
        ended = subprocess.run(
            [sys.executable, *words], cwd=ROOT, capture_output=True, text=True, check=False
        )
        assert ended.returncode in (0, 3), ended.stderr  # 3: a finding that stops

    return median_s(once, repeats)


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    repeats = 3 if quick else 9
    nothing = process_s(repeats, "-c", "pass")
    found = [Row("python -c pass", in_words(nothing))]
    for words in (["--version"], ["check", str(EXAMPLE)], ["odds", str(EXAMPLE), "--launches", "1000"]):
        taken = process_s(repeats, "-c", OVERARM, *words)
        told = " ".join(word.rsplit("/", 1)[-1] for word in words)
        found.append(Row(f"overarm {told}", in_words(taken), f"{taken / nothing:.1f} times python -c pass"))
    return found
