"""What browsers do to an app that keeps work: two tabs, no room, cleared, killed, cut off.

Each test is named by the failure of sync that it provokes, in a real browser with a real server.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import signal
import socket
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Error,
    Page,
    Playwright,
    Route,
    expect,
)

from tests.browser import pages
from tests.browser.conftest import ARGUMENTS, PHONE, Server, until
from tests.browser.test_shell_offline import put_version
from tests.conftest import leave_out


class Shed:
    """A claimed server with a small kit, and its owner's page at the first step."""

    def __init__(self, context: BrowserContext, server: Server) -> None:
        self.context, self.server = context, server
        self.page = context.pages[0] if context.pages else context.new_page()
        pages.claim(self.page, "Shed", "Phone")
        self.kept = pages.Kept(context.request, server)
        self.bench = pages.small_bench(self.kept)
        self.at = server.url + self.bench.at("1.1")
        self.open(self.page)
        pages.kept(self.page)
        pages.all_sent(self.page)

    def open(self, page: Page, step: str = "1.1") -> Page:
        page.goto(self.server.url + self.bench.at(step))
        expect(pages.operations(page)).to_have_count(len(self.bench.operations[step]))
        return page

    def ticks(self) -> list[bool]:
        return [one["done"] for one in self.kept.list("operation_ticks")]


@pytest.fixture
def shed(phone: BrowserContext, server: Server) -> Shed:
    return Shed(phone, server)


def said_saved(page: Page, nth: int) -> None:
    """Waits until the app says of the nth operation who ticked it: it is saved then."""
    item = page.get_by_role("region", name="Do", exact=True).get_by_role("listitem").nth(nth)
    expect(item).to_contain_text("this device")


def test_failure_19_two_tabs_push_in_turns_and_a_closed_tab_gives_its_turn_on(shed: Shed) -> None:
    first, second = shed.page, shed.open(shed.context.new_page(), "1.2")
    held: list[tuple[Page, Route]] = []

    def hold(route: Route) -> None:
        held.append((route.request.frame.page, route))

    shed.context.set_offline(True)
    for page in (first, second):
        pages.operations(page).nth(0).check()
        said_saved(page, 0)
    shed.context.route("**/api/sync/push", hold)
    shed.context.set_offline(False)
    for _ in range(100):
        if held:
            break
        first.wait_for_timeout(100)
    first.wait_for_timeout(1_500)
    assert len(held) == 1, "both tabs push at once"
    pusher, _ = held[0]
    other = second if pusher is first else first
    # The tab that has the turn is closed in the middle of its push; nobody answers it.
    pusher.close()
    for _ in range(200):
        if len(held) > 1:
            break
        other.wait_for_timeout(100)
    assert len(held) == 2
    assert held[1][0] is other

    held[1][1].continue_()
    shed.context.unroute("**/api/sync/push")
    pages.exchange_until(other, lambda: shed.ticks() == [True, True])
    pages.all_sent(other)
    assert shed.ticks() == [True, True]
    rows = shed.kept.journal(["operation_tick"])
    assert len(rows) == len({record for _, record, _ in rows}) == 2


def test_failure_21_an_older_tab_makes_way_for_a_newer_app_and_says_so(shed: Shed) -> None:
    """A newer version opens the storage in another window: it is not held up, nothing is lost."""
    pages.operations(shed.page).nth(0).check()
    said_saved(shed.page, 0)
    pages.all_sent(shed.page)
    newer = shed.context.new_page()
    newer.goto(f"{shed.server.url}/icon.svg")
    opened = newer.evaluate(
        """async () => {
          const all = (await indexedDB.databases()).filter(one => one.name.endsWith('-outbox'));
          return await new Promise((done) => {
            const asked = indexedDB.open(all[0].name, all[0].version + 1);
            asked.onsuccess = () => { asked.result.close(); done('opened'); };
            asked.onblocked = () => done('blocked');
            asked.onerror = () => done('error');
          });
        }"""
    )
    assert opened == "opened"
    expect(pages.strip(shed.page)).to_contain_text("Another window of Bagtrail holds the storage")
    # The old page keeps nothing from now on, and does not pretend to.
    pages.operations(shed.page).nth(1).click()
    expect(shed.page.get_by_text(re.compile("^Not saved"))).to_be_visible()
    shed.page.goto(f"{shed.server.url}/devices")
    expect(shed.page.get_by_text(re.compile("Another window has an older version"))).to_be_visible()
    assert shed.ticks() == [True]


