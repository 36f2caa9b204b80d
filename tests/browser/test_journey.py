"""The main job from end to end, in a real browser with a real server between.

A builder takes a new server, has the demo kit, prints its labels, scans a bag with a phone, ticks,
photographs, loses the network, goes on, reloads, comes back to a server that is killed in the
middle of a push, and picks the build up on another device.  The camera sees our own printed label:
PDF to picture to film.

The photos are made by Pillow with the orientation and the place that EXIF 2.3 (JEITA CP-3451C)
defines: tag 0x0112, value 6 (shown turned by 90 degrees), and the GPS directory.
"""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PIL import ExifTags, Image
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from tests.browser import pages
from tests.browser.camera import Scene, film
from tests.browser.conftest import DESK, PHONE, Server

MARKS = ("operation_tick", "part_tick", "photo")


def printed_labels(page: Page) -> bytes:
    """Goes to the kit's labels and prints them."""
    pages.go(page, "Builds")
    page.get_by_role("link", name=re.compile("^Labels")).first.click()
    address = page.get_by_role("link", name="Save PDF").get_attribute("href")
    assert address
    reply = page.request.get(address)
    assert reply.headers["content-type"] == "application/pdf"
    return reply.body()


class CutPushes:
    """Cuts pushes in the middle: the server is killed and started again.

    The first push reaches the server and dies with it unanswered; the second is done by the server,
    but its reply is lost.  Later ones pass.
    """

    def __init__(self, server: Server) -> None:
        self.server = server
        self.cuts: list[str] = []
        self.passed = 0

    def __call__(self, route: Route) -> None:
        if not self.cuts:
            # Frozen, it takes the bytes and does nothing with them; killed, it never will.
            self.cuts.append("unanswered")
            self.server.freeze()
            route.continue_()
            self.server.kill()
            self.server.start()
        elif len(self.cuts) == 1:
            self.cuts.append("reply lost")
            reply = route.fetch()
            assert reply.ok, reply.text()
            self.server.kill()
            self.server.start()
            route.abort("connectionreset")
        else:
            self.passed += 1
            route.continue_()


def stored_clean(photo: dict[str, Any], kept: pages.Kept) -> tuple[int, int]:
    """The bytes on the server are a plain upright JPEG; its size in pixels."""
    data = kept.blob(photo["blob"])
    with Image.open(io.BytesIO(data)) as picture:
        exif = picture.getexif()
        assert not exif.get_ifd(ExifTags.IFD.GPSInfo), "the place is still in the photo"
        assert exif.get(ExifTags.Base.Model) is None
        assert exif.get(ExifTags.Base.Orientation, 1) == 1
        picture.load()
        return picture.size


