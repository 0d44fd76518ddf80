"""A field pack opened in a browser as its user has it: a file, no network, a phone or a desk."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

SIZES = {"phone": (390, 844), "desktop": (1440, 900)}
STOP = "The race is lost before it starts."
GO = {"wind": "3", "gust": "4", "air": "20", "volts": "16.2"}
# What is typed at each check; everything that is to be seen is seen.
TYPED = {
    1: {"pilot": "The one with the hat"},
    2: {"wind": "3,0", "gust": "4.2", "swing": "20"},
    4: {"horizon": "1"},
    5: {"differences": "0"}, 8: {"home": "2.5"}, 9: {"volts": "16.2", "pack": "21", "air": "18"},
    11: {"height": "60"},
}  # fmt: skip
WAITS = {2: 120, 4: 10, 8: 60, 12: 1}
# What the page had kept once the checks up to a number held: by page, clock [ms] and store.
WALKED: dict[tuple[Path, int], tuple[int, dict[str, str]]] = {}


class Opened:
    """A pack in a browser of its own, with everything that it asked for or complained about."""

    def __init__(self, browser: Browser, path: Path, size: str = "phone", scheme: Any = "light") -> None:
        width, height = SIZES[size]
        self.context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        self.context.set_offline(True)
        self.context.set_default_timeout(5000)
        self.page: Page = self.context.new_page()
        self.page.clock.install(time="2031-05-20T16:30:00Z")
        self.complaints: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.phone = size == "phone"
        self.path = path
        self.page.goto(path.as_uri())

    def __enter__(self) -> Opened:
        return self

    def __exit__(self, *problem: object) -> None:
        complaints, asked = self.complaints, self.asked
        self.context.close()
        if problem[0] is None:
            assert complaints == []
            assert {url.split(":")[0] for url in asked} <= {"file", "data", "blob"}
            assert {url for url in asked if url.startswith("file:")} == {self.path.as_uri()}

    def view(self, name: str) -> None:
        if self.phone:
            self.page.click(f"#go-{name}")

    def today(self, **figures: str) -> None:
        self.view("today")
        for name, value in figures.items():
            self.page.fill(f"#today-{name}", value)

    def count(self) -> str:
        return self.page.inner_text(".count")

    def evidence(self, number: int) -> None:
        assert self.count() == f"Check {number} of 17"
        if number in WAITS:
            self.page.click("#wait")
            self.page.clock.fast_forward(WAITS[number] * 1000 + 300)
            assert self.page.inner_text("#left") == "done"
        for key, value in TYPED.get(number, {}).items():
            self.page.fill(f"#c{number}-{key}", value)
        for radio in self.page.locator("#check input[value], #check input[id$='-seen']").all():
            if not (radio.get_attribute("id") or "").endswith("-not-seen"):
                radio.check()

    def hold(self, number: int) -> None:
        self.evidence(number)
        self.page.click("#hold")

    def hold_until(self, last: int) -> None:
        """Answer the checks up to a number, each as its user does."""
        self.view("checks")
        for number in range(1, last + 1):
            self.hold(number)
            WALKED[self.path, number] = self.page.evaluate("[Date.now(), {...localStorage}]")

    def held_until(self, last: int) -> None:
        """Come to the same: as after a reload by one whose walk kept it, or else by walking."""
        if (self.path, last) not in WALKED:
            self.hold_until(last)
            return
        then_ms, store = WALKED[self.path, last]
        self.page.clock.fast_forward(max(0, then_ms - self.page.evaluate("Date.now()")))
        self.page.evaluate("store => Object.assign(localStorage, store)", store)
        self.page.reload()
        self.view("checks")

    def notes(self) -> dict[str, Any]:
        self.view("notes")
        with self.page.expect_download() as got:
            self.page.click("#save")
        assert re.fullmatch(r"field-notes-\d{8}-\d{4}\.json", got.value.suggested_filename)
        told: dict[str, Any] = json.loads(Path(got.value.path()).read_text("utf-8"))
        return told
