"""From a printed label to its step, in the app itself: PDF to picture to film to camera.

The labels are the server's own, rasterised from its PDF at 300 dpi and filmed as a phone sees
them.  Phone pitfalls 6, 10, 13, 14, 15, 38 and 44.
"""

from __future__ import annotations

import contextlib
import re
import secrets
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from PIL import Image
from playwright.sync_api import (
    APIRequestContext,
    Browser,
    BrowserContext,
    Page,
    Playwright,
    TimeoutError,
    expect,
)

from bagtrail.domain.paper.geometry import preset
from bagtrail.trade import codes
from tests.browser.camera import Scene, bare_bench, photograph, write_mjpeg
from tests.browser.conftest import PHONE, ROOT, Server, until
from tests.browser.test_scan_page import COUNT_CALLS, label_picture

# The camera's film has to come round, on a machine that does other things too.
expect.set_options(timeout=15_000)

DPI = 300
SPOKEN = {"Bagtrail-Protocol": "1"}


@dataclass
class Shed:
    """A workshop with a kit: bag 1 serves one step, bag 2 serves three."""

    server: Server
    owner: APIRequestContext
    workshop: str = ""
    kit: str = ""
    build: str = ""
    bags: dict[str, str] = field(default_factory=dict)
    codes: dict[str, str] = field(default_factory=dict)
    steps: dict[str, str] = field(default_factory=dict)

    def ask(self, path: str, body: Any = None) -> Any:
        reply = self.owner.post(path, data=body if body is not None else {})
        assert reply.ok, reply.text()
        return reply.json()

    def step_url(self, number: str) -> re.Pattern[str]:
        return re.compile(f"/builds/{self.build}/steps/{self.steps[number]}")

    def label(self, bag: str) -> Image.Image:
        """The label of a bag as it comes out of the printer, cut along its edge."""
        reply = self.owner.get(f"/labels/kits/{self.kit}.pdf?bags={self.bags[bag]}")
        assert reply.ok, reply.text()
        with pdfium.PdfDocument(reply.body()) as document:
            page = document[0].render(scale=DPI / 72).to_pil().convert("RGB")
        # The first label's place, cut out along its edges.
        sheet = preset("a4-3x7")
        left, top = sheet.left_mm, sheet.top_mm
        edges = (left, top, left + sheet.label_width_mm, top + sheet.label_height_mm)
        return page.crop(tuple(round(edge * DPI / 25.4) for edge in edges))


@pytest.fixture
def shed(server: Server, player: Playwright) -> Iterator[Shed]:
    owner = player.request.new_context(base_url=server.url, extra_http_headers=SPOKEN)
    it = Shed(server, owner)
    me = {
        "device": str(uuid.uuid4()),
        "clock": secrets.token_hex(8),
        "name": "Desk",
        "kind": "desk",
    }
    it.workshop = it.ask("/api/devices/claim", {"workshop": "Shed", **me})["workshop"]["id"]
    it.kit = it.ask("/api/kits", {"name": "Tarn 6"})["id"]
    for number in ("1", "2"):
        bag = {"kit": it.kit, "number": number, "order": f"a{number}"}
        it.bags[number] = it.ask("/api/bags", bag)["id"]
    for at, (number, bag) in enumerate((("1.1", "1"), ("2.1", "2"), ("2.2", "2"), ("2.3", "2"))):
        step = {
            "kit": it.kit,
            "number": number,
            "title": f"Part {at}",
            "order": f"a{at}",
            "bags": [it.bags[bag]],
        }
        it.steps[number] = it.ask("/api/steps", step)["id"]
    it.build = it.ask("/api/builds", {"kit": it.kit, "name": "Red one"})["id"]
    assert owner.get(f"/labels/kits/{it.kit}.pdf").ok  # printing gives the bags their codes
    for number, bag_id in it.bags.items():
        it.codes[number] = owner.get(f"/api/bags/{bag_id}").json()["code"]
    yield it
    owner.dispose()


