"""Reading tables: what columns are, what rows say, and what is told of rows that say nothing.

The spellings of headings, bags and quantities are common practice.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from bagtrail.domain.intake import tables
from bagtrail.domain.intake.tables.columns import normal, shape_of
from bagtrail.domain.intake.tables.figures import decimal_of, minutes, number, quantity
from bagtrail.domain.intake.tables.places import bags_of, lost_zeros, place_of
from tests.tables import Table, book_of, bytes_of


@pytest.fixture
def table(tmp_path: Path) -> Table:
    return Table(tmp_path)


def test_a_row_gives_section_bag_step_and_part_line(table: Table) -> None:
    taken = table.take(
        "Section,Step,Step title,Minutes,Bag,Qty,Part no.,Description,Material\n"
        "Gearbox,2.1,Pinion,20,3,4,AB-12,Bevel pinion,steel\n"
        "Gearbox,2.1,Pinion,20,3,2,AB-13,M3x12 cap screw,steel\n"
    )
    assert taken.values("section") == [{"title": "Gearbox"}]
    assert taken.values("bag") == [{"number": "3"}]
    assert taken.values("step") == [
        {"number": "2.1", "title": "Pinion", "minutes": 20, "section": "Gearbox", "bags": ["3"]}
    ]
    first, second = taken.of("part_line")
    assert first["values"] == {
        "number": "AB-12", "name": "Bevel pinion", "material": "steel", "quantity": 4,
        "bag": "3", "step": "2.1",
    }  # fmt: skip
    assert second["values"]["designation"] == "M3x12 cap screw, ISO 4762"
    assert (first["row"], second["row"]) == (2, 3)
    assert taken.unfit == []
    assert taken.rows == 2


@pytest.mark.parametrize(
    ("headings", "fields"),
    [
        ("Menge;Art.-Nr.;Bezeichnung;Beutel;Schritt",
         "part.quantity part.number part.name bag.number step.number"),
        ("Stk.;Teil;Benennung;Tüte;Bauschritt",
         "part.quantity part.number part.name bag.number step.number"),
        ("Anzahl;Sachnummer;Teilebezeichnung;Beutelnummer;Schritt-Nr.",
         "part.quantity part.number part.name bag.number step.number"),
        ("QTY;P/N;Part name;Bag #;Step #",
         "part.quantity part.number part.name bag.number step.number"),
        ("pcs;Item No.;DESCRIPTION;From bag;Figure",
         "part.quantity part.number part.name bag.number step.number"),
        ("No. off;Order code;What;Packet;Used in step",
         "part.quantity part.number part.name bag.number step.number"),
    ],
)  # fmt: skip
def test_headings_in_two_languages(table: Table, headings: str, fields: str) -> None:
    taken = table.take(f"{headings}\n4;AB-12;Bevel pinion;3;2.1\n2;AB-13;Crown gear;4;2.2\n")
    assert list(taken.fields.values()) == fields.split()
    assert [line["number"] for line in taken.values("part_line")] == ["AB-12", "AB-13"]
    assert all(0.5 < column["sure"] < 1 for column in taken.layout["columns"])
    assert taken.layout["columns"][1]["samples"] == ["AB-12", "AB-13"]


def test_positions_prices_and_weights_are_none_of_the_fields(table: Table) -> None:
    taken = table.take(
        "Pos,Part no.,Name,Price,Weight,Qty,Bag\n"
        + "".join(f"{n},AB-{n},Cover plate,{n}.50,{n * 3},{1 + n % 3},2\n" for n in range(1, 9))
    )
    assert [taken.fields[name] for name in ("Pos", "Price", "Weight")] == [None] * 3
    assert [line["quantity"] for line in taken.values("part_line")] == [2, 3, 1, 2, 3, 1, 2, 3]


def test_columns_are_known_by_what_stands_in_them(table: Table) -> None:
    """No headings at all: quantities, part numbers, names, steps."""
    rows = [(2, "AB-121", "Upper arm, left"), (4, "AB-122", "Ball joint, long"),
            (2, "AB-133", "Lower arm, right"), (1, "AB-140", "Servo plate, front"),
            (4, "AB-151", "Spacer ring, thin"), (1, "AB-152", "Steering arm, bent")]  # fmt: skip
    said = "".join(f"{q},{number},{name.replace(',', '')},2.{n}\n"
                   for n, (q, number, name) in enumerate(rows, 1))  # fmt: skip
    taken = table.take(said)
    assert taken.layout["heading_row"] == 0
    fields = [column["field"] for column in taken.layout["columns"]]
    assert fields == ["part.quantity", "part.number", "part.name", "step.number"]
    assert all(column["sure"] <= 0.6 for column in taken.layout["columns"])
    assert [line["quantity"] for line in taken.values("part_line")] == [2, 4, 2, 1, 4, 1]
    assert taken.of("part_line")[0]["row"] == 1


def test_a_part_without_a_place_is_a_part(table: Table) -> None:
    taken = table.take("Part no.,Name,Material\nAB-1,Plate,aluminium\nAB-2,Shaft,steel\n")
    assert taken.values("part") == [
        {"number": "AB-1", "name": "Plate", "material": "aluminium"},
        {"number": "AB-2", "name": "Shaft", "material": "steel"},
    ]
    assert len(taken.findings) == 2


def test_a_list_of_steps_has_titles_texts_bags_and_operations(table: Table) -> None:
    taken = table.take(
        "Step;Title;Instructions;Minutes;Bags needed;Operation\n"
        "1.1;Rear case;Grease the gears before closing the case.;12,5;1, 2;Press the bearing in.\n"
        "1.1;;;;;Close the case.\n"
        "1.2;Front case;The same again.;1 h 10;1+3;Press both bearings in.\n"
    )
    assert taken.values("step") == [
        {"number": "1.1", "title": "Rear case", "minutes": 12.5, "bags": ["1", "2"],
         "text": "Grease the gears before closing the case."},
        {"number": "1.2", "title": "Front case", "minutes": 70, "bags": ["1", "3"],
         "text": "The same again."},
    ]  # fmt: skip
    assert [one["number"] for one in taken.values("bag")] == ["1", "2", "3"]
    assert taken.values("operation") == [
        {"step": "1.1", "text": "Press the bearing in."},
        {"step": "1.1", "text": "Close the case."},
        {"step": "1.2", "text": "Press both bearings in."},
    ]
    assert taken.unfit == []


def test_description_is_the_title_where_only_steps_are_listed(table: Table) -> None:
    taken = table.take("Step,Description,Min\n1,Rear axle housing,20\n2,Front axle housing,15\n")
    assert [one["title"] for one in taken.values("step")] == [
        "Rear axle housing", "Front axle housing",
    ]  # fmt: skip
    assert taken.of("part_line") == taken.of("part") == []


def test_a_missing_quantity_is_asked(table: Table) -> None:
    taken = table.take("Qty,Part no.,Name,Bag\n2,AB-1,Plate,1\n,AB-2,Shaft,1\n")
    _, second = taken.of("part_line")
    assert "quantity" not in second["values"]
    assert [ask["field"] for ask in second["asks"]] == ["quantity"]
    taken = table.take("Part no.,Name,Bag\nAB-1,Plate,1\nAB-2,Shaft,1\n")
    assert all(one["asks"][0]["field"] == "quantity" for one in taken.of("part_line"))


@pytest.mark.parametrize("said", ["2.5", "a few", "-1", "100001", "2 m", "#REF!", "1e9"])
def test_a_quantity_that_is_none_is_told_with_its_place(table: Table, said: str) -> None:
    taken = table.take(f"Qty,Part no.,Name,Bag\n1,AB-1,Plate,1\n{said},AB-2,Shaft,1\n")
    assert [one["number"] for one in taken.values("part_line")] == ["AB-1"]
    (unfit,) = taken.unfit
    assert {**unfit, "reason": ""} == {
        "file": "parts.csv", "sheet": None, "row": 3, "column": "Qty", "text": said, "reason": "",
    }  # fmt: skip
    # The bag that the row names is found all the same.
    assert taken.values("bag") == [{"number": "1"}]


@pytest.mark.parametrize("said", ["4", "4x", "x4", "4 x", "4 pcs", "4 Stk.", "4,0", "(4)", "4.00"])
def test_spellings_of_four(said: str) -> None:
    assert quantity(said, ".") == quantity(said, ",") == 4


def test_the_decimal_mark_is_that_of_the_whole_column() -> None:
    assert decimal_of(["1,234", "2,5"], ".") == ","
    assert decimal_of(["1,234", "2.5"], ",") == "."
    assert decimal_of(["1.234,5"], ".") == ","
    assert decimal_of(["1.234.567"], ".") == ","
    assert decimal_of(["1,234"], ".") == "."
    assert decimal_of(["1,234"], ",") == ","
    assert decimal_of(["1.234,5", "1,234.5"], ".") == "."
    assert number("1,234", ".") == 1234
    assert number("1,234", ",") == 1.234
    assert number("1.234,5", ",") == 1234.5
    assert number("1 234", ",") == number("1'234", ".") == 1234
    assert number("2.5", ",") == number("2,5", ".") == 2.5
    assert number("12,34,56", ".") is None
    assert number("1e400", ".") is None
    assert number("nan", ".") is None


def test_thousands_are_read_by_the_files_own_mark(table: Table) -> None:
    rows = "1.200;AB-1;Shim;1;7,5\n3;AB-2;Plate;1;10\n"
    taken = table.take(f"Menge;Art.-Nr.;Bezeichnung;Beutel;Minuten\n{rows}")
    assert taken.layout["decimal"] == ","
    assert [one["quantity"] for one in taken.values("part_line")] == [1200, 3]
    changed = table.take(
        f"Menge;Art.-Nr.;Bezeichnung;Beutel;Minuten\n{rows}", change={"decimal": "."}
    )
    assert [one["quantity"] for one in changed.values("part_line")] == [3]
    assert changed.unfit[0]["text"] == "1.200"


@pytest.mark.parametrize(
    ("said", "value"),
    [("20", 20), ("20 min", 20), ("7,5", 7.5), ("1 h", 60), ("1 h 30", 90), ("1,5 Std.", 90),
     ("about 20 minutes", 20), ("soon", None), ("1:30", None)],
)  # fmt: skip
def test_minutes(said: str, value: float | None) -> None:
    assert minutes(said, ",") == value


@pytest.mark.parametrize(
    ("said", "what", "numbers", "title"),
    [("3", "bag", ("3",), None), ("Bag 3", "bag", ("3",), None),
     ("Beutel Nr. 3", "bag", ("3",), None),
     ("Tüte 3: Lenkung", "bag", ("3",), "Lenkung"), ("3 (Gearbox)", "bag", ("3",), "Gearbox"),
     ("1, 3", "bag", ("1", "3"), None), ("A", "bag", ("A",), None), ("Red", "bag", ("Red",), None),
     ("Step 2.1 Pinion", "step", ("2.1",), "Pinion"), ("2.10", "step", ("2.10",), None),
     ("Schritt 12", "step", ("12",), None), ("K1", "step", ("K1",), None),
     ("2.1:", "step", ("2.1",), None), ("A: Frame", "step", ("A",), "Frame")],
)  # fmt: skip
def test_bags_and_steps_as_they_are_written(
    said: str, what: str, numbers: tuple[str, ...], title: str | None
) -> None:
    found = place_of(said, what)
    assert found is not None
    assert (found.numbers, found.title) == (numbers, title)


def test_no_number_of_a_step() -> None:
    for said in ("see the drawing on page four", "...", "later", "x" * 30):
        assert place_of(said, "step") is None


def test_lists_of_bags() -> None:
    assert bags_of("1-4") == ("1", "2", "3", "4")
    assert bags_of("Bag 1 and 3") == bags_of("Beutel 1 und Beutel 3") == ("1", "3")
    assert bags_of("A/B") == ("A", "B")
    assert bags_of("nuts, bolts") == bags_of("4") == ()


def test_blank_cells_below_a_filled_one_carry_on(table: Table) -> None:
    taken = table.take(
        "Bag,Step,Qty,Part no.,Name\n1,1.1,2,AB-1,Plate\n,,1,AB-2,Shaft\n,1.2,4,AB-3,Pin\n"
        ",,1,AB-4,Gear\n2,2.1,1,AB-5,Arm\n,,2,AB-6,Rod\n"
    )
    assert [(one["bag"], one["step"]) for one in taken.values("part_line")] == [
        ("1", "1.1"), ("1", "1.1"), ("1", "1.2"), ("1", "1.2"), ("2", "2.1"), ("2", "2.1"),
    ]  # fmt: skip
    assert len(taken.of("step")) == 3


def test_a_new_group_ends_what_the_columns_within_it_carry(table: Table) -> None:
    taken = table.take(
        "Bag,Step,Qty,Part no.,Name\n1,1.1,2,AB-1,Plate\n,,1,AB-2,Shaft\n2,,4,AB-3,Pin\n"
        ",,1,AB-4,Nut\n"
    )
    assert [one.get("step") for one in taken.values("part_line")] == ["1.1", "1.1", None, None]


def test_a_single_gap_in_a_full_column_is_a_gap(table: Table) -> None:
    rows = [f"{1 + n // 4},1,AB-{n},Plate\n" for n in range(12)]
    rows[6] = ",1,AB-6,Plate\n"
    taken = table.take("Bag,Qty,Part no.,Name\n" + "".join(rows))
    assert [one.get("bag") for one in taken.values("part_line")][5:8] == ["2", None, "2"]


def test_a_row_may_head_those_below_it(table: Table) -> None:
    taken = table.take(
        "Qty;Part no.;Name\nBag 1: Front axle;;\n2;AB-1;Plate\nBag 2;;\nStep 2.1 Steering;;\n"
        "1;AB-2;Arm\n"
    )
    assert taken.values("bag") == [{"number": "1", "title": "Front axle"}, {"number": "2"}]
    assert taken.values("step") == [{"number": "2.1", "title": "Steering", "bags": ["2"]}]
    assert [(one["bag"], one.get("step")) for one in taken.values("part_line")] == [
        ("1", None), ("2", "2.1"),
    ]  # fmt: skip


def test_totals_remarks_and_headings_again_are_no_parts(table: Table) -> None:
    taken = table.take(
        "Bag,Qty,Part no.,Name\n1,2,AB-1,Plate\nBag,Qty,Part no.,Name\n2,1,AB-2,Total length rod\n"
        ",3,,Total\nNote: bag 3 comes later,,,\n,Keep the small parts in a bowl.,,\n,5,,\n"
        "* left side only,,,\nGesamt,3,,\n"
    )
    assert [one["number"] for one in taken.values("part_line")] == ["AB-1", "AB-2"]
    assert [one["row"] for one in taken.unfit] == [3, 5, 6, 7, 8, 9, 10]
    assert not any(one["asks"] for one in taken.findings)


def test_the_first_title_holds_and_another_is_told_with_its_row(table: Table) -> None:
    taken = table.take(
        "Step,Step title,Qty,Name\n1,Front axle,2,Arm\n2,Rear axle,2,Arm\n"
        "1,front  Axle,1,Pin\n1,Axles,1,Rod\n"
    )
    assert [one["title"] for one in taken.values("step")] == ["Front axle", "Rear axle"]
    (unfit,) = taken.unfit
    assert (unfit["row"], unfit["column"], unfit["text"]) == (5, "Step title", "Axles")
    assert "row 2" in unfit["reason"]
    assert len(taken.of("part_line")) == 4


@pytest.mark.parametrize("before", [3, 30])
def test_ragged_rows(table: Table, before: int) -> None:
    """Short rows are filled up; a comma that nobody quoted spoils its row, and only it."""
    taken = table.take(
        "Bag,Qty,Part no.,Name,Material\n"
        + "1,2,AB-1,Plate,steel\n" * before
        + "1,2,AB-2,Shaft\n1,2,AB-3,Screw, long,steel\n1,1,AB-4,Pin,steel\n"
    )
    assert [one["number"] for one in taken.values("part_line")][-2:] == ["AB-2", "AB-4"]
    assert [one["row"] for one in taken.unfit] == [before + 3]
    assert "quotation marks" in taken.unfit[0]["reason"]


def test_a_workbooks_remark_beside_the_table_spoils_nothing(table: Table) -> None:
    taken = table.book(["Bag", "Qty", "Part no."], [1, 2, "AB-1", None, "see tag"], [1, 3, "AB-2"])
    assert [one["number"] for one in taken.values("part_line")] == ["AB-1", "AB-2"]
    assert taken.unfit == []


def test_a_packing_list_as_spreadsheet_programs_write_it(table: Table) -> None:
    """A title, headings in the third row, bags as rows of their own, name, size and norm apart."""
    taken = table.take(
        "Packliste;;;;;;\n;;;;;;\nPos;Menge;Einheit;Teil-Nr.;Bezeichnung;Abmessung;Norm\n"
        "Beutel 1;;;;;;\n1;4;Stk;T-1;Zylinderschraube;M3x12;DIN 912\n"
        "2;8;Stk;T-2;Sicherungsmutter;M3;DIN 985\nBeutel 2;;;;;;\n3;2;Stk;T-3;Querlenker;;\n"
        "4;1;Stk;T-4;Kugellager;5x11x4;\nSumme;15;;;;;\n"
    )
    assert taken.layout["heading_row"] == 3
    said = [
        (one["bag"], one["quantity"], one["name"], one.get("designation"))
        for one in taken.values("part_line")
    ]
    assert said == [
        ("1", 4, "Zylinderschraube", "M3x12 cap screw, DIN 912"),
        ("1", 8, "Sicherungsmutter", "M3 lock nut, DIN 985"),
        ("2", 2, "Querlenker", None),
        ("2", 1, "Kugellager", "5x11x4 bearing"),
    ]
    assert [one["row"] for one in taken.unfit] == [10]


def test_lines_without_columns_below_their_bags(table: Table) -> None:
    taken = table.take(
        "Bag A\n2 x Lower arm\n3 x M3 lock nut\n\nBag B\n1 x Steering plate\n", "a.txt"
    )
    assert [(one["bag"], one["quantity"], one["name"]) for one in taken.values("part_line")] == [
        ("A", 2, "Lower arm"), ("A", 3, "M3 lock nut"), ("B", 1, "Steering plate"),
    ]  # fmt: skip
    assert taken.of("part_line")[2]["row"] == 6


def test_columns_between_bars_and_lines_drawn_between_rows(table: Table) -> None:
    taken = table.take(
        "| Qty | Part | Bag |\n|-----|------|-----|\n| 4 | M3x8 cap screw | 1 |\n| 2 | Arm | 2 |\n"
    )
    assert [(one["bag"], one["quantity"], one["name"]) for one in taken.values("part_line")] == [
        ("1", 4, "M3x8 cap screw"), ("2", 2, "Arm"),
    ]  # fmt: skip
    assert [one["row"] for one in taken.unfit] == [2]


def test_running_numbers_and_remarks_of_a_parts_list_are_no_steps(table: Table) -> None:
    parts = "".join(f"{n},{n % 3 + 1},Steering plate {n},see page {n}\n" for n in range(1, 9))
    taken = table.take(f"No.,Qty,Name,Remarks\n{parts}")
    assert [taken.fields[name] for name in ("No.", "Remarks")] == [None, None]
    assert taken.unfit == []
    steps = table.take("No.,Title,Minutes\n1,Rear axle,20\n2,Front axle,15\n3,Steering,30\n")
    assert [one["number"] for one in steps.values("step")] == ["1", "2", "3"]


def test_a_heading_is_not_believed_against_everything_below_it(table: Table) -> None:
    rows = "".join(f"pic{n}.jpeg,Steering plate {n},{n}\n" for n in range(2, 9))
    taken = table.take(f"Figure,Name,Qty\n{rows}")
    assert taken.fields["Figure"] is None
    assert len(taken.of("part_line")) == 7


def test_a_whole_part_line_in_one_cell(table: Table) -> None:
    taken = table.take(
        "Step\tBag\tParts needed\n1.1\t1\t4 x M3x12 cap screw\n1.1\t1\t2x Lower arm (AB-12)\n"
        "1.2\t2\t1 x Steering plate (AB-13)\n"
    )
    assert taken.fields["Parts needed"] == "part.text"
    first, second, third = taken.values("part_line")
    assert (first["quantity"], first["designation"]) == (4, "M3x12 cap screw, ISO 4762")
    assert (second["quantity"], second["number"], second["name"]) == (2, "AB-12", "Lower arm")
    assert (third["step"], third["bag"]) == ("1.2", "2")


# Changes and memory


def test_a_change_says_what_columns_are(table: Table) -> None:
    said = "a,b,c\n1,AB-1,2\n1,AB-2,3\n"
    change = {"columns": ["bag.number", "part.number", "part.quantity"], "heading_row": 1}
    taken = table.take(said, change=change)
    assert [column["sure"] for column in taken.layout["columns"]] == [1.0] * 3
    assert taken.values("part_line")[1] == {"number": "AB-2", "quantity": 3, "bag": "1"}
    assert taken.of("part_line")[0]["sure"] == 1
    fewer = table.take(said, change={"columns": [None, "part.number"], "heading_row": 0})
    assert fewer.layout["heading_row"] == 0
    assert [one["number"] for one in fewer.values("part")] == ["b", "AB-1", "AB-2"]
    more = table.take(said, change={"columns": ["bag.number"] * 1 + [None] * 9})
    assert len(more.layout["columns"]) == 3


def test_columns_are_remembered_for_files_of_the_same_shape(table: Table) -> None:
    first = table.take("a,b,c\n1,AB-1,2\n",
                       change={"columns": ["bag.number", "part.number", "part.quantity"],
                               "heading_row": 1})  # fmt: skip
    assert not first.layout["remembered"]
    for remembered in (
        first.layout,
        {first.shape: first.layout},
        {**first.layout, "columns": ["bag.number", "part.number", "part.quantity"]},
    ):
        again = table.take("A,B.,c \n5,AB-7,9\n", remembered=remembered, change={"heading_row": 1})
        assert again.shape == first.shape
        assert again.layout["remembered"]
        assert again.values("part_line") == [{"number": "AB-7", "quantity": 9, "bag": "5"}]
    other = table.take("x,b,c\n5,AB-7,9\n", remembered=first.layout, change={"heading_row": 1})
    assert not other.layout["remembered"]


def test_a_shape_is_that_of_the_headings() -> None:
    assert shape_of(["Art.-Nr.", "Menge"], 2) == shape_of(["ART NR", "menge "], 2)
    assert shape_of(["Menge", "Art.-Nr."], 2) != shape_of(["Art.-Nr.", "Menge"], 2)
    assert shape_of(["", ""], 2) != shape_of(["", "", ""], 3)
    assert normal("Stück­zahl (№)") == normal("stueckzahl nr")


# Workbooks


def test_row_numbers_are_those_of_the_spreadsheet_program(table: Table) -> None:
    taken = table.book(["Kit list"], [], ["Bag", "Qty", "Part no.", "Name"], [1, 2, "AB-1", "Arm"],
                       [], [2, "?", "AB-2", "Rod"])  # fmt: skip
    assert taken.layout["heading_row"] == 3
    assert taken.of("part_line")[0]["row"] == 4
    assert (taken.unfit[0]["row"], taken.unfit[0]["sheet"]) == (6, "Sheet")
    # The same in text, where a cell in quotes runs over lines: a record is a row.
    text = table.take('Bag,Qty,Part no.,Name\n1,2,AB-1,"Arm,\nleft"\n\n2,?,AB-2,Rod\n')
    assert text.values("part_line")[0]["name"] == "Arm,\nleft"
    assert text.unfit[0]["row"] == 4


def test_the_sheet_that_looks_most_like_a_list_is_chosen(table: Table) -> None:
    sheets: dict[str, Any] = {
        "Read me": [["This list belongs to the kit"], ["Bag numbers are on the tags"]],
        "Prices": [["Part no.", "Price"], ["AB-1", 3.5]],
        "List": [["Bag", "Qty", "Part no.", "Name"], [1, 2, "AB-1", "Arm"]],
    }
    taken = table.book(**sheets)
    assert (taken.layout["sheets"], taken.layout["sheet"]) == (list(sheets), "List")
    other = table.take(book_of(**sheets), "a.xlsx", change={"sheet": "Prices"})
    assert other.values("part") == [{"number": "AB-1"}]
    with pytest.raises(tables.CannotRead, match="no sheet named 'Other'"):
        table.take(book_of(**sheets), "a.xlsx", change={"sheet": "Other"})


def test_hidden_sheets_are_left_alone(table: Table) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Bag", "Qty", "Part no."])
    book.active.append([1, 2, "AB-1"])
    hidden = book.create_sheet("Lists")
    hidden.sheet_state = "hidden"
    taken = table.take(bytes_of(book), "a.xlsx")
    assert taken.layout["sheets"] == ["Sheet"]


def test_cells_joined_downwards_hold_what_their_first_holds(table: Table) -> None:
    """Blank cells that are not joined stay blank, in the same column."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in [["Step", "Bag", "Qty", "Part no."], ["1.1", 1, 2, "AB-1"], [None, None, 1, "AB-2"],
                [None, 2, 1, "AB-3"], [None, None, 4, "AB-4"]]:  # fmt: skip
        sheet.append(row)
    sheet.merge_cells("A2:A4")
    sheet.merge_cells("B2:B3")
    taken = table.take(bytes_of(book), "a.xlsx")
    assert [(one.get("step"), one.get("bag")) for one in taken.values("part_line")] == [
        ("1.1", "1"), ("1.1", "1"), ("1.1", "2"), (None, None),
    ]  # fmt: skip


