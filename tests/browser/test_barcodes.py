"""The makers' own barcodes: taught to a bag once, then scanned like a label, without a network.

The symbols are drawn by zxing-cpp and filmed as a phone sees them.  GS1 General Specifications:
quiet zones of 11 modules (EAN, UPC) and 10 (Code 128), here 12 on every side.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, FilePayload, Page, expect

from tests.browser import test_scan, test_scan_page
from tests.browser.camera import Scene, photograph
from tests.browser.conftest import PHONE
from tests.browser.test_scan import Shed, kept_offline, start_camera, typed

# Fixtures of the other tests of scanning.
shed = test_scan.shed
paired = test_scan.paired
phone_before = test_scan.phone_before
node = test_scan_page.node
scan_page = test_scan_page.scan_page

#: GS1's own example of an EAN-13; a UPC-A and an EAN-8 that stand in public examples.
EAN_13, UPC_A, EAN_8 = "6291041500213", "036000291452", "96385074"
CODE_128 = "CMW-T6-BAG-01"
FORMATS = {
    "EAN-13": (zxingcpp.BarcodeFormat.EAN13, EAN_13),
    "UPC-A": (zxingcpp.BarcodeFormat.UPCA, UPC_A),
    "Code 128": (zxingcpp.BarcodeFormat.Code128, CODE_128),
    "EAN-8": (zxingcpp.BarcodeFormat.EAN8, EAN_8),
}
MODULE_PX = 5


def barcode_picture(kind: str) -> Image.Image:
    """A maker's sticker: the bars with their quiet zones on white."""
    format_, text = FORMATS[kind]
    drawn = zxingcpp.create_barcode(text, format_).to_image(scale=MODULE_PX, add_hrt=False)
    bars = Image.fromarray(np.asarray(drawn)).convert("RGB")
    bars = bars.resize((bars.width, bars.width * 2 // 5), Image.Resampling.NEAREST)
    quiet = 12 * MODULE_PX
    sticker = Image.new("RGB", (bars.width + 2 * quiet, bars.height + 2 * quiet), "white")
    sticker.paste(bars, (quiet, quiet))
    return sticker


def teach_in_the_panel(page: Page, bag: str) -> None:
    panel = page.get_by_role("dialog")
    expect(panel).to_contain_text("A barcode that no bag carries yet")
    panel.get_by_role("button", name="Teach it to a bag").tap()
    panel.get_by_role("list", name="Bags of Tarn 6").get_by_role("button", name=bag).tap()


def barcodes(shed: Shed) -> list[dict[str, Any]]:
    reply = shed.owner.get(f"/api/barcodes?kit={shed.kit}")
    assert reply.ok, reply.text()
    return list(reply.json()["items"])


@pytest.mark.parametrize("kind", ["EAN-13", "UPC-A", "Code 128"])
def test_a_makers_barcode_is_taught_once_and_then_scans_like_a_label_without_a_network(
    kind: str, shed: Shed, phone_before: Callable[..., Page]
) -> None:
    page = phone_before(barcode_picture(kind), None, seconds=3, scene=Scene(height=0.4))
    kept_offline(page)
    page.context.set_offline(True)
    start_camera(page)
    teach_in_the_panel(page, "Bag 1")
    expect(page).to_have_url(shed.step_url("1.1"))
    expect(page.get_by_text("Bag 1 is known by this barcode now")).to_be_visible()
    # Once more, from the beginning: what was taught is on the phone.
    page.get_by_role("link", name="Builds", exact=True).tap()
    start_camera(page)
    expect(page).to_have_url(shed.step_url("1.1"))
    page.context.set_offline(False)
    expect(page.get_by_role("banner").get_by_role("link")).to_have_text(
        "Everything is on the server"
    )
    (taught,) = barcodes(shed)
    text = FORMATS[kind][1]
    assert taught["bag"] == shed.bags["1"]
    assert taught["text"] == (text if kind == "Code 128" else text.rjust(14, "0"))
    assert taught["symbology"] == kind.lower().translate(str.maketrans("- ", "__"))


def test_the_bag_is_taught_lists_what_it_knows_and_forgets_with_a_way_back(
    shed: Shed, phone_before: Callable[..., Page]
) -> None:
    page = phone_before(barcode_picture("EAN-13"), scene=Scene(height=0.4))
    bag = f"/builds/{shed.build}/bags/{shed.bags['2']}"
    page.goto(bag)
    page.get_by_role("link", name="Teach the maker's barcode").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Teach the barcode of Bag 2")
    start = page.get_by_role("button", name="Start the camera")
    expect(page.locator("video").or_(start)).to_be_visible()
    if start.is_visible():
        start.tap()
    expect(page).to_have_url(re.compile(f"{bag}$"))
    known = page.get_by_role("region", name="Maker's barcode")
    expect(known.get_by_role("listitem")).to_contain_text([EAN_13])
    known.get_by_role("button", name=f"Forget {EAN_13}").tap()
    expect(known.get_by_role("listitem")).to_have_count(0)
    page.get_by_role("button", name="Undo").tap()
    expect(known.get_by_role("listitem")).to_have_count(1)
    # And once more for good: then the digits lead nowhere.
    known.get_by_role("button", name=f"Forget {EAN_13}").tap()
    expect(known.get_by_role("listitem")).to_have_count(0)
    typed(page, EAN_13)
    expect(page.get_by_role("dialog")).to_contain_text("A barcode that no bag carries yet")
    # What was forgotten can be taught again.
    teach_in_the_panel(page, "Bag 2")
    expect(page.get_by_role("dialog")).to_contain_text("This bag serves 3 steps")


def test_a_barcode_on_several_bags_asks_and_offers_the_one_that_is_needed_next(
    shed: Shed, paired: Page
) -> None:
    for bag in ("2", "1"):
        about = {"kit": shed.kit, "bag": shed.bags[bag], "text": f"0{EAN_13}"}
        shed.ask("/api/barcodes", {**about, "symbology": "ean_13"})
    # Fetched as the digits are asked for: they were taught elsewhere a moment ago.
    typed(paired, EAN_13)
    panel = paired.get_by_role("dialog")
    expect(panel).to_contain_text("2 bags carry this barcode")
    first = panel.get_by_role("button", name="Bag 1 · Tarn 6: step 1.1 Part 0")
    box = first.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    assert box["y"] > PHONE["viewport"]["height"] / 2
    panel.get_by_role("list").get_by_role("button").filter(has_text="Next: step 2.1").tap()
    expect(panel).to_contain_text("This bag serves 3 steps")


def test_a_slip_in_typed_digits_is_told_and_the_right_ones_are_taught(
    shed: Shed, paired: Page
) -> None:
    kept_offline(paired)
    paired.context.set_offline(True)
    paired.goto("/scan")
    field = paired.get_by_label("type the code")
    field.press_sequentially("6291041500214")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(paired.get_by_text("The last digit does not fit the others")).to_be_visible()
    field.press("Backspace")
    field.press_sequentially("3")
    expect(field).not_to_have_attribute("aria-invalid", "true")
    field.press("Enter")
    teach_in_the_panel(paired, "Bag 1")
    expect(paired).to_have_url(shed.step_url("1.1"))


def test_nothing_bars_the_way_for_assistive_technology(shed: Shed, paired: Page) -> None:
    """axe-core in every state of the panel, on the teaching screen and on the bag."""
    typed(paired, EAN_13)
    panel = paired.get_by_role("dialog")
    expect(panel).to_contain_text("no bag carries yet")
    test_scan.accessible(paired)
    panel.get_by_role("button", name="Teach it to a bag").tap()
    expect(panel.get_by_role("list", name="Bags of Tarn 6")).to_be_visible()
    test_scan.accessible(paired)
    paired.goto(f"/scan?teach={shed.bags['2']}&build={shed.build}")
    expect(paired.get_by_label("type the digits")).to_be_visible()
    test_scan.accessible(paired)
    paired.get_by_label("type the digits").fill(EAN_13)
    paired.get_by_role("button", name="Teach these digits").tap()
    expect(paired.get_by_role("button", name=f"Forget {EAN_13}")).to_be_visible()
    test_scan.accessible(paired)


#: How the sticker may lie: read for certain, and damaged, where it may be read or not.
GOOD = [Scene(height=0.4), Scene(height=0.4, turn_deg=92), Scene(height=0.35, tilt_deg=25, noise=9)]
DAMAGED = [
    Scene(height=0.25, blur_px=blur, noise=14, crinkle=crinkle, glare=glare)
    for blur in (1.6, 2.4, 3.2)
    for crinkle, glare in ((0.0, 0.5), (0.02, 0.0), (0.04, 0.3))
]


def test_linear_codes_are_read_or_not_and_never_misread(scan_page: Path, chromium: Browser) -> None:
    shots = [
        (FORMATS[kind][1], scene in GOOD, photograph(barcode_picture(kind), scene, seed=at))
        for kind in FORMATS
        for at, scene in enumerate(GOOD + DAMAGED)
    ]
    with (
        test_scan_page.served(scan_page) as address,
        test_scan_page.opened(chromium, address) as page,
    ):
        for at, (_, _, frame) in enumerate(shots):
            out = io.BytesIO()
            Image.fromarray(frame).save(out, "JPEG", quality=90)
            chosen = FilePayload(name="shot.jpg", mimeType="image/jpeg", buffer=out.getvalue())
            page.locator("#file").set_input_files(chosen)
            test_scan_page.wait_for(page, f"seen.pictures.length + seen.failures.length > {at}")
        assert page.evaluate("seen.failures") == []
        read = page.evaluate("seen.pictures")
    for (text, good, _), said in zip(shots, read, strict=True):
        # A UPC-A is an EAN-13 with a zero before it: the library says all 13 digits.
        right = {text, f"0{text}"} if text == UPC_A else {text}
        assert said in (right if good else right | {None}), (text, said)
    damaged = [said for (_, good, _), said in zip(shots, read, strict=True) if not good]
    assert None in damaged, "the damage is too little to mean anything"
