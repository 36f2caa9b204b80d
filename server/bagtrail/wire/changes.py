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


class Foreign(NamedTuple):
    """A change as another journal holds it.  ``claimed``: the stamp that its author gave it, where
    a server gave it another; ``received_ms``: when a server first had it (ms since 1970)."""

    change: Change
    claimed: str | None
    received_ms: int
