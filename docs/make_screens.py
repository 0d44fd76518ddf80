"""Take the pictures of the workbench that the documents show: `make screens`.

It starts a workbench of its own and Chromium of the system, does the main task of each room with the examples
and with synthetic recordings, and takes what stands on the screen then.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Literal

from playwright.sync_api import Browser, Page, sync_playwright

from overarm.describe.derived import derive
from overarm.describe.examples import examples_folder
from overarm.describe.reader import load
from overarm.specimens import make
from overarm.specimens.phone import make_phone

IMAGES = Path(__file__).parent / "images"
DESK, PHONE = (1440, 900), (390, 844)
LONG_MS = 300_000
KINDS: tuple[Literal["carry", "shake", "throw"], ...] = ("carry", "shake", "throw")
Act = Callable[[Page, Path], None]


def _describe(page: Page, _folder: Path) -> None:
    page.get_by_text("Reading the setup").wait_for(state="hidden", timeout=LONG_MS)


def _odds(page: Page, _folder: Path) -> None:
    page.get_by_role("heading", name="What if").wait_for(timeout=LONG_MS)
    page.get_by_role("button", name="Fly the launches").click()
    page.get_by_role("heading", name="Weakest link").wait_for(timeout=LONG_MS)
    page.wait_for_timeout(3000)


def _settings(page: Page, _folder: Path) -> None:
    page.get_by_role("button", name="Find the settings").click()
    page.get_by_role("heading", name="Where each may stand").wait_for(timeout=LONG_MS)


def _trigger(page: Page, folder: Path) -> None:
    page.get_by_label("Choose recordings").set_input_files([folder / f"{kind}.csv" for kind in KINDS])
    page.get_by_role("button", name="Run them through the trigger").click()
    page.get_by_role("heading", name="Trigger ladder").wait_for(timeout=LONG_MS)
    page.get_by_role("heading", name="Trigger ladder").scroll_into_view_if_needed()


def _plan(page: Page, _folder: Path) -> None:
    page.get_by_role("button", name="Plan this launch").click()
    page.get_by_role("heading", name="From the side").wait_for(timeout=LONG_MS)


def _field(page: Page, _folder: Path) -> None:
    page.get_by_role("button", name="Make the pack").click()
    page.get_by_text("cells of wind, air and pack").wait_for(timeout=LONG_MS)


def _review(page: Page, folder: Path) -> None:
    page.get_by_label("Choose a recording").set_input_files(folder / "launch.csv")
    page.get_by_role("heading", name="Timeline strip").wait_for(timeout=LONG_MS)
    page.wait_for_timeout(1000)


def _learn(page: Page, _folder: Path) -> None:
    page.get_by_role("button", name="Video of throws").click()
    page.get_by_role("button", name="Learn", exact=True).click()
    page.get_by_role("heading", name="What it teaches").wait_for(timeout=LONG_MS)
    page.get_by_role("heading", name="Video of throws").scroll_into_view_if_needed()


def _rehearsal(page: Page, _folder: Path) -> None:
    page.wait_for_timeout(500)


# Room, example, what is done, and the sizes and themes in which it is taken.
SHOTS: tuple[tuple[str, str, Act, tuple[tuple[tuple[int, int], str], ...]], ...] = (
    ("describe", "B", _describe, ((DESK, "light"),)),
    ("odds", "E", _odds, ((DESK, "light"), (PHONE, "dark"))),
    ("settings", "E", _settings, ((DESK, "light"),)),
    ("trigger", "B", _trigger, ((DESK, "light"),)),
    ("plan", "B", _plan, ((DESK, "dark"),)),
    ("field", "B", _field, ((DESK, "light"),)),
    ("review", "B", _review, ((DESK, "light"),)),
    ("learn", "B", _learn, ((DESK, "light"),)),
    ("rehearsal", "B", _rehearsal, ((PHONE, "light"),)),
)


def recordings(folder: Path) -> None:
    """Write what the trigger room and the review room are given."""
    card = load(examples_folder() / "b-kestrel.yaml")
    derived = derive(card)
    (folder / "launch.csv").write_bytes(make(card, derived, seed=1, launch=2).csv)
    for number, kind in enumerate(KINDS):
        (folder / f"{kind}.csv").write_bytes(make_phone(1, number, kind).csv)


def taken(browser: Browser, address: str, folder: Path, only: set[str]) -> None:
    """Take every picture."""
    for room, example, act, looks in SHOTS:
        for (width, height), scheme in looks if not only or room in only else ():
            context = browser.new_context(
                viewport={"width": width, "height": height},
                color_scheme="dark" if scheme == "dark" else "light",
                storage_state=str(folder / "state.json"),
            )
            page = context.new_page()
            page.goto(f"{address}/{room}")
            examples = page.get_by_role("region", name="Or look at one that is invented")
            examples.get_by_role("button", name=f"{example}, ").first.click()
            page.get_by_role("heading", level=1, name=room.capitalize()).wait_for()
            page.evaluate("scrollTo(0, 0)")
            act(page, folder)
            size = "phone" if (width, height) == PHONE else "desk"
            page.screenshot(path=str(IMAGES / f"room-{room}-{size}-{scheme}.png"))
            context.close()


def main() -> None:
    """Start a workbench and take the pictures; rooms may be named."""
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))))
    with tempfile.TemporaryDirectory() as place, sync_playwright() as play:
        folder = Path(place)
        recordings(folder)
        env = {**os.environ, "XDG_DATA_HOME": place, "OVERARM_BOOK": str(folder / "book.sqlite")}
        words = [str(Path(sys.executable).parent / "overarm"), "app", "--port", "0", "--no-browser"]
        server = subprocess.Popen(words, env=env, stdout=subprocess.PIPE, text=True)
        assert server.stdout is not None
        opened = server.stdout.readline().split(": ", 1)[1].strip()
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        try:
            first = browser.new_context()
            page = first.new_page()
            page.goto(opened)
            first.storage_state(path=str(folder / "state.json"))
            taken(browser, page.url.rsplit("/", 1)[0], folder, set(sys.argv[1:]))
        finally:
            browser.close()
            server.kill()


if __name__ == "__main__":
    main()
