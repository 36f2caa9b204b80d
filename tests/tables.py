"""Tables for tests: written, looked at and read."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl

from bagtrail.domain.intake import tables
from bagtrail.wire.intake import Finding, Layout, Unfit, values_of

Finds = dict[str, Any]


@dataclass
class Taken:
    """What a file came to."""

    layout: dict[str, Any]
    shape: str
    findings: list[Finds]
    unfit: list[dict[str, Any]]
    rows: int

    def of(self, what: str) -> list[Finds]:
        return [one for one in self.findings if one["what"] == what]

    def values(self, what: str) -> list[dict[str, Any]]:
        return [one["values"] for one in self.of(what)]

    @property
    def fields(self) -> dict[str, str | None]:
        return {one["heading"]: one["field"] for one in self.layout["columns"]}


class Table:
    """A file of a test."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def file(self, data: bytes, name: str = "parts.csv") -> Path:
        path = self.folder / "upload"
        path.write_bytes(data)
        self.name = name
        return path

    def take(
        self, data: bytes | str, name: str = "parts.csv", *, change: dict[str, Any] | None = None,
        remembered: dict[str, Any] | None = None,
    ) -> Taken:  # fmt: skip
        """Look and read as the server does; what comes is of the wire's shapes, or it fails."""
        path = self.file(data.encode() if isinstance(data, str) else data, name)
        looked = tables.look(str(path), name, change, remembered)
        layout = looked["layout"]
        assert Layout().dump(layout) == layout
        assert len(looked["shape"]) == 64
        said: list[tuple[int, int]] = []
        read = tables.read(str(path), name, layout, lambda done, total: said.append((done, total)))
        assert said[-1][0] == said[-1][1]
        for one in read["findings"]:
            # Beside what goes over the wire: room for what was read before a person corrects it.
            assert set(one) == set(Finding().fields) - {"id"} | {"read"}
            if not one["asks"]:
                assert values_of(one["what"], one["values"]) == one["values"]
        for one in read["unfit"]:
            assert Unfit().dump(one) == one
            assert one["reason"].endswith((".", ":"))
        return Taken(layout, looked["shape"], read["findings"], read["unfit"], read["rows"])

    def book(self, *rows: Sequence[Any], **sheets: Sequence[Sequence[Any]]) -> Taken:
        return self.take(book_of(*rows, **sheets), "parts.xlsx")


def book_of(*rows: Sequence[Any], **sheets: Sequence[Sequence[Any]]) -> bytes:
    """A workbook of one sheet of rows, or of several by name, as openpyxl writes it."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(list(row))
    if sheets:
        book.remove(book.active)
    for name, said in sheets.items():
        sheet = book.create_sheet(name)
        for row in said:
            sheet.append(list(row))
    return bytes_of(book)


def bytes_of(book: openpyxl.Workbook) -> bytes:
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()
