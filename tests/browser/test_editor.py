"""The kit editor: offline on the phone, by keyboard at the desk, and all of it on both afterwards.

Keys of the table are those of the grid pattern in the WAI-ARIA Authoring Practices Guide (W3C).
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from tests.browser import pages
from tests.browser.conftest import DESK, PHONE, Server
from tests.browser.test_screens import inspect


def fold(page: Page, title: str) -> None:
    """Unfolds a part of an editor's screen."""
    page.locator("summary").filter(has_text=re.compile(f"^{title}")).click()


def rows(page: Page, label: str) -> Locator:
    return page.get_by_role("list", name=label, exact=True).get_by_role("listitem")


def cell(page: Page, row: int, column: int) -> Locator:
    """Cell of the table; row and column from 1, as they are read out."""
    return page.locator(f'[aria-rowindex="{row + 1}"] > [aria-colindex="{column + 1}"]')


def test_a_kit_is_edited_offline_and_on_the_desk_and_is_on_both(
    desk: BrowserContext, phone: BrowserContext, server: Server
) -> None:
    two, hand = desk.new_page(), phone.new_page()
    pages.claim(two, "Shed", "Desk")
    kept = pages.Kept(desk.request, server)
    bench = pages.small_bench(kept)
    code = pages.pairing_code(two)
    hand.goto("/")
    pages.pair(hand, code, "Phone")

    # From the kit's tag, without a network from here on.
    pages.go(hand, "Builds")
    hand.get_by_role("link", name="Edit: Tarn 6").click()
    expect(hand.get_by_role("heading", name="Tarn 6", level=1)).to_be_visible()
    pages.kept(hand)
    pages.all_sent(hand)
    phone.set_offline(True)

    fold(hand, "Steps")
    expect(rows(hand, "Steps")).to_have_count(2)
    hand.get_by_role("textbox", name="Add steps").fill("1.3 Link\n1.4 Wheel")
    hand.get_by_role("button", name="Add: Add steps").click()
    expect(rows(hand, "Steps")).to_have_count(4)

    # Moved, moved again, taken back.
    hand.get_by_role("button", name=re.compile(r"^1\.4")).click()
    for at in (2, 1):
        hand.get_by_role("button", name="Up: Step 1.4").click()
        expect(rows(hand, "Steps").nth(at)).to_contain_text("1.4")
    hand.get_by_role("button", name="Undo: Step 1.4 moved").click()
    expect(rows(hand, "Steps").nth(2)).to_contain_text("1.4")

    # Deleted with all that lives in it, and brought back, before any of it was ever sent.
    hand.get_by_role("button", name=re.compile(r"^1\.2")).click()
    hand.get_by_role("button", name="Delete: Step 1.2").click()
    expect(hand.get_by_text("With it go 2 operations")).to_be_visible()
    hand.get_by_role("button", name="Delete it").click()
    expect(rows(hand, "Steps")).to_have_count(3)
    hand.get_by_role("button", name="Undo: Step 1.2 deleted").click()
    expect(rows(hand, "Steps")).to_have_count(4)

    # An order that would go round is refused, with the names of the steps on the way.
    fold(hand, "What comes before what")
    for first, then, why in (("1.1", "1.2", "the axle holds it"), ("1.2", "1.3", "")):
        hand.get_by_role("button", name="Add an order").click()
        hand.get_by_role("button", name=re.compile(f"^Step {re.escape(first)}: ")).click()
        hand.get_by_role("button", name=re.compile(f"^Step {re.escape(then)}: ")).click()
        hand.get_by_role("textbox", name="Why").fill(why)
        hand.get_by_role("button", name="Keep this order").click()
        expect(hand.get_by_text(f"Step {first} comes before Step {then}").first).to_be_visible()
    hand.get_by_role("button", name="Add an order").click()
    hand.get_by_role("button", name=re.compile(r"^Step 1\.3: ")).click()
    hand.get_by_role("button", name=re.compile(r"^Step 1\.1: ")).click()
    expect(hand.get_by_role("alert").filter(has_text="cannot come before")).to_contain_text(
        "Step 1.1 → Step 1.2 → Step 1.3"
    )
    hand.get_by_role("button", name="Leave it").click()

    # A step from the bench: its operations and a dimension with a comma, still without a network.
    hand.goto(bench.at("1.2"))
    hand.get_by_text("Not now, or not at all").click()
    hand.get_by_role("link", name="Edit this step").click()
    expect(hand.get_by_role("heading", name="Edit step 1.2")).to_be_visible()
    hand.get_by_role("textbox", name="Add operations").fill("Grease it\nTurn it by hand")
    hand.get_by_role("button", name="Add: Add operations").click()
    expect(rows(hand, "Operations")).to_have_count(4)
    fold(hand, "Dimensions")
    hand.get_by_role("textbox", name="Name", exact=True).fill("Length of the link")
    hand.get_by_role("textbox", name="Target").fill("112,5")
    hand.get_by_role("button", name="Add this dimension").click()
    expect(rows(hand, "Dimensions")).to_contain_text(re.compile(r"112\.5 mm"))
    pages.waits_for_server(hand)
    assert len(kept.list("steps")) == 2

    # Meanwhile at the desk: a table pasted by the keyboard alone.
    two.goto(f"/kits/{bench.kit}/table/parts")
    expect(cell(two, 1, 2)).to_have_text("Axle")
    desk.grant_permissions(["clipboard-read", "clipboard-write"])
    copied = "P-4\tWasher\tM3 washer, ISO 7089\tsteel\nP-5\tLink rod\nP-6\tBall end\t\tplastic"
    two.evaluate("text => navigator.clipboard.writeText(text)", copied)
    cell(two, 1, 1).focus()
    two.keyboard.press("Control+End")
    two.keyboard.press("Home")
    two.keyboard.press("ArrowRight")
    expect(cell(two, 4, 1)).to_be_focused()
    two.keyboard.press("Control+v")
    expect(cell(two, 6, 2)).to_have_text("Ball end")
    two.keyboard.press("Control+z")
    expect(cell(two, 6, 2)).to_have_count(0)
    two.keyboard.press("Control+y")
    expect(cell(two, 6, 2)).to_have_text("Ball end")
    cell(two, 1, 1).focus()
    two.keyboard.type("P-1")
    two.keyboard.press("Enter")
    expect(cell(two, 2, 1)).to_be_focused()
    two.keyboard.press("F2")
    two.keyboard.type("P-2")
    two.keyboard.press("Tab")
    expect(cell(two, 2, 2)).to_be_focused()
    pages.all_sent(two)

    # With the network back, everything is on the server and on both.
    phone.set_offline(False)
    pages.all_sent(hand)
    steps = sorted(kept.list("steps"), key=lambda one: str(one["order"]))
    assert [one["number"] for one in steps] == ["1.1", "1.2", "1.4", "1.3"]
    pairs = {(one["first"], one["then"]): one["reason"] for one in kept.list("comes_before")}
    ids = {one["number"]: one["id"] for one in steps}
    assert pairs == {
        (ids["1.1"], ids["1.2"]): "the axle holds it",
        (ids["1.2"], ids["1.3"]): None,
    }
    assert len(kept.list("operations")) == 7
    (dimension,) = kept.list("dimensions")
    assert (dimension["name"], dimension["target"]) == ("Length of the link", 112.5)
    parts = {one["name"]: one for one in kept.list("parts")}
    assert parts["Washer"]["designation"] == "M3 washer, ISO 7089"
    assert (parts["Axle"]["number"], parts["Bearing"]["number"]) == ("P-1", "P-2")
    for name in ("steps", "parts", "operations"):
        assert not [one for one in kept.list(name) if one["asks"]]

    two.goto(f"/kits/{bench.kit}/table/steps")
    expect(cell(two, 3, 1)).to_have_text("1.4")
    hand.goto(f"/kits/{bench.kit}")
    fold(hand, "Parts")
    expect(rows(hand, "Parts")).to_have_count(6)
    expect(rows(hand, "Parts").first).to_contain_text("P-1 Axle")