def pair(shed: Shed, page: Page) -> None:
    """Pairs the phone by the code that the desk shows."""
    page.get_by_label("code", exact=False).first.fill(shed.ask("/api/pairing")["code"])
    page.get_by_role("button", name="Pair").tap()


def paired_page(shed: Shed, context: BrowserContext) -> Page:
    context.add_init_script(COUNT_CALLS)
    page = context.new_page()
    page.goto("/pair")
    pair(shed, page)
    expect(page).not_to_have_url(re.compile("/pair"))
    page.goto("/")
    expect(page.get_by_text("Red one").first).to_be_visible()
    return page


def kept_offline(page: Page) -> None:
    """Waits until the app's files and the kit are on the phone."""
    until(page, "navigator.serviceWorker.controller !== null")
    page.evaluate("navigator.serviceWorker.ready.then(r => r.active.state)")


@pytest.fixture
def phone_before(
    shed: Shed,
    launch: Callable[..., Browser],
    opened_context: Callable[..., BrowserContext],
    tmp_path: Path,
) -> Callable[..., Page]:
    """A paired phone, whose camera sees each of these pictures for some seconds, in turn."""

    def before(*labels: Image.Image | None, seconds: float = 4, scene: Scene | None = None) -> Page:
        frames = []
        for picture in labels:
            shots = [
                bare_bench(seed=seed)
                if picture is None
                else photograph(picture, scene or Scene(height=0.55), seed=seed)
                for seed in range(3)
            ]
            frames += [shots[at % 3] for at in range(int(seconds * 30))]
        path = write_mjpeg(frames, tmp_path / "scene.mjpeg")
        return paired_page(shed, opened_context(launch(path), shed.server, PHONE))

    return before


def start_camera(page: Page) -> None:
    """By the places at the foot, as a builder does; that tap starts the camera too."""
    page.get_by_role("link", name="Scan", exact=True).tap()
    start = page.get_by_role("button", name="Start the camera")
    expect(page.locator("video").or_(start)).to_be_visible()
    # Where the tap has started it, the button is gone again at once.
    with contextlib.suppress(TimeoutError):
        start.tap(timeout=1_000)


def test_a_printed_label_opens_its_one_step(shed: Shed, phone_before: Callable[..., Page]) -> None:
    """Scan to step, from our own PDF; pitfall 10: one call for the camera."""
    page = phone_before(shed.label("1"))
    start_camera(page)
    expect(page).to_have_url(shed.step_url("1.1"))
    expect(page.get_by_role("heading", level=1)).to_contain_text("1.1")
    assert page.evaluate("calls.length") == 1


def test_a_bag_of_several_steps_offers_them_without_a_network(
    shed: Shed, phone_before: Callable[..., Page]
) -> None:
    """Pitfalls 6 and 44: offline, once for each time it comes into view; the stream is kept."""
    page = phone_before(shed.label("2"), None, seconds=3)
    kept_offline(page)
    page.context.set_offline(True)
    start_camera(page)
    sheet = page.get_by_role("dialog")
    next_step = sheet.get_by_role("link", name="Go to step 2.1")
    for scan in range(2):
        expect(sheet).to_contain_text("This bag serves 3 steps", timeout=20_000)
        expect(sheet.get_by_role("list")).to_contain_text("2.3")
        box = next_step.bounding_box()
        # Pitfall 38, and under the thumb: in the lower half of the screen.
        assert box is not None
        assert box["height"] >= 48
        assert box["y"] > PHONE["viewport"]["height"] / 2
        if scan == 0:
            sheet.get_by_role("button", name="Close").tap()
            expect(sheet).to_be_hidden()
    sheet.get_by_role("link", name="Go to step 2.1").tap()
    expect(page).to_have_url(shed.step_url("2.1"))
    assert page.evaluate("calls.length") == 1