#: A browser that has room for words only.  Chromium 156 lets its developer tools override the
#: quota (Storage.overrideQuotaForOrigin) and then does not hold IndexedDB to it, as tried out, so
#: the refusal is played: the transaction ends, and QuotaExceededError is the reason, as the
#: Indexed Database API 3.0 says under "commit a transaction".
NO_ROOM = """
(() => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (value, ...key) {
    const large = Object.values(Object(value)).some((one) => one?.byteLength > 100_000);
    if (large && localStorage.getItem('full')) {
      this.transaction.abort();
      throw new DOMException('The quota has been exceeded.', 'QuotaExceededError');
    }
    return put.call(this, value, ...key);
  };
})();
"""


def test_failure_23_a_photo_without_room_is_refused_in_words_and_the_tick_is_saved(
    phone: BrowserContext, server: Server
) -> None:
    """Pitfall 29: nothing is dropped silently, and there is room for words."""
    phone.add_init_script(NO_ROOM)
    shed = Shed(phone, server)
    phone.set_offline(True)
    shed.page.evaluate("localStorage.setItem('full', 'yes')")
    pages.choose_photo(shed.page, pages.phone_photo(5, grain_px=3))
    refused = shed.page.get_by_text(re.compile("There is no room left on this device"))
    expect(refused).to_be_visible()
    expect(pages.strip(shed.page)).to_contain_text("Storage of this device is full")
    expect(pages.photos(shed.page)).to_have_count(0)
    # A tick is small: it is kept, and survives.
    pages.operations(shed.page).nth(0).check()
    said_saved(shed.page, 0)
    shed.page.reload()
    expect(pages.operations(shed.page).nth(0)).to_be_checked()
    # Room again, and the photo goes.
    shed.page.evaluate("localStorage.removeItem('full')")
    pages.add_photo(shed.page, pages.phone_photo(5, grain_px=3))
    phone.set_offline(False)
    pages.all_sent(shed.page)
    assert shed.ticks() == [True]
    (photo,) = shed.kept.list("photos")
    assert photo["stored"]


@pytest.mark.parametrize("cookies", [True, False], ids=["cookies stay", "cookies go too"])
def test_failure_24_cleared_storage_comes_back_from_the_server(shed: Shed, cookies: bool) -> None:
    """The browser clears everything: what the server has comes back, new work is not confused."""
    pages.operations(shed.page).nth(0).check()
    pages.add_photo(shed.page, pages.phone_photo(6))
    pages.all_sent(shed.page)
    cdp = shed.context.new_cdp_session(shed.page)
    types = "indexeddb,cache_storage,service_workers,local_storage" + (
        "" if cookies else ",cookies"
    )
    cookie_jar = shed.context.cookies()
    shed.page.goto("about:blank")
    cdp.send("Storage.clearDataForOrigin", {"origin": shed.server.url, "storageTypes": types})
    if not cookies:
        shed.context.clear_cookies()
    shed.page.goto(shed.at)
    if not cookies:
        # It says what it is: a device that nobody knows. A code from another device brings it back.
        shed.page.goto(f"{shed.server.url}/devices")
        expect(
            shed.page.get_by_text("This device does not belong to a workshop yet")
        ).to_be_visible()
        owner = {one["name"]: one["value"] for one in cookie_jar}
        cookie = "; ".join(f"{name}={value}" for name, value in owner.items())
        reply = shed.context.request.post(
            f"{shed.server.url}/api/pairing", headers={**pages.SPOKEN, "Cookie": cookie}, data={}
        )
        pages.pair(shed.page, reply.json()["code"], "Phone again")
        shed.page.goto(shed.at)
    expect(pages.operations(shed.page).nth(0)).to_be_checked()
    pages.seen_whole(shed.page, 1)
    # Its counter began anew: what it writes now is told from what it wrote before.
    pages.operations(shed.page).nth(1).check()
    pages.operations(shed.page).nth(2).check()
    pages.all_sent(shed.page)
    assert shed.ticks() == [True] * 3
    rows = shed.kept.journal(["operation_tick"])
    assert len(rows) == len({change for _, _, change in rows}) == 3


