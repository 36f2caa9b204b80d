"""Reading a table of 10,000 rows: against the bare reading of the same file."""

from __future__ import annotations

import csv
import io
import random
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from bagtrail.domain.intake import tables
from tests.bench.conftest import Report

ROWS, ROUNDS = 10_000, 3
#: Look and read, with columns told, designations spelled and findings made: against csv.reader
#: and a loop over its cells, and against openpyxl's own iteration over the cells, once.
RATIO_MAX = {"csv": 90, "xlsx": 5}


def _rows() -> list[list[str | float]]:
    rnd = random.Random(6)
    rows: list[list[str | float]] = [
        ["Section", "Step", "Step title", "Minutes", "Bag", "Qty", "Part no.", "Description",
         "Designation", "Material"]
    ]  # fmt: skip
    for n in range(ROWS):
        step = n // 25
        hardware = f"M{rnd.choice([3, 4, 5])}x{rnd.randint(5, 40)} cap screw, ISO 4762"
        rows.append([
            f"Part {step // 20 + 1}", f"{step // 20 + 1}.{step % 20 + 1}", f"Title of step {step}",
            5 + step % 40, step // 8 + 1, rnd.randint(1, 12), f"B-{n % 900:03}",
            "Cap screw" if n % 3 else f"Plate {rnd.randint(1, 4000)}", hardware if n % 3 else "",
            "steel",
        ])  # fmt: skip
    return rows


def _bare_csv(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        assert sum(1 for row in csv.reader(file) for cell in row if cell.strip()) > 9 * ROWS


def _bare_xlsx(path: Path) -> None:
    book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    assert sum(1 for row in book.active.iter_rows() for cell in row if cell.value) > 9 * ROWS
    book.close()


def _csv(path: Path) -> None:
    held = io.StringIO()
    csv.writer(held).writerows(_rows())
    path.write_text(held.getvalue(), encoding="utf-8", newline="")


def _xlsx(path: Path) -> None:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    for row in _rows():
        sheet.append(row)
    book.save(path)


@pytest.mark.parametrize(
    ("kind", "write", "bare"), [("csv", _csv, _bare_csv), ("xlsx", _xlsx, _bare_xlsx)]
)
def test_ten_thousand_rows(
    kind: str, write: Callable[[Path], None], bare: Callable[[Path], None], tmp_path: Path,
    report: Report, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = tmp_path / f"list.{kind}"
    write(path)
    ratios, seconds = [], []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        bare(path)
        floor = time.perf_counter() - began
        # As in a new process, which has no sheet at hand.
        monkeypatch.setattr(tables, "_kept", None)
        began = time.perf_counter()
        layout = tables.look(str(path), path.name, None, None)["layout"]
        read = tables.read(str(path), path.name, layout, lambda *_: None)
        seconds.append(time.perf_counter() - began)
        ratios.append(seconds[-1] / floor)
        lines = [one for one in read["findings"] if one["what"] == "part_line"]
        assert (len(lines), read["unfit"], read["rows"]) == (ROWS, [], ROWS)
    took, ratio = statistics.median(seconds), statistics.median(ratios)
    report(
        f"reading {ROWS:,} rows of {kind}: {took:.2f} s, {ROWS / took:,.0f} rows/s,"
        f" {ratio:.1f} times the bare reading (at most {RATIO_MAX[kind]})"
    )
    assert ratio <= RATIO_MAX[kind]