def test_a_foreign_symbol_is_answered_and_never_gone_to(
    shed: Shed, phone_before: Callable[..., Page]
) -> None:
    """Pitfall 15: even one that points to a place of this very app."""
    page = phone_before(label_picture(f"{shed.server.url}/devices"))
    start_camera(page)
    expect(page.get_by_role("dialog")).to_contain_text("Not one of our labels")
    assert page.url == f"{shed.server.url}/scan"


def test_a_label_from_another_host_opens_its_step(
    shed: Shed, phone_before: Callable[..., Page]
) -> None:
    """Pitfall 15: the sticker stays when the server's address changes."""
    page = phone_before(label_picture(f"https://OLD.EXAMPLE/B/{shed.codes['1']}"))
    start_camera(page)
    expect(page).to_have_url(shed.step_url("1.1"))


@pytest.fixture
def paired(shed: Shed, phone: BrowserContext) -> Page:
    return paired_page(shed, phone)


def other_than(code: str) -> str:
    return "7" if code != "7" else "8"


def typed(page: Page, code: str) -> None:
    page.goto("/scan")
    field = page.get_by_label("type the code")
    field.fill("")
    field.press_sequentially(code)
    page.get_by_role("button", name="Find the bag").tap()


def test_a_torn_label_is_typed(shed: Shed, paired: Page) -> None:
    """Lower case, O for 0, I for 1, no dash: forgiven."""
    typed(paired, shed.codes["1"].replace("0", "o").replace("1", "i").lower())
    expect(paired).to_have_url(shed.step_url("1.1"))


def test_a_slip_is_caught_while_typing_and_the_bag_that_was_meant_is_offered(
    shed: Shed, paired: Page
) -> None:
    code = shed.codes["1"]
    typed(paired, code[:3] + other_than(code[3]) + code[4:])
    expect(paired.get_by_role("alert")).to_contain_text("do not belong together")
    sheet = paired.get_by_role("dialog")
    expect(sheet).to_contain_text("This code cannot be right")
    sheet.get_by_role("button", name="Bag 1").tap()
    expect(paired).to_have_url(shed.step_url("1.1"))


def test_what_is_typed_survives_a_reload(shed: Shed, paired: Page) -> None:
    paired.goto("/scan")
    paired.get_by_label("type the code").press_sequentially(shed.codes["1"][:5])
    paired.reload()
    kept = paired.get_by_label("type the code").input_value()
    assert kept == f"{shed.codes['1'][:4]}-{shed.codes['1'][4:5]}"


def test_unknown_and_other_workshops_codes_have_answers_of_their_own(
    shed: Shed, paired: Page
) -> None:
    draw = lambda: secrets.randbits(codes.RANDOM_BITS)  # noqa: E731
    unknown = codes.issue(shed.workshop, draw, set(shed.codes.values()))
    typed(paired, unknown)
    sheet = paired.get_by_role("dialog")
    expect(sheet).to_contain_text(f"No bag here carries {codes.in_clear(unknown)}")
    sheet.get_by_role("button", name="Close").tap()
    stranger = str(uuid.uuid4())
    while codes.workshop_tag(stranger) == codes.workshop_tag(shed.workshop):
        stranger = str(uuid.uuid4())
    typed(paired, codes.issue(stranger, draw))
    expect(sheet).to_contain_text("another workshop")


def test_a_bag_labelled_elsewhere_a_moment_ago_is_fetched(shed: Shed, paired: Page) -> None:
    """The code is new to this device; the server is asked before the answer is 'unknown'."""
    paired.goto("/scan")
    bag = shed.ask("/api/bags", {"kit": shed.kit, "number": "3", "order": "a9"})["id"]
    step = {"kit": shed.kit, "number": "3.1", "order": "b", "bags": [bag]}
    shed.steps["3.1"] = shed.ask("/api/steps", step)["id"]
    assert shed.owner.get(f"/labels/kits/{shed.kit}.pdf").ok
    typed(paired, shed.owner.get(f"/api/bags/{bag}").json()["code"])
    expect(paired).to_have_url(shed.step_url("3.1"))


