"""CSV and text encodings against outside sources: RFC 4180, Python's csv module and codecs."""

from __future__ import annotations

import codecs
import csv
import io
import random

import pytest

from bagtrail.domain.intake.tables import csv_files

#: RFC 4180, section 2, rules 1 to 7: the samples as printed there.
RFC_4180 = [
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    (
        "field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
        [["field_name"] * 3, ["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]],
    ),
    ("aaa,bbb,ccc", [["aaa", "bbb", "ccc"]]),
    ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),
]


@pytest.mark.parametrize(("text", "rows"), RFC_4180)
def test_samples_of_rfc_4180(text: str, rows: list[list[str]]) -> None:
    assert csv_files.load(text.encode(), "a.csv").rows == rows


WORDS = ["Tüte", "Größe", "M3x12", "2,5", "a;b", 'a "b" c', "two\nlines", "x|y", "", "Ø 5", "4.50"]


@pytest.mark.parametrize("delimiter", csv_files.DELIMITERS)
@pytest.mark.parametrize("ends", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
def test_what_the_csv_module_writes(delimiter: str, ends: str, quoting: int) -> None:
    rnd = random.Random(f"{delimiter}{ends}{quoting}")
    rows = [["Tüte", "Menge", "Bezeichnung", "Maß"]]
    # The module's writer leaves a LF without quotation marks where lines end with CR.
    bare = ends == "\r" and quoting == csv.QUOTE_MINIMAL
    words = [word for word in WORDS if not (bare and "\n" in word)]
    rows += [[*rnd.choices(words, k=3), "end"] for _ in range(60)]
    held = io.StringIO()
    csv.writer(held, delimiter=delimiter, lineterminator=ends, quoting=quoting).writerows(rows)
    sheet = csv_files.load(held.getvalue().encode("utf-8"), "a.csv")
    assert (sheet.rows, sheet.delimiter) == (rows, delimiter)


@pytest.mark.parametrize(
    ("encoding", "mark", "shown"),
    [
        ("utf-8", b"", "UTF-8"),
        ("utf-8", codecs.BOM_UTF8, "UTF-8"),
        ("utf-16-le", codecs.BOM_UTF16_LE, "UTF-16"),
        ("utf-16-be", codecs.BOM_UTF16_BE, "UTF-16"),
        ("utf-16-le", b"", "UTF-16-LE"),
        ("utf-16-be", b"", "UTF-16-BE"),
        ("utf-32-le", codecs.BOM_UTF32_LE, "UTF-32"),
        ("cp1252", b"", "Windows-1252"),
        ("latin-1", b"", "Windows-1252"),
    ],
)
def test_encodings(encoding: str, mark: bytes, shown: str) -> None:
    """Python's codecs write; every letter of Latin-1 that is no control character comes back."""
    letters = "".join(map(chr, range(0xA1, 0x100)))
    text = f"Tüte;Stück;{letters}\r\n1;2;Größe\r\n"
    sheet = csv_files.load(mark + text.encode(encoding), "a.csv")
    # The soft hyphen of Latin-1 is a character as others are.
    assert sheet.rows == [["Tüte", "Stück", letters], ["1", "2", "Größe"]]
    assert sheet.encoding == shown


def test_what_only_windows_1252_has() -> None:
    """Bytes 0x80 to 0x9F after Python's table of cp1252; five of them mean nothing there."""
    data = bytes(code for code in range(0x80, 0xA0))
    text, encoding = csv_files.text_of(b"a;" + data + b";" + b"plain text " * 40)
    said = text.split(";")[1]
    assert encoding == "cp1252"
    for code, character in zip(data, said, strict=True):
        try:
            assert character == bytes([code]).decode("cp1252")
        except UnicodeDecodeError:
            assert code in (0x81, 0x8D, 0x8F, 0x90, 0x9D)


def test_a_mark_that_lies_is_told() -> None:
    with pytest.raises(csv_files.CannotRead, match="UTF-8, and is not"):
        csv_files.load(codecs.BOM_UTF8 + "Tüte;1\n".encode("cp1252"), "a.csv")


def test_a_quotation_mark_that_nothing_closes_costs_one_row() -> None:
    """An inch mark at the start of a cell is common in parts lists; the csv module alone would
    take all that follows for one cell."""
    text = 'Qty\tSize\tName\n2\t"3/8 bolt\tLong\n' + "1\tM3\tShort\n" * 200
    rows = csv_files.load(text.encode(), "a.tsv").rows
    assert rows[1] == ["2", '"3/8 bolt', "Long"]
    assert rows[2:] == [["1", "M3", "Short"]] * 200


def test_an_order_about_the_delimiter_is_no_row() -> None:
    sheet = csv_files.load(b"sep=;\r\na,b;c\r\n1,5;2\r\n", "a.csv")
    assert (sheet.rows, sheet.delimiter) == ([["a,b", "c"], ["1,5", "2"]], ";")


def test_lines_without_a_delimiter_are_cells() -> None:
    """Commas of a sentence are none."""
    text = "Parts\n4 x M3x12 cap screw, ISO 4762\n2 x Lower arm, left\n1 x Plate\n2 x Pin, long\n"
    sheet = csv_files.load(text.encode(), "a.txt")
    assert sheet.delimiter is None
    assert [len(row) for row in sheet.rows] == [1] * 5
