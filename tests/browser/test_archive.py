"""A build saved from one server and brought into another, as a builder does it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import archives
from tests.browser import pages
from tests.browser.conftest import DESK, PHONE, ROOT, Server, until

AXE = ROOT / "client" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

Opener = Callable[..., BrowserContext]


def accessible(page: Page, where: str) -> None:
    """Holds the screen to axe-core's rules, and to what the bench asks beyond them."""
    page.evaluate(AXE.read_text())
    found = page.evaluate(
        "async rules => (await axe.run(document, {runOnly: rules})).violations"
        ".map(v => v.id + ': ' + v.nodes.map(n => n.target.join(' ')).join(', '))",
        RULES,
    )
    assert found == [], where
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth"), where
    small = page.evaluate(
        "[...document.querySelectorAll('main a, main button')].filter(one => {"
        "const box = one.getBoundingClientRect(); return box.height && box.height < 47.5;"
        "}).map(one => one.textContent)"
    )
    assert small == [], where


def save(page: Page, name: str, file: Path) -> Path:
    """Saves an archive by its link on the screen."""
    with page.expect_download() as begun:
        page.get_by_role("link", name=name).click()
    assert begun.value.suggested_filename.endswith(".zip")
    begun.value.save_as(file)
    return file


def laid(page: Page) -> list[str]:
    """What is ticked as laid out.  Lines that nobody put in order are in that of their ids."""
    boxes = pages.part_ticks(page)
    expect(boxes.first).to_be_visible()
    return [box.locator("..").inner_text() for box in boxes.all() if box.is_checked()]


def bring(page: Page, file: Path) -> None:
    # Devices, from which one comes here, has a chooser of its own.
    expect(page.get_by_role("heading", name="Save and bring back", level=1)).to_be_visible()
    chooser = page.locator('main input[type="file"]')
    chooser.set_input_files(file)


def test_a_build_goes_on_at_another_server_where_it_stood(
    make_server: Callable[..., Server], chromium: Browser, opened_context: Opener, tmp_path: Path
) -> None:
    home, club = make_server("home"), make_server("club")
    page = opened_context(chromium, home, PHONE).new_page()
    pages.claim(page, "Shed", "Bench phone")
    bench = pages.small_bench(pages.Kept(page.request, home))
    pages.go(page, "Devices")
    page.get_by_role("button", name="Exchange now").click()
    pages.all_sent(page)
    page.goto(bench.at("1.1"))
    expect(pages.operations(page)).to_have_count(len(bench.operations["1.1"]))
    pages.all_sent(page)
    pages.operations(page).nth(0).check()
    pages.part_ticks(page).nth(1).check()
    laid_out = laid(page)
    pages.add_photo(page, pages.phone_photo(1))
    pages.all_sent(page)
    # The record of the photo and its bytes: both are on the server before it is saved.
    kept = pages.Kept(page.request, home)
    assert [one["stored"] for one in kept.list("photos", build=bench.build)] == [True]
    standing_at = pages.here_at(page)
    pages.go(page, "Builds")
    page.get_by_role("link", name="Save and bring back").click()
    accessible(page, "phone")
    file = save(page, "Save as archive: Red one", tmp_path / "red.zip")
    tables = save(page, "Tables (CSV): Red one", tmp_path / "tables.zip")
    assert tables.read_bytes()[:2] == b"PK"

    # A server of somebody else, with nothing in it.
    desk = opened_context(chromium, club, DESK).new_page()
    pages.claim(desk, "Club", "Desk")
    pages.go(desk, "Devices")
    desk.get_by_role("link", name="Save and bring back").click()
    bring(desk, file)
    expect(desk.get_by_role("heading", name="Red one is here")).to_be_visible()
    expect(desk.get_by_text("It has come as a copy")).to_be_visible()
    accessible(desk, "desk")
    desk.get_by_role("link", name="Open Red one").click()
    expect(desk).to_have_url(re.compile("/builds/"))
    assert pages.build_of(desk) != bench.build
    desk.get_by_role("link", name=re.compile(r"1\.1")).first.click()
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Axle, part 1")
    assert pages.ticked(pages.operations(desk)) == [True, False, False]
    assert len(laid_out) == 1
    assert laid(desk) == laid_out
    assert all(high > wide for wide, high in pages.seen_whole(desk, 1)), "not upright"
    there = pages.Kept(desk.request, club)
    (photo,) = there.list("photos")
    (ours,) = kept.list("photos", build=bench.build)
    assert photo["blob"] == ours["blob"]
    assert there.blob(photo["blob"]) == kept.blob(ours["blob"])

    # On with it: the next operation is the same one.
    pages.operations(desk).nth(1).check()
    pages.all_sent(desk)
    assert standing_at.startswith("2")
    assert pages.here_at(desk).startswith("3")

    # Who had it is known by name, and not let in.
    pages.go(desk, "Devices")
    expect(desk.get_by_role("heading", name="Bench phone")).to_be_visible()
    expect(desk.get_by_text(re.compile("revoked"))).to_be_visible()

    # Again: nothing is doubled, and what was done since stays.
    desk.goto("/archives")
    bring(desk, file)
    expect(desk.get_by_role("heading", name="Red one was here already")).to_be_visible()
    assert len(there.list("builds")) == 1
    assert [one["done"] for one in there.list("operation_ticks")] == [True, True]