def test_headings_joined_over_two_rows(table: Table) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in [["Bag", "Part", None, "Qty"], [None, "Part no.", "Name", None],
                [1, "AB-1", "Arm", 2], [1, "AB-2", "Rod", 3]]:  # fmt: skip
        sheet.append(row)
    for cells in ("A1:A2", "B1:C1", "D1:D2"):
        sheet.merge_cells(cells)
    taken = table.take(bytes_of(book), "a.xlsx", change={"heading_row": 2})
    assert list(taken.fields) == ["Bag", "Part no.", "Name", "Qty"]
    assert taken.values("part_line")[1] == {
        "number": "AB-2", "name": "Rod", "quantity": 3, "bag": "1",
    }  # fmt: skip


def test_formulas_count_by_the_result_that_the_file_keeps(table: Table) -> None:
    """openpyxl writes formulas without results: they are told, never computed."""
    taken = table.book(["Bag", "Qty", "Part no."], [1, "=1+1", "AB-1"], [1, 3, "AB-2"])
    assert [one["number"] for one in taken.values("part_line")] == ["AB-2"]
    assert (taken.unfit[0]["row"], taken.unfit[0]["column"]) == (2, "Qty")
    assert "formula" in taken.unfit[0]["reason"].lower()


def test_a_number_is_shown_as_its_format_says(table: Table) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Step", "Part no.", "Qty"])
    sheet.append([2.1, 7, 2.0])
    sheet["A2"].number_format = "0.00"
    sheet["B2"].number_format = "000"
    taken = table.take(bytes_of(book), "a.xlsx")
    assert taken.values("part_line") == [{"number": "007", "quantity": 2, "step": "2.10"}]


