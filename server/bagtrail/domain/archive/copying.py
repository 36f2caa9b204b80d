"""An archive whose ids cannot stand here becomes a copy: new ids for everything in it.  Pure.

Every new id follows from a *salt* and the old one, so that the same archive, or a later one of the
same kit, comes to the same copy again.
"""

from __future__ import annotations

import hashlib
import re
import uuid
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from marshmallow import fields as kinds

from ...wire.changes import Change, Foreign
from ...wire.fields import CHANGE_PATTERN, Ref
from ...wire.records import RECORDS, derived_id, field_kinds
from .content import Archive

_CHANGE = re.compile(CHANGE_PATTERN)
#: Digits of a clock that a copy keeps, so that clocks sort among each other as they did.
_KEPT = 8


def first_salt(into: str, source: str) -> uuid.UUID:
    """Namespace of the ids of what comes from the workshop ``source``; ``into``: the workshop, or
    the kit of this workshop, to which it comes."""
    return uuid.uuid5(uuid.UUID(into), f"archive of {source}")


def next_salt(salt: uuid.UUID) -> uuid.UUID:
    """The one to take where a copy by this one was deleted since."""
    return uuid.uuid5(salt, "again")


def renamed(salt: uuid.UUID | None, id_: str) -> str:
    return id_ if salt is None else str(uuid.uuid5(salt, id_))


class Clocks:
    """New clocks for those that occur in an archive, for one salt.

    Two changes made in the same instant are in the order of their clocks; so the new ones sort as
    the old ones did.  The first half of a clock stays; where some share it, the second halves are
    dealt out in order.
    """

    def __init__(self, salt: uuid.UUID, clocks: Iterable[str]) -> None:
        groups: defaultdict[str, list[str]] = defaultdict(list)
        for clock in sorted(set(clocks)):
            groups[clock[:_KEPT]].append(clock)
        self._salt = salt
        self._new: dict[str, str] = {}
        for kept, members in groups.items():
            ends = sorted(self._end(clock) for clock in members)
            self._new |= {old: kept + end for old, end in zip(members, ends, strict=True)}

    def __getitem__(self, clock: str) -> str:
        return self._new.get(clock) or clock[:_KEPT] + self._end(clock)

    def change(self, id_: str) -> str:
        """New id of a change."""
        clock, counter = id_.split(".")
        return f"{self[clock]}.{counter}"

    def stamp(self, stamp: str) -> str:
        return stamp[:16] + self[stamp[16:]]

    def _end(self, clock: str) -> str:
        digest = hashlib.sha256(f"{self._salt}:{clock}".encode()).hexdigest()
        return digest[: 16 - _KEPT]


class Copying:
    """How the changes of an archive come into this workshop.

    ``salts``: for each kit or build of the archive its salt, or None where it comes in as it is;
    ``device_salt`` the same for devices.  ``names``: new ids of everything that gets one.
    """

    def __init__(
        self,
        archive: Archive,
        salts: Mapping[str, uuid.UUID | None],
        device_salt: uuid.UUID | None,
    ) -> None:
        self._archive = archive
        self.salts = salts
        self.clocks = {
            salt: Clocks(salt, archive.clocks) for salt in salts.values() if salt is not None
        }
        self.names = {one.id: renamed(device_salt, one.id) for one in archive.devices}
        derived = []
        for id_, record in archive.records.items():
            salt = salts[record.root]
            if salt is not None and record.parts is not None:
                derived.append((id_, record.type, record.parts))
            else:
                self.names[id_] = renamed(salt, id_)
        for id_, type_, parts in derived:
            # A device here that makes the same pair must come to the same record.
            self.names[id_] = derived_id(type_, *(self.names.get(part, part) for part in parts))

    @property
    def copies(self) -> bool:
        return any(salt is not None for salt in self.salts.values())

    def change(self, foreign: Foreign) -> Foreign:
        """The change as it is to stand here."""
        change, claimed, received_ms = foreign
        salt = self.salts[self._archive.records[change.record].root]
        if salt is None:
            return foreign
        clocks = self.clocks[salt]
        new = Change(
            clocks[change.clock],
            change.counter,
            change.type,
            self.names[change.record],
            self._fields(change.type, change.set, clocks),
            clocks.stamp(change.stamp),
            [clocks.change(id_) for id_ in change.supersedes],
            change.group,
        )
        return Foreign(new, clocks.stamp(claimed) if claimed else None, received_ms)

    def intake(self, record: str, fields: dict[str, list[Any]]) -> tuple[str, dict[str, list[Any]]]:
        """What an intake wrote to a record, as it is to stand here."""
        of = self._archive.records[record]
        salt = self.salts[of.root]
        if salt is None:
            return record, fields
        clocks = self.clocks[salt]
        values = self._fields(of.type, {name: said[0] for name, said in fields.items()}, clocks)
        return self.names[record], {
            name: [values[name], clocks.change(said[1])] for name, said in fields.items()
        }

    def _fields(self, type_: str, fields: Mapping[str, Any], clocks: Clocks) -> dict[str, Any]:
        known = field_kinds(type_) if type_ in RECORDS else {}
        new = {}
        for name, value in fields.items():
            if name == "deleted":
                value = [clocks.change(id_) for id_ in value] if value is not None else None
            elif name not in known:
                value = self._anywhere(value, clocks)
            elif _refers(known[name]):
                value = _each(value, lambda one: self.names.get(one, one))
            new[name] = value
        return new

    def _anywhere(self, value: Any, clocks: Clocks) -> Any:
        """A value of a field that only newer devices know: whatever in it is an id is renamed."""
        if isinstance(value, str):
            if value in self.names:
                return self.names[value]
            known = _CHANGE.fullmatch(value) and value[:16] in self._archive.clocks
            return clocks.change(value) if known else value
        if isinstance(value, list):
            return [self._anywhere(one, clocks) for one in value]
        if isinstance(value, dict):
            return {
                self._anywhere(name, clocks): self._anywhere(one, clocks)
                for name, one in value.items()
            }
        return value


def _refers(kind: Any) -> bool:
    return isinstance(kind, Ref) or (isinstance(kind, kinds.List) and isinstance(kind.inner, Ref))


def _each(value: Any, do: Callable[[str], str]) -> Any:
    if isinstance(value, list):
        return [do(one) for one in value]
    return do(value) if isinstance(value, str) else value
