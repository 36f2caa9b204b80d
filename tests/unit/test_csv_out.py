"""Tables out: nothing becomes a formula, and everything comes back."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bagtrail.domain.csv_out import guarded, table, unguarded
from bagtrail.domain.intake.tables import csv_files
from tests.tables import Table

#: Beginnings that spreadsheet programs compute: common advice against formula injection.
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")


def test_rfc_4180_with_the_mark_of_utf_8() -> None:
    """RFC 4180, section 2: CR LF, quotation marks around cells that need them, doubled within."""
    rows = [{"a": 'the "long" one', "b": 3}, {"a": "x,y\nz", "b": None}, {"b": -2.5, "c": 1}]
    data = "".join(table(rows, ["a", "b"])).encode()
    assert data == b'\xef\xbb\xbfa,b\r\n"the ""long"" one",3\r\n"x,y\nz",\r\n,-2.5\r\n'


@pytest.mark.parametrize("start", DANGEROUS)
def test_a_text_never_begins_as_a_formula_does(start: str) -> None:
    written = "".join(table([{"a": f"{start}1+1"}], ["a"]))
    (cell,) = list(csv.reader(io.StringIO(written.removeprefix("\ufeff"), newline="")))[1]
    assert cell == f"'{start}1+1"
    assert unguarded(cell) == f"{start}1+1"


def test_numbers_stay_numbers_and_lists_are_joined() -> None:
    written = "".join(
        table([{"n": -3, "f": -0.5, "l": ["1", "2"], "t": "-3"}], ["n", "f", "l", "t"])
    )
    assert written.splitlines()[1] == '-3,-0.5,"1, 2",\'-3'


@given(st.text())
def test_the_guard_can_be_taken_back(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(DANGEROUS)


#: Cells as the reader leaves them: no control characters, no spaces at the ends or in a row.
_CELLS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp", "Cn", "Zs"])
    | st.sampled_from(" \n\"',;\t=+-@"),
    max_size=20,
).map(csv_files.clean)


@given(st.lists(st.tuples(_CELLS, _CELLS, _CELLS), min_size=1, max_size=12))
def test_our_own_reader_reads_it_back(rows: list[tuple[str, str, str]]) -> None:
    columns = ["Bag", "Part no.", "Name"]
    said = [dict(zip(columns, row, strict=True)) for row in rows]
    sheet = csv_files.load("".join(table(said, columns)).encode(), "out.csv")
    read = [tuple([*row, "", "", ""][:3]) for row in sheet.rows[1:]]
    read += [("", "", "")] * (len(rows) - len(read))
    assert (sheet.rows[0], read) == (columns, rows)


def test_a_table_of_part_lines_comes_back_as_findings(tmp_path: Path) -> None:
    lines = [
        {"number": "=1+1", "name": "@cup", "quantity": 4, "bag": "-1", "step": "2.10"},
        {"number": "+A", "name": "'-x", "quantity": 1, "bag": "K", "step": "2.11"},
    ]
    columns = {"part.number": "number", "part.name": "name", "part.quantity": "quantity",
               "bag.number": "bag", "step.number": "step"}  # fmt: skip
    taken = Table(tmp_path).take(
        "".join(table(lines, list(columns.values()))),
        change={"columns": list(columns), "heading_row": 1},
    )
    assert taken.values("part_line") == lines
