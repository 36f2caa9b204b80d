"""Pitfalls of phones that only a browser can show; each test is named by its number."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser import pages
from tests.browser.camera import Scene, film
from tests.browser.conftest import DESK, PHONE, Server, until
from tests.browser.test_storage_faults import Shed, said_saved


@pytest.fixture
def shed(phone: BrowserContext, server: Server) -> Shed:
    return Shed(phone, server)


#: A browser with a decoder of its own that finds nothing and says nothing, and without callbacks
#: for frames of a video.
OTHER_PLATFORM = """
globalThis.asked = 0;
globalThis.BarcodeDetector = class {
  constructor() { globalThis.asked += 1; }
  static getSupportedFormats() { return Promise.resolve(['qr_code']); }
  detect() { return Promise.resolve([]); }
};
delete HTMLVideoElement.prototype.requestVideoFrameCallback;
"""


def test_pitfall_9_one_decoder_everywhere_and_frames_without_their_callback(
    server: Server,
    chromium: Browser,
    launch: Callable[..., Browser],
    opened_context: Callable[..., BrowserContext],
    tmp_path: Path,
) -> None:
    desk = Shed(opened_context(chromium, server, DESK), server)
    sheet = desk.context.request.get(f"{server.url}/labels/kits/{desk.bench.kit}.pdf").body()
    camera = film(pages.label_of(sheet), tmp_path / "label.mjpeg", Scene(height=0.55), frames=4)
    phone = opened_context(launch(camera), server, PHONE)
    phone.add_init_script(OTHER_PLATFORM)
    page = phone.new_page()
    page.goto("/")
    pages.pair(page, pages.pairing_code(desk.page), "Phone")
    pages.scan(page)
    page.get_by_role("dialog").get_by_role("link", name="Go to step 1.1").click()
    expect(page).to_have_url(re.compile(desk.bench.at("1.1")))
    assert page.evaluate("typeof BarcodeDetector") == "function"
    assert page.evaluate("asked") == 0


def test_pitfall_24_work_goes_on_while_the_server_sleeps(shed: Shed) -> None:
    """The laptop is shut: connections are taken and never answered; onLine says true."""
    shed.server.freeze()
    try:
        pages.operations(shed.page).nth(0).check()
        said_saved(shed.page, 0)
        pages.waits_for_server(shed.page)
        shed.page.goto(shed.server.url + shed.bench.at("1.2"))
        pages.operations(shed.page).nth(0).check()
        said_saved(shed.page, 0)
        assert shed.page.evaluate("navigator.onLine") is True
        # It is found out by asking, and told.
        expect(pages.strip(shed.page)).to_contain_text("Server out of reach", timeout=40_000)
    finally:
        shed.server.thaw()
    pages.exchange_until(shed.page, lambda: len(shed.ticks()) == 2)
    pages.all_sent(shed.page)


def test_pitfall_30_app_killed_behind_the_camera_comes_back_to_its_step(shed: Shed) -> None:
    """Taps on the camera's button, never comes back, and the app starts at its front door."""
    with shed.page.expect_file_chooser():
        shed.page.get_by_label("Take a photo").click()
    shed.page.close()
    page = shed.context.new_page()
    page.goto("/")
    expect(page).to_have_url(re.compile(shed.bench.at("1.1")))
    expect(
        page.get_by_text(re.compile("The phone closed the app behind its camera"))
    ).to_be_visible()
    # Once only: the front door is the front door again.
    pages.add_photo(page, pages.phone_photo(11))
    page.goto("/")
    expect(page.get_by_role("heading", name="Builds", level=1)).to_be_visible()


def test_pitfall_31_a_picture_that_nobody_can_read_is_refused_in_words(shed: Shed) -> None:
    """As iOS hands over files of its own kind: the app asks for others and says why it will not."""
    accepts = shed.page.get_by_label(re.compile("gallery", re.IGNORECASE)).get_attribute("accept")
    assert accepts == "image/jpeg,image/png,image/webp"
    # An ISO base media file with the brand of HEIC (ISO/IEC 23008-12, annex B), without a picture.
    heic = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(2000)
    pages.choose_photo(shed.page, heic)
    expect(shed.page.get_by_text(re.compile("cannot read the file as a picture"))).to_be_visible()
    expect(pages.photos(shed.page)).to_have_count(0)
    assert shed.kept.list("photos") == []