@pytest.mark.parametrize("light", ["Day", "Night"])
def test_each_refusal_says_what_is_wrong_with_the_file(
    server: Server, phone: BrowserContext, tmp_path: Path, light: str
) -> None:
    page = phone.new_page()
    pages.claim(page, "Shed", "Phone")
    pages.small_bench(pages.Kept(page.request, server))
    pages.go(page, "Devices")
    page.get_by_role("button", name=light, exact=True).click()
    page.get_by_role("button", name="Exchange now").click()
    page.get_by_role("link", name="Save and bring back").click()
    file = save(page, "Save as archive: Tarn 6", tmp_path / "tarn.zip")
    content = archives.members(file.read_bytes())
    newer = {**content, "about.json": content["about.json"].replace(b'version": 1', b'version": 9')}
    other = {**content, "changes.jsonl": content["changes.jsonl"] + b"\n"}
    cases = {
        "cut.zip": (file.read_bytes()[:-40], "it may have been cut off"),
        "letter.zip": (b"hello", "It is no ZIP file"),
        "newer.zip": (archives.repacked(newer), "Update this server"),
        "changed.zip": (archives.repacked(other, sums=False), "changes.jsonl: its checksum"),
    }
    for name, (bytes_, words) in cases.items():
        (tmp_path / name).write_bytes(bytes_)
        bring(page, tmp_path / name)
        alert = page.get_by_role("alert")
        expect(alert).to_contain_text(f"{name} was not brought in")
        expect(alert).to_contain_text(words)
        expect(alert).to_contain_text("Nothing was written")
    accessible(page, light)
    assert len(pages.Kept(page.request, server).list("kits")) == 1


def test_without_the_server_it_says_so_and_comes_back(
    server: Server, phone: BrowserContext, tmp_path: Path
) -> None:
    page = phone.new_page()
    pages.claim(page, "Shed", "Phone")
    pages.small_bench(pages.Kept(page.request, server))
    pages.kept(page)
    page.goto("/archives")
    link = page.get_by_role("link", name="Save as archive: Red one")
    expect(link).to_be_visible()
    file = save(page, "Save as archive: Red one", tmp_path / "red.zip")
    until(page, "navigator.serviceWorker.controller !== null")
    phone.set_offline(True)
    bring(page, file)
    expect(page.get_by_text("Bring the same file in again")).to_be_visible()
    phone.set_offline(False)
    bring(page, file)
    expect(page.get_by_role("heading", name="Red one was here already")).to_be_visible()
