"""The workbench as its user waits for it: first view, a slider to the redrawn fan, weight of each page.

``python benchmarks/workbench.py [--moves 40] [--example b]``

It starts a real server and Chromium of the system. First view: from the start of the navigation to the first
contentful paint (W3C Paint Timing) in a browser without a cache, then with one. Slider: from the event of the
native range input to the frame in which the fan's paths are others, the median and the worst of some moves
after the first. Weight: bytes as they came over the wire. The peers, for ratios in the same run: a page with
one word from the same server, and a request for the version.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

ROOMS = (
    "describe", "odds", "settings", "trigger", "plan", "field", "review", "learn", "logbook", "rehearsal",
    "compare", "jobs",
)  # fmt: skip
FIRST_VIEW_S, SLIDER_S = 1.0, 0.2
OVERARM = Path(sys.executable).parent / "overarm"

PAINTED = """() => new Promise(done => {
  const paints = performance.getEntriesByName('first-contentful-paint');
  if (paints.length) done(paints[0].startTime);
  else new PerformanceObserver(list => list.getEntriesByName('first-contentful-paint')
    .forEach(one => done(one.startTime))).observe({type: 'paint', buffered: true});
})"""
WEIGHT = """() => performance.getEntriesByType('resource').concat(performance.getEntriesByType('navigation'))
  .reduce((sum, one) => sum + one.transferSize, 0)"""
MOVE = """([input, step]) => new Promise(done => {
  const fan = document.querySelector('figure svg'), before = fan.outerHTML, from = performance.now();
  const look = () => fan.outerHTML !== before && document.querySelector('figure svg').outerHTML !== before
    ? requestAnimationFrame(() => done(performance.now() - from)) : requestAnimationFrame(look);
  input.value = String(Number(input.value) + step);
  input.dispatchEvent(new Event('input', {bubbles: true}));
  look();
})"""


def started(folder: Path) -> tuple[subprocess.Popen[str], str]:
    """Start the server; return it and the address with the token."""
    words = [str(OVERARM), "app", "--port", "0", "--no-browser"]
    env = {**os.environ, "XDG_DATA_HOME": str(folder), "OVERARM_BOOK": str(folder / "book.sqlite")}
    process = subprocess.Popen(words, env=env, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    return process, process.stdout.readline().split(": ", 1)[1].strip()


def painted(page: Page, address: str) -> float:
    """Return the seconds from the start of a navigation to the first contentful paint."""
    page.goto(address)
    return float(page.evaluate(PAINTED)) / 1000.0


def chromium() -> str | None:
    """Return where the Chromium of the system is; None if there is none."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


def first_views(browser: Browser, page: Page, base: str) -> dict[str, float]:
    """Return the first view without and with a cache, and that of a bare answer of the same server [s]."""
    address = f"{base}/describe"
    fresh = browser.new_context()
    fresh.add_cookies(page.context.cookies())  # type: ignore[arg-type]
    cold = painted(fresh.new_page(), address)
    fresh.close()
    again = statistics.median(painted(page, address) for _ in range(5))
    bare = statistics.median(painted(page, f"{base}/api/about") for _ in range(5))
    return {"first view": cold, "again": again, "bare answer": bare}


def weights(browser: Browser, context: BrowserContext, base: str) -> None:
    """Print what each room weighs in a browser without a cache, with a setup open."""
    print("\nweight over the wire, nothing in the cache, answers included")
    kept = context.storage_state()
    for room in ROOMS:
        alone = browser.new_context(storage_state=kept)
        page = alone.new_page()
        page.goto(f"{base}/{room}", wait_until="networkidle")
        print(f"  {room:<12} {page.evaluate(WEIGHT) / 1000:7.0f} kB")
        alone.close()


def slider(page: Page, base: str, example: str, moves: int) -> dict[str, float]:
    """Return how long a move of a slider takes to the redrawn fan [s]."""
    page.goto(f"{base}/odds")
    page.get_by_role("button", name=f"{example.upper()}, ").first.click()
    handle = page.get_by_label("Start wait", exact=True).element_handle(timeout=180_000)
    page.wait_for_function("document.querySelector('figure svg path')", timeout=180_000)
    time.sleep(3.0)
    taken = []
    for move in range(moves + 1):
        step = 0.05 if move % 8 < 4 else -0.05
        taken.append(float(page.evaluate(MOVE, [handle, step])) / 1000.0)
        time.sleep(0.25)
    later = sorted(taken[1:])
    return {"first move": taken[0], "slider": statistics.median(later), "slowest": later[-1]}


@contextmanager
def opened() -> Iterator[tuple[Browser, BrowserContext, Page, str, float]]:
    """Start server and browser; yield browser, context, a page, the address, and the first paint [s]."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        process, address = started(Path(folder))
        browser = play.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        try:
            context = browser.new_context()
            page = context.new_page()
            first = painted(page, address)
            yield browser, context, page, page.url.rsplit("/", 1)[0], first
        finally:
            browser.close()
            process.kill()


def waits(example: str, moves: int) -> dict[str, float]:
    """Return what the user waits for, by name [s]."""
    with opened() as (browser, _, page, base, first):
        return {"first page": first, **first_views(browser, page, base), **slider(page, base, example, moves)}


def told(found: dict[str, float], moves: int) -> None:
    """Print what the user waits for."""
    cold, again, middle = found["first view"], found["again"], found["slider"]
    print(f"the first page of all, the server just begun  {found['first page']:6.2f} s")
    print(f"first view, nothing in the cache              {cold:6.2f} s  ({cold / FIRST_VIEW_S:.2f} of 1 s)")
    print(f"first view, again                             {again:6.2f} s  "
          f"({again / found['bare answer']:.1f} bare answers)")  # fmt: skip
    print(
        f"slider to redrawn fan of 50 launches, median  {middle:6.3f} s  ({middle / SLIDER_S:.2f} of 0.2 s)"
    )
    print(f"the slowest of {moves}                             {found['slowest']:6.3f} s;  "
          f"the first move {found['first move']:.3f} s")  # fmt: skip


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--moves", type=int, default=40)
    parser.add_argument("--example", default="b", choices=list("abcde"))
    asked = parser.parse_args()
    with opened() as (browser, context, page, base, first):
        found = {"first page": first, **first_views(browser, page, base)}
        told({**found, **slider(page, base, asked.example, asked.moves)}, asked.moves)
        weights(browser, context, base)


if __name__ == "__main__":
    main()