def test_step_numbers_that_lost_their_zero_are_asked(table: Table) -> None:
    steps = [2.8, 2.9, 2.1, 2.1, 2.11, 3.1]
    taken = table.book(["Step", "Qty", "Part no."],
                       *([step, 1, f"AB-{n}"] for n, step in enumerate(steps)))  # fmt: skip
    asked = [one for one in taken.findings if one["asks"]]
    assert [(one["what"], one["asks"][0]["options"]) for one in asked] == [
        ("step", ["2.10", "2.1"]), ("part_line", ["2.10", "2.1"]), ("part_line", ["2.10", "2.1"]),
    ]  # fmt: skip
    assert [one["number"] for one in taken.values("step")] == ["2.8", "2.9", "2.10", "2.11", "3.1"]


def test_where_zeros_may_be_lost() -> None:
    assert lost_zeros(["2.8", "2.9", "2.10", "2.11"]) == {}
    assert lost_zeros(["2.1", "2.2", "3.1", "2.1"]) == {}
    assert lost_zeros(["1.9", "1.1", "1.11"]) == {1: ("1.10", "1.1")}
    assert lost_zeros(["1.19", "1.2"]) == {1: ("1.20", "1.2")}
    assert lost_zeros(["1.1", "1.11"]) == {0: ("1.1", "1.10")}
    assert lost_zeros(["1.1", "1.10", "1.11", "1.2"]) == {}