@pytest.mark.parametrize("online", [True, False])
def test_the_phones_own_camera_opens_the_next_open_step(
    online: bool, shed: Shed, paired: Page
) -> None:
    """Pitfall 14: /B/CODE and /b/code, both 200 without a redirect; offline too."""
    kept_offline(paired)
    paired.context.set_offline(not online)
    for path in (f"/B/{shed.codes['2']}", f"/b/{shed.codes['2'].lower()}"):
        reply = paired.goto(path)
        assert reply is not None
        assert reply.status == 200
        assert reply.request.redirected_from is None
        expect(paired).to_have_url(shed.step_url("2.1"))
        paired.wait_for_timeout(300)


def test_a_damaged_address_is_told(shed: Shed, paired: Page) -> None:
    paired.goto(f"/B/{shed.codes['1'][:6]}")
    expect(paired.get_by_text("That is 6 characters; a code has 8.")).to_be_visible()


def test_a_strangers_phone_is_told_how_to_pair_and_goes_on_to_the_step(
    shed: Shed, phone: BrowserContext
) -> None:
    page = phone.new_page()
    page.goto(f"/B/{shed.codes['1']}")
    expect(page.get_by_role("heading", level=1)).to_have_text("This device is not paired yet")
    page.get_by_role("link", name="Pair this device").tap()
    pair(shed, page)
    expect(page).to_have_url(shed.step_url("1.1"))


def test_a_refused_camera_says_how_to_allow_it_and_leaves_typing(
    shed: Shed, launch: Callable[..., Browser], opened_context: Callable[..., BrowserContext]
) -> None:
    """Pitfall 13."""
    browser = launch(None, "--use-fake-ui-for-media-stream=deny")
    page = paired_page(shed, opened_context(browser, shed.server, PHONE, permissions=[]))
    page.goto("/scan")
    refused = page.get_by_role("heading", name="The camera is not allowed")
    start = page.get_by_role("button", name="Start the camera")
    expect(start.or_(refused)).to_be_visible()
    if start.is_visible():
        start.tap()
    expect(refused).to_be_visible()
    typed(page, shed.codes["1"])
    expect(page).to_have_url(shed.step_url("1.1"))


def test_a_picture_from_the_gallery_opens_its_step(
    shed: Shed, paired: Page, tmp_path: Path
) -> None:
    picture = tmp_path / "label.jpg"
    Image.fromarray(photograph(shed.label("1"), Scene(height=0.55))).save(picture)
    paired.goto("/scan")
    paired.locator("input[type=file]").set_input_files(picture)
    expect(paired).to_have_url(shed.step_url("1.1"))


def accessible(page: Page, look: str = "") -> None:
    """axe-core by evaluation, since the policy bars script tags."""
    page.evaluate((ROOT / "client/node_modules/axe-core/axe.min.js").read_text())
    found = page.evaluate("axe.run({ rules: { 'target-size': { enabled: true } } })")
    told = [(each["id"], [n["html"] for n in each["nodes"]]) for each in found["violations"]]
    assert told == [], look


def test_nothing_bars_the_way_for_assistive_technology(shed: Shed, paired: Page) -> None:
    """Pitfall 39."""
    paired.goto("/scan")
    expect(paired.get_by_role("heading", level=1)).to_be_visible()
    for look in ("idle", "live", "answer"):
        if look == "live":
            start = paired.get_by_role("button", name="Start the camera")
            expect(paired.locator("video").or_(start)).to_be_visible()
            if start.is_visible():
                start.tap()
            expect(paired.locator("video")).to_be_visible()
        if look == "answer":
            paired.get_by_label("type the code").fill(shed.codes["2"])
            paired.get_by_role("button", name="Find the bag").tap()
            expect(paired.get_by_role("dialog")).to_be_visible()
        accessible(paired, look)
