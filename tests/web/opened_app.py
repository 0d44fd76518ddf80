"""The workbench opened in a browser: what it complained of and asked for, what axe-core finds."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, Literal

from playwright.sync_api import Browser, Locator, Page, Route, expect

from tests.workbench import Server, running

AXE = (Path(__file__).parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js").read_text("utf-8")
SIZES: dict[str, tuple[int, int]] = {"desk": (1440, 900), "phone": (390, 844)}
# WCAG 2.2, levels A and AA, and the practices that axe-core holds beside them.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# A picture whose button was let go of, or a stream that ends with its room, is no fault.
# A browser without a graphics card tells that it copies what WebGL drew.
LEFT = re.compile(r"net::ERR_ABORTED|GPU stall due to ReadPixels")


def left_waiting(page: Page, address: str) -> list[Route]:
    """Leave what a page asks of an address without an answer; return the list that fills with it."""
    waiting: list[Route] = []

    def wait(route: Route) -> None:
        waiting.append(route)

    page.route(address, wait)
    return waiting


class OpenedApp:
    """A page of the workbench in a browser context of its own; ends with complaints if there were any."""

    def __init__(
        self,
        browser: Browser,
        room: str,
        size: str = "desk",
        scheme: Literal["light", "dark"] = "light",
        server: Server | None = None,
    ) -> None:
        self.server = server or running()
        width, height = SIZES[size]
        self.context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        self.context.set_default_timeout(20_000)
        jar = self.server.http.cookies.jar
        self.context.add_cookies(
            [{"name": one.name, "value": str(one.value), "url": self.server.base} for one in jar]
        )
        self.page: Page = self.context.new_page()
        self.complaints: list[str] = []
        self.elsewhere: list[str] = []
        self.page.on("console", lambda said: said.type in ("error", "warning") and self.hear(said.text))
        self.page.on("pageerror", lambda error: self.hear(str(error)))
        self.page.on("request", lambda request: self.look(request.url))
        self.page.goto(f"{self.server.base}/{room}")

    def __enter__(self) -> OpenedApp:
        return self

    def __exit__(self, *problem: object) -> None:
        self.context.close()
        if problem[0] is None:
            assert self.complaints == []
            assert self.elsewhere == []

    def hear(self, text: str) -> None:
        if not LEFT.search(text):
            self.complaints.append(text)

    def look(self, url: str) -> None:
        if not url.startswith((f"{self.server.base}/", "blob:", "data:")):
            self.elsewhere.append(url)

    def example(self, letter: str = "B") -> None:
        """Open one of the examples from the first view."""
        examples = self.page.get_by_role("region", name="Or look at one that is invented")
        examples.get_by_role("button", name=f"{letter}, ").first.click()
        expect(self.page.locator(".bar [data-saved]")).to_have_attribute("data-saved", "saved")

    def room(self, title: str) -> None:
        """Go to another room."""
        self.page.get_by_role("link", name=title, exact=True).click()

    def axe(self) -> list[str]:
        """Return what axe-core finds, one line a violation."""
        self.page.evaluate(AXE)
        found: dict[str, Any] = self.page.evaluate(
            """values => axe.run(document,
              {runOnly: {type: 'tag', values}, resultTypes: ['violations']})""",
            RULES,
        )
        return [
            f"{one['id']}: {one['help']}: {node['target']} {node['failureSummary']}"
            for one in found["violations"]
            for node in one["nodes"][:3]
        ]

    def fits(self) -> bool:
        """Return whether nothing is wider than the screen."""
        wide, room = self.page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        return bool(wide <= room)

    def tab_to(self, wanted: str | Locator, most: int = 120) -> None:
        """Press Tab until the focus is on what a locator or a CSS selector names."""
        one = self.page.locator(wanted) if isinstance(wanted, str) else wanted
        for _ in range(most):
            if one.evaluate_all("all => all.includes(document.activeElement)"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{wanted} is not reached by Tab")

    def press(self, wanted: Locator) -> None:
        """Reach a button by Tab and press it."""
        self.tab_to(wanted)
        self.page.keyboard.press("Enter")