def test_dates_that_were_step_numbers_are_told_with_the_way_out(table: Table) -> None:
    taken = table.book(
        ["Step", "Qty", "Part no."],
        ["1-1", 1, "AB-1"],
        [datetime(2026, 2, 1), 1, "AB-2"],  # noqa: DTZ001
    )
    assert [one["number"] for one in taken.values("part_line")] == ["AB-1"]
    (unfit,) = taken.unfit
    assert (unfit["row"], unfit["column"], unfit["text"]) == (3, "Step", "2026-02-01")
    assert "Set the column to text" in unfit["reason"]
    for said in ("01. Feb", "2-Jan", "Jan 26", "01.02.2026", "2/1/26"):
        text = table.take(f"Step,Qty,Part no.\n1-1,1,AB-1\n{said},1,AB-2\n")
        assert [one["text"] for one in text.unfit] == [said]


def test_too_long_is_told_and_never_cut_in_silence(table: Table) -> None:
    taken = table.take(
        f"Step,Title,Instructions\n1,{'x' * 161},fine\n2,Axle,{'y' * 4001}\n3,Arm,{'z' * 4000}\n"
    )
    assert [(one["row"], one["column"]) for one in taken.unfit] == [
        (2, "Title"),
        (3, "Instructions"),
    ]
    assert taken.values("step")[2]["text"] == "z" * 4000
    parts = table.take(f"Qty,Part no.,Bag\n1,{'A' * 61},1\n1,AB-1,{'B' * 21}\n")
    assert parts.of("part_line") == []
    assert len(parts.unfit) == 2


def test_titles_in_the_cells_of_numbers_have_their_length_too(table: Table) -> None:
    long = "x" * 161
    taken = table.take(f"Bag;Qty;Part no.\n3: {long};2;AB-1\nSection {long};;\nStep 4 {long};;\n")
    assert taken.values("bag") == [{"number": "3"}]
    assert [one["row"] for one in taken.unfit] == [2, 3, 4]


def test_control_characters_do_not_reach_a_record(table: Table) -> None:
    taken = table.take(
        "Qty,Part no.,Name,Bag\n1,AB-1,Arm\x0b\x7f left\u2028side,1\n" + "1,A,B,1\n" * 200
    )
    assert taken.values("part_line")[0]["name"] == "Arm left side"
