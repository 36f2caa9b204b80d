"""A page of a paper manual: photographed at the bench, made straight, shown at its step.

The page is drawn here, laid on a bench, tilted, lit and photographed as ``camera.photograph`` does
it.  What the app makes of it is compared with the drawing.
"""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import BrowserContext, FilePayload, Locator, Page, expect

from tests.browser import pages
from tests.browser.camera import Scene, photograph
from tests.browser.conftest import Server, until
from tests.browser.test_scan import accessible


def manual_page() -> Image.Image:
    """A page of a manual, 560 x 800 px: lines of text, a figure, a black block at one side."""
    page = Image.new("RGB", (560, 800), "white")
    pen = ImageDraw.Draw(page)
    for line in range(12):
        pen.rectangle((60, 60 + line * 22, 500 - (line % 3) * 60, 68 + line * 22), fill="#333")
    pen.ellipse((150, 380, 410, 640), outline="#222", width=14)
    pen.rectangle((240, 470, 320, 550), fill="#222")
    pen.rectangle((400, 700, 500, 750), fill="#333")
    return page


PHOTOGRAPHED = Scene(height=0.82, turn_deg=7, tilt_deg=22, noise=4, blur_px=0.6)


def payload(picture: Image.Image) -> FilePayload:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=92)
    return FilePayload(name="page.jpg", mimeType="image/jpeg", buffer=out.getvalue())


def photo_of_page() -> FilePayload:
    return payload(Image.fromarray(photograph(manual_page(), PHOTOGRAPHED)))


def likeness(made: bytes) -> float:
    """Correlation of a picture with the page as it was drawn, both in grey and of one size."""
    drawn = np.asarray(manual_page().convert("L").resize((140, 200)), float)
    other = np.asarray(Image.open(io.BytesIO(made)).convert("L").resize((140, 200)), float)
    return float(np.corrcoef(drawn.ravel(), other.ravel())[0, 1])


class Bench:
    """A paired phone at a step of a small kit, and the desk that owns the server."""

    def __init__(self, desk: BrowserContext, phone: BrowserContext, server: Server) -> None:
        self.desk, self.phone = desk.new_page(), phone.new_page()
        pages.claim(self.desk, "Shed", "Desk")
        self.kept = pages.Kept(desk.request, server)
        self.kit = pages.small_bench(self.kept)
        code = pages.pairing_code(self.desk)
        self.phone.goto("/")
        pages.pair(self.phone, code, "Phone")
        self.phone.goto(self.kit.at("1.1"))
        expect(pages.operations(self.phone)).to_have_count(3)


@pytest.fixture
def bench(desk: BrowserContext, phone: BrowserContext, server: Server) -> Bench:
    return Bench(desk, phone, server)


def photograph_it(page: Page) -> None:
    page.get_by_label("Take the picture").set_input_files(photo_of_page())
    expect(page.get_by_role("button", name="Make it straight")).to_be_visible()
    expect(page.get_by_text("The corners look like this")).to_be_visible()


def figure(page: Page) -> Locator:
    return page.get_by_role("figure").get_by_role("img").first


def drawn(page: Page) -> None:
    """Waits until the step's figure has come."""
    expect(figure(page)).to_be_visible()
    until(page, "document.querySelector('figure img').naturalWidth > 0")


def test_a_page_is_photographed_made_straight_and_shown_at_its_step_without_a_network(
    bench: Bench,
) -> None:
    phone, step = bench.phone, bench.kit.at("1.1")
    pages.kept(phone)
    phone.context.set_offline(True)
    phone.get_by_role("link", name="Photograph its page").tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Photograph a page")
    photograph_it(phone)
    phone.get_by_role("button", name="Make it straight").tap()
    phone.get_by_label("Number of the page").fill("12")
    phone.get_by_role("button", name="Keep it for step 1.1").tap()
    expect(phone).to_have_url(re.compile(f"{step}$"))
    expect(phone.get_by_text("Page 12 is kept on this device, for 1 step")).to_be_visible()
    drawn(phone)
    expect(phone.get_by_text("Manual, page 12")).to_be_visible()
    # After a start without a network it is there, too.
    phone.reload()
    drawn(phone)

    # The words go first, and the bytes are held up: another device says where the picture is.
    phone.context.route("**/api/blobs/*", lambda route: route.abort())
    phone.context.set_offline(False)
    bench.desk.goto(step)
    expect(bench.desk.get_by_text("still on Phone")).to_be_visible()
    phone.context.unroute("**/api/blobs/*")
    phone.reload()
    pages.all_sent(phone)
    drawn(bench.desk)
    (page,) = bench.kept.list("pages", kit=bench.kit.kit)
    assert (page["number"], page["stored"]) == ("12", True)
    assert max(page["width_px"], page["height_px"]) <= 2560
    # Right way up and straight: what is only photographed comes to 0.5.
    made = bench.kept.blob(page["blob"])
    assert Image.open(io.BytesIO(made)).size == (page["width_px"], page["height_px"])
    assert likeness(made) > 0.9
    # It stays on the phone when its bytes are on the server.
    phone.context.set_offline(True)
    phone.reload()
    drawn(phone)


