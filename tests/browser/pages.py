"""What a builder does on the screens, by role and visible name, and what can be asked afterwards.

Nothing here knows of classes, ids or the app's insides: it finds what a person would find.
"""

from __future__ import annotations

import io
import re
import sqlite3
import time
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pypdfium2 as pdfium
from PIL import ExifTags, Image
from playwright.sync_api import APIRequestContext, Error, FilePayload, Locator, Page, expect

from bagtrail.domain.paper.geometry import preset
from tests.browser.conftest import Server, until

SPOKEN = {"Bagtrail-Protocol": "1"}
#: How long a screen may take on a busy machine before the test calls it broken; ms.
PATIENCE_MS = 20_000
expect.set_options(timeout=PATIENCE_MS)
PRINTER_DPI = 300


# ---- beginnings ----


def claim(page: Page, workshop: str, device: str) -> None:
    """Takes a new server in the browser on its own machine."""
    page.goto("/")
    page.get_by_label("Name of the workshop").fill(workshop)
    page.get_by_label("Name of this device").fill(device)
    page.get_by_role("button", name="This is my workshop").click()
    expect(page.get_by_role("button", name="Try the demo kit")).to_be_visible()


def try_demo(page: Page) -> str:
    """Has the demo kit unpacked; the build's id."""
    page.get_by_role("button", name="Try the demo kit").click()
    expect(page).to_have_url(re.compile("/builds/"), timeout=30_000)
    return build_of(page)


def build_of(page: Page) -> str:
    found = re.search(r"/builds/([0-9a-f-]{36})", page.url)
    assert found, page.url
    return found[1]


def pairing_code(page: Page) -> str:
    """Asks a paired device for a code, and reads it off its screen."""
    go(page, "Devices")
    page.get_by_role("button", name="Pair another device").click()
    said = page.get_by_role("dialog").get_by_text(re.compile(r"^Code: \S+"))
    code = said.inner_text().removeprefix("Code:").strip()
    page.get_by_role("dialog").get_by_role("button", name="Close").click()
    return code


def pair(page: Page, code: str, name: str) -> None:
    """Types a code on a device that nobody knows yet, or no longer."""
    page.get_by_label("Code", exact=True).fill(code)
    page.get_by_label("Name of this device").fill(name)
    page.get_by_role("button", name="Pair", exact=True).click()
    expect(page.get_by_text(re.compile("Paired with "))).to_be_visible()


def kept(page: Page) -> None:
    """Waits until the app opens without a network."""
    until(page, "navigator.serviceWorker.controller !== null")
    page.evaluate("navigator.serviceWorker.ready.then(r => r.active.state)")


# ---- going about ----


def go(page: Page, place: str) -> None:
    """By the places at the foot."""
    page.get_by_role("navigation", name="Places").get_by_role("link", name=place).click()


def scan(page: Page) -> None:
    """Goes to Scan and has the camera on."""
    go(page, "Scan")
    start = page.get_by_role("button", name="Start the camera")
    expect(page.get_by_label("What the camera sees").or_(start)).to_be_visible()
    # The tap on Scan may have started it already, and then the button goes away.
    if start.is_visible():
        with suppress(Error):
            start.click(timeout=2_000)


def strip(page: Page) -> Locator:
    """The line that says what is on the server."""
    return page.get_by_role("banner").get_by_role("link")


def all_sent(page: Page) -> None:
    """Waits until nothing is left to send, and what was written just now has been counted."""
    for _ in range(2):
        expect(strip(page)).to_have_text("Everything is on the server", timeout=PATIENCE_MS)
        page.wait_for_timeout(200)


def waits_for_server(page: Page) -> None:
    """As far as the strip tells: something of this device's work is not on the server."""
    expect(strip(page)).to_contain_text("not yet on the server", timeout=PATIENCE_MS)