@contextlib.contextmanager
def lasting(
    player: Playwright, chromium_path: str, profile: Path, server: Server
) -> Iterator[BrowserContext]:
    """A browser whose storage outlives it."""
    context = player.chromium.launch_persistent_context(
        profile,
        executable_path=chromium_path,
        args=list(ARGUMENTS),
        base_url=server.url,
        locale="en-GB",
        **PHONE,
    )
    context.set_default_timeout(20_000)
    try:
        yield context
    finally:
        with contextlib.suppress(Error):
            context.close()


def kill_browser(profile: Path) -> None:
    """As by the phone's system, or an empty battery: the processes of this one profile."""
    for folder in Path("/proc").iterdir():
        if not folder.name.isdigit():
            continue
        with contextlib.suppress(OSError):
            words = (folder / "cmdline").read_bytes().split(b"\0")
            if f"--user-data-dir={profile}".encode() in words:
                os.kill(int(folder.name), signal.SIGKILL)


def test_failure_27_what_was_said_to_be_saved_survives_the_browsers_death(
    player: Playwright, chromium_path: str, server: Server, tmp_path: Path
) -> None:
    if not Path("/proc/self/cmdline").exists():
        leave_out("no /proc to find the browser's processes by")
    profile = tmp_path / "profile"
    with lasting(player, chromium_path, profile, server) as context:
        shed = Shed(context, server)
        # Without a server, so that nothing can come back from there.
        server.kill()
        pages.operations(shed.page).nth(0).check()
        said_saved(shed.page, 0)
        pages.add_photo(shed.page, pages.phone_photo(7))
        expect(shed.page.get_by_text("1 photo kept on this device")).to_be_visible()
        pages.operations(shed.page).nth(1).check()
        said_saved(shed.page, 1)
        cookies = context.cookies()
        # In the middle of the next: nobody waits for its being said.
        pages.operations(shed.page).nth(2).click(no_wait_after=True)
        kill_browser(profile)
    for lock in profile.glob("Singleton*"):
        lock.unlink()
    with lasting(player, chromium_path, profile, server) as context:
        # Browsers write cookies down every half minute.  That it may be lost as well is another
        # matter (failure 31: such a device keeps its work and is paired again).
        context.add_cookies(cookies)  # type: ignore[arg-type]
        page = context.pages[0]
        page.goto(shed.at)
        expect(pages.operations(page).nth(0)).to_be_checked()
        expect(pages.operations(page).nth(1)).to_be_checked()
        pages.seen_whole(page, 1)
        last = pages.operations(page).nth(2).is_checked()
        server.start()
        kept = pages.Kept(context.request, server)
        pages.exchange_until(page, lambda: kept.list("photos") != [])
        pages.all_sent(page)
        assert len(kept.list("operation_ticks")) == (3 if last else 2)
        (photo,) = kept.list("photos")
        assert photo["stored"]


def test_failure_29_a_captive_portal_is_not_taken_for_the_server(shed: Shed) -> None:
    """Pitfall 45: it answers 200 with HTML to everything."""
    login = "<!doctype html><title>Guest network</title><h1>Please log in</h1>"
    shed.context.route(
        "**/api/**", lambda route: route.fulfill(status=200, content_type="text/html", body=login)
    )
    pages.operations(shed.page).nth(0).check()
    pages.add_photo(shed.page, pages.phone_photo(8))
    expect(pages.strip(shed.page)).to_contain_text("Server out of reach: work on")
    expect(pages.strip(shed.page)).to_contain_text("1 photo only on this device")
    shed.page.reload()
    expect(pages.operations(shed.page).nth(0)).to_be_checked()
    pages.seen_whole(shed.page, 1)
    expect(shed.page.get_by_text("Please log in")).to_have_count(0)
    assert shed.ticks() == []
    shed.context.unroute("**/api/**")
    pages.exchange_until(shed.page, lambda: shed.ticks() != [])
    pages.all_sent(shed.page)
    assert shed.ticks() == [True]
    (photo,) = shed.kept.list("photos")
    assert photo["stored"]


