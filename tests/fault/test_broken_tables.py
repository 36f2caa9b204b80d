"""Broken and hostile tables: a sentence for the person, never a trace, never without end."""

from __future__ import annotations

import contextlib
import csv
import io
import os
import random
import struct
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bagtrail.domain.intake import tables
from bagtrail.domain.intake.tables import CannotRead, csv_files, sheets, workbooks
from tests.tables import Table, book_of

HEADINGS = ["Step", "Bag", "Qty", "Part no.", "Name", "Minutes"]
ROWS = [["1.1", 1, 2, "AB-1", "M3x12 cap screw", 7.5], ["1.2", 2, 4, "AB-2", "Lower arm", 20]]
BOOK = book_of(HEADINGS, *ROWS, *ROWS)
CSV = (",".join(HEADINGS) + "\r\n" + "".join(f"{','.join(map(str, r))}\r\n" for r in ROWS)).encode()
ROOT = Path(__file__).resolve().parents[2]
NS = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


@pytest.fixture
def table(tmp_path: Path) -> Table:
    return Table(tmp_path)


def _told(table: Table, data: bytes, name: str = "parts.xlsx") -> str:
    """The sentence with which a file is refused; look and read say the same."""
    path = table.file(data, name)
    with pytest.raises(CannotRead) as refused:
        tables.look(str(path), name, None, None)
    said = str(refused.value)
    assert said.endswith((".", ")."))
    assert str(table.folder) not in said
    return said


def _part(name: str, change: Callable[[bytes], bytes]) -> bytes:
    """The workbook with one of its parts changed, or added if it is not there."""
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(BOOK)) as old, zipfile.ZipFile(held, "w", 8) as new:
        for info in old.infolist():
            data = old.read(info)
            new.writestr(info.filename, change(data) if info.filename == name else data)
        if name not in old.namelist():
            new.writestr(name, change(b""))
    return held.getvalue()


def _sheet(rows: bytes, tail: bytes = b"") -> bytes:
    xml = f"<worksheet {NS}><sheetData>".encode() + rows + b"</sheetData>" + tail + b"</worksheet>"
    return _part("xl/worksheets/sheet1.xml", lambda _: xml)


# What is no table


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"", "empty"),
        (b" \r\n\t", "empty"),
        (b"%PDF-1.7\n1 0 obj\n", "PDF"),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "picture"),
        (b"\xff\xd8\xff\xe0" + bytes(100), "picture"),
        (b"<!DOCTYPE html><html><table>", "web page"),
        (b"<?xml version='1.0'?><a/>", "XML"),
        (b"{\\rtf1 table", "text document"),
        (b'{"a": 1}', "JSON"),
        (b"\x1f\x8b\x08" + bytes(30), "packed"),
        (bytes(range(256)) * 40, "no table"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000), "old kind"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "password"),
        (b"Qty,Part no.,Name\r\n", "no rows"),
        (b",,,\r\n,,\r\n", "empty"),
    ],
)
def test_what_is_no_table_is_said_in_words(table: Table, data: bytes, word: str) -> None:
    assert word in _told(table, data)


@pytest.mark.parametrize(
    ("names", "word"),
    [
        (["readme.txt"], "archive"),
        (["mimetype", "content.xml"], "XLSX or CSV"),
        (["[Content_Types].xml", "word/document.xml"], "another kind"),
        (["[Content_Types].xml", "xl/workbook.bin"], "binary"),
        (["[Content_Types].xml", "xl/workbook.xml"], "damaged"),
    ],
)
def test_other_archives(table: Table, names: list[str], word: str) -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name in names:
            archive.writestr(name, "x")
    assert word in _told(table, held.getvalue())


def test_locked_archive(table: Table) -> None:
    """The encryption bit of the general purpose flag (APPNOTE 4.4.4, bit 0)."""
    data = bytearray(BOOK)
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        flags = struct.unpack_from("<H", data, at + 8)[0]
        struct.pack_into("<H", data, at + 8, flags | 1)
        at = data.find(b"PK\x01\x02", at + 4)
    assert "password" in _told(table, bytes(data))


