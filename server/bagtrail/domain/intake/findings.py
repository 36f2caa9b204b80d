"""A finding: a record to be, as a reader of tables, texts or manuals found it.  Pure."""

from __future__ import annotations

import dataclasses
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(slots=True)
class Ask:
    """What the reader could not know of ``field``; ``options``: likely values, likeliest first."""

    field: str
    says: str
    options: list[Any] = dataclasses.field(default_factory=list)


@dataclass(slots=True)
class Found:
    """``what`` and ``values``: see ``wire.intake.VALUES``; other things are named by their numbers.

    ``text``: what was read.  ``sure``: 0 to 1.  ``page``: of the manual, from 1.  ``row``: of the
    table or text, from 1.  ``frame``: left, top, width, height as fractions of the page.
    """

    what: str
    values: dict[str, Any]
    text: str = ""
    sure: float = 1.0
    page: int | None = None
    row: int | None = None
    frame: list[float] | None = None
    asks: list[Ask] = dataclasses.field(default_factory=list)
    left_out: bool = False
    corrected: bool = False
    #: What the reader had found, once a person has said something else.
    read: dict[str, Any] | None = None

    def content(self) -> dict[str, Any]:
        """As it is kept: everything but ``what`` and ``page``, which have columns of their own."""
        return {
            "values": self.values,
            "text": self.text,
            "sure": self.sure,
            "row": self.row,
            "frame": self.frame,
            "asks": [asdict(ask) for ask in self.asks],
            "left_out": self.left_out,
            "corrected": self.corrected,
            "read": self.read,
        }

    @classmethod
    def of(cls, what: str, page: int | None, content: dict[str, Any]) -> Found:
        """What :meth:`content` had been made from."""
        asks = [Ask(**ask) for ask in content["asks"]]
        return cls(what=what, page=page, **{**content, "asks": asks})


@dataclass(slots=True)
class Unfit:
    """A row or cell that could not be read.  ``row``: from 1; ``column``: its heading or letter."""

    file: str
    sheet: str | None
    row: int
    column: str | None
    text: str
    reason: str
