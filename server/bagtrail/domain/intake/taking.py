"""Taking an intake into a kit: findings become records, in one group of changes.

Things are known by their numbers (or titles, or names).  What the kit has already is changed, what
it lacks is made; ids follow from the kit and the key, so that two servers or two takings make the
same.  Of each field it is remembered what was taken in last: what the file still says is not
written again, what the file says anew supersedes that alone.  So whatever a person has changed
since stays shown, and where the file now says something else the person is asked.
"""

from __future__ import annotations

import secrets
import uuid
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ...storage.tables import RECORD_TABLES, taken_in
from ...storage.work import upsert, writing
from ...trade import codes, order
from ...wire.problems import ChangedElsewhere, NotFound
from ...wire.records import field_kinds
from .. import journal, merge
from ..journal import Draft
from . import store
from .findings import Found
from .store import Intake

#: Types that an intake writes, those that others name first.
_TYPES = ("section", "bag", "page", "step", "operation", "part", "part_line")


@dataclass(slots=True)
class Taken:
    """What came of it; see ``wire.intake.TakeReply``."""

    kit: str
    build: str | None
    made: dict[str, int]
    changed: dict[str, int]
    clashes: int
    left: int


def take(workshop: str, id_: str, kit: str | None, name: str | None, *, pages: bool) -> Taken:
    """Writes what was found, all or nothing.  Raises NotFound; ChangedElsewhere if the intake is
    still being read or was taken already."""
    item = store.one(workshop, id_)
    with writing() as conn:
        kit = kit or item.kit
        new = kit is None
        kit = kit or str(uuid.uuid4())
        if not store.close(conn, workshop, id_, kit):
            raise ChangedElsewhere("It is still being read, or was taken in already. Look again.")
        # As it is now: somebody may have corrected it a moment ago.
        rows = store.page_rows_in(conn, id_) if pages and item.kind == "manual" else []
        found = [one for _, one in store.findings_in(conn, id_) if not one.left_out]
        writer = _Writer(conn, workshop, kit, [one for one in found if not one.asks], new=new)
        writer.left += sum(1 for one in found if one.asks)
        build = writer.begin(item, name) if new else None
        writer.pages(item, rows)
        writer.take()
        writer.save()
    # What was put and came out as it was is no change.
    changed = dict(+writer.changed)
    return Taken(kit, build, dict(writer.made), changed, len(writer.clashing), writer.left)


@dataclass(slots=True)
class _Known:
    """A record of the kit: what is shown of it, and what the last intake wrote."""

    type: str
    id: str
    shown: Mapping[str, Any]
    gone: bool = False
    last: dict[str, list[Any]] = field(default_factory=dict)