def test_a_frame_is_drawn_on_the_page_by_pointer_and_kept_as_fractions(
    desk: BrowserContext, server: Server
) -> None:
    page = desk.new_page()
    pages.claim(page, "Shed", "Desk")
    build = pages.try_demo(page)
    kept = pages.Kept(desk.request, server)
    (kit,) = kept.list("kits")
    step = next(one for one in kept.list("steps") if one["number"] == "1.2" and one["page"])
    assert build
    page.goto(f"/kits/{kit['id']}/steps/{step['id']}")
    fold(page, "Figure")
    frame = page.get_by_role("button", name="Frame of step 1.2: move it with the arrow keys")
    expect(page.get_by_role("img", name=re.compile("of the manual$"))).to_be_visible()
    page.get_by_role("button", name="Take the whole page").click()
    expect(page.get_by_text("The whole page is shown")).to_be_visible()
    page.get_by_role("button", name="Draw the frame").click()
    canvas = page.get_by_role("button", name=re.compile("^Draw a frame: press and drag"))
    canvas.scroll_into_view_if_needed()
    paper = canvas.bounding_box()
    assert paper
    # Within what can be seen: the lower part of the page may lie under the buttons.
    top = max(paper["y"], 80)
    x = [paper["x"] + paper["width"] * part for part in (0.2, 0.7)]
    y = [top + 40, top + 240]
    page.mouse.move(x[0], y[0])
    page.mouse.down()
    page.mouse.move(x[1], y[1], steps=8)
    page.mouse.up()
    expect(frame).to_be_visible()
    expect(page.get_by_role("status").filter(has_text="20 % from the left")).to_be_visible()
    pages.all_sent(page)
    drawn = kept.get(f"/api/steps/{step['id']}")["frame"]
    wanted = [0.2, (y[0] - paper["y"]) / paper["height"], 0.5, 200 / paper["height"]]
    assert all(abs(a - b) < 0.01 for a, b in zip(drawn, wanted, strict=True)), (drawn, wanted)
    frame.focus()
    page.keyboard.press("Shift+ArrowRight")
    corner = page.get_by_role("button", name=re.compile("^Frame of step 1.2: lower right corner"))
    corner.focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("status").filter(has_text="22.5 % from the left")).to_be_visible()
    # Leaving the screen keeps what has not rested yet.
    page.get_by_role("link", name=re.compile("Tarn 6")).click()
    expect(page.get_by_role("heading", name="Tables")).to_be_visible()
    pages.all_sent(page)
    moved = kept.get(f"/api/steps/{step['id']}")["frame"]
    wanted = [drawn[0] + 0.025, drawn[1], drawn[2], drawn[3] + 0.005]
    assert all(abs(a - b) < 0.001 for a, b in zip(moved, wanted, strict=True)), (moved, wanted)


