"""Many changes as columns: the form in which they travel (server/PROTOCOL.md, "Packed changes")."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ..trade import stamps
from .changes import Change
from .fields import CLOCK_PATTERN, UUID_PATTERN
from .problems import Invalid, TooLarge

_CLOCK = re.compile(CLOCK_PATTERN)
_UUID = re.compile(UUID_PATTERN)
_TYPE = re.compile(r"^[a-z][a-z_]{0,39}$")
_COLUMNS = ("author", "counter", "record", "set", "ms", "tick")
MAX_COUNTER = 10**15 - 1


def pack(changes: Iterable[Change], *, push: bool = True) -> dict[str, list[Any]]:
    """Columns of the changes, in their order; ``push`` adds ``supersedes`` and ``group``."""
    clocks: dict[str, int] = {}
    records: dict[tuple[str, str], int] = {}
    last_counter: dict[str, int] = {}
    last_ms = 0
    packed: dict[str, list[Any]] = {name: [] for name in ("clocks", "records", *_COLUMNS)}
    if push:
        packed |= {"supersedes": [], "group": []}
    author, counter, record = packed["author"], packed["counter"], packed["record"]
    sets, mss, ticks = packed["set"], packed["ms"], packed["tick"]
    for change in changes:
        clock = change.clock
        author.append(clocks.setdefault(clock, len(clocks)))
        counter.append(change.counter - last_counter.get(clock, 0))
        last_counter[clock] = change.counter
        record.append(records.setdefault((change.type, change.record), len(records)))
        sets.append(change.set)
        ms, tick, _ = stamps.parts(change.stamp)
        mss.append(ms - last_ms)
        last_ms = ms
        ticks.append(tick)
        if push:
            flat: list[int] = []
            for superseded in change.supersedes:
                by, number = superseded.split(".")
                flat += (clocks.setdefault(by, len(clocks)), int(number))
            packed["supersedes"].append(flat)
            packed["group"].append(list(change.group) if change.group else None)
    packed["clocks"] = list(clocks)
    packed["records"] = [list(pair) for pair in records]
    return packed


def unpack(
    packed: Any, *, push: bool = True, most: int | None = None
) -> list[Change | Invalid]:
    """Changes of the columns; an entry that is wrong in itself becomes an Invalid in its place.

    Raises Invalid where the columns do not fit each other, so that no entry can be read; TooLarge
    if they hold more than ``most`` changes.
    """
    clocks, records, columns = _structure(packed, push)
    if most is not None and len(columns[0]) > most:
        raise TooLarge(f"At most {most} changes at a time: send fewer.")
    counters = [0] * len(clocks)
    ms_now = 0
    result: list[Change | Invalid] = []
    for index, (who, step, which, fields, ms_step, tick) in enumerate(zip(*columns, strict=True)):
        if not (_index(who, clocks) and _index(which, records) and _int(step) and _int(ms_step)):
            raise Invalid(f"Entry {index} of the packed changes does not fit the dictionaries.")
        counters[who] += step
        ms_now += ms_step
        counter = counters[who]
        if (
            not 1 <= counter <= MAX_COUNTER
            or not 0 <= ms_now <= stamps.MAX_MS
            or not _int(tick)
            or not 0 <= tick <= stamps.MAX_TICK
            or not isinstance(fields, dict)
        ):
            result.append(Invalid("The counter, the stamp or the fields are out of range."))
            continue
        clock = clocks[who]
        supersedes: list[str] = []
        group = None
        if push:
            flat, grouping = packed["supersedes"][index], packed["group"][index]
            if not _superseded_ok(flat, clocks) or not _group_ok(grouping, counter):
                result.append(Invalid("What the change supersedes, or its group, is malformed."))
                continue
            supersedes = [f"{clocks[flat[at]]}.{flat[at + 1]}" for at in range(0, len(flat), 2)]
            group = (grouping[0], grouping[1]) if grouping else None
        stamp = f"{ms_now:012x}{tick:04x}{clock}"
        type_, record = records[which]
        result.append(Change(clock, counter, type_, record, fields, stamp, supersedes, group))
    return result


def _structure(
    packed: Any, push: bool
) -> tuple[list[str], list[tuple[str, str]], list[Sequence[Any]]]:
    names = (*_COLUMNS, "supersedes", "group") if push else _COLUMNS
    if not isinstance(packed, Mapping):
        raise Invalid("The packed changes must be an object of columns.")
    for name in ("clocks", "records", *names):
        if not isinstance(packed.get(name), list):
            raise Invalid(f"The packed changes have no column {name!r}.")
    if len({len(packed[name]) for name in names}) > 1:
        raise Invalid("The columns of the packed changes differ in length.")
    clocks = packed["clocks"]
    if not all(isinstance(c, str) and _CLOCK.match(c) and len(c) == 16 for c in clocks):
        raise Invalid("A clock must be 16 lower-case hex digits.")
    records = []
    for pair in packed["records"]:
        if (
            not isinstance(pair, list)
            or len(pair) != 2
            or not all(isinstance(part, str) for part in pair)
            or not _TYPE.fullmatch(pair[0])
            or not _UUID.fullmatch(pair[1])
        ):
            raise Invalid("A record must be named by its type and its id, a lower-case UUID.")
        records.append((pair[0], pair[1]))
    return clocks, records, [packed[name] for name in _COLUMNS]


def _int(value: Any) -> bool:
    return type(value) is int


def _index(value: Any, of: Sequence[Any]) -> bool:
    return type(value) is int and 0 <= value < len(of)


def _superseded_ok(flat: Any, clocks: Sequence[str]) -> bool:
    return (
        isinstance(flat, list)
        and len(flat) % 2 == 0
        and len(flat) <= 2048
        and all(_index(flat[at], clocks) for at in range(0, len(flat), 2))
        and all(_int(n) and 1 <= n <= MAX_COUNTER for n in flat[1::2])
    )


def _group_ok(group: Any, counter: int) -> bool:
    """A group can only ever be whole if the change is one of it."""
    return group is None or (
        isinstance(group, list)
        and len(group) == 2
        and all(map(_int, group))
        and 2 <= group[1] <= 20_000
        and 1 <= group[0] <= counter < group[0] + group[1] <= MAX_COUNTER
    )
