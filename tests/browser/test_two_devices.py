"""Two devices on one build: what is done on one shows on the other, and nobody's work is lost."""

from __future__ import annotations

import re
import time
from collections.abc import Callable

from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser import pages
from tests.browser.conftest import DESK, PHONE, Server

#: What the builder is promised: a tick on one device shows on another of the same network.
LIVE_S = 2.0


class Two:
    """A desk that owns the server and a phone that it has paired, both at the first step."""

    def __init__(self, desk: BrowserContext, phone: BrowserContext, server: Server) -> None:
        self.desk, self.phone = desk.new_page(), phone.new_page()
        pages.claim(self.desk, "Shed", "Desk")
        self.kept = pages.Kept(desk.request, server)
        self.bench = pages.small_bench(self.kept)
        code = pages.pairing_code(self.desk)
        self.phone.goto("/")
        pages.pair(self.phone, code, "Phone")
        for page in (self.desk, self.phone):
            page.goto(self.bench.at("1.1"))
            expect(pages.operations(page)).to_have_count(3)


def shown_within(page: Page, nth: int, done: bool, since: float) -> float:
    """Waits until the nth operation shows as ticked or not; seconds since `since`."""
    expect(pages.operations(page).nth(nth)).to_be_checked(checked=done)
    return time.monotonic() - since


def test_a_tick_on_one_device_shows_on_the_other_within_2_s(
    desk: BrowserContext, phone: BrowserContext, server: Server
) -> None:
    """Both ways, and the tick's being taken back too; nobody asks or reloads."""
    two = Two(desk, phone, server)
    # Both have had time to hang on to the server's hints.
    for page in (two.desk, two.phone):
        pages.all_sent(page)
    took = []
    for nth, (one, other) in enumerate(((two.phone, two.desk), (two.desk, two.phone))):
        for done in (True, False, True):
            started = time.monotonic()
            pages.operations(one).nth(nth).set_checked(done)
            took.append(shown_within(other, nth, done, started))
    # One slow moment of a busy machine is not the program's; a habit of it is.
    assert sorted(took)[-2] < LIVE_S, took
    assert two.kept.list("operation_ticks") != []


def test_resume_goes_to_the_operation_where_the_other_device_is(
    desk: BrowserContext, phone: BrowserContext, server: Server
) -> None:
    two = Two(desk, phone, server)
    pages.operations(two.phone).nth(0).check()
    pages.operations(two.phone).nth(1).check()
    pages.all_sent(two.phone)
    pages.go(two.desk, "Path")
    expect(two.desk.get_by_text("Phone is at 1.1, operation 3")).to_be_visible()
    two.desk.get_by_role("link", name="Go there", exact=True).click()
    expect(two.desk).to_have_url(re.compile(two.bench.operations["1.1"][2]))
    assert "Do 1.1, 3" in pages.here_at(two.desk)
    # On the other device's list of builds, too.
    pages.go(two.desk, "Builds")
    expect(two.desk.get_by_text(re.compile("Phone: step 1.1"))).to_be_visible()


def test_a_clash_shows_on_both_and_one_tap_settles_it(
    desk: BrowserContext, phone: BrowserContext, server: Server
) -> None:
    """Both said something of one thing without knowing of each other; the other value is kept."""
    two = Two(desk, phone, server)
    pages.kept(two.phone)
    for page in (two.desk, two.phone):
        page.goto("/devices")
        pages.all_sent(page)
    phone.set_offline(True)

    def rename(page: Page, name: str) -> None:
        page.get_by_role("button", name="Rename: Desk").click()
        page.get_by_label("Name", exact=True).fill(name)
        page.get_by_role("button", name="Save", exact=True).click()

    rename(two.phone, "Bench by the window")
    rename(two.desk, "Bench by the door")
    pages.all_sent(two.desk)
    phone.set_offline(False)
    asked = re.compile("two devices said different things")
    for page in (two.desk, two.phone):
        expect(page.get_by_role("heading", name=asked)).to_be_visible(timeout=15_000)
    two.desk.get_by_role("button", name=re.compile("^Bench by the door")).click()
    for page in (two.desk, two.phone):
        expect(page.get_by_role("heading", name=asked)).to_have_count(0)
        expect(page.get_by_role("heading", name="Bench by the door")).to_be_visible()
    (desk_record,) = [one for one in two.kept.list("devices") if one["kind"] == "desk"]
    assert (desk_record["name"], desk_record["asks"]) == ("Bench by the door", False)
    # What was not chosen still stands in the journal.
    assert len([one for one in two.kept.journal(["device"]) if one[1] == desk_record["id"]]) >= 4


def test_failure_31_a_revoked_device_keeps_its_work_and_sends_it_when_paired_again(
    desk: BrowserContext,
    phone: BrowserContext,
    server: Server,
    opened_context: Callable[..., BrowserContext],
    chromium: Browser,
) -> None:
    """Failure 31: 401 pauses; nothing is dropped; the way back is told; then all of it arrives."""
    two = Two(desk, phone, server)
    pages.operations(two.phone).nth(0).check()
    pages.all_sent(two.phone)
    pages.go(two.desk, "Devices")
    two.desk.get_by_role("button", name="Revoke: Phone").click()
    two.desk.get_by_role("dialog").get_by_role("button", name="Revoke it").click()
    expect(two.desk.get_by_text("Phone is revoked")).to_be_visible()

    # The phone works on and says how things stand.
    pages.operations(two.phone).nth(1).check()
    pages.add_photo(two.phone, pages.phone_photo(3))
    expect(pages.strip(two.phone)).to_contain_text("Not paired: all is kept here")
    expect(pages.strip(two.phone)).to_contain_text("1 photo only on this device")
    two.phone.reload()
    expect(pages.operations(two.phone).nth(1)).to_be_checked()
    pages.operations(two.phone).nth(2).check()
    assert len(two.kept.list("operation_ticks")) == 1
    assert two.kept.list("photos") == []

    pages.strip(two.phone).click()
    expect(two.phone.get_by_text("This device is no longer paired with Shed")).to_be_visible()
    pages.pair(two.phone, pages.pairing_code(two.desk), "Phone again")
    pages.all_sent(two.phone)
    ticks = two.kept.list("operation_ticks")
    assert [one["done"] for one in ticks] == [True] * 3
    (photo,) = two.kept.list("photos")
    assert photo["stored"]
    assert two.kept.blob(photo["blob"])[:3] == b"\xff\xd8\xff"
    # On screen, too: nothing is doubled, nothing clashes.
    two.phone.goto(two.bench.at("1.1"))
    assert pages.ticked(pages.operations(two.phone)) == [True] * 3
    pages.seen_whole(two.phone, 1)
    assert not [one for one in ticks if one["asks"]]

    # Somebody else's cookie never gets in.
    stranger = opened_context(chromium, server, PHONE)
    reply = stranger.request.get(f"{server.url}/api/session", headers=pages.SPOKEN)
    assert reply.status == 401
    assert (
        opened_context(chromium, server, DESK)
        .request.get(f"{server.url}/api/operation_ticks", headers=pages.SPOKEN)
        .status
        == 401
    )
