"""Callouts of parts and lists of parts in manuals written by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bagtrail.domain.intake.findings import Found
from tests.manual_sheets import Book, numbers, of, read


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return Book(tmp_path / "manual.pdf")


def step(book: Book, number: int) -> None:
    book.words(50, 60, f"Step {number}  Fit the parts", 15, bold=True)
    book.drawing(200, 120, 250, 250)


def three_steps(book: Book) -> None:
    """Steps without parts, so that the manual's headings are plain to see."""
    for number in (2, 3, 4):
        book.turn_over()
        step(book, number)


def said(found: list[Found]) -> list[tuple[Any, ...]]:
    return [
        (one.values["quantity"], one.values.get("number"), one.values.get("designation"),
         one.values.get("name"))
        for one in of(found, "part_line")
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        (["4 x T6-930"], (4, "T6-930", None, None)),
        (["4x T6-930"], (4, "T6-930", None, None)),
        (["T6-114 (2)"], (2, "T6-114", None, None)),
        (["T6-114 x2"], (2, "T6-114", None, None)),
        (["4 x T6-930", "Pinion carrier"], (4, "T6-930", None, "Pinion carrier")),
        (["4 x", "T6-930"], (4, "T6-930", None, None)),
        (["T6-930", "x4"], (4, "T6-930", None, None)),
        (["M3x12 cap screw", "4 pcs"], (4, None, "M3x12 cap screw, ISO 4762", "M3x12 cap screw")),
        (["5x11x4 bearing", "x 2"], (2, None, "5x11x4 bearing", "5x11x4 bearing")),
        (["2 x T6-210 Gearbox housing"], (2, "T6-210", None, "Gearbox housing")),
        (["2 pcs T6-210"], (2, "T6-210", None, None)),
    ],
)
def test_callouts_are_written_in_many_ways(
    book: Book, lines: list[str], wanted: tuple[Any, ...]
) -> None:
    step(book, 1)
    for k, line in enumerate(lines):
        book.words(60, 150 + 12 * k, line, 9, bold=k == 0)
    three_steps(book)
    found, _ = read(book.save())
    assert numbers(found) == ["1", "2", "3", "4"]
    assert said(found) == [wanted]
    line = of(found, "part_line")[0]
    assert line.values["step"] == "1"
    assert line.page == 1
    assert line.frame is not None
    left, top, wide, high = line.frame
    assert left == pytest.approx(60 / 595, abs=0.003)
    assert top == pytest.approx((150 - 9 * 0.76) / 842, abs=0.003)
    assert high == pytest.approx((9 * 0.98 + 12 * (len(lines) - 1)) / 842, abs=0.003)
    assert 0.02 < wide < 0.3


@pytest.mark.parametrize(
    ("line", "quantity", "designation"),
    [
        ("M3x12 button head x8", 8, "M3x12 button head screw, ISO 7380-1"),
        ("4 x M3x12 cap screw", 4, "M3x12 cap screw, ISO 4762"),
        ("2 x 5x11x4 bearing", 2, "5x11x4 bearing"),
    ],
)
def test_hardware_is_named_by_its_designation(
    book: Book, line: str, quantity: int, designation: str
) -> None:
    step(book, 1)
    book.words(60, 150, line, 9)
    three_steps(book)
    found, _ = read(book.save())
    assert [line[:3] for line in said(found)] == [(quantity, None, designation)]


def test_callouts_on_both_sides_of_a_drawing_stay_apart(book: Book) -> None:
    step(book, 1)
    for k in range(5):
        for x, side in ((60, 0), (470, 1)):
            book.words(x, 140 + 34 * k, f"{k + 1} x T6-{3 + side}0{k}", 9, bold=True)
            book.words(x, 149 + 34 * k, f"Plate {'left' if side else 'right'} {k}", 7)
    three_steps(book)
    found, _ = read(book.save())
    assert sorted(said(found)) == sorted(
        (k + 1, f"T6-{3 + side}0{k}", None, f"Plate {'left' if side else 'right'} {k}")
        for k in range(5) for side in (0, 1)
    )  # fmt: skip


