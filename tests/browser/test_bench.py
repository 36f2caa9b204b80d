"""Path, Step and Bag on the demo kit: WCAG by axe-core's rules, targets, small phones, large text.

What each tap saves is tested over a bench in memory, in client/test/bench.test.tsx.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser import pages
from tests.browser.conftest import DESK, PHONE, Server
from tests.browser.test_screens import AXE, RULES, SMALL, SMALL_TEXT, Opener, inspect


def open_step(page: Page, build: str, number: str) -> None:
    page.goto(f"/builds/{build}")
    page.get_by_role("link", name=re.compile(rf"^{re.escape(number)}\b")).first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(number)


def inspect_panel(page: Page, where: str) -> None:
    """As `inspect`, for a panel that lies over the screen and its bar."""
    size = page.viewport_size
    assert size is not None, where
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], where
    assert page.evaluate(SMALL) == [], where
    assert page.evaluate(SMALL_TEXT) == [], where
    found = page.evaluate(f"{AXE.read_text()};axe.run('dialog[open]', {{runOnly: {RULES}}})")
    faults = [(fault["id"], fault["nodes"][0]["html"]) for fault in found["violations"]]
    assert faults == [], where


def hand_size(page: Page) -> None:
    """A phone upright with the usual text, whatever was inspected before."""
    page.set_viewport_size({"width": 390, "height": 844})
    sizes = {"fontSizes": {"standard": 16, "fixed": 13}}
    page.context.new_cdp_session(page).send("Page.setFontSizes", sizes)


@pytest.mark.parametrize("light", ["light", "dark"])
def test_path_step_and_bag_meet_wcag_and_the_bench(
    light: str, server: Server, chromium: Browser, opened_context: Opener
) -> None:
    """Pitfalls 38, 40, 41 and 43: targets of 48 px, 16 px inputs, no sideways scroll at 320 px."""
    page = opened_context(chromium, server, PHONE, color_scheme=light).new_page()
    pages.claim(page, "Shed", "Phone")
    build = pages.try_demo(page)
    expect(page.get_by_role("heading", name=re.compile("Tarn 6"), level=1)).to_be_visible()
    inspect(page, "path")

    # 1.4 has cautions, a choice, a dimension, joints, and waits for 1.3.
    open_step(page, build, "1.4")
    expect(page.get_by_text("Can hurt you")).to_be_visible()
    expect(page.get_by_text("Waits for")).to_be_visible()
    page.get_by_label("Reading", exact=False).first.fill("12,1")
    inspect(page, "step 1.4")

    hand_size(page)
    pages.operations(page).first.click()
    expect(page.get_by_role("dialog")).to_contain_text("Something comes before this")
    inspect_panel(page, "what comes before")
    page.keyboard.press("Escape")

    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_role("dialog")).to_contain_text("1.4 is done")
    inspect_panel(page, "after done")
    page.get_by_role("dialog").get_by_role("button", name="Close").click()

    page.get_by_role("button", name=re.compile("^Missing")).first.click()
    expect(page.get_by_role("dialog")).to_contain_text("How many")
    inspect_panel(page, "short")
    page.keyboard.press("Escape")

    page.get_by_role("link", name=re.compile("^Bag 1")).first.click()
    expect(page.get_by_role("heading", name="Steps it serves")).to_be_visible()
    inspect(page, "bag")


def test_the_bench_works_by_keyboard_alone(
    server: Server, chromium: Browser, opened_context: Opener
) -> None:
    page = opened_context(chromium, server, DESK).new_page()
    pages.claim(page, "Shed", "Desk")
    build = pages.try_demo(page)
    open_step(page, build, "1.1")
    box = pages.operations(page).first
    box.focus()
    page.keyboard.press("Space")
    expect(box).to_be_checked()
    # From one operation to the next without leaving the list.
    page.keyboard.press("Tab")
    expect(pages.operations(page).nth(1)).to_be_focused()
    page.get_by_role("button", name="Done", exact=True).focus()
    page.keyboard.press("Enter")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("1.1 is done")
    assert dialog.evaluate("one => one.contains(document.activeElement)")
    page.keyboard.press("Escape")
    expect(dialog).to_be_hidden()
    expect(page.get_by_role("link", name=re.compile("^Next"))).to_be_visible()
