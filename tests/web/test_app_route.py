"""A route goes out of the plan and comes back from the aircraft, with the keyboard alone."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from tests.web.opened_app import OpenedApp

POINT = "  launch_point: {latitude: 47.00117 deg, longitude: 8.00099 deg}\n  launch_direction: 90 deg\n"
FLOWN_MS = 120_000
# A point further on than planned: a thousandth of a degree of longitude is 76 m at 47 degrees.
AHEAD_DEG = 0.001


def place_it(page: Page) -> None:
    """Give the setup a place on the earth, as one who writes into its text."""
    page.get_by_role("button", name="As text").press("Enter")
    area = page.get_by_role("textbox", name="As text")
    area.fill(area.input_value().replace("site:\n", f"site:\n{POINT}"))
    expect(page.locator(".bar [data-saved]")).to_have_attribute("data-saved", "saved")


def compared(opened: OpenedApp, file: Path) -> None:
    page = opened.page
    with page.expect_file_chooser() as chooser:
        opened.tab_to("section[aria-labelledby=readback] input[type=file]")
        page.keyboard.press("Enter")
    chooser.value.set_files(file)
    expect(page.get_by_text(file.name).first).to_be_visible()
    opened.tab_to("section[aria-labelledby=readback] button.main")
    page.keyboard.press("Enter")


def test_a_route_is_read_back_with_the_keyboard(browser: Browser, tmp_path: Path) -> None:
    with OpenedApp(browser, "describe") as opened:
        page = opened.page
        opened.example("B")
        place_it(page)
        opened.room("Plan")
        opened.tab_to("main button.main")
        page.keyboard.press("Enter")
        gpx = page.get_by_role("button", name="GPX")
        expect(gpx).to_be_visible(timeout=FLOWN_MS)
        with page.expect_download() as got:
            gpx.press("Enter")
        planned = tmp_path / "planned.gpx"
        planned.write_bytes(Path(got.value.path()).read_bytes())
        opened.room("Field")
        compared(opened, planned)
        expect(page.get_by_role("heading", name="The aircraft has what the sheet has.")).to_be_visible(
            timeout=FLOWN_MS
        )
        moved = tmp_path / "moved.gpx"
        lons = re.findall(r'lon="([^"]+)"', planned.read_text("utf-8"))
        far = max(lons, key=float)
        moved.write_text(planned.read_text("utf-8").replace(far, f"{float(far) + AHEAD_DEG:.7f}"), "utf-8")
        page.get_by_role("button", name="another report").press("Enter")
        compared(opened, moved)
        expect(page.get_by_text(re.compile(r"76\.\d\sm off")).first).to_be_visible(timeout=FLOWN_MS)
        assert opened.axe() == []
