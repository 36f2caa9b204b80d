"""Manuals of many looks, each written by hand: what is a step, and what only looks like one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bagtrail.domain.intake import manual
from bagtrail.domain.intake.manual.pdf import ink_of
from bagtrail.wire.intake import values_of
from tests.manual_sheets import Book, numbers, of, read, share


@pytest.fixture
def pdf(tmp_path: Path) -> Path:
    return tmp_path / "manual.pdf"


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
@pytest.mark.parametrize("text_turned", [False, True])
def test_steps_of_a_turned_page_are_framed_as_it_is_shown(
    pdf: Path, turned: int, text_turned: bool
) -> None:
    """/Rotate as ISO 32000-1, table 30 has it; or the text itself stands sideways."""
    book = Book(pdf, (842, 595), turned, text_turned)
    for k in range(6):
        if k == 3:
            book.turn_over()
        x = 40 + k % 3 * 270
        book.words(x, 60, f"Step {k + 1}  Frame rail", 14, bold=True)
        book.drawing(x, 80, 200, 300)
        book.words(x, 420, f"{k + 2} x T6-10{k}", 10, bold=True)
    found, _ = read(book.save())
    assert numbers(found) == ["1", "2", "3", "4", "5", "6"]
    for k, step in enumerate(of(found, "step")):
        assert step.page == 1 + k // 3
        x = 40 + k % 3 * 270
        drawn = (x / 842, 46 / 595, 200 / 842, 377 / 595)
        if text_turned:
            l, t, w, h = drawn  # noqa: E741
            # Text that runs upwards on a page that is not turned stands a quarter to the left.
            drawn = {0: drawn, 90: (t, 1 - l - w, h, w), 180: (1 - l - w, 1 - t - h, w, h),
                     270: (1 - t - h, l, h, w)}[turned]  # fmt: skip
        assert step.frame is not None
        assert share(step.frame, drawn) > 0.85
    lines = [(p.values["step"], p.values["number"], p.values["quantity"])
             for p in of(found, "part_line")]  # fmt: skip
    assert lines == [(str(k + 1), f"T6-10{k}", k + 2) for k in range(6)]


def test_a_cropped_page_is_framed_as_it_is_shown(pdf: Path) -> None:
    book = Book(pdf, (800, 1000))
    for k in range(4):
        book.crop(100, 200, 700, 950)
        book.words(150, 150, f"Step {k + 1}  Axle", 16, bold=True)
        book.drawing(150, 180, 300, 300)
        book.turn_over()
    found, _ = read(book.save())
    assert numbers(found) == ["1", "2", "3", "4"]
    drawn = (50 / 600, (134 - 50) / 750, 300 / 600, 346 / 750)
    assert all(step.frame and share(step.frame, drawn) > 0.85 for step in of(found, "step"))


def test_three_columns_are_read_one_after_the_other(pdf: Path) -> None:
    book = Book(pdf, (842, 595))
    number = 0
    for page in range(3):
        if page:
            book.turn_over()
        for column in range(3):
            for row in range(2):
                number += 1
                x, y = 40 + column * 265, 50 + row * 260
                book.words(x, y, f"{number}.", 15, bold=True)
                book.words(x + 30, y, "Tighten evenly", 11, bold=True)
                book.drawing(x, y + 20, 230, 180)
        book.words(410, 585, str(page + 1), 9)
    found, _ = read(book.save())
    assert numbers(found) == [str(n) for n in range(1, 19)]
    for k, step in enumerate(of(found, "step")):
        x, y = 40 + k % 6 // 2 * 265, 50 + k % 2 * 260
        drawn = (x / 842, (y - 12) / 595, 230 / 842, 212 / 595)
        assert step.page == 1 + k // 6
        assert step.values["title"] == "Tighten evenly"
        assert step.frame is not None
        assert share(step.frame, drawn) > 0.8, step


def test_numbers_may_run_across_the_page(pdf: Path) -> None:
    book = Book(pdf)
    for k in range(60):
        if k and k % 9 == 0:
            book.turn_over()
        x, y = 40 + k % 3 * 180, 60 + k % 9 // 3 * 255
        book.words(x, y, str(k + 1), 18, bold=True)
        book.drawing(x, y + 14, 150, 200)
        book.words(x + 40, y, f"2 x T6-2{k:02d}", 9)
    found, _ = read(book.save())
    assert numbers(found) == [str(n) for n in range(1, 61)]
    for k, step in enumerate(of(found, "step")):
        x, y = 40 + k % 3 * 180, 60 + k % 9 // 3 * 255
        assert step.frame is not None
        assert share(step.frame, (x / 595, (y - 14) / 842, 150 / 595, 228 / 842)) > 0.75
    lines = of(found, "part_line")
    assert [(p.values["step"], p.values["number"]) for p in lines] == [
        (str(k + 1), f"T6-2{k:02d}") for k in range(60)
    ]


@pytest.mark.parametrize(
    "names",
    [
        ["A-1", "A-2", "A-3", "B-1", "B-2", "B-3", "C-1", "C-2"],
        ["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"],
        ["1.1", "1.2", "1.3", "2.1", "2.2", "3.1", "3.2", "3.3"],
        ["K1", "K2", "K3", "K4", "K5", "K6", "K7", "K8"],
        ["Step 1", "Step 2", "Step 3", "Step 3a", "Step 3b", "Step 4", "Step 5", "Step 6"],
        ["Schritt 1:", "Schritt 2:", "Schritt 3:", "Schritt 4:", "Schritt 5:", "Schritt 6:",
         "Schritt 7:", "Schritt 8:"],
        ["1-1", "1-2", "1-3", "2-1", "2-2", "2-3", "2-4", "2-5"],
        ["1)", "2)", "3)", "4)", "5)", "6)", "7)", "8)"],
    ],
)  # fmt: skip
def test_steps_are_named_in_many_ways(pdf: Path, names: list[str]) -> None:
    book = Book(pdf)
    for k, name in enumerate(names):
        if k and k % 2 == 0:
            book.turn_over()
        y = 80 + k % 2 * 360
        book.words(50, y, f"{name}  Fit the parts", 15, bold=True)
        book.drawing(60, y + 20, 300, 220)
        book.words(400, y + 60, "see step 2.1", 9)
        book.words(400, y + 75, "A-2 is shown from below.", 9)
    found, _ = read(book.save())
    assert numbers(found) == [name.split(" ")[-1].strip(":)") for name in names]
    assert {step.values["title"] for step in of(found, "step")} == {"Fit the parts"}


@pytest.mark.parametrize("named", ["Step {}", "{}", "A-{}"])
def test_one_step_on_each_page_is_no_page_number(pdf: Path, named: str) -> None:
    book = Book(pdf)
    for n in range(1, 9):
        if n > 1:
            book.turn_over()
        book.words(50, 50, named.format(n), 16, bold=True)
        book.drawing(60, 100, 300, 250)
        book.words(50, 820, f"{n}  Tarn 6 building manual", 8)
    found, _ = read(book.save())
    assert numbers(found) == [named.format(n).removeprefix("Step ") for n in range(1, 9)]


def test_numbers_that_may_be_the_pages_are_asked_about(pdf: Path) -> None:
    book = Book(pdf)
    for n in range(1, 9):
        if n > 1:
            book.turn_over()
        book.words(290, 50, str(n), 16, bold=True)
        book.drawing(60, 100, 300, 250)
        book.words(400, 150, f"2 x T6-10{n}", 9)
    found, _ = read(book.save())
    assert numbers(found) == []
    assert {one.asks[0].field for one in found if one.what == "step"} == {"number"}
    assert of(found, "part_line") == []
    assert sum(one.what == "part_line" for one in found) == 8


def test_warnings_and_running_heads_are_no_sections(pdf: Path) -> None:
    book = Book(pdf)
    for n in range(1, 9):
        if n > 1:
            book.turn_over()
        book.words(50, 100, "Warning: wear glasses!", 20, bold=True)
        if n in (1, 2, 5):
            # The second page says it again.
            book.words(50, 130, f"Section {'AAAAB'[n - 1]}: {'Rear' if n < 5 else 'Front'} end", 18)
        book.words(50, 160, f"Step {n}", 14, bold=True)
        book.drawing(60, 180, 300, 250)
        book.words(50, 460, "Turn the shaft and feel whether it runs without tight spots.", 10)
    found, _ = read(book.save())
    assert [(one.values, one.page) for one in of(found, "section")] == [
        ({"title": "Rear end", "mark": "A"}, 1), ({"title": "Front end", "mark": "B"}, 5)
    ]  # fmt: skip
    assert [one.values["section"] for one in of(found, "step")] == [
        *["Rear end"] * 4, *["Front end"] * 4
    ]


@pytest.mark.parametrize("place", ["foot", "head", "sides"])
def test_page_numbers_are_no_steps(pdf: Path, place: str) -> None:
    """They are as large and bold as the steps' numbers, and count better."""
    book = Book(pdf)
    step = 0
    for page in range(1, 9):
        if page > 1:
            book.turn_over()
        y = 830 if place != "head" else 30
        x = 290 if place != "sides" else (30 if page % 2 else 550)
        book.words(x, y, str(page), 16, bold=True)
        for row in range(2 if page > 2 else 0):
            step += 1
            book.words(50, 90 + row * 360, str(step), 16, bold=True)
            book.drawing(60, 110 + row * 360, 300, 250)
    found, _ = read(book.save())
    assert numbers(found) == [str(n) for n in range(1, step + 1)]
    assert [one.page for one in of(found, "step")] == [3 + k // 2 for k in range(step)]


def test_numbered_instructions_belong_to_their_step(pdf: Path) -> None:
    book = Book(pdf)
    for k in range(1, 7):
        if k > 1 and k % 2:
            book.turn_over()
        y = 80 if k % 2 else 440
        book.words(50, y, f"{k}. Gearbox", 14, bold=True)
        book.drawing(60, y + 20, 200, 150)
        for n in range(1, 4):
            book.words(50, y + 180 + n * 26, f"{n}. Put part {n} onto the shaft and turn it until")
            book.words(62, y + 192 + n * 26, "it clicks.")
    found, _ = read(book.save())
    assert numbers(found) == ["1", "2", "3", "4", "5", "6"]
    said = [(op.values["step"], op.values["text"]) for op in of(found, "operation")]
    assert said == [
        (str(k), f"Put part {n} onto the shaft and turn it until it clicks.")
        for k in range(1, 7) for n in range(1, 4)
    ]  # fmt: skip
    assert not of(found, "part_line")


def test_steps_that_count_anew_in_each_section_are_asked_about(pdf: Path) -> None:
    book = Book(pdf)
    for mark, count in (("A", 3), ("B", 4), ("C", 3)):
        if mark != "A":
            book.turn_over()
        book.words(50, 60, f"{mark}  Group {mark}", 22, bold=True)
        for n in range(1, count + 1):
            book.words(50, 60 + n * 150, f"Step {n}", 14, bold=True)
            book.drawing(60, 70 + n * 150, 200, 90)
    found, _ = read(book.save())
    steps = [one for one in found if one.what == "step"]
    assert [one.values["number"] for one in steps] == list("1231234123")
    asking = [one for one in steps if one.asks]
    assert [one.values["number"] for one in asking] == list("123123123")
    assert asking[0].asks[0].options == ["A-1"]
    assert len(steps) - len(asking) == 1


def test_what_only_looks_like_a_step_is_none(pdf: Path) -> None:
    """Scales, rulers, measures, tables of contents, references, part numbers, restarts."""
    book = Book(pdf)
    book.words(50, 60, "Contents", 18, bold=True)
    for n in range(1, 7):
        book.words(50, 70 + n * 20, f"Step {n}  Group {n}", 14, bold=True)
        book.words(500, 70 + n * 20, str(n + 1), 14, bold=True)
    for n in range(1, 7):
        book.turn_over()
        book.words(50, 60, f"Step {n}  Group {n}", 14, bold=True)
        book.drawing(60, 90, 300, 250)
        book.words(400, 100, "1:1", 14, bold=True)
        book.words(400, 130, "10 mm", 14, bold=True)
        book.words(400, 160, "11 mm", 14, bold=True)
        book.words(400, 190, "12 teeth", 14, bold=True)
        book.words(400, 220, f"K{n * 7 % 5}", 14, bold=True)
        book.words(50, 400, "Step 2 must be finished first, and step 3 comes later.", 10)
        book.words(50, 420, f"{n + 3}.1 Nm at most.", 10)
        for k in range(6):
            book.words(60 + k * 28, 780, str(k), 7)
    found, _ = read(book.save())
    assert [(s.values["number"], s.page) for s in of(found, "step")] == [
        (str(n), n + 1) for n in range(1, 7)
    ]
    assert [one for one in found if one.what in ("part_line", "part", "operation")] == []


def test_a_leaf_without_steps_gives_none(pdf: Path) -> None:
    book = Book(pdf)
    book.words(50, 60, "Safety", 20, bold=True)
    for n in range(1, 9):
        book.words(50, 90 + n * 20, f"{n}. Keep the car away from people and animals.")
    found, unfit = read(book.save())
    assert (found, unfit) == ([], [])


def test_a_missing_number_is_told(pdf: Path) -> None:
    book = Book(pdf)
    for n in (1, 2, 3, 5, 6, 7):
        book.words(50, 60, f"Step {n}", 14, bold=True)
        book.drawing(60, 90, 300, 250)
        book.turn_over()
    found, unfit = read(book.save())
    assert numbers(found) == ["1", "2", "3", "5", "6", "7"]
    assert [(one.sheet, one.text) for one in unfit] == [("page 3", "4")]
    assert "between step 3 and step 5" in unfit[0].reason


def test_a_bag_opened_over_a_heading_is_for_the_step_below(pdf: Path) -> None:
    book = Book(pdf)
    for n in range(1, 7):
        y = 90 if n % 2 else 450
        book.words(50, y - 22, f"Open bag {n + 10}", 11, bold=True)
        book.boxed(50, y, str(n))
        book.drawing(60, y + 20, 300, 250)
        if n % 2 == 0:
            book.turn_over()
    found, _ = read(book.save())
    assert [(s.values["number"], s.values["bags"]) for s in of(found, "step")] == [
        (str(n), [str(n + 10)]) for n in range(1, 7)
    ]
    assert [one.values["number"] for one in of(found, "bag")] == [str(n + 10) for n in range(1, 7)]


@pytest.mark.parametrize(
    ("said", "bags"),
    [("Open bags 3 and 4", ["3", "4"]), ("Bag 7: Steering", ["7"]), ("Beutel 2 öffnen", ["2"]),
     ("BAG A", ["A"]), ("Bags 1, 2 & 5", ["1", "2", "5"]), ("Put the rest into bag 3.", []),
     ("Bag for the spare parts", [])],
)  # fmt: skip
def test_bags_are_named_in_many_ways(pdf: Path, said: str, bags: list[str]) -> None:
    book = Book(pdf)
    for n in range(1, 4):
        book.words(50, 90, f"Step {n}", 14, bold=True)
        book.words(200, 90, said, 10)
        book.drawing(60, 110, 300, 250)
        book.turn_over()
    found, _ = read(book.save())
    assert all(s.values.get("bags", []) == bags for s in of(found, "step"))
    assert [one.values["number"] for one in of(found, "bag")] == bags
    if ":" in said:
        assert of(found, "bag")[0].values["title"] == "Steering"


@pytest.mark.parametrize("place", [0.0, 0.45, 0.9])
def test_a_number_may_stand_left_over_or_right_of_its_figure(pdf: Path, place: float) -> None:
    book = Book(pdf)
    for k in range(12):
        if k and k % 4 == 0:
            book.turn_over()
        x, y = 40 + k % 4 // 2 * 270, 80 + k % 2 * 360
        book.words(x + place * 240, y, str(k + 1), 18, bold=True)
        book.drawing(x, y + 14, 240, 260)
    found, _ = read(book.save())
    assert numbers(found) == [str(n) for n in range(1, 13)]
    for k, one in enumerate(of(found, "step")):
        x, y = 40 + k % 4 // 2 * 270, 80 + k % 2 * 360
        assert one.frame is not None
        assert share(one.frame, (x / 595, (y - 14) / 842, 240 / 595, 288 / 842)) > 0.8, one


def test_plain_headings_are_told_from_sentences_about_steps(pdf: Path) -> None:
    book = Book(pdf)
    for n in range(1, 9):
        if n > 1:
            book.turn_over()
        book.words(50, 80, f"Step {n}", 10)
        book.drawing(60, 100, 300, 250)
        book.words(50, 400, "Fit the carrier as shown. If it binds, go back and look at", 10)
        book.words(50, 413, f"step {max(1, n - 2)} and at", 10)
        book.words(50, 426, f"step {n + 2} as well.", 10)
        book.words(50, 450, f"Step {n + 3} shows it from below.", 10)
    found, _ = read(book.save())
    assert [(one.values["number"], one.page) for one in of(found, "step")] == [
        (str(n), n) for n in range(1, 9)
    ]


def test_a_step_that_goes_on_over_the_page_is_one(pdf: Path) -> None:
    book = Book(pdf)
    for n in range(1, 6):
        for part in range(2):
            if n > 1 or part:
                book.turn_over()
            more = " (continued)" if part else ""
            book.words(50, 80, f"Step {n}{more}", 14, bold=True)
            book.drawing(60, 100, 300, 250)
            book.words(400, 150, f"2 x T6-{n}{part}0", 9)
    found, _ = read(book.save())
    assert [(one.values["number"], one.page) for one in of(found, "step")] == [
        (str(n), 2 * n - 1) for n in range(1, 6)
    ]
    lines = [one for one in found if one.what == "part_line"]
    assert [(one.values.get("step"), bool(one.asks)) for one in lines] == [
        pair for n in range(1, 6) for pair in ((str(n), False), (None, True))
    ]
    assert [one.asks[0].options for one in lines if one.asks] == [[str(n)] for n in range(1, 6)]


SIGNS = st.sampled_from([
    "Step 1", "Step 2", "1", "2", "3", "1.", "2.", "1.1", "A-1", "Bag 3", "Open bag", "4 x T6-930",
    "x4", "T6-930", "M3x12", "Contents", ". . . . 3", "Number", "Name", "Quantity", "(2)", "1:1",
    "Section A", "A  Chassis", "Put it on.", "\u00d7", "4 x", "\u0000", "Step 99999999999",
    "0", "x" * 300, "99999 x T6-1", "Step 1.1.1.1.1", "-", "\u200f\u0664", "4 x \x07",
])  # fmt: skip
PLACES = st.sampled_from([0.0, 0.05, 0.051, 0.3, 0.5, 0.7, 0.95, 1.0])
LINES = st.builds(
    lambda text, x, y, size, bold, boxed: {
        "text": text, "box": [x, y, min(0.3, 1 - x), min(size, 1 - y)], "size": size,
        "bold": bold, "boxed": boxed,
    },
    SIGNS, PLACES, PLACES, st.sampled_from([0.001, 0.01, 0.02, 0.3]), st.booleans(), st.booleans(),
)  # fmt: skip
PAGES = st.lists(
    st.builds(
        lambda lines, turn, points: {
            "lines": lines, "turn": turn, "points": points, "has_text": True,
            "ink": ink_of(Image.new("L", (40, 50), 255)),
        },
        st.lists(LINES, max_size=25), st.sampled_from([0, 90, 180, 270]),
        st.sampled_from([[595, 842], [1e-3, 1e6], [3e6, 1]]),
    ),
    max_size=5,
)  # fmt: skip


@given(PAGES)
@settings(max_examples=150, deadline=None)
def test_whatever_stands_on_the_pages_findings_fit_the_wire(pages: list[dict[str, Any]]) -> None:
    found, _ = manual.findings([{**page, "number": n} for n, page in enumerate(pages, 1)])
    for one in found:
        assert one.page is not None
        if not one.asks:
            values_of(one.what, one.values)
        assert one.frame is not None
        left, top, wide, high = one.frame
        assert min(one.frame) >= 0
        assert left + wide <= 1.0001 >= top + high
        assert 0 <= one.sure <= 1
