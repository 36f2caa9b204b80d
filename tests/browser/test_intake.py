"""Getting a kit in, as a builder does it: a copied list, a table with a slip, a manual.

Screens are found by role and name; what came of it is asked of the server.
"""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, FilePayload, Page, expect

from tests.browser import pages
from tests.browser.conftest import PHONE, Server, until
from tests.browser.test_screens import AXE, RULES, Opener, claimed, inspect
from tests.intake_files import LIST, manual

#: How long a file may take to be read on a busy machine; ms.
READ_MS = 90_000
TABLE = """Bag;Step;Part no.;Description;Qty
1;1.1;T6-101;Cap screw M3x12;4
1;1.1;T6-102;Bearing 5x11x4;2
2;1.2;T6-103;Axle;one
2;1.2;T6-104;Pin 2x10;2
"""


def accessible(page: Page) -> None:
    """WCAG 2.2 level A and AA, as axe-core checks them."""
    found = page.evaluate(f"{AXE.read_text()};axe.run(document, {{runOnly: {RULES}}})")
    # What sticks to the lower edge may cover a part of what scrolls under it.
    faults = [
        (one["id"], [node["html"][:200] for node in one["nodes"]])
        for one in found["violations"]
        if one["id"] != "target-size"
    ]
    assert faults == []


def within_the_screen(page: Page) -> None:
    """Nothing stands out at the side."""
    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]


def by_way(page: Page, way: str) -> None:
    page.get_by_role("link", name="Start a kit").click()
    page.get_by_role("radio", name=way).check()


def choose(page: Page, button: str, name: str, content: bytes) -> None:
    """Chooses a file by the button that asks for one."""
    with page.expect_file_chooser() as asked:
        page.get_by_role("button", name=button).click()
    asked.value.set_files(FilePayload(name=name, mimeType="", buffer=content))
    expect(page).to_have_url(re.compile("/intakes/"), timeout=READ_MS)


def take_in(page: Page) -> None:
    """By the button under the thumb, then the one in the panel, to the way on."""
    page.get_by_role("button", name=re.compile("^Take it in")).click()
    page.get_by_role("dialog").get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("heading", name="Taken in")).to_be_visible(timeout=READ_MS)


def print_labels(page: Page) -> None:
    page.get_by_role("link", name="Print the labels").click()
    expect(page.get_by_alt_text("The first page of labels")).to_be_visible()
    until(page, "document.querySelector('.print img').naturalWidth > 1000")


def test_a_copied_list_is_asked_about_and_taken_in(phone: BrowserContext, server: Server) -> None:
    page = claimed(phone)
    by_way(page, "From a copied list")
    page.get_by_label("The list").fill(LIST)
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("heading", name="Questions first")).to_be_visible(timeout=READ_MS)
    accessible(page)
    within_the_screen(page)
    questions = page.get_by_role("list", name="Questions first")
    questions.get_by_label("How many").fill("6")
    questions.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("said by you")).to_be_visible()
    # Taken back it asks again; said again it is taken.
    page.get_by_role("button", name="Undo the last correction").click()
    expect(page.get_by_text("1 finding asks something")).to_be_visible()
    questions.get_by_label("How many").fill("6")
    questions.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("1 finding asks something")).to_be_hidden()
    take_in(page)
    accessible(page)
    print_labels(page)
    kept = pages.Kept(page.request, server)
    (kit,) = kept.list("kits")
    lines = kept.list("part_lines", kit=kit["id"])
    assert sorted(one["quantity"] for one in lines) == [2, 4, 6, 8]
    assert sorted(one["number"] for one in kept.list("bags", kit=kit["id"])) == ["1", "2"]


def test_a_cell_that_does_not_fit_is_told_and_the_rest_taken(
    desk: BrowserContext, server: Server
) -> None:
    page = claimed(desk)
    by_way(page, "From a table")
    choose(page, "Choose the table", "Tarn 6 parts.csv", TABLE.encode())
    expect(page.get_by_role("heading", name="1 thing does not fit")).to_be_visible(timeout=READ_MS)
    accessible(page)
    row = page.get_by_role("list", name="1 thing does not fit").get_by_role("listitem")
    expect(row).to_contain_text("row 4, column Qty")
    expect(row).to_contain_text("“one”")
    # Another way to read it, on second thoughts as it was.
    page.get_by_label("“Description” is taken for").select_option(label="nothing: leave it out")
    expect(page.get_by_role("button", name="Read it anew")).to_be_visible()
    page.get_by_role("button", name="As it was").click()
    take_in(page)
    print_labels(page)
    kept = pages.Kept(page.request, server)
    (kit,) = kept.list("kits")
    assert kit["name"] == "Tarn 6"
    assert sorted(one["quantity"] for one in kept.list("part_lines", kit=kit["id"])) == [2, 2, 4]
    # The next file of this shape, into the same kit: nothing is made twice.
    page.goto("/")
    page.get_by_role("link", name="Add to it: Tarn 6").click()
    choose(page, "Choose the table", "Tarn 6 parts.csv", TABLE.replace("one", "1").encode())
    take_in(page)
    expect(page.get_by_text("New: 1 part, 1 part line.")).to_be_visible()
    assert len(kept.list("bags", kit=kit["id"])) == 2