def exchange_until(page: Page, enough: Callable[[], bool]) -> None:
    """Has this device exchange with the server by hand, until it is enough."""
    go(page, "Devices")
    now = page.get_by_role("button", name=re.compile("^Exchang"))
    last = time.monotonic() + 60
    while not enough():
        assert time.monotonic() < last, "a minute of exchanges was not enough"
        now.click()
        expect(now).not_to_have_attribute("aria-busy", "true")
        page.wait_for_timeout(250)


# ---- at a step ----


def operations(page: Page) -> Locator:
    return page.get_by_role("region", name="Do", exact=True).get_by_role("checkbox")


def part_ticks(page: Page) -> Locator:
    return page.get_by_role("region", name=re.compile("^Lay out")).get_by_role("checkbox")


def ticked(boxes: Locator) -> list[bool]:
    """Which of them are ticked, once there are any."""
    expect(boxes.first).to_be_visible()
    return [box.is_checked() for box in boxes.all()]


def here(page: Page) -> Locator:
    """The operation that the app says the builder is at."""
    return page.get_by_role("region", name="Do", exact=True).get_by_text("You are here")


def here_at(page: Page) -> str:
    """Text of the operation that the builder is at."""
    at = page.get_by_role("region", name="Do", exact=True).get_by_role("listitem")
    return (
        at.filter(has_text="You are here").get_by_role("checkbox").first.locator("..").inner_text()
    )


def photos(page: Page) -> Locator:
    """The pictures of this step that can be seen."""
    return page.get_by_role("region", name="Photos").get_by_role("button").get_by_role("img")


def choose_photo(page: Page, picture: bytes) -> None:
    """Chooses a picture from the gallery, whatever comes of it."""
    chosen = FilePayload(name="photo.jpg", mimeType="image/jpeg", buffer=picture)
    page.get_by_label(re.compile("gallery", re.IGNORECASE)).set_input_files(chosen)


def add_photo(page: Page, picture: bytes) -> None:
    before = photos(page).count()
    choose_photo(page, picture)
    expect(photos(page)).to_have_count(before + 1, timeout=PATIENCE_MS)


def seen_whole(page: Page, count: int) -> list[tuple[int, int]]:
    """Waits until so many photos are drawn; their sizes in pixels."""
    expect(photos(page)).to_have_count(count, timeout=PATIENCE_MS)
    sizes = []
    for at in range(count):
        # In one go, as a picture may be drawn anew when a better one has come.
        last = time.monotonic() + PATIENCE_MS / 1000
        size = [0, 0]
        while not size[0]:
            assert time.monotonic() < last, f"photo {at} is not drawn"
            size = (
                photos(page)
                .nth(at)
                .evaluate(
                    "one => { one.scrollIntoView(); return [one.naturalWidth, one.naturalHeight]; }"
                )
            )
            page.wait_for_timeout(50)
        sizes.append((int(size[0]), int(size[1])))
    return sizes


# ---- things of the bench ----


def phone_photo(seed: int, wide: int = 1200, high: int = 900, *, grain_px: int = 20) -> bytes:
    """A JPEG as a phone makes it: stored lying (EXIF orientation 6), with the place in it.

    The smaller the grain, the more bytes.
    """
    chance = np.random.default_rng(seed)
    coarse = chance.integers(30, 220, (high // grain_px, wide // grain_px, 3), dtype=np.uint8)
    picture = Image.fromarray(coarse).resize((wide, high), Image.Resampling.BICUBIC)
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Make] = "Phone maker"
    exif[ExifTags.Base.Model] = "Phone 1"
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(
        {1: "N", 2: (48.0, 12.0, 34.5), 3: "E", 4: (11.0, 34.0, 12.0)}
    )
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=90, exif=exif)
    data = out.getvalue()
    with Image.open(io.BytesIO(data)) as again:
        assert again.getexif().get_ifd(ExifTags.IFD.GPSInfo), "the test's own photo has no place"
    return data