def test_order_pairs_of_two_devices_that_go_round_are_told_and_one_is_taken_away(
    desk: BrowserContext,
    server: Server,
    chromium: Browser,
    opened_context: Callable[..., BrowserContext],
) -> None:
    """Each device added a pair without knowing of the other's: told in words on both."""
    page = desk.new_page()
    pages.claim(page, "Shed", "Desk")
    kept = pages.Kept(desk.request, server)
    bench = pages.small_bench(kept)
    one, other = bench.steps["1.1"], bench.steps["1.2"]
    for first, then in ((one, other), (other, one)):
        pair = {"kit": bench.kit, "kind": "step", "first": first, "then": then}
        kept.post("/api/comes_before", pair)
    page.goto(f"/kits/{bench.kit}")
    fold(page, "What comes before what")
    expect(page.get_by_role("heading", name="These wait for each other")).to_be_visible()
    page.get_by_role("button", name="Take away: Step 1.2 before Step 1.1").click()
    expect(page.get_by_role("heading", name="These wait for each other")).to_have_count(0)
    pages.all_sent(page)
    (left,) = kept.list("comes_before")
    assert (left["first"], left["then"]) == (one, other)

    second = opened_context(chromium, server, DESK).new_page()
    code = pages.pairing_code(page)
    second.goto("/")
    pages.pair(second, code, "Second desk")
    second.goto(f"/kits/{bench.kit}")
    fold(second, "What comes before what")
    expect(second.get_by_text("Step 1.1 comes before Step 1.2").first).to_be_visible()
    expect(second.get_by_role("heading", name="These wait for each other")).to_have_count(0)