class _Writer:
    """Puts findings into one kit.  Each thing is put once, with all that is said of it."""

    def __init__(
        self, conn: Connection, workshop: str, kit: str, found: Sequence[Found], *, new: bool
    ) -> None:
        self.conn, self.workshop, self.kit, self.found = conn, workshop, kit, found
        self.made: Counter[str] = Counter()
        self.changed: Counter[str] = Counter()
        self.clashing: set[str] = set()
        self.left = 0
        self._drafts: list[Draft] = []
        #: Whether each draft is of the intake, to be remembered as such.
        self._of_intake: list[bool] = []
        self._by_key: dict[str, dict[str, _Known]] = {type_: {} for type_ in _TYPES}
        self._by_id: dict[str, _Known] = {}
        self._put_already: dict[tuple[str, str], str] = {}
        self._last_key: dict[str, str] = {}
        self._keys: dict[str, list[str]] = {type_: [] for type_ in _TYPES}
        self._times: Counter[str] = Counter()
        self._page_ids: dict[int, str] = {}
        self._said = _said(found)
        bags = RECORD_TABLES["bag"]
        self._codes: set[str] = set(
            conn.execute(sa.select(bags.c.code).where(bags.c.workshop_id == workshop)).scalars()
        )
        if not new:
            self._read()

    # ---- what is there ----

    def _read(self) -> None:
        kits = RECORD_TABLES["kit"]
        here = sa.select(kits.c.id).where(
            kits.c.id == self.kit, kits.c.workshop_id == self.workshop, sa.not_(kits.c.gone)
        )
        if self.conn.execute(here).first() is None:
            raise NotFound("There is no such kit in this workshop: it may have been deleted.")
        for type_ in _TYPES:
            table = RECORD_TABLES[type_]
            rows = self.conn.execute(
                sa.select(table).where(
                    table.c.kit == self.kit, table.c.workshop_id == self.workshop
                )
            )
            for row in rows.mappings():
                self._by_id[row["id"]] = _Known(type_, row["id"], dict(row), row["gone"])
        memory = self.conn.execute(
            sa.select(taken_in.c.record_id, taken_in.c.fields).where(
                taken_in.c.workshop_id == self.workshop
            )
        )
        for kept in memory:
            if kept.record_id in self._by_id:
                self._by_id[kept.record_id].last = kept.fields
        in_order = sorted(
            self._by_id.values(), key=lambda one: (one.shown.get("order") or "", one.id)
        )
        for one in in_order:
            if one.shown.get("order"):
                self._keys[one.type].append(one.shown["order"])
            if not one.gone:
                self._by_key[one.type].setdefault(self._key_of(one), one)
        self._times.clear()

    def _key_of(self, one: _Known) -> str:
        shown = one.shown
        match one.type:
            case "section":
                return _fold(shown["title"] or shown["mark"])
            case "bag" | "step":
                return _fold(shown["number"])
            case "operation":
                return self._nth(str(shown["step"]))
            case "part":
                return _part_key(shown)
            case "part_line":
                return self._nth(f"{shown['part']}|{shown['bag'] or ''}|{shown['step'] or ''}")
            case _:
                return one.id

    def _nth(self, place: str) -> str:
        """The key of what can stand in one place several times: by how often it did so far."""
        self._times[place] += 1
        return f"{place}|{self._times[place]}"

    # ---- what is found ----

    def begin(self, item: Intake, name: str | None) -> str:
        """A new kit, and a build of it."""
        called = (name or item.name.rsplit(".", 1)[0]).strip()[:120] or "My kit"
        build = str(uuid.uuid4())
        self._draft("kit", self.kit, {"name": called, "source": item.kind}, None, of_intake=False)
        started = store.instant(store.now_ms())
        about = {"kit": self.kit, "name": called, "started_at": started}
        self._draft("build", build, about, None, of_intake=False)
        return build

    def pages(self, item: Intake, rows: Iterable[Mapping[str, Any]]) -> None:
        for row in rows:
            if row["blob"] is not None:
                fields = {"number": str(row["number"]), "stored": True}
                fields |= {name: row[name] for name in ("blob", "width_px", "height_px")}
                key = f"{item.name}|{row['number']}"
                self._page_ids[row["number"]] = self._put("page", key, fields)

    def take(self) -> None:
        for one in self.found:
            values = _given(one.values)
            match one.what:
                case "section":
                    self._section(values.get("title") or values.get("mark"))
                case "bag":
                    self._bag(values["number"])
                case "step":
                    self._step(values["number"])
                case "operation":
                    step = self._step(values["step"])
                    self._put("operation", self._nth(step), {"step": step, "text": values["text"]})
                case "part":
                    self._part(values)
                case "part_line":
                    self._part_line(values)

    def _section(self, called: str | None) -> str | None:
        if not called:
            return None
        key = _fold(called)
        values = self._said["section"].get(key, (None, {}))[1]
        return self._put("section", key, values or {"title": called})

    def _bag(self, number: str) -> str:
        key = _fold(number)
        return self._put(
            "bag", key, self._said["bag"].get(key, (None, {}))[1] or {"number": number}
        )

    def _step(self, number: str) -> str:
        key = _fold(number)
        found, values = self._said["step"].get(key, (None, {}))
        fields = {"number": number, **values}
        if "section" in fields:
            fields["section"] = self._section(fields["section"])
        if "bags" in fields:
            fields["bags"] = [self._bag(bag) for bag in fields["bags"]]
        page = self._page_ids.get(found.page) if found and found.page else None
        if found and page:
            fields["page"] = page
            if found.frame:
                fields["frame"] = found.frame
        return self._put("step", key, fields)

    def _part(self, values: dict[str, Any]) -> str:
        key = _part_key(values)
        fields = self._said["part"][key][1]
        if "name" not in fields and key not in self._by_key["part"]:
            # A part has a name; until somebody says it, its designation or number is one.
            fields = {**fields, "name": fields.get("designation") or fields.get("number") or "?"}
        return self._put("part", key, fields)

    def _part_line(self, values: dict[str, Any]) -> None:
        fields: dict[str, Any] = {"part": self._part(values), "quantity": values["quantity"]}
        if "bag" in values:
            fields["bag"] = self._bag(values["bag"])
        if "step" in values:
            fields["step"] = self._step(values["step"])
        place = f"{fields['part']}|{fields.get('bag', '')}|{fields.get('step', '')}"
        self._put("part_line", self._nth(place), fields)

    # ---- what is written ----

    def _put(self, type_: str, key: str, fields: Mapping[str, Any]) -> str:
        """Makes the record of this key, or changes it; its id."""
        known = self._put_already.get((type_, key))
        if known is not None:
            return known
        one = self._by_key[type_].get(key)
        id_ = one.id if one else str(uuid.uuid5(uuid.UUID(self.kit), f"{type_}|{key}"))
        self._put_already[type_, key] = id_
        # Its number may have been changed by a person since; it is the one that was taken in.
        one = one or self._by_id.get(id_)
        if one is None:
            self._make(type_, id_, fields)
        elif one.gone:
            # A person has deleted it since: it stays deleted.
            self.left += 1
        else:
            self._change(one, fields)
            if one.shown.get("order"):
                self._last_key[type_] = one.shown["order"]
        return id_

    def _make(self, type_: str, id_: str, fields: Mapping[str, Any]) -> None:
        whole = {"kit": self.kit, **fields}
        if "order" in field_kinds(type_):
            whole["order"] = self._order(type_)
        if type_ == "bag":
            whole["code"] = codes.issue(
                self.workshop, lambda: secrets.randbits(codes.RANDOM_BITS), self._codes
            )
            self._codes.add(whole["code"])
        self._by_id[id_] = _Known(type_, id_, whole)
        self._draft(type_, id_, whole, None)
        self.made[type_] += 1

    def _order(self, type_: str) -> str:
        """After what was found before it, and before what the kit has next."""
        keys = self._keys[type_]
        last = self._last_key.get(type_) or (keys[-1] if keys else None)
        at = bisect_right(keys, last) if last else 0
        key = order.between(last, keys[at] if at < len(keys) else None)
        keys.insert(at, key)
        self._last_key[type_] = key
        return key

    def _change(self, one: _Known, fields: Mapping[str, Any]) -> None:
        """Writes what is new of it, each field by what the intake knew of it."""
        empty: dict[str, Any] = {}
        drafts: list[tuple[dict[str, Any], list[str] | None]] = []
        for name, value in fields.items():
            said, change = one.last.get(name, (None, None))
            shown = one.shown.get(name)
            if _same(value, said) if change else _same(value, shown):
                continue
            if change is None and shown is None:
                empty[name] = value
                continue
            drafts.append(({name: value}, [change] if change else []))
            if not _same(shown, said) and not _same(shown, value):
                self.clashing.add(one.id)
        if empty:
            drafts.append((empty, None))
        for changes, seen in drafts:
            self._draft(one.type, one.id, changes, seen)
        self.changed[one.type] += bool(drafts)

    def _draft(
        self, type_: str, id_: str, fields: Mapping[str, Any], seen: list[str] | None, *,
        of_intake: bool = True,
    ) -> None:  # fmt: skip
        self._drafts.append(Draft(type_, id_, fields, seen))
        self._of_intake.append(of_intake)

    def save(self) -> None:
        changes = journal.write(self.conn, self.workshop, self._drafts, together=True)
        memory: dict[str, dict[str, list[Any]]] = {}
        for change, of_intake in zip(changes, self._of_intake, strict=True):
            if of_intake:
                last = self._by_id[change.record].last
                fields = memory.setdefault(change.record, dict(last))
                for name in change.set.keys() - {"kit", "order", "code"}:
                    fields[name] = [change.set[name], change.id]
        rows = [
            {"record_id": record, "workshop_id": self.workshop, "fields": fields}
            for record, fields in memory.items()
        ]
        upsert(self.conn, taken_in, rows)


