"""The field pack as it is seen: contrast in both themes, targets for a thumb, stillness."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.web.opened import GO, SIZES, Opened

# WCAG 2.2: relative luminance and contrast; 7:1 is the level AAA of criterion 1.4.6.
LOW_CONTRAST = """() => {
  const rgb = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const line = v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
  const lum = c => { const [r, g, b] = c.map(v => line(v / 255)); return .2126 * r + .7152 * g + .0722 * b; };
  const back = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0.99) return c.slice(0, 3); } return [255, 255, 255]; };
  const ratio = (c, e) => { const a = lum(rgb(c).slice(0, 3)), b = lum(back(e));
    return (Math.max(a, b) + .05) / (Math.min(a, b) + .05); };
  const bad = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let seen = 0;
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement, style = getComputedStyle(e);
    if (!walk.currentNode.textContent.trim() || !e.getClientRects().length) continue;
    const found = ratio(e.closest('svg') ? style.fill : style.color, e);
    seen += 1;
    if (found < 7) bad.push(found.toFixed(2) + ' ' + walk.currentNode.textContent.trim().slice(0, 30));
  }
  for (const e of document.querySelectorAll('input[type=text], textarea, select')) {
    if (e.offsetParent && ratio(getComputedStyle(e).color, e) < 7) bad.push('typed ' + e.id);
  }
  return {bad, seen};
}"""
SMALL = """() => [...document.querySelectorAll('button, label.pick, input[type=text], textarea, select')]
  .filter(e => e.offsetParent).map(e => [e.id || e.textContent, e.getBoundingClientRect()])
  .filter(([, b]) => b.height < 48 || b.width < 48).map(([name]) => name)"""
NAMELESS = """() => [...document.querySelectorAll('button, input, textarea, select')].filter(e => !(
  e.textContent.trim() || e.labels?.length || e.getAttribute('aria-label'))).map(e => e.outerHTML)"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", list(SIZES))
def test_text_stands_out_and_targets_fit_a_thumb(
    browser: Browser, packs: dict[str, Path], size: str, scheme: str
) -> None:
    with Opened(browser, packs["nasty"], size, scheme) as seen:
        page = seen.page

        def fine() -> None:
            found = page.evaluate(LOW_CONTRAST)
            assert found["bad"] == []
            assert found["seen"] > 20
            assert page.evaluate(SMALL) == []
            assert page.evaluate(NAMELESS) == []
            wide, room = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
            assert wide <= room

        assert page.evaluate("document.fonts.check('16px \"Fira Sans\"')")
        fine()
        for day in (GO, {**GO, "wind": "1", "gust": "1"}, {**GO, "air": "50"}):
            seen.today(**day)
            fine()
        seen.view("checks")
        fine()
        page.click("#hold")
        assert "Still missing" in page.inner_text("#missing")
        page.locator("#check .halt").click()
        fine()
        for view in ("sheet", "notes"):
            seen.view(view)
            fine()
        page.click("#over")
        fine()
        assert page.locator("h1").count() == 1
        assert page.locator("h1 img").count() == 0


def test_theme_is_chosen_by_hand_and_nothing_moves_if_unwanted(
    browser: Browser, packs: dict[str, Path]
) -> None:
    with Opened(browser, packs["plain"]) as seen:
        page = seen.page
        ground = "getComputedStyle(document.body).backgroundColor"
        before = page.evaluate(ground)
        seen.view("notes")
        page.click("#theme")
        assert page.evaluate(ground) == "rgb(28, 25, 22)"
        page.click("#theme")
        assert page.evaluate(ground) == before
        page.emulate_media(reduced_motion="reduce")
        assert page.evaluate("document.getAnimations().length") == 0