def test_pitfall_32_a_picture_of_24_megapixels_comes_out_upright_and_small(shed: Shed) -> None:
    """The size that iPhones write, EXIF orientation 6; red above green shows which way is up."""
    lying = Image.new("RGB", (5712, 4284), (0, 200, 0))
    lying.paste((200, 0, 0), (0, 0, 2856, 4284))  # turned to the right, its left side is above
    exif = Image.Exif()
    exif[0x0112] = 6
    out = io.BytesIO()
    lying.save(out, "JPEG", quality=80, exif=exif)
    pages.add_photo(shed.page, out.getvalue())
    pages.all_sent(shed.page)
    (photo,) = shed.kept.list("photos")
    with Image.open(io.BytesIO(shed.kept.blob(photo["blob"]))) as kept:
        assert kept.size == (1920, 2560)
        above, below = kept.getpixel((960, 600)), kept.getpixel((960, 1900))
    assert isinstance(above, tuple)
    assert isinstance(below, tuple)
    assert above[0] > 150 > above[1]
    assert below[1] > 150 > below[0]


#: Counts addresses of pictures that are held in memory.
COUNT_URLS = """
globalThis.held = new Set();
const make = URL.createObjectURL.bind(URL), let_go = URL.revokeObjectURL.bind(URL);
URL.createObjectURL = (one) => { const url = make(one); held.add(url); return url; };
URL.revokeObjectURL = (url) => { held.delete(url); let_go(url); };
"""


def test_pitfall_44_pictures_are_let_go_when_their_screen_is_left(
    phone: BrowserContext, server: Server
) -> None:
    phone.add_init_script(COUNT_URLS)
    shed = Shed(phone, server)
    page = shed.page

    def held() -> int:
        return int(page.evaluate("held.size"))

    for seed in (21, 22, 23):
        pages.add_photo(page, pages.phone_photo(seed))
    pages.seen_whole(page, 3)
    there = held()
    assert there >= 3, "the pictures are not shown by object URLs: count something else"
    for _ in range(4):
        pages.go(page, "Devices")
        expect(page.get_by_role("heading", name="Devices", level=1)).to_be_visible()
        until(page, "held.size === 0")
        page.go_back()
        pages.seen_whole(page, 3)
    assert held() <= there


def test_pitfall_42_what_is_typed_outlives_a_pull_to_refresh(shed: Shed) -> None:
    """A note, half written, is there after a reload and after going elsewhere and back."""
    shed.page.get_by_label("Note", exact=True).fill("Bearing sits hard: warm the")
    shed.page.reload()
    expect(shed.page.get_by_label("Note", exact=True)).to_have_value("Bearing sits hard: warm the")
    pages.go(shed.page, "Path")
    expect(shed.page.get_by_role("heading", name="Red one", level=1)).to_be_visible()
    shed.page.go_back()
    expect(shed.page.get_by_label("Note", exact=True)).to_have_value("Bearing sits hard: warm the")
    assert shed.page.evaluate("getComputedStyle(document.documentElement).overscrollBehaviorY") in {
        "none",
        "contain",
    }


def test_pitfall_40_a_wrong_tap_is_taken_back_and_nobody_is_asked_twice(shed: Shed) -> None:
    """'Done' says so with a way back under the thumb; no question stands before it."""
    page: Page = shed.page
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    pages.operations(page).nth(0).check()
    page.get_by_role("button", name="Done", exact=True).click()
    sheet = page.get_by_role("dialog")
    expect(sheet.or_(page.get_by_text("1.1 is done")).first).to_be_visible()
    if sheet.is_visible():
        sheet.get_by_role("button", name="Close").click()
    page.get_by_role("button", name="Not done after all").click()
    expect(page.get_by_role("button", name="Done", exact=True)).to_be_visible()
    assert asked == []
    pages.all_sent(page)
    (progress,) = [one for one in shed.kept.list("step_progress") if one["step"]]
    assert progress["step"] == shed.bench.steps["1.1"]
