"""Write the three manuals and what is true of them."""

from __future__ import annotations

import json
from pathlib import Path

from ..tarn6.kit import tarn_6
from .one_column import one_column
from .scanned import scanned
from .sheet import drawing_of, truth_of
from .two_columns import two_columns


def write(out: Path) -> list[Path]:
    """``tarn-6-one-column``, ``-two-columns`` (PDF, and JSON of the steps drawn), ``-scanned``
    (PDF) under ``out``; gives the PDFs."""
    out.mkdir(parents=True, exist_ok=True)
    kit = tarn_6()
    drawings = {step.number: drawing_of(step) for _, step in kit.steps()}
    made = []
    for name, make in (("one-column", one_column), ("two-columns", two_columns)):
        manual = make(kit, drawings)
        path = out / f"tarn-6-{name}.pdf"
        path.write_bytes(manual.done())
        told = json.dumps(truth_of(manual), ensure_ascii=False, indent=1)
        path.with_suffix(".json").write_text(told + "\n", encoding="utf-8")
        made.append(path)
    copy = out / "tarn-6-scanned.pdf"
    copy.write_bytes(scanned(made[0].read_bytes()))
    return [*made, copy]
