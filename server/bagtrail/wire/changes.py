"""A change: one write to one record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple


class Change(NamedTuple):
    """See server/PROTOCOL.md.  ``group``: (counter of its first change, number of changes)."""

    clock: str
    counter: int
    type: str
    record: str
    set: Mapping[str, Any]
    stamp: str
    supersedes: Sequence[str] = ()
    group: tuple[int, int] | None = None

    @property
    def id(self) -> str:
        return f"{self.clock}.{self.counter}"