def test_failure_30_a_new_worker_beside_an_old_page_waits_for_unsent_work(
    built: Path,
    make_server: Callable[..., Server],
    chromium: Browser,
    opened_context: Callable[..., BrowserContext],
    tmp_path: Path,
) -> None:
    """No reload comes by itself, and the one that is asked for loses nothing."""
    app = tmp_path / "app"
    put_version(built, app, "1")
    server = make_server(app=app)
    shed = Shed(opened_context(chromium, server, PHONE), server)
    page = shed.page
    loads: list[str] = []
    page.on("load", lambda _: loads.append(page.url))
    shed.context.route("**/api/sync/push", lambda route: route.abort())
    pages.operations(page).nth(0).check()
    said_saved(page, 0)
    server.stop()
    put_version(built, app, "2")
    server.start()
    page.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update())")
    until(page, "navigator.serviceWorker.getRegistration().then(r => r.waiting !== null)")
    # The old page goes on working beside the new worker.
    pages.operations(page).nth(1).check()
    said_saved(page, 1)
    page.wait_for_timeout(1_000)
    assert loads == []
    assert page.evaluate("document.querySelector('meta[name=made]').content") == "1"
    pages.go(page, "Devices")
    page.get_by_role("button", name="Update now").click()
    until(page, "document.querySelector('meta[name=made]').content === '2'")
    page.wait_for_load_state()
    page.wait_for_timeout(500)
    assert len(loads) == 1
    shed.open(page)
    assert pages.ticked(pages.operations(page)) == [True, True, False]
    shed.context.unroute("**/api/sync/push")
    pages.exchange_until(page, lambda: shed.ticks() == [True, True])
    pages.all_sent(page)


def test_failure_32_plain_http_under_a_name_gets_a_page_that_says_why(
    make_server: Callable[..., Server],
    launch: Callable[..., Browser],
    opened_context: Callable[..., BrowserContext],
) -> None:
    """Pitfall 1: no service worker, camera or crypto there; no exception, nothing half-working."""
    server = make_server(environ={"BAGTRAIL_TRUSTED_HOSTS": "kit.lan"})
    server.url = f"http://kit.lan:{server.port}"
    browser = launch(None, "--host-resolver-rules=MAP kit.lan 127.0.0.1")
    page = opened_context(browser, server, PHONE).new_page()
    for path in ("/", "/scan", "/B/7K3QX", "/devices"):
        page.goto(path)
        expect(page.get_by_role("heading", level=1)).to_have_text(
            "This address cannot carry the app"
        )
        expect(page.get_by_role("link", name=f"https://kit.lan:{server.port}")).to_be_visible()
    assert page.evaluate("isSecureContext") is False
    assert page.evaluate("'serviceWorker' in navigator") is False
    assert page.evaluate("indexedDB.databases().then(all => all.length)") == 0


def test_failure_34_a_photo_cut_off_leaves_nothing_behind_and_is_sent_again(shed: Shed) -> None:
    """The socket is dropped after some of the bytes, twice; then it arrives whole and once."""
    cut: list[int] = []

    def drop(route: Route) -> None:
        body = route.request.post_data_buffer
        assert body
        if len(cut) == 2:
            route.continue_()
            return
        part = len(body) * (1 + len(cut)) // 3
        cut.append(part)
        headers = {**route.request.all_headers(), "content-length": str(len(body))}
        lines = [f"PUT {route.request.url.removeprefix(shed.server.url)} HTTP/1.1"]
        lines += [f"Host: localhost:{shed.server.port}"]
        lines += [
            f"{name}: {value}"
            for name, value in headers.items()
            if name[0] != ":" and name != "host"
        ]
        with socket.create_connection(("localhost", shed.server.port)) as line:
            line.sendall("\r\n".join([*lines, "", ""]).encode() + body[:part])
            line.shutdown(socket.SHUT_WR)
        route.abort("connectionreset")

    shed.context.route(
        "**/api/blobs/*",
        lambda route: drop(route) if route.request.method == "PUT" else route.continue_(),
    )
    pages.add_photo(shed.page, pages.phone_photo(9, 1600, 1200))
    expect(pages.strip(shed.page)).to_contain_text("1 photo only on this device")
    pages.exchange_until(shed.page, lambda: any(one["stored"] for one in shed.kept.list("photos")))
    pages.all_sent(shed.page)
    assert len(cut) == 2
    (photo,) = shed.kept.list("photos")
    assert photo["stored"]
    data = shed.kept.blob(photo["blob"])
    assert hashlib.sha256(data).hexdigest() == photo["blob"]
    files = [one for one in shed.server.data.rglob("*") if one.is_file()]
    whole = [one for one in files if hashlib.sha256(one.read_bytes()).hexdigest() == photo["blob"]]
    assert len(whole) == 1
    assert not [
        one
        for one in files
        if one.stat().st_size > 0 and data.startswith(one.read_bytes()) and one not in whole
    ]
