"""Fuzz one target, or all in turn, for a time: `python -m fuzz.run --seconds 3600`, or with names of targets.

The work goes to build/fuzz: inputs that reached something new, and what went wrong, each kind of fault once.
Linux alone; `pip install --group fuzz` brings atheris (pip 25.1 or newer, Python 3.11).
"""

from __future__ import annotations

import argparse
import hashlib
import subprocess
import sys
import time
import traceback
from pathlib import Path

from fuzz import TARGETS

ROOT = Path(__file__).resolve().parent.parent
WORK, KEPT = ROOT / "build" / "fuzz", ROOT / "tests" / "fuzz_corpus"
# Their bytes are the coverage that guides: our readers and the parsers below them.
LOOKED_INTO = [
    "overarm",
    "aerofiles",
    "defusedxml",
    "fastkml",
    "geojson_pydantic",
    "gpxpy",
    "pynmea2",
    "ruamel",
]
LEFT_ALONE = ("flight", "gpu", "jit", "physics", "rng", "air", "earth", "frames", "specimens", "trigger")
MOST_MIB = 3_000
MOST_STARTS = 60  # a run that ends with a fault is begun again while there is time


def fuzz(name: str, seconds: int) -> None:
    """Fuzz one target in this process, which ends with it."""
    import atheris

    with atheris.instrument_imports(include=LOOKED_INTO, exclude=_compiled()):
        from fuzz.door import held, target_of

        target = target_of(name)
        seeds = target.seeds()
        for seed in seeds:
            target.run(seed)  # imports what is imported late
    corpus, faults = WORK / name / "corpus", WORK / name / "faults"
    for folder in (corpus, faults):
        folder.mkdir(parents=True, exist_ok=True)
    for seed in seeds:
        (corpus / hashlib.sha1(seed, usedforsecurity=False).hexdigest()).write_bytes(seed)
    words = WORK / name / "words.dict"
    words.write_text("".join(f'"{_escaped(word)}"\n' for word in target.words), "ascii")

    def one(data: bytes) -> None:
        try:
            held(target, data)
        except Exception as error:
            _keep(faults, data, error)

    options = [
        f"-max_total_time={seconds}", f"-max_len={target.longest}", f"-dict={words}", "-timeout=30",
        f"-rss_limit_mb={MOST_MIB}", f"-artifact_prefix={faults}/", "-print_final_stats=1",
        "-use_value_profile=1", "-reload=0", "-verbosity=1", "-len_control=20",
    ]  # fmt: skip
    there = [str(KEPT / name)] if (KEPT / name).is_dir() else []
    atheris.Setup([sys.argv[0], *options, str(corpus), *there], one)
    atheris.Fuzz()


def _compiled() -> list[str]:
    """Return the modules that stay as they are: their bytes are read by the compiler too."""
    source, found = ROOT / "src", []
    for file in sorted(source.rglob("*.py")):
        parts = file.relative_to(source).with_suffix("").parts
        if parts[1] in LEFT_ALONE or "overarm.jit" in file.read_text("utf-8"):
            found.append(".".join(part for part in parts if part != "__init__"))
    return found


def _escaped(word: bytes) -> str:
    return "".join(chr(b) if 32 < b < 127 and b not in b'\\"' else f"\\x{b:02x}" for b in word)


def _keep(faults: Path, data: bytes, error: Exception) -> None:
    """Keep the shortest input of each kind of fault, told by what it is and where it was raised."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if "overarm" in frame.filename or "fuzz" in frame.filename]
    last = (ours or list(frames))[-1]
    kind = f"{type(error).__name__}-{Path(last.filename).stem}-{last.lineno}"
    file = faults / kind
    if file.exists() and file.stat().st_size <= len(data):
        return
    file.write_bytes(data)
    told = "".join(traceback.format_exception(error))
    file.with_suffix(".txt").write_text(told, "utf-8", "backslashreplace")
    sys.stderr.write(f"FAULT {kind}: {error}\n")


def main() -> None:
    """Fuzz what is asked for."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("targets", nargs="*", help="all if none is named")
    asked.add_argument("--seconds", type=int, default=3_600, help="for all targets together")
    asked.add_argument("--here", action="store_true", help="fuzz the one target in this process")
    given = asked.parse_args()
    names = given.targets or list(TARGETS)
    if given.here:
        fuzz(names[0], given.seconds)
        return
    for name in names:
        (WORK / name).mkdir(parents=True, exist_ok=True)
        share = TARGETS[name] / sum(TARGETS[one] for one in names)
        end, begun, codes = time.monotonic() + max(1, round(given.seconds * share)), time.monotonic(), []
        while (left := round(end - time.monotonic())) > 0 and len(codes) < MOST_STARTS:
            words = [sys.executable, "-m", "fuzz.run", "--here", "--seconds", str(left), name]
            with (WORK / name / "log.txt").open("ab") as log:
                codes.append(subprocess.run(words, cwd=ROOT, stdout=log, stderr=log, check=False).returncode)
        faults = sorted(file.name for file in (WORK / name / "faults").glob("*") if file.suffix != ".txt")
        told = ", ".join(faults) or "none"
        print(f"{name}: {time.monotonic() - begun:.0f} s, ended with {codes}, faults: {told}", flush=True)


if __name__ == "__main__":
    main()