def test_the_newcomers_clock_from_the_manual_to_the_labels_without_typing(
    phone: BrowserContext, server: Server
) -> None:
    """Under five minutes, of which the machine's part is far the smaller; nothing is filled in."""
    made = Path(__file__).resolve().parents[2] / "demo/out/manuals"
    found = sorted(made.glob("*.pdf"))[:1]
    content = found[0].read_bytes() if found else manual(8)
    page = claimed(phone)
    began = time.monotonic()
    by_way(page, "From the manual as PDF")
    choose(page, "Choose the PDF", "Tarn_6_manual.pdf", content)
    expect(page.get_by_role("button", name=re.compile("^Take it in"))).to_be_visible(
        timeout=READ_MS
    )
    accessible(page)
    within_the_screen(page)
    take_in(page)
    print_labels(page)
    assert time.monotonic() - began < 300
    kept = pages.Kept(page.request, server)
    (kit,) = kept.list("kits")
    assert kit["name"] == "Tarn 6"
    steps = kept.list("steps", kit=kit["id"])
    assert len(steps) >= 8
    assert all(one["page"] and one["frame"] for one in steps)
    assert kept.list("bags", kit=kit["id"])


def test_a_step_that_was_not_seen_is_drawn_on_its_page(
    desk: BrowserContext, server: Server
) -> None:
    """With the mouse at the desk, and with keys."""
    page = claimed(desk)
    by_way(page, "From the manual as PDF")
    choose(page, "Choose the PDF", "Tarn_6_manual.pdf", manual(2))
    page.get_by_role("button", name="Next page").click(timeout=READ_MS)
    picture = page.get_by_role("img", name="Page 2 of the manual")
    expect(picture).to_be_visible()
    page.get_by_role("button", name="Add a step").click()
    box = picture.bounding_box()
    assert box
    page.mouse.move(box["x"] + box["width"] * 0.2, box["y"] + 150)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + 200)
    page.mouse.move(box["x"] + box["width"] * 0.8, box["y"] + 260)
    page.mouse.up()
    expect(page.get_by_text("Added: Step 3")).to_be_visible()
    corner = page.get_by_role("button", name="Step 3: bottom right corner of its frame")
    corner.focus()
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("Corrected: Step 3")).to_be_visible()
    accessible(page)
    take_in(page)
    kept = pages.Kept(page.request, server)
    (kit,) = kept.list("kits")
    (step,) = [one for one in kept.list("steps", kit=kit["id"]) if one["number"] == "3"]
    assert step["frame"][0] == pytest.approx(0.2, abs=0.01)
    assert step["frame"][2] == pytest.approx(0.6 - 0.005, abs=0.01)


def test_every_screen_of_it_fits_small_phones_and_large_text_at_night(
    server: Server, chromium: Browser, opened_context: Opener
) -> None:
    """Pitfalls 38, 40, 41 and 43."""
    page = claimed(opened_context(chromium, server, PHONE, color_scheme="dark"))
    page.goto("/kits/new")
    for way in ("From a copied list", "From the manual as PDF", "From a table"):
        page.get_by_role("radio", name=way).check()
        inspect(page, way)
    choose(page, "Choose the table", "Tarn 6 parts.csv", TABLE.encode())
    expect(page.get_by_role("heading", name="1 thing does not fit")).to_be_visible(timeout=READ_MS)
    inspect(page, "table")
    take_in(page)
    inspect(page, "taken in")
    page.goto("/")
    page.get_by_role("link", name="Add to it: Tarn 6").click()
    page.get_by_role("radio", name="From the manual as PDF").check()
    inspect(page, "add to this kit")
    choose(page, "Choose the PDF", "Tarn_6_manual.pdf", manual(2))
    expect(page.get_by_role("img", name="Page 1 of the manual")).to_be_visible(timeout=READ_MS)
    inspect(page, "manual")


def test_without_the_server_the_pasted_list_is_kept_and_it_is_said_plainly(
    phone: BrowserContext,
) -> None:
    page = claimed(phone)
    until(page, "navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    by_way(page, "From a copied list")
    phone.set_offline(True)
    page.get_by_label("The list").fill(LIST)
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_text("What you pasted is kept on this device")).to_be_visible()
    page.reload()
    expect(page.get_by_label("The list")).to_have_value(LIST)
    phone.set_offline(False)