def test_pitfall_30_nothing_is_lost_when_the_page_dies(bench: Bench) -> None:
    phone = bench.phone
    phone.get_by_role("link", name="Photograph its page").tap()
    photograph_it(phone)
    corner = phone.get_by_role("button", name="Upper left corner")
    corner.focus()
    for _ in range(5):
        corner.press("Shift+ArrowRight")
    moved = corner.get_attribute("style")
    phone.reload()
    expect(phone.get_by_text("This picture was taken before")).to_be_visible()
    expect(corner).to_have_attribute("style", moved or "")
    phone.get_by_role("button", name="Make it straight").tap()
    phone.get_by_label("Number of the page").fill("7")
    phone.get_by_text("It shows other steps, too").tap()
    phone.get_by_role("checkbox", name="Step 1.2").check()
    expect(phone.get_by_role("button", name="Keep it for 2 steps")).to_be_visible()
    phone.reload()
    expect(phone.get_by_role("button", name="Keep it for 2 steps")).to_be_visible()
    expect(phone.get_by_label("Number of the page")).to_have_value("7")
    phone.get_by_role("button", name="Keep it for 2 steps").tap()
    pages.all_sent(phone)
    (page,) = bench.kept.list("pages", kit=bench.kit.kit)
    steps = bench.kept.list("steps", kit=bench.kit.kit)
    assert [step["page"] for step in steps] == [page["id"]] * 2
    # Begun anew, there is nothing left over.
    phone.goto(f"/kits/{bench.kit.kit}/pages/new")
    expect(phone.get_by_label("Take the picture")).to_be_attached()
    expect(phone.get_by_text("This picture was taken before")).to_be_hidden()


def test_at_the_desk_by_keyboard_alone_with_a_frame_and_back_again(bench: Bench) -> None:
    desk = bench.desk
    desk.goto(f"/kits/{bench.kit.kit}/pages/new")
    desk.get_by_label("Choose a picture").set_input_files(payload(manual_page()))
    expect(desk.get_by_text("No page stands out from the bench")).to_be_visible()
    straighten = desk.get_by_role("button", name="Make it straight")
    # Crossed corners are told and go no further.
    corner = desk.get_by_role("button", name="Upper left corner")
    corner.focus()
    for _ in range(51):
        corner.press("Shift+ArrowRight")
    for _ in range(51):
        corner.press("Shift+ArrowDown")
    expect(desk.get_by_text("The corners are crossed")).to_be_visible()
    expect(straighten).to_have_attribute("aria-disabled", "true")
    desk.get_by_role("button", name="Whole picture").press("Enter")
    straighten.press("Enter")
    desk.get_by_role("checkbox", name="Step 1.2").press("Space")
    desk.get_by_role("button", name="Mark the figure of step 1.2").press("Enter")
    desk.get_by_role("button", name="Draw a frame").press("Enter")
    mark = desk.get_by_role("button", name="Step 1.2: move it with the arrow keys")
    mark.press("Shift+ArrowDown")
    desk.get_by_role("button", name="Keep it for step 1.2").press("Enter")
    expect(desk.get_by_text("The page is kept on this device, for 1 step")).to_be_visible()
    expect(desk.get_by_label("Take the picture")).to_be_attached()
    pages.all_sent(desk)
    step = f"/api/steps/{bench.kit.steps['1.2']}"
    left, top, width, height = bench.kept.get(step)["frame"]
    assert 0 < width < 1
    assert 0 < height < 1
    assert 0 <= left <= 1 - width
    assert 0 < top <= 1 - height
    # Taken back: the page is gone, and the step as it was.
    desk.get_by_role("button", name="Undo").press("Enter")
    expect(desk.get_by_text("Taken back")).to_be_visible()
    pages.all_sent(desk)
    assert bench.kept.list("pages", kit=bench.kit.kit) == []
    assert bench.kept.get(step)["page"] is None
    assert bench.kept.get(step)["frame"] is None


def test_nothing_bars_the_way_for_assistive_technology(bench: Bench) -> None:
    for page in (bench.phone, bench.desk):
        page.goto(f"/kits/{bench.kit.kit}/pages/new")
        expect(page.get_by_label("Take the picture")).to_be_attached()
        accessible(page, "take")
        photograph_it(page)
        page.get_by_role("button", name="Upper left corner").focus()
        accessible(page, "corners")
        page.get_by_role("button", name="Make it straight").click()
        page.get_by_role("checkbox", name="Step 1.1").check()
        page.get_by_role("button", name="Mark the figure of step 1.1").click()
        expect(page.get_by_role("button", name="Draw a frame")).to_be_focused()
        # The page comes into sight; what has gone half under the strip above is not meant here.
        page.evaluate("scrollTo(0, 0)")
        accessible(page, "drawing")
        page.get_by_role("button", name="Draw a frame").press("Enter")
        expect(page.get_by_role("button", name="Step 1.1: move it")).to_be_visible()
        accessible(page, "attach")
        page.goto("about:blank")
