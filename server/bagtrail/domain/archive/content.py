"""What stands in an archive: history, records, devices.  Each line is looked at."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from marshmallow import ValidationError

from ...wire.changes import Foreign
from ...wire.fields import CLOCK_PATTERN, UUID_PATTERN
from ...wire.problems import Invalid, TooLarge
from ...wire.records import RECORDS, derived_id, field_kinds
from .. import merge
from ..checks import fields_problem
from . import form, lines, members, scope
from .members import damaged

_UUID = re.compile(UUID_PATTERN)
_CLOCK = re.compile(CLOCK_PATTERN)


@dataclass(frozen=True, slots=True)
class Device:
    """A device that wrote something; the clock that it had last is the last one."""

    id: str
    name: str
    kind: str | None
    clocks: list[str]
    paired_at: str | None
    revoked_at: str | None


@dataclass(slots=True)
class Record:
    """``root``: id of the kit or build that it belongs to.  ``parts``: where its id follows from
    others, those and whatever else it follows from."""

    type: str
    root: str
    gone: bool
    parts: tuple[str, ...] | None


@dataclass(slots=True)
class Archive:
    """An archive in which everything was found to be right."""

    file: zipfile.ZipFile
    name: str
    workshop: str
    kits: list[str]
    build: str | None
    records: dict[str, Record] = field(default_factory=dict)
    devices: list[Device] = field(default_factory=list)
    #: Every clock that any change names.
    clocks: set[str] = field(default_factory=set)
    #: Members of pictures by the names of their blobs.
    pictures: dict[str, str] = field(default_factory=dict)

    @property
    def roots(self) -> list[str]:
        """Kits first: a build that is copied along with its kit has to know the copy."""
        return [*self.kits, *([self.build] if self.build else [])]

    def changes(self) -> Iterator[Foreign]:
        """The history, anew each time."""
        for _, words in members.parsed(self.file, form.CHANGES):
            yield lines.known(words)

    def intakes(self) -> Iterator[tuple[str, dict[str, list[Any]]]]:
        """What intakes wrote last: ids of records, and by field a value and the id of a change."""
        for _, words in members.parsed(self.file, form.INTAKES):
            yield words["record"], words["fields"]

    def picture(self, sha256: str) -> bytes:
        return self.file.read(self.pictures[sha256])


def is_id(value: Any) -> bool:
    return isinstance(value, str) and _UUID.fullmatch(value) is not None


def read_history(archive: Archive) -> int:
    """Reads the changes, and whether they come to the records; returns how many they are."""
    ids: set[str] = set()
    states: dict[str, tuple[str, merge.State]] = {}
    for at, words in members.parsed(archive.file, form.CHANGES):
        change = members.said(form.CHANGES, at, lines.read, words).change
        where = f"{form.CHANGES}, line {at}"
        if change.id in ids:
            damaged(where, f"the change {change.id} is there twice")
        if len(ids) >= form.CHANGES_MAX:
            raise TooLarge(f"An archive has {form.CHANGES_MAX} changes at most.")
        ids.add(change.id)
        archive.clocks.add(change.clock)
        archive.clocks.update(superseded[:16] for superseded in change.supersedes)
        type_, state = states.setdefault(change.record, (change.type, merge.State()))
        if type_ != change.type:
            damaged(where, f"the record {change.record} is a {type_}, not a {change.type}")
        merge.apply(state, change)
    _check_records(archive, states)
    for id_, (type_, state) in states.items():
        values = merge.values(state)
        root = _root(archive, id_, type_, state)
        gone, _ = merge.gone(state, RECORDS[type_].quiet if type_ in RECORDS else ())
        archive.records[id_] = Record(type_, root, gone, _parts(type_, id_, values))
    for root in archive.roots:
        found = archive.records.get(root)
        if found is None or found.type != ("build" if root == archive.build else "kit"):
            damaged(form.CHANGES, f"nothing is said of {root}, which {form.ABOUT} names")
    return len(ids)


def _root(archive: Archive, id_: str, type_: str, state: merge.State) -> str:
    """The kit or build of a record.  Raises ArchiveDamaged if the archive is not about that."""
    if type_ in scope.SCOPES:
        named = [id_]
    else:
        field_name = scope.scope_of(type_, [head.set for head in state.heads])
        named = [head.set[field_name] for head in state.heads if field_name in head.set]
    root = next((one for one in reversed(named) if one in archive.roots), None)
    if root is None:
        damaged(form.CHANGES, f"the {type_} {id_} belongs to nothing that this archive is about")
    return root


def _parts(type_: str, id_: str, values: Mapping[str, Any]) -> tuple[str, ...] | None:
    if type_ not in RECORDS or not RECORDS[type_].derived:
        return None
    parts = tuple(str(values.get(name)) for name in RECORDS[type_].derived)
    return parts if derived_id(type_, *parts) == id_ else None


def _check_records(archive: Archive, states: Mapping[str, tuple[str, merge.State]]) -> None:
    """The records as they are said to have stood are what the changes come to."""
    seen: set[str] = set()
    for at, words in members.parsed(archive.file, form.RECORDS):
        where = f"{form.RECORDS}, line {at}"
        id_ = words.get("id") if isinstance(words, dict) else None
        if not isinstance(id_, str) or id_ not in states or id_ in seen:
            damaged(where, f"{form.CHANGES} says nothing of this record, or it is there twice")
        seen.add(id_)
        type_, state = states[id_]
        values = merge.values(state)
        values.pop("deleted", None)
        if words.get("type") != type_ or merge.canonical(words.get("values")) != merge.canonical(
            values
        ):
            damaged(where, f"the changes of the {type_} {id_} come to something else")
    for id_ in states:
        if id_ not in seen:
            damaged(form.RECORDS, f"the record {id_} is missing")


def read_intakes(archive: Archive) -> int:
    """Looks at what intakes wrote last; returns of how many records."""
    seen: set[str] = set()
    for at, words in members.parsed(archive.file, form.INTAKES):
        record = members.said(form.INTAKES, at, lambda words: _intake(archive, words), words)
        if record in seen:
            damaged(f"{form.INTAKES}, line {at}", "the record is there twice")
        seen.add(record)
    return len(seen)


def _intake(archive: Archive, words: Any) -> str:
    right = isinstance(words, dict) and words.keys() == {"record", "fields"}
    record = words["record"] if right else None
    if not isinstance(record, str) or record not in archive.records:
        raise Invalid("What an intake wrote is an object of record, one of these, and fields.")
    fields = words["fields"]
    if not isinstance(fields, dict) or not all(
        isinstance(said, list) and len(said) == 2 and lines.is_change_id(said[1])
        for said in fields.values()
    ):
        raise Invalid("What an intake wrote is, for each field, a value and the id of a change.")
    values = {name: said[0] for name, said in fields.items()}
    problem = fields_problem(archive.records[record].type, values) if values else None
    if problem is not None:
        raise problem
    return record


def read_devices(archive: Archive) -> int:
    for at, words in members.parsed(archive.file, form.DEVICES):
        device = members.said(form.DEVICES, at, _device, words)
        if any(device.id == other.id for other in archive.devices):
            damaged(f"{form.DEVICES}, line {at}", "the device is there twice")
        archive.devices.append(device)
    return len(archive.devices)


def _device(words: Any) -> Device:
    members = {"id", "name", "kind", "paired_at", "revoked_at", "clocks"}
    if not isinstance(words, dict) or words.keys() != members or not is_id(words["id"]):
        raise Invalid(f"A device is an object of {', '.join(sorted(members))}.")
    kinds = field_kinds("device")
    for name in ("name", "kind", "paired_at", "revoked_at"):
        try:
            kinds[name].deserialize(words[name])
        except ValidationError as why:
            raise Invalid(f"{name}: {' '.join(map(str, why.messages))}") from why
    clocks = words["clocks"]
    if (
        not isinstance(clocks, list)
        or len(clocks) > 1000
        or not all(isinstance(clock, str) and _CLOCK.fullmatch(clock) for clock in clocks)
    ):
        raise Invalid("A clock is 16 lower-case hex digits.")
    return Device(**words)