@pytest.mark.parametrize("light", ["light", "dark"])
def test_every_screen_of_the_editor_meets_wcag_and_the_bench(
    light: str,
    server: Server,
    chromium: Browser,
    opened_context: Callable[..., BrowserContext],
) -> None:
    """Everything unfolded, a row open, a pair being chosen, a paste that does not fit."""
    page = opened_context(chromium, server, PHONE, color_scheme=light).new_page()
    pages.claim(page, "Shed", "Desk")
    pages.try_demo(page)
    kept = pages.Kept(page.context.request, server)
    (kit,) = kept.list("kits")
    step = next(one for one in kept.list("steps") if one["number"] == "1.3")

    def unfold() -> None:
        closed = page.locator("details.kit-fold:not([open]) > summary")
        while closed.count():
            closed.first.click()
            page.wait_for_timeout(50)

    page.goto(f"/kits/{kit['id']}")
    expect(page.locator("summary").first).to_be_visible()
    unfold()
    page.get_by_role("button", name=re.compile(r"^1\.1 ?Bearings")).click()
    page.get_by_role("button", name="Delete: Step 1.1").click()
    page.get_by_role("button", name="Add an order").click()
    inspect(page, "Kit")
    page.get_by_role("button", name="Delete this kit").click()
    second = page.get_by_role("button", name=re.compile("^Delete the kit and its 1 build"))
    expect(second).to_be_visible()
    inspect(page, "Kit about to be deleted")
    page.goto(f"/kits/{kit['id']}/steps/{step['id']}")
    expect(page.locator("summary").first).to_be_visible()
    unfold()
    page.get_by_role("button", name=re.compile("T6-111 Cross pin")).click()
    page.get_by_role("button", name=re.compile("^Draw (the frame|it again)")).click()
    inspect(page, "Kit step")
    page.goto(f"/kits/{kit['id']}/table/parts")
    expect(cell(page, 1, 2)).to_be_visible()
    inspect(page, "Kit table")
    page.get_by_role("button", name="Paste…").click()
    page.get_by_role("dialog").get_by_role("textbox").fill("\tx\ty\tz\tmore")
    page.get_by_role("button", name="Fill them in").click()
    expect(page.get_by_role("heading", name=re.compile("does not fit"))).to_be_visible()
    inspect(page, "Kit table with a paste that does not fit")


def test_a_kit_goes_with_its_build_and_comes_back_on_both_devices(
    desk: BrowserContext, phone: BrowserContext, server: Server
) -> None:
    two, hand = desk.new_page(), phone.new_page()
    pages.claim(two, "Shed", "Desk")
    kept = pages.Kept(desk.request, server)
    bench = pages.small_bench(kept)
    code = pages.pairing_code(two)
    hand.goto("/")
    pages.pair(hand, code, "Phone")
    pages.go(hand, "Builds")
    kit = hand.get_by_role("heading", name="Tarn 6", level=3)
    expect(kit).to_be_visible()
    expect(hand.get_by_role("heading", name="Red one", level=2)).to_be_visible()
    before = {name: len(kept.list(name)) for name in ("kits", "builds", "steps", "part_lines")}
    assert all(before.values())

    two.goto(f"/kits/{bench.kit}")
    two.get_by_role("button", name="Delete this kit").click()
    sheet = two.get_by_role("dialog")
    expect(sheet.get_by_text("There is a build of this kit: Red one.")).to_be_visible()
    sheet.get_by_role("button", name="Keep it").click()
    expect(sheet).to_have_count(0)
    two.get_by_role("button", name="Delete this kit").click()
    sheet.get_by_role("button", name="Delete the kit and its 1 build").click()
    expect(two.get_by_role("status").filter(has_text="Tarn 6 deleted")).to_be_visible()
    expect(two.get_by_role("heading", name="Tarn 6", level=3)).to_have_count(0)
    # Gone on the other device, too, by itself.
    expect(kit).to_have_count(0)
    assert {name: kept.list(name) for name in before} == {name: [] for name in before}

    two.get_by_role("button", name="Undo").click()
    expect(two.get_by_role("status").filter(has_text="Tarn 6 is back")).to_be_visible()
    expect(kit).to_be_visible()
    pages.all_sent(two)
    assert {name: len(kept.list(name)) for name in before} == before
    assert not [one for name in before for one in kept.list(name) if one["asks"]]

    # Of the build alone the kit stays.
    two.goto(f"/builds/{bench.build}")
    two.get_by_role("button", name="Delete this build").click()
    expect(two.get_by_text("The kit stays: Tarn 6")).to_be_visible()
    two.get_by_role("button", name="Delete the build").click()
    expect(kit).to_be_visible()
    expect(hand.get_by_role("heading", name="Red one", level=2)).to_have_count(0)
    pages.all_sent(two)
    assert (kept.list("builds"), len(kept.list("kits"))) == ([], 1)
