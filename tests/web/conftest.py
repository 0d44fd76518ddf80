"""The browser of the system, and field packs to open in it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from tests.fieldpacks import made_page
from tests.web.opened import STOP

# A loaded machine may be slow; what is awaited either comes or does not.
expect.set_options(timeout=30_000)

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    assert CHROMIUM is not None, "these tests need Chromium: apt-get install chromium"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def packs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pack")
    pages = {
        "plain": made_page(),
        "stop": made_page(stop=STOP),
        "spin": made_page(style="spin-in-hand"),
        "nasty": made_page(name="<img src=x onerror=alert(1)> " + "w" * 90),
    }
    for name, page in pages.items():
        (folder / f"{name}.html").write_text(page, "utf-8")
    return {name: folder / f"{name}.html" for name in pages}