# Bounds


def test_too_many_bytes(table: Table) -> None:
    assert "25 MB" in _told(table, b"a,b\n" * 6_250_001, "a.csv")


def test_too_many_rows_columns_and_cells(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "200,000 rows" in _told(table, b"a,b\n" * 200_002, "a.csv")
    assert "501 columns" in _told(table, b"\n".join([b",".join([b"x"] * 501)] * 3), "a.csv")
    assert "501 columns" in _told(table, book_of(["x"] * 501))
    monkeypatch.setattr(sheets, "CELLS_MAX", 1000)
    assert "1,000 cells" in _told(table, b"a,b,c\n" * 400, "a.csv")


def test_an_endless_line(table: Table) -> None:
    assert "no table of parts" in _told(table, b"a,b\n" + b"x" * 1_000_001 + b"\n", "a.csv")


def test_a_cell_of_a_megabyte_is_cut_and_told(table: Table) -> None:
    taken = table.take(b"Qty,Part no.,Name,Bag\n1,AB-1,Arm,1\n1,AB-2," + b"y" * 500_000 + b",1\n")
    assert [one["number"] for one in taken.values("part_line")] == ["AB-1"]
    assert taken.unfit[0]["row"] == 3
    assert len(taken.unfit[0]["text"]) < 1000


# Workbooks that want too much

_ROW = b'<row r="%d"><c r="A%d" t="inlineStr"><is><t>x</t></is></c></row>'


def _bombs() -> Iterator[tuple[str, Callable[[], bytes]]]:
    spaces = b" " * 30_000_000
    yield "styles of 30 MB", lambda: _part("xl/styles.xml", lambda old: old + spaces)
    yield "450 MB", lambda: _sized(450_000_000)
    yield "a row of 20 MB", lambda: _sheet(b"<row>" + b"<c/>" * 5_000_000 + b"</row>")
    yield "a tail of 20 MB", lambda: _sheet(_ROW % (1, 1), b"<a/>" * 5_000_000)
    yield "two million rows", lambda: _sheet(b"<row><c/></row>" * 2_000_000)
    yield (
        "strings",
        lambda: _part(
            "xl/sharedStrings.xml",
            lambda _: f"<sst {NS}>".encode() + b"<si><t/></si>" * 1_100_000 + b"</sst>",
        ),
    )
    yield "many parts", _many
    yield (
        "utf-16",
        lambda: _part("xl/worksheets/sheet1.xml", lambda old: old.decode().encode("utf-16")),
    )


def _many() -> bytes:
    held = io.BytesIO(BOOK)
    with zipfile.ZipFile(held, "a") as archive:
        for number in range(5_001):
            archive.writestr(f"xl/media/{number}", b"")
    return held.getvalue()


def _sized(size: int) -> bytes:
    """The workbook, whose archive says that each part unpacks to ``size`` bytes."""
    data = bytearray(BOOK)
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        struct.pack_into("<I", data, at + 24, size)
        at = data.find(b"PK\x01\x02", at + 4)
    return bytes(data)


_BOUNDED = """
import pathlib, re, resource, sys
resource.setrlimit(resource.RLIMIT_AS, (700_000_000, 700_000_000))
resource.setrlimit(resource.RLIMIT_CPU, (30, 30))
from bagtrail.domain.intake import tables
try:
    tables.look(sys.argv[1], "parts.xlsx", None, None)
except tables.CannotRead as refused:
    print(refused)
    # Not ru_maxrss: that begins with what the parent had when it forked.
    peak_kb = int(re.search(r"VmHWM:\\s+(\\d+)", pathlib.Path("/proc/self/status").read_text())[1])
    sys.exit(0 if peak_kb < 400_000 else 3)
sys.exit(4)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="bounds of a process as Linux has them")
@pytest.mark.parametrize(("name", "make"), list(_bombs()), ids=[name for name, _ in _bombs()])
def test_what_unpacks_too_far_is_refused_soon_and_small(
    table: Table, name: str, make: Callable[[], bytes]
) -> None:
    """In a process of 700 MB and 30 s of computing; without bounds most want gigabytes."""
    data = make()
    assert len(data) < 3_000_000
    ran = subprocess.run(
        [sys.executable, "-c", _BOUNDED, str(table.file(data))],
        capture_output=True, text=True, env={**os.environ, "PYTHONPATH": "server"}, cwd=ROOT,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    assert "workbook" in ran.stdout


ENTITIES = (
    b'<!DOCTYPE x [<!ENTITY a "ha">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
    + b"]>"
)


@pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml",
                                  "[Content_Types].xml", "xl/sharedStrings.xml",
                                  "docProps/core.xml"])  # fmt: skip
def test_entities_are_refused_wherever_they_stand(table: Table, part: str) -> None:
    """Entities within entities, which grow tenfold with each level, and one that names a file."""

    def with_type(old: bytes) -> bytes:
        head, _, rest = old.partition(b"?>")
        return (head + b"?>" if rest else b"") + ENTITIES + (rest or head)

    outside = b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>'
    assert "entities" in _told(table, _part(part, with_type))
    assert "entities" in _told(table, _part(part, lambda old: outside + old))


def test_an_archive_that_understates_its_sizes(table: Table) -> None:
    """What a part unpacks to beyond the size that the archive states is never unpacked."""
    assert "damaged" in _told(table, _sized(1000))


@pytest.mark.parametrize(
    "rows",
    [
        b'<row r="999999999999"><c r="A999999999999"><v>1</v></c></row>',
        b'<row r="1"><c r="ZZZZZZZZ1"><v>1</v></c></row>',
        b'<row r="-5"><c r="A1"><v>1</v></c></row>',
        b'<row r="x"><c r="A1"><v>1</v></c></row>',
        b'<row r="1"><c r="A1"><v>1e999</v></c></row>',
        b'<row r="1"><c r="A1"><v>' + b"9" * 5000 + b"</v></c></row>",
        b'<row r="1"><c r="A1" t="s"><v>99999</v></c></row>',
        b'<row r="1"><c r="A1" s="99999"><v>1</v></c></row>',
        b'<row r="1"><c r="A1" t="d"><v>yesterday</v></c></row>',
        b'<row r="1"><c r="" t="b"><v>maybe</v></c></row>',
        b'<row r="2"/><row r="1"/>',
        b"<row>" + b"<c>" * 3000 + b"</c>" * 3000 + b"</row>",
    ],
)
def test_odd_rows_are_read_or_refused(table: Table, rows: bytes) -> None:
    _read_or_refuse(table, _sheet(_ROW % (1, 1) + rows), "a.xlsx")


def test_kept_results_are_read_and_links_are_not_followed(table: Table) -> None:
    """A formula counts by its ``v`` (ECMA-376, 18.3.1.96), also one that asks another file."""
    head = "".join(
        f'<c r="{at}1" t="inlineStr"><is><t>{said}</t></is></c>'
        for at, said in zip("ABC", ["Bag", "Qty", "Part no."], strict=True)
    )
    cells = '<c r="A%d"><v>1</v></c><c r="B%d"><f>%s</f>%s</c><c r="C%d" t="str"><v>AB-%d</v></c>'
    rows = [("1+1", "<v>2</v>"), ("[1]Other!$A$1", "<v>5</v>"), ("1+1", ""), ("1+1", "<v></v>"),
            ("1/0", "<v>#DIV/0!</v>")]  # fmt: skip
    body = "".join(
        f'<row r="{n}">{cells % (n, n, formula, kept, n, n)}</row>'
        for n, (formula, kept) in enumerate(rows, 2)
    ).replace('<c r="B6">', '<c r="B6" t="e">')
    taken = table.take(_sheet(f'<row r="1">{head}</row>{body}'.encode()), "a.xlsx")
    assert [one["quantity"] for one in taken.values("part_line")] == [2, 5]
    assert [(one["row"], one["text"]) for one in taken.unfit] == [
        (4, "formula"), (5, "formula"), (6, "#DIV/0!"),
    ]  # fmt: skip


def test_a_cell_far_down_costs_little(table: Table) -> None:
    """The last row that a spreadsheet program has, reached with one key."""
    far = b'<row r="1048576"><c r="B1048576"><v>4</v></c></row>'
    change = {"heading_row": 0, "columns": ["part.name", "part.quantity"]}
    taken = table.take(_sheet(_ROW % (1, 1) + _ROW % (2, 2) + far), "a.xlsx", change=change)
    assert taken.unfit[0]["row"] == 1_048_576


def test_a_dimension_that_lies_hides_no_row(table: Table) -> None:
    data = _part(
        "xl/worksheets/sheet1.xml",
        lambda old: old.replace(b'<dimension ref="A1:F5"', b'<dimension ref="A1:A1"'),
    )
    assert data != BOOK
    assert len(table.take(data, "a.xlsx").of("part_line")) == 4


# Anything at all


def _read_or_refuse(table: Table, data: bytes, name: str) -> None:
    began = time.perf_counter()
    with contextlib.suppress(CannotRead):
        table.take(data, name)
    assert time.perf_counter() - began < 20


_FREE = settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@_FREE
@given(data=st.binary(max_size=400), name=st.sampled_from(["a.csv", "a.xlsx", "", "\x00"]))
def test_any_bytes(table: Table, data: bytes, name: str) -> None:
    _read_or_refuse(table, data, name)


_BITS = ["Bag", "Qty", "Step", "Menge", "Part no.", "Beutel 3", "2.1", "2.10", "1,5", "1.000,5",
         '"', '""', "'", ",", ";", "\t", "|", "\r", "\n", "\r\n", "=1+1", "M3x12", "4 x", "#N/A",
         "1-2", "Total", "Note: x", "\x00", "\ufeff", "ü", "  ", "-", "x" * 200]  # fmt: skip


@_FREE
@given(
    bits=st.lists(st.sampled_from(_BITS) | st.text(max_size=6), max_size=120),
    encoding=st.sampled_from(["utf-8", "utf-16", "cp1252", "utf-32"]),
)
def test_any_text(table: Table, bits: list[str], encoding: str) -> None:
    _read_or_refuse(table, "".join(bits).encode(encoding, "replace"), "a.csv")


@_FREE
@given(
    rows=st.lists(
        st.lists(st.sampled_from(_BITS[:8] + _BITS[-8:]) | st.text(max_size=9), max_size=7),
        max_size=20,
    ),
    fields=st.lists(st.sampled_from([*tables.COLUMNS, None]), max_size=7),
    heading_row=st.integers(0, 100),
    decimal=st.sampled_from([".", ","]),
)  # fmt: skip
def test_any_rows_by_any_layout(
    table: Table, rows: list[list[str]], fields: list[Any], heading_row: int, decimal: str
) -> None:
    change = {"columns": fields, "heading_row": heading_row, "decimal": decimal}
    text = "\n".join(";".join(cell.replace("\n", " ") for cell in row) for row in rows)
    with contextlib.suppress(CannotRead):
        table.take(text.encode("utf-8", "replace"), "a.csv", change=change)


_SAID = ["Bag 3", "Beutel A", "Step 2.1 Axle", "2.1", "2.10", "2.9", "2.11", "1", "4x", "3 pcs",
         "AB-12", "M3x12 cap screw", "M3", "Lower arm", "Total", "Note: x", "", "1-2", "02. Jan",
         "#N/A", "-", "=1", "1,5", "1.000", "7.5", "A", "A: Frame", "1, 2", "1-4", "x" * 170,
         "z" * 30, "y" * 4100, "Fit the arms.", "é\n2", "20 min", "1:30", '"']  # fmt: skip
_HEADS = ["Bag", "Qty", "Step", "Part no.", "Name", "Minutes", "Title", "Bags", "Section", "Pos",
          "Operation", "Designation", "Parts needed", "Notes", "", "Contents", "Menge"]  # fmt: skip


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("seed", range(60))
def test_lists_of_everything_at_once(table: Table, seed: int, kind: str) -> None:
    """Rows that might be a list, with few different words, so that columns come to mean things."""
    rnd = random.Random(f"{seed}{kind}")
    wide = rnd.randint(1, 8)
    words = rnd.sample(_SAID, rnd.randint(4, 20))
    rows = [[rnd.choice(_HEADS) for _ in range(wide)]] * (rnd.random() < 0.8)
    rows += [
        [rnd.choice(words) for _ in range(rnd.choice([wide, wide, wide, wide - 1, wide + 1, 1]))]
        for _ in range(rnd.randint(1, 30))
    ]
    columns = [rnd.choice([*tables.COLUMNS, None]) for _ in range(rnd.randint(0, wide + 1))]
    change = {"columns": columns} if rnd.random() < 0.4 else None
    if kind == "csv":
        held = io.StringIO()
        csv.writer(held, delimiter=rnd.choice(",;\t|")).writerows(rows)
        data = held.getvalue().encode()
    else:
        data = book_of(*[[_number(cell) for cell in row] for row in rows])
    with contextlib.suppress(CannotRead):
        table.take(data, f"a.{kind}", change=change)


def _number(cell: str) -> str | float:
    return float(cell) if cell.replace(".", "", 1).isdigit() else cell


@pytest.mark.parametrize("seed", range(150))
def test_workbooks_with_a_few_bytes_changed(table: Table, seed: int) -> None:
    rnd = random.Random(seed)
    data = bytearray(BOOK)
    for _ in range(rnd.randint(1, 12)):
        data[rnd.randrange(len(data))] = rnd.randrange(256)
    if seed % 5 == 0:
        del data[rnd.randrange(len(data)) :]
    _read_or_refuse(table, bytes(data), "a.xlsx")


@pytest.mark.parametrize("seed", range(250))
def test_workbooks_whose_xml_is_changed(table: Table, seed: int) -> None:
    """Whole archives, checksums right, with words of one part swapped, doubled or torn out."""
    rnd = random.Random(seed)
    with zipfile.ZipFile(io.BytesIO(BOOK)) as archive:
        name = rnd.choice(archive.namelist())

    def torn(old: bytes) -> bytes:
        words = old.replace(b">", b">\x01").replace(b'"', b'"\x01').split(b"\x01")
        for _ in range(rnd.randint(1, 4)):
            at, other = rnd.randrange(len(words)), rnd.randrange(len(words))
            match rnd.randrange(4):
                case 0:
                    words[at], words[other] = words[other], words[at]
                case 1:
                    words[at] = b""
                case 2:
                    words[at] *= rnd.choice([2, 50])
                case _:
                    words[at] = rnd.choice([b"-1", b"99999999999", b"\xff", b"<", b"&#0;", b"A0"])
        return b"".join(words)

    _read_or_refuse(table, _part(name, torn), "a.xlsx")


@pytest.mark.parametrize("seed", range(60))
def test_csv_with_a_few_bytes_changed(table: Table, seed: int) -> None:
    rnd = random.Random(seed)
    data = bytearray(CSV * 5)
    for _ in range(rnd.randint(1, 30)):
        data[rnd.randrange(len(data))] = rnd.choice(b"\x00\",;\r\n\xff\t='")
    _read_or_refuse(table, bytes(data), "a.csv")


def test_quotation_marks_everywhere_do_not_slow_it_down(table: Table) -> None:
    """Each line opens a cell that nothing closes."""
    lines = [f'"{n},x\n' for n in range(20_001)]
    began = time.perf_counter()
    rows = list(csv_files.records(lines, ","))
    assert time.perf_counter() - began < 20
    assert len(rows) >= 10_000


def test_bounds_are_those_that_are_documented() -> None:
    assert (sheets.FILE_BYTES_MAX, sheets.ROWS_MAX, sheets.COLUMNS_MAX, sheets.CELL_MAX) == (
        25_000_000, 200_000, 500, 4000,
    )  # fmt: skip
    assert workbooks.UNPACKED_MAX == 400_000_000
