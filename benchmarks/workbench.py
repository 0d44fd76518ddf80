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


def first_views(browser: Browser, page: Page, base: str) -> None:
    """Print the first view without and with a cache, and that of a bare answer of the same server."""
    address = f"{base}/describe"
    fresh = browser.new_context()
    fresh.add_cookies(page.context.cookies())  # type: ignore[arg-type]
    cold = painted(fresh.new_page(), address)
    fresh.close()
    again = statistics.median(painted(page, address) for _ in range(5))
    bare = statistics.median(painted(page, f"{base}/api/about") for _ in range(5))
    print(f"first view, nothing in the cache              {cold:6.2f} s  ({cold / FIRST_VIEW_S:.2f} of 1 s)")
    print(f"first view, again                             {again:6.2f} s  ({again / bare:.1f} bare answers)")


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


def slider(page: Page, base: str, example: str, moves: int) -> None:
    """Print how long a move of a slider takes to the redrawn fan."""
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
    middle, worst = statistics.median(later), later[-1]
    print(
        f"slider to redrawn fan of 50 launches, median  {middle:6.3f} s  ({middle / SLIDER_S:.2f} of 0.2 s)"
    )
    print(
        f"the slowest of {moves}                             {worst:6.3f} s;  the first move {taken[0]:.3f} s"
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--moves", type=int, default=40)
    parser.add_argument("--example", default="b", choices=list("abcde"))
    asked = parser.parse_args()
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        process, address = started(Path(folder))
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        try:
            context = browser.new_context()
            page = context.new_page()
            first = painted(page, address)
            base = page.url.rsplit("/", 1)[0]
            print(f"the first page of all, the server just begun   {first:6.2f} s")
            first_views(browser, page, base)
            slider(page, base, asked.example, asked.moves)
            weights(browser, context, base)
        finally:
            browser.close()
            process.kill()


if __name__ == "__main__":
    main()
