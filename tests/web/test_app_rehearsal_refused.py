"""The rehearsal in a browser that keeps nothing, and a recording that is discarded while it is put down."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from tests.web.opened_app import OpenedApp, left_waiting
from tests.web.phone_motion import Phone, throw, walk
from tests.web.test_app_rehearsal import UPLOADS, sent

# A private window of some browsers refuses to open a database; one without room refuses to write into it.
# Both end in an event "error" of the request (W3C, "Indexed Database API 3.0", 5.1 and 5.6).
NO_DATABASE = """indexedDB.open = () => { throw new DOMException("not here", "SecurityError") }"""
NO_ROOM = """IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError") }"""
# Writes wait until the test lets them go; what is held every five seconds is held every 0.3 s.
SLOW = """
    const [open, every] = [indexedDB.open.bind(indexedDB), setInterval];
    const waits = new Promise((go) => (window.letGo = go));
    window.asked = 0;
    indexedDB.open = (...words) => {
      window.asked++;
      const shown = {};
      waits.then(() => {
        const real = open(...words);
        real.onupgradeneeded = () => { shown.result = real.result; shown.onupgradeneeded?.() };
        real.onsuccess = () => { shown.result = real.result; shown.onsuccess?.() };
      });
      return shown;
    };
    window.setInterval = (act, delay, ...more) => every(act, delay === 5000 ? 300 : delay, ...more);
"""


def is_there(opened: OpenedApp) -> None:
    """Wait until the server has the recording."""
    expect(opened.page.locator("main li h3")).to_have_count(1)
    expect(opened.page.get_by_role("button", name="Save it as a file")).to_have_count(0)
    there = [one["id"] for one in opened.server.http.get("/api/uploads").json()]
    assert [one["upload"] in there for one in sent(opened)] == [True]


def begin(opened: OpenedApp, spoil: str, kind: str) -> tuple[Page, Phone]:
    """Record in a browser that was spoilt, up to the long tone."""
    page = opened.page
    opened.example("B")
    page.add_init_script(spoil)
    page.reload()
    felt = Phone(page)
    page.get_by_label("Yes, the propeller is off").check()
    page.get_by_label("Count without sound").check()
    page.get_by_role("radio", name=kind.title()).check()
    page.get_by_role("button", name=f"Start the {kind}").click()
    felt.until("on")
    return page, felt


def test_what_the_browser_refuses_to_keep_is_offered_as_a_file_and_sent_later(browser: Browser) -> None:
    with OpenedApp(browser, "rehearsal", "phone") as opened:
        opened.page.route(UPLOADS, lambda route: route.abort())
        page, felt = begin(opened, NO_DATABASE, "throw")
        felt.move(1.9, throw)
        page.get_by_role("button", name="Stop and keep").click()
        expect(page.get_by_text("This browser keeps nothing")).to_be_visible()
        expect(page.get_by_role("button", name="Another throw")).to_be_visible()  # it records no more
        with page.expect_download() as got:
            page.get_by_role("button", name="Save it as a file: throw").click()
        assert got.value.suggested_filename.startswith("throw-")
        lines = Path(got.value.path()).read_text("utf-8").splitlines()
        assert lines[0] == "# label: throw"
        assert len(lines) > 50
        assert opened.axe() == []
        assert opened.fits()
        page.unroute(UPLOADS)
        is_there(opened)
        expect(page.get_by_text("This browser keeps nothing")).to_have_count(0)
        opened.complaints[:] = [one for one in opened.complaints if "ERR_FAILED" not in one]


def test_without_room_it_goes_to_the_server_all_the_same(browser: Browser) -> None:
    with OpenedApp(browser, "rehearsal", "phone") as opened:
        page, felt = begin(opened, NO_ROOM, "throw")
        felt.move(1.9, throw)
        page.get_by_role("button", name="Stop and keep").click()
        is_there(opened)


def test_discard_while_it_is_being_put_down_leaves_nothing(browser: Browser) -> None:
    with OpenedApp(browser, "rehearsal", "phone") as opened:
        page, felt = begin(opened, SLOW, "carry")
        before = page.evaluate("window.asked")
        while page.evaluate("window.asked") == before:
            felt.move(0.1, walk)
        page.get_by_role("button", name="Discard").click()
        page.evaluate("window.letGo()")
        expect(page.get_by_role("button", name="Start the carry")).to_be_visible()
        page.wait_for_timeout(300)  # what was on its way has arrived
        assert sent(opened) == []
        expect(page.get_by_text("None yet.")).to_be_visible()


def test_one_that_is_on_its_way_is_not_sent_twice(browser: Browser) -> None:
    with OpenedApp(browser, "rehearsal", "phone") as opened:
        on_their_way = left_waiting(opened.page, UPLOADS)
        page, felt = begin(opened, "", "throw")
        felt.move(1.9, throw)
        with page.expect_request(UPLOADS):
            page.get_by_role("button", name="Stop and keep").click()
        opened.room("Odds")
        opened.room("Rehearsal")  # what was not sent yet is sent where the room is opened
        expect(page.get_by_role("heading", level=1)).to_have_text("Rehearsal")
        page.wait_for_timeout(500)
        assert len(on_their_way) == 1
        on_their_way[0].continue_()
        is_there(opened)
        assert len(on_their_way) == 1
