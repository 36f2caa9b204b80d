"""The demo kit's manuals are read as they were drawn.

What is true of them comes from the kit's own records (steps, part lines, bags, operations) and
from where their makers drew each step; the readers know neither.
"""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from bagtrail.domain.intake import manual
from bagtrail.domain.intake.findings import Found
from demo.tarn6.kit import tarn_6
from tests.manual_sheets import of, pages_of, share

Drawn = list[dict[str, Any]]


@pytest.fixture(scope="module")
def pages(demo_manuals: Path) -> dict[str, list[dict[str, Any]]]:
    """The pages of each manual that has text; pictures lie in a folder of its name."""
    out = {}
    for name in ("one-column", "two-columns"):
        folder = demo_manuals / name
        folder.mkdir()
        out[name] = pages_of(demo_manuals / f"tarn-6-{name}.pdf", folder)
    return out


@pytest.fixture(scope="module", params=["one-column", "two-columns"])
def read(
    request: pytest.FixtureRequest, demo_manuals: Path, pages: dict[str, list[dict[str, Any]]]
) -> tuple[list[Found], Drawn]:
    """Findings of a manual, and its steps as they were drawn."""
    found, unfit = manual.findings(pages[request.param])
    assert unfit == []
    drawn = (demo_manuals / f"tarn-6-{request.param}.json").read_text("utf-8")
    return found, json.loads(drawn)


def test_the_manuals_show_all_of_the_kit(demo_manuals: Path) -> None:
    steps = [step for _, step in tarn_6().steps()]
    for name in ("one-column", "two-columns"):
        drawn = json.loads((demo_manuals / f"tarn-6-{name}.json").read_text("utf-8"))
        assert len(drawn) == len(steps) == 45
        for note, step in zip(drawn, steps, strict=True):
            assert sum(count for count, _ in note["parts"]) == sum(
                line.quantity for line in step.lines
            )


def test_every_step_is_found_on_its_page_and_no_other(read: tuple[list[Found], Drawn]) -> None:
    found, drawn = read
    steps = {step.values["number"]: step for step in of(found, "step")}
    assert len(of(found, "step")) == len(steps)
    assert set(steps) <= {note["number"] for note in drawn}, "none is invented"
    right = 0
    for note in drawn:
        step = steps.get(note["number"])
        if step is not None and step.page == note["page"] and step.frame is not None:
            right += share(step.frame, note["frame"]) >= 0.7
    assert right >= 0.98 * len(drawn)


def test_steps_have_their_section_title_and_bags(read: tuple[list[Found], Drawn]) -> None:
    found, drawn = read
    titles = [step.title for _, step in tarn_6().steps()]
    steps = {step.values["number"]: step.values for step in of(found, "step")}
    for note, title in zip(drawn, titles, strict=True):
        values = steps[note["number"]]
        assert values["title"] == title
        assert values["section"] == note["section"]
        assert sorted(values.get("bags", [])) == sorted(note["bags"])
    assert [one.values["title"] for one in of(found, "section")] == [
        section.title for section in tarn_6().sections
    ]
    assert {one.values["number"] for one in of(found, "bag")} == {
        number for number, _ in tarn_6().bags
    }


def test_part_lines_are_those_of_the_kit_and_none_is_invented(
    read: tuple[list[Found], Drawn],
) -> None:
    found, drawn = read
    wanted = Counter(
        (note["number"], number, count) for note in drawn for count, number in note["parts"]
    )
    lines = [one for one in of(found, "part_line") if "step" in one.values]
    got = Counter(
        (one.values["step"], one.values["number"], one.values["quantity"]) for one in lines
    )
    assert not got - wanted
    assert (got & wanted).total() >= 0.95 * wanted.total()
    frames = {note["number"]: (note["page"], note["frame"]) for note in drawn}
    for one in lines:
        page, (left, top, wide, high) = frames[one.values["step"]]
        assert one.page == page
        assert one.frame is not None
        assert left - 0.01 <= one.frame[0] <= left + wide
        assert top - 0.01 <= one.frame[1] <= top + high


def test_no_bag_is_named_that_a_part_does_not_come_from(read: tuple[list[Found], Drawn]) -> None:
    found, drawn = read
    kit = tarn_6()
    bags = {
        (note["number"], kit.parts[line.part].number, line.bag)
        for note, (_, step) in zip(drawn, kit.steps(), strict=True) for line in step.lines
    }  # fmt: skip
    named = [one.values for one in of(found, "part_line") if "bag" in one.values]
    assert len(named) > 100
    left_over = {(kit.parts[part].number, bag, count) for count, part, bag in kit.spares}
    for values in named:
        if "step" in values:
            assert (values["step"], values["number"], values["bag"]) in bags
        else:
            assert (values["number"], values["bag"], values["quantity"]) in left_over


def test_operations_are_the_numbered_instructions(read: tuple[list[Found], Drawn]) -> None:
    found, drawn = read
    said: dict[str, list[str]] = {note["number"]: [] for note in drawn}
    for one in of(found, "operation"):
        said[one.values["step"]].append(one.values["text"])
    assert said == {note["number"]: note["operations"] for note in drawn}


def test_names_are_those_of_the_list_of_parts(pages: dict[str, list[dict[str, Any]]]) -> None:
    found, _ = manual.findings(pages["two-columns"])
    kit = tarn_6()
    names = {part.number: part.name for part in kit.parts.values()}
    lines = of(found, "part_line")
    assert all(one.values["name"] == names[one.values["number"]] for one in lines)
    parts = {one.values["number"] for one in of(found, "part")}
    assert parts | {one.values["number"] for one in lines} == {
        kit.parts[line.part].number for _, step in kit.steps() for line in step.lines
    }


def test_a_scanned_manual_gives_pages_and_nothing_else(demo_manuals: Path) -> None:
    copied = pages_of(demo_manuals / "tarn-6-scanned.pdf", demo_manuals)
    assert len(copied) == 12
    assert not any(page["has_text"] for page in copied)
    assert {page["media_type"] for page in copied} == {"image/jpeg"}
    assert manual.findings(copied) == ([], [])


def test_pages_are_small(demo_manuals: Path, pages: dict[str, list[dict[str, Any]]]) -> None:
    """Bytes of a page's picture and of what is said of it."""
    path = demo_manuals / "tarn-6-two-columns.pdf"
    assert manual.look(str(path), path.name) == {"pages": 16, "title": "Tarn 6 - pictures"}
    for page in pages["two-columns"]:
        picture = demo_manuals / "two-columns" / f"{page['number']}.picture"
        assert picture.stat().st_size < 250_000
        assert len(json.dumps(page)) < 40_000
        assert max(page["width_px"], page["height_px"]) == 2000
        assert page["media_type"] == "image/png"
