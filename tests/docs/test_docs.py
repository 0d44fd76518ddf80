"""The documents tell the truth: their examples run, their links lead somewhere.

Blocks marked ``python`` run in order in one namespace a page. In blocks marked ``console`` each line
that starts with ``$`` runs; it must end with exit code 0 or with the code in a trailing ``# exit 3``,
and the lines below it must appear in its output in that order (``...`` stands for anything). A line
that is nothing but a command of ours, with ``> file`` behind it or not, runs in this process, where all is
loaded already; a line with a pipe or a command of others runs in a shell, and ours in a process of its own.
A block marked ``yaml`` whose first line is a comment with a file name is written under that name first.
Each page runs in an empty folder with a copy of ``examples/``. In this process fewer launches prove settings,
colour the odds carpet and plan a sheet's third page than a reader gets; no page tells what comes of them.
"""

from __future__ import annotations

import gc
import io
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from unittest import mock

import pytest
from sybil import Example, Sybil
from sybil.parsers.markdown import CodeBlockParser, PythonCodeBlockParser

from overarm.cli import main
from tests.short import few_proofs, quick_carpets, quick_plans

PROJECT = Path(__file__).resolve().parents[2]
PAGES = sorted([*PROJECT.glob("*.md"), *(PROJECT / "docs").rglob("*.md")])
COMMAND_SECONDS = 120
EXIT = re.compile(r"\s+# exit (\d+)$")
YAML_NAME = re.compile(r"# ([\w./-]+\.yaml)\n")
LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
OURS = "overarm "
INTO_A_FILE = re.compile(r" > ([\w./-]+)$")
FOR_A_SHELL = re.compile(r"[|&;<>()$`*?~#\n]")
PLAIN = {"COLUMNS": "110", "NO_COLOR": "1"}
FENCED = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)


def page_name(page: Path) -> str:
    return page.relative_to(PROJECT).as_posix()


def fits(expected: list[str], printed: str) -> str | None:
    """Return the first expected line that the output lacks, or None."""
    lines = iter(line.strip() for line in printed.splitlines())
    for want in expected:
        pattern = ".*".join(re.escape(piece) for piece in want.strip().split("..."))
        if not any(re.fullmatch(pattern, line) for line in lines):
            return want
    return None


def run_in_shell(command: str) -> tuple[int, str]:
    """Return the exit code of a line that a shell runs, and what it printed."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    ended = subprocess.run(
        ["bash", "-c", command],
        env={**os.environ, "PATH": path, **PLAIN},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=COMMAND_SECONDS,
        check=False,
    )
    return ended.returncode, ended.stdout + ended.stderr


def run_here(command: str, file: str | None) -> tuple[int, str]:
    """Return the same of a command of ours that runs in this process; its answer may go into a file."""
    out, wrong = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    code: str | int | None = 0
    with (
        mock.patch.object(sys, "argv", shlex.split(command)),
        mock.patch.object(sys, "stdin", io.StringIO()),
        mock.patch.dict(os.environ, PLAIN),
        redirect_stdout(out),
        redirect_stderr(wrong),
    ):
        try:
            main()
        except SystemExit as ended:
            code = ended.code
        finally:
            gc.enable()  # a command is a short process and goes without; a test is not
    answer, errors = (stream.buffer.getvalue().decode("utf-8") for stream in (out, wrong))
    if file is not None:
        Path(file).write_text(answer, "utf-8")
        answer = ""
    return int(code or 0), answer + errors


def run_command(line: str, expected: list[str]) -> None:
    code = EXIT.search(line)
    command = EXIT.sub("", line)
    into = INTO_A_FILE.search(command)
    words = INTO_A_FILE.sub("", command)
    if words.startswith(OURS) and not FOR_A_SHELL.search(words):
        ended, printed = run_here(words, into[1] if into else None)
    else:
        ended, printed = run_in_shell(command)
    assert ended == int(code[1] if code else 0), f"{command}\n{printed}"
    missing = fits(expected, printed)
    assert missing is None, f"{command}\nnot in the output, or not in this order: {missing}\n{printed}"


def run_console(example: Example) -> None:
    commands: list[tuple[str, list[str]]] = []
    for line in example.parsed.splitlines():
        if line.startswith("$ "):
            commands.append((line[2:], []))
        elif line.strip():
            assert commands, f"{example.path}:{example.line}: a console block starts with a command"
            commands[-1][1].append(line)
    for command, expected in commands:
        run_command(command, expected)


def write_yaml(example: Example) -> None:
    name = YAML_NAME.match(example.parsed)
    if name:
        Path(name[1]).write_text(example.parsed, "utf-8")


def run_page(page: Path) -> int:
    """Run every example of a page in the current folder; return how many there were."""
    sybil = Sybil(
        parsers=[
            PythonCodeBlockParser(),
            CodeBlockParser("console", run_console),
            CodeBlockParser("yaml", write_yaml),
        ]
    )
    examples = list(sybil.parse(page).examples())
    for example in examples:
        example.evaluate()
    return len(examples)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    if (PROJECT / "examples").is_dir():
        shutil.copytree(PROJECT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    few_proofs(monkeypatch)
    quick_carpets(monkeypatch)
    quick_plans(monkeypatch)
    return tmp_path


@pytest.mark.parametrize("page", PAGES, ids=page_name)
def test_examples_run(page: Path, folder: Path) -> None:
    assert folder == Path.cwd()
    run_page(page)


def links(page: Path) -> Iterator[str]:
    return (match[1] for match in LINK.finditer(FENCED.sub("", page.read_text("utf-8"))))


@pytest.mark.parametrize("page", PAGES, ids=page_name)
def test_links_lead_somewhere(page: Path) -> None:
    lost = [
        link
        for link in links(page)
        if not re.match(r"(https?|mailto):|#", link) and not (page.parent / link.split("#")[0]).exists()
    ]
    assert not lost


def test_every_page_is_reached_from_the_index() -> None:
    index = PROJECT / "docs" / "README.md"
    linked = {(index.parent / link.split("#")[0]).resolve() for link in links(index) if "://" not in link}
    assert not [page_name(page) for page in index.parent.rglob("*.md") if page not in {*linked, index}]


def test_make_targets_named_in_pages_exist() -> None:
    targets = set(re.findall(r"^([a-z]+):", (PROJECT / "Makefile").read_text("utf-8"), re.MULTILINE))
    for page in PAGES:
        named = set(re.findall(r"(?:`|^|\$ )make ([a-z]+)", page.read_text("utf-8"), re.MULTILINE))
        assert named <= targets, page_name(page)


def test_a_wrong_example_is_caught(folder: Path) -> None:
    """The runner itself: each kind of lie makes a page fail."""
    page = folder / "page.md"
    lies = [
        ("python", "assert 1 + 1 == 3"),
        ("console", "$ echo one; echo two\ntwo\none"),
        ("console", "$ exit 3"),
        ("console", "$ overarm --version > version.txt\noverarm ..."),
        ("console", "$ overarm odds none.yaml > answer.txt"),
        ("console", "$ true # exit 3"),
    ]
    for language, text in lies:
        page.write_text(f"```{language}\n{text}\n```\n", "utf-8")
        with pytest.raises(AssertionError):
            run_page(page)
    page.write_text("```console\n$ echo 91 %; exit 3 # exit 3\n... %\n```\n", "utf-8")
    assert run_page(page) == 1
