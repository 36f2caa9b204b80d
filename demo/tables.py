"""The demo kit as tables, in four shapes in which such lists are met.

``python -m demo.tables`` writes them to demo/out/tables: a CSV with commas and English headings,
one of a German spreadsheet program, a workbook with joined cells, and a text with whole part lines.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.worksheet.worksheet import Worksheet

from .model import SectionNote, StepNote
from .records import KitNote, PartNote
from .tarn6.kit import tarn_6

OUT = Path(__file__).parent / "out" / "tables"
_GERMAN = {
    "steel": "Stahl", "rubber": "Gummi", "paper": "Papier", "brass": "Messing",
    "aluminium": "Aluminium", "spring steel": "Federstahl",
}  # fmt: skip
_WHEN = datetime(2026, 1, 5, 18, 0)  # noqa: DTZ001  (a workbook's times have no zone)


@dataclass(frozen=True)
class Row:
    """A part line with the step and section it stands at; none for what is only in a bag."""

    section: SectionNote | None
    step: StepNote | None
    bag: str
    quantity: int
    part: PartNote


def rows_of(kit: KitNote) -> Iterator[Row]:
    """All part lines in the order of the manual, then the spares of the bags."""
    for section, step in kit.steps():
        for line in sorted(step.lines, key=lambda line: step.bags.index(line.bag)):
            yield Row(section, step, line.bag, line.quantity, kit.parts[line.part])
    for quantity, part, bag in kit.spares:
        yield Row(None, None, bag, quantity, kit.parts[part])


def comma(kit: KitNote, path: Path) -> None:
    """UTF-8, commas, English headings, everything on every row."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["Section", "Step", "Step title", "Minutes", "Bag", "Qty", "Part no.",
                         "Description", "Designation", "Material"])  # fmt: skip
        for row in rows_of(kit):
            step, part = row.step, row.part
            writer.writerow([
                row.section.title if row.section else "", step.number if step else "",
                step.title if step else "", f"{step.minutes:g}" if step else "", row.bag,
                row.quantity, part.number, part.name, part.designation or "", part.material,
            ])  # fmt: skip


def semicolon(kit: KitNote, path: Path) -> None:
    """Windows-1252, semicolons, decimal comma, German headings."""
    with path.open("w", encoding="cp1252", newline="") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerow(["Baugruppe", "Bauschritt", "Schritttitel", "Dauer (min)", "Tüte", "Stück",
                         "Art.-Nr.", "Bezeichnung", "Norm / Größe", "Werkstoff"])  # fmt: skip
        for row in rows_of(kit):
            step, part = row.step, row.part
            writer.writerow([
                f"{row.section.mark}: {row.section.title}" if row.section else "",
                step.number if step else "", step.title if step else "",
                f"{step.minutes:.1f}".replace(".", ",") if step else "", f"Tüte {row.bag}",
                f"{row.quantity},0" if row.quantity > 9 else row.quantity, part.number, part.name,
                part.designation or "", _GERMAN.get(part.material, part.material),
            ])  # fmt: skip


def workbook(kit: KitNote, path: Path) -> None:
    """Two sheets: steps with their operations, and parts with joined cells for step and bag."""
    book = Workbook()
    book.properties.created = book.properties.modified = _WHEN
    book.properties.creator = "Corrie Model Works"
    steps: Worksheet = book.active
    steps.title = "Steps"
    steps.append(["Section", "Step", "Title", "Minutes", "Bags needed", "Operation"])
    for section, step in kit.steps():
        for place, text in enumerate(step.operations):
            steps.append([section.title, step.number, step.title, step.minutes,
                          ", ".join(step.bags), text] if place == 0 else
                         [None, step.number, None, None, None, text])  # fmt: skip
    parts = book.create_sheet("Parts")
    parts.append(["Tarn 6: parts by step"])
    parts.merge_cells("A1:G1")
    parts["A1"].font = Font(bold=True)
    parts.append([])
    parts.append(["Step", "Title of step", "Bag", "Pcs", "Part number", "Part name", "Norm"])
    first = {"step": 4, "bag": 4}
    last: Row | None = None
    for number, row in enumerate(rows_of(kit), 4):
        new_step = last is None or last.step is not row.step or row.step is None
        new_bag = new_step or last is None or last.bag != row.bag
        if new_bag:
            _join(parts, "C", first["bag"], number - 1)
            first["bag"] = number
        if new_step:
            _join(parts, "A", first["step"], number - 1)
            _join(parts, "B", first["step"], number - 1)
            first["step"] = number
        step, part = row.step, row.part
        parts.append([
            step.number if step and new_step else None, step.title if step and new_step else None,
            int(row.bag) if new_bag else None, row.quantity, part.number, part.name,
            part.designation,
        ])  # fmt: skip
        last = row
    end = parts.max_row
    _join(parts, "C", first["bag"], end)
    book.save(path)


def _join(sheet: Worksheet, column: str, top: int, bottom: int) -> None:
    if bottom > top:
        sheet.merge_cells(f"{column}{top}:{column}{bottom}")
        sheet[f"{column}{top}"].alignment = Alignment(vertical="top")


def lines(kit: KitNote, path: Path) -> None:
    """Tabs; quantity, what it is and its number in one column."""
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write("Step\tStep title\tBag\tParts needed\r\n")
        for row in rows_of(kit):
            step, part = row.step, row.part
            said = part.designation or part.name
            file.write(
                f"{step.number if step else ''}\t{step.title if step else ''}\t{row.bag}\t"
                f"{row.quantity} x {said} ({part.number})\r\n"
            )


#: Name of each file and what writes it.
SHAPES = {
    "tarn-6-parts.csv": comma,
    "tarn-6-teile.csv": semicolon,
    "tarn-6.xlsx": workbook,
    "tarn-6-lines.txt": lines,
}


def main(out: Path = OUT) -> list[Path]:
    """Write all four under ``out``; gives their paths."""
    out.mkdir(parents=True, exist_ok=True)
    kit = tarn_6()
    for name, write in SHAPES.items():
        write(kit, out / name)
    return [out / name for name in SHAPES]


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=OUT, help="folder to write to")
    for made in main(parser.parse_args().out):
        print(made)