@pytest.mark.parametrize("sign", [" x", ""])
def test_a_box_of_parts_is_read_row_by_row(book: Book, sign: str) -> None:
    rows = [(4, "T6-930", "Pinion carrier"), (2, "T6-201", "Bevel pinion"), (12, "T6-44", "Shim")]
    step(book, 1)
    for k, (count, number, name) in enumerate(rows):
        for x, text in zip((50, 80, 140), (f"{count}{sign}", number, name), strict=True):
            book.words(x, 420 + 14 * k, text, 9)
    three_steps(book)
    found, _ = read(book.save())
    assert said(found) == [(count, number, None, name) for count, number, name in rows]


def test_what_counts_no_part_is_no_part_line(book: Book) -> None:
    step(book, 1)
    for k, line in enumerate((
        "Make 2 x", "2x", "2 x 45", "1:1", "12 mm", "112.0 mm", "(2)", "T6-114", "M3x12",
        "5x11x4", "Turn it 3 x by hand.", "Fit 4 x M3x12 screws from bag 2 and draw them up.",
        "See step 2.1", "2.5 Nm", "Rev. 3 (2019)",
    )):  # fmt: skip
        book.words(50, 420 + 22 * k, line, 9)
    three_steps(book)
    found, _ = read(book.save())
    assert numbers(found) == ["1", "2", "3", "4"]
    assert said(found) == []
    assert [one for one in found if one.what == "part_line"] == []


def test_callouts_on_a_page_without_a_heading_are_asked_about(book: Book) -> None:
    step(book, 1)
    book.turn_over()
    book.drawing(200, 120, 250, 250)
    book.words(60, 150, "4 x T6-930", 9)
    three_steps(book)
    found, _ = read(book.save())
    assert said(found) == []
    line = next(one for one in found if one.what == "part_line")
    assert (line.values["number"], line.page) == ("T6-930", 2)
    assert [(ask.field, ask.options) for ask in line.asks] == [("step", ["1"])]


def table(book: Book, headings: list[str], rows: list[list[str]]) -> None:
    book.words(50, 60, "Parts", 16, bold=True)
    for k, row in enumerate([headings, *rows]):
        for x, cell in zip((50, 140, 350, 430), row, strict=False):
            book.words(x, 90 + 14 * k, cell, 9, bold=k == 0)


def test_a_list_of_parts_adds_what_the_steps_leave_in_the_bags(book: Book) -> None:
    """The list counts the whole kit: what the steps use is not counted a second time."""
    step(book, 1)
    book.words(60, 150, "4 x T6-930", 9)
    book.words(60, 190, "2 x T6-201", 9)
    three_steps(book)
    book.turn_over()
    table(book, ["Part no.", "Description", "Qty", "Bag"],
          [["T6-930", "Pinion carrier, long", "6", "3"], ["T6-201", "Bevel pinion", "2", "4"],
           ["T6-999", "Spanner", "1", "5"]])  # fmt: skip
    found, unfit = read(book.save())
    assert unfit == []
    assert [(p.values.get("step"), p.values.get("bag"), p.values["number"], p.values["quantity"],
             p.values["name"]) for p in of(found, "part_line")] == [
        ("1", "3", "T6-930", 4, "Pinion carrier, long"), ("1", "4", "T6-201", 2, "Bevel pinion"),
        (None, "3", "T6-930", 2, "Pinion carrier, long"), (None, "5", "T6-999", 1, "Spanner"),
    ]  # fmt: skip
    assert [p.values["number"] for p in of(found, "part")] == ["T6-201"]
    assert [p.values["number"] for p in of(found, "bag")] == ["3", "4", "5"]