def test_from_the_printed_label_to_the_second_device(
    server: Server,
    chromium: Browser,
    launch: Callable[..., Browser],
    opened_context: Callable[..., BrowserContext],
    tmp_path: Path,
) -> None:
    """The whole journey; failures 3 and 16, pitfalls 24 and 32 on the way."""
    # At the desk: a new server, the demo kit, its labels.
    desk = opened_context(chromium, server, DESK).new_page()
    pages.claim(desk, "Shed", "Desk")
    build = pages.try_demo(desk)
    sheet = printed_labels(desk)
    kept = pages.Kept(desk.request, server)
    (bag,) = [one for one in kept.list("bags") if one["number"] == "1"]
    served = [one for one in kept.list("steps") if bag["id"] in one["bags"]]
    first = min(served, key=lambda one: str(one["order"]))
    before = Counter(type_ for type_, _, _ in kept.journal(MARKS))
    assert not before

    # At the bench: the phone's camera sees the first label of the sheet.
    camera = film(pages.label_of(sheet), tmp_path / "label.mjpeg", Scene(height=0.55))
    phone = opened_context(launch(camera), server, PHONE)
    page = phone.new_page()
    page.goto("/")
    pages.pair(page, pages.pairing_code(desk), "Phone")
    pages.kept(page)
    pages.scan(page)
    sheet_ = page.get_by_role("dialog")
    expect(sheet_).to_contain_text(f"This bag serves {len(served)} steps", timeout=20_000)
    sheet_.get_by_role("link", name=f"Go to step {first['number']}").click()
    expect(page).to_have_url(re.compile(f"/builds/{build}/steps/{first['id']}"))
    expect(page.get_by_role("heading", level=1)).to_contain_text(first["title"])

    # Parts, an operation, a photo.
    parts, operations = pages.part_ticks(page), pages.operations(page)
    part_count, operation_count = parts.count(), operations.count()
    assert part_count >= 3
    assert operation_count >= 4
    parts.nth(0).check()
    parts.nth(1).check()
    operations.nth(0).check()
    pages.add_photo(page, pages.phone_photo(1))
    pages.all_sent(page)

    # No network: more of both; then the page is loaded anew.
    phone.set_offline(True)
    parts.nth(2).check()
    operations.nth(1).check()
    operations.nth(2).check()
    pages.add_photo(page, pages.phone_photo(2))
    pages.waits_for_server(page)
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_contain_text(first["title"])
    at_bench = pages.ticked(pages.operations(page))
    assert at_bench == [True, True, True] + [False] * (operation_count - 3)
    assert pages.ticked(pages.part_ticks(page)) == [True] * 3 + [False] * (part_count - 3)
    assert all(high > wide for wide, high in pages.seen_whole(page, 2)), "not upright"
    pages.waits_for_server(page)
    standing_at = pages.here_at(page)
    assert standing_at.startswith("4")

    # The network is back, and the server is killed in the middle of two pushes.
    cut = CutPushes(server)
    phone.route("**/api/sync/push", cut)
    phone.set_offline(False)
    # After each failure the app waits longer before it tries again; the builder need not.
    pages.exchange_until(page, lambda: len(cut.cuts) == 2)
    pages.exchange_until(page, lambda: cut.passed > 0)
    pages.all_sent(page)
    assert cut.cuts == ["unanswered", "reply lost"]

    # Another device: paired by its own code, it says where the phone is and goes there.
    tablet = opened_context(chromium, server, DESK).new_page()
    tablet.goto("/")
    pages.pair(tablet, pages.pairing_code(page), "Tablet")
    pages.go(tablet, "Path")
    expect(tablet.get_by_text(f"Phone is at {first['number']}, operation 4")).to_be_visible()
    tablet.get_by_role("link", name="Go there", exact=True).click()
    expect(tablet.get_by_role("heading", level=1)).to_contain_text(first["title"])
    assert pages.here_at(tablet) == standing_at
    assert pages.ticked(pages.operations(tablet)) == at_bench
    assert pages.ticked(pages.part_ticks(tablet)) == [True] * 3 + [False] * (part_count - 3)
    assert all(high > wide for wide, high in pages.seen_whole(tablet, 2))

    # On the server: each once.
    ticks = kept.list("operation_ticks", build=build)
    assert [one["done"] for one in ticks] == [True] * 3
    assert len({one["operation"] for one in ticks}) == 3
    laid = kept.list("part_ticks", build=build)
    assert [one["laid_out"] for one in laid] == [True] * 3
    shots = kept.list("photos", build=build)
    assert len(shots) == 2
    assert all(one["stored"] and one["step"] == first["id"] for one in shots)
    assert [stored_clean(one, kept) for one in shots] == [(900, 1200)] * 2
    rows = kept.journal(MARKS)
    assert len({change for _, _, change in rows}) == len(rows)
    # One change each; a photo has a second one, by which the server says that it has the bytes.
    assert Counter(type_ for type_, _, _ in rows) == {
        "operation_tick": 3,
        "part_tick": 3,
        "photo": 4,
    }
    assert not [one for one in ticks + laid + shots if one["asks"]]