def label_of(pdf: bytes, nth: int = 0, sheet: str = "a4-3x7") -> Image.Image:
    """The nth label of a printed sheet as it comes out of the printer, cut out along its edges."""
    kind = preset(sheet)
    with pdfium.PdfDocument(pdf) as document:
        page = document[0].render(scale=PRINTER_DPI / 72).to_pil().convert("RGB")
    box = kind.label(nth)
    edges = (box.x, box.y, box.x + box.width, box.y + box.height)
    return page.crop(tuple(round(edge * PRINTER_DPI / 25.4) for edge in edges))  # type: ignore[arg-type]


# ---- what the server has ----


class Kept:
    """What is on the server, asked by a paired device's cookie."""

    def __init__(self, request: APIRequestContext, server: Server) -> None:
        self.request = request
        self.server = server

    def get(self, path: str) -> Any:
        reply = self.request.get(self.server.url + path, headers=SPOKEN)
        assert reply.ok, reply.text()
        return reply.json()

    def post(self, path: str, values: dict[str, Any]) -> str:
        """Makes a record; its id."""
        reply = self.request.post(self.server.url + path, headers=SPOKEN, data=values)
        assert reply.ok, reply.text()
        return str(reply.json()["id"])

    def list(self, collection: str, **query: str) -> list[dict[str, Any]]:
        """All records of a collection, page after page."""
        found: list[dict[str, Any]] = []
        after = ""
        while True:
            asked = "&".join([*(f"{name}={value}" for name, value in query.items()), "limit=1000"])
            page = self.get(f"/api/{collection}?{asked}{after}")
            found += page["items"]
            if page["next"] is None:
                return found
            after = f"&after={page['next']}"

    def blob(self, sha256: str) -> bytes:
        reply = self.request.get(f"{self.server.url}/api/blobs/{sha256}", headers=SPOKEN)
        assert reply.ok, reply.text()
        return reply.body()

    def journal(self, types: Sequence[str]) -> list[tuple[str, str, str]]:
        """Rows of the journal: type, record and id of each change, in order."""
        path = f"file:{self.server.data / 'bagtrail.sqlite3'}?mode=ro"
        marks = ", ".join("?" * len(types))
        with closing(sqlite3.connect(path, uri=True)) as database:
            rows = database.execute(
                "SELECT type, record_id, clock || '.' || counter FROM change"
                f" WHERE type IN ({marks}) ORDER BY seq",
                list(types),
            )
            return [(str(a), str(b), str(c)) for a, b, c in rows]


# ---- a small kit ----


@dataclass
class Bench:
    """A build of a kit of two steps, without having to unpack the demo kit.

    Step 1.1 has three operations and three part lines, step 1.2 has two operations.
    """

    build: str
    kit: str
    #: Ids of steps by their numbers, and of their operations in order.
    steps: dict[str, str] = field(default_factory=dict)
    operations: dict[str, list[str]] = field(default_factory=dict)

    def at(self, step: str) -> str:
        """Address of a step."""
        return f"/builds/{self.build}/steps/{self.steps[step]}"


def small_bench(kept: Kept) -> Bench:
    """Makes a small kit and a build of it by plain REST."""
    kit = kept.post("/api/kits", {"name": "Tarn 6"})
    bag = kept.post("/api/bags", {"kit": kit, "number": "1", "title": "Axle", "order": "a1"})
    bench = Bench("", kit)
    for at, (number, count) in enumerate((("1.1", 3), ("1.2", 2))):
        about = {"title": f"Axle, part {at + 1}", "order": f"a{at}", "bags": [bag]}
        step = kept.post("/api/steps", {"kit": kit, "number": number, **about})
        bench.steps[number] = step
        bench.operations[number] = [
            kept.post(
                "/api/operations",
                {"kit": kit, "step": step, "text": f"Do {number}, {nth}", "order": f"a{nth}"},
            )
            for nth in range(1, count + 1)
        ]
    for name in ("Axle", "Bearing", "Pin"):
        part = kept.post("/api/parts", {"kit": kit, "name": name})
        line = {"part": part, "quantity": 2, "bag": bag, "step": bench.steps["1.1"]}
        kept.post("/api/part_lines", {"kit": kit, **line})
    bench.build = kept.post("/api/builds", {"kit": kit, "name": "Red one"})
    return bench