def test_a_list_without_bags_gives_parts(book: Book) -> None:
    step(book, 1)
    three_steps(book)
    book.turn_over()
    table(book, ["Nr.", "Bezeichnung", "Anzahl"],
          [["T6-930", "Halter", "6"], ["T6-201", "Kegelrad", "2"],
           ["T6-914", "M4x16", "many"]])  # fmt: skip
    found, unfit = read(book.save())
    assert said(found) == []
    assert [(p.values["number"], p.values["name"]) for p in of(found, "part")] == [
        ("T6-930", "Halter"), ("T6-201", "Kegelrad"), ("T6-914", "M4x16"),
    ]  # fmt: skip
    assert [(one.sheet, one.row, one.text) for one in unfit] == [("page 5", 3, "many")]


def test_two_lists_beside_each_other_are_two(book: Book) -> None:
    step(book, 1)
    three_steps(book)
    book.turn_over()
    for left in (40, 320):
        for k in range(4):
            row = (f"T6-{left}{k}", f"Part {k} of {left}", str(k + 1)) if k else \
                ("No.", "Name", "Qty")  # fmt: skip
            for x, cell in zip((0, 70, 220), row, strict=True):
                book.words(left + x, 90 + 14 * k, cell, 9)
    found, _ = read(book.save())
    assert sorted(p.values["number"] for p in of(found, "part")) == sorted(
        f"T6-{left}{k}" for left in (40, 320) for k in (1, 2, 3)
    )
    assert {p.values["name"] for p in of(found, "part")} == {
        f"Part {k} of {left}" for left in (40, 320) for k in (1, 2, 3)
    }


def test_headings_of_a_table_may_stand_in_the_middle_of_their_columns(book: Book) -> None:
    step(book, 1)
    three_steps(book)
    book.turn_over()
    for x, text in ((60, "No."), (220, "Description"), (390, "Qty"), (450, "Bag")):
        book.words(x, 90, text, 9, bold=True)
    names = ["Pinion carrier", "Hexagon socket head cap screw M4x16 for the carrier", "Shim"]
    for k, name in enumerate(names):
        for x, cell in ((50, f"T6-20{k}"), (110, name), (395, str(k + 1)), (455, "3")):
            book.words(x, 104 + 14 * k, cell, 9)
    book.words(110, 146, "and for the lid", 9)
    found, _ = read(book.save())
    assert [(p.values["number"], p.values["name"], p.values["quantity"], p.values["bag"])
            for p in of(found, "part_line")] == [
        ("T6-200", names[0], 1, "3"), ("T6-201", names[1], 2, "3"),
        ("T6-202", f"{names[2]} and for the lid", 3, "3"),
    ]  # fmt: skip


def test_a_table_in_a_step_is_of_that_step(book: Book) -> None:
    for number in range(1, 5):
        if number > 1:
            book.turn_over()
        step(book, number)
        for k in range(3):
            row = (f"T6-{number}0{k}", f"Part {k}", str(k + 2)) if k else ("Part", "Name", "Qty")
            for x, cell in zip((60, 130, 260), row, strict=True):
                book.words(x, 420 + 13 * k, cell, 9)
        book.words(60, 520, "2 x T6-999", 9)
    found, _ = read(book.save())
    assert numbers(found) == ["1", "2", "3", "4"]
    assert [(p.values["step"], p.values["number"], p.values["quantity"])
            for p in of(found, "part_line")] == [
        (str(n), number, count) for n in range(1, 5)
        for number, count in (("T6-999", 2), (f"T6-{n}01", 3), (f"T6-{n}02", 4))
    ]  # fmt: skip


def test_a_list_goes_on_without_headings_on_the_next_page(book: Book) -> None:
    step(book, 1)
    three_steps(book)
    for page in range(2):
        book.turn_over()
        if not page:
            table(book, ["Number", "Name", "Quantity", "Bag"], [])
        for k in range(20):
            for x, cell in zip((50, 140, 350, 430), (f"T6-{page}{k:02d}", "Shim", "2", "7"),
                               strict=True):  # fmt: skip
                book.words(x, 104 + 14 * k, cell, 9)
    found, _ = read(book.save())
    assert len(of(found, "part_line")) == 40
    assert {p.values["bag"] for p in of(found, "part_line")} == {"7"}