def _said(found: Iterable[Found]) -> dict[str, dict[str, tuple[Found | None, dict[str, Any]]]]:
    """All that is said of each thing by its key, and the finding that is about it; the first to
    say something is believed."""
    said: dict[str, dict[str, tuple[Found | None, dict[str, Any]]]] = {
        type_: {} for type_ in ("section", "bag", "step", "part")
    }

    def add(type_: str, key: str, one: Found, values: dict[str, Any]) -> None:
        first, known = said[type_].get(key, (one, {}))
        said[type_][key] = (first, {**values, **known})

    for one in found:
        values = _given(one.values)
        if one.what == "section":
            add("section", _fold(values.get("title") or values.get("mark")), one, values)
        elif one.what in ("bag", "step"):
            add(one.what, _fold(values["number"]), one, values)
        elif one.what in ("part", "part_line"):
            own = {name: values[name] for name in _OF_PART if name in values}
            add("part", _part_key(values), one, own)
    return said


_OF_PART = ("number", "name", "designation", "material")


def _given(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value not in (None, "", [])}


def _same(one: Any, other: Any) -> bool:
    return merge.canonical(one) == merge.canonical(other)


def _part_key(shown: Mapping[str, Any]) -> str:
    for name in ("number", "designation", "name"):
        if shown.get(name):
            return f"{name}|{_fold(shown[name])}"
    return "?"


def _fold(text: str | None) -> str:
    return " ".join((text or "").split()).casefold()
