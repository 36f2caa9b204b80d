"""Changes as lines of an archive, and back.  Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from ...trade import stamps
from ...wire.changes import Change, Foreign
from ...wire.fields import CHANGE_PATTERN, INSTANT_PATTERN, STAMP_PATTERN, UUID_PATTERN
from ...wire.packing import MAX_COUNTER
from ...wire.problems import Invalid
from ..checks import fields_problem

_ID = re.compile(CHANGE_PATTERN)
_STAMP = re.compile(STAMP_PATTERN)
_INSTANT = re.compile(INSTANT_PATTERN)
_UUID = re.compile(UUID_PATTERN)
_TYPE = re.compile(r"[a-z][a-z_]{0,39}")
_MEMBERS = {"id", "type", "record", "set", "stamp", "supersedes", "received"}
_MORE = {"claimed", "group"}
#: Made by claiming and pairing alone: who is let in hangs on them.
_NEVER = ("workshop", "device")


def said(foreign: Foreign) -> dict[str, Any]:
    """A change of the journal as the JSON object of its line."""
    change = foreign.change
    words: dict[str, Any] = {
        "id": change.id,
        "type": change.type,
        "record": change.record,
        "set": change.set,
        "stamp": change.stamp,
        "supersedes": list(change.supersedes),
        "received": instant(foreign.received_ms),
    }
    if foreign.claimed is not None:
        words["claimed"] = foreign.claimed
    if change.group is not None:
        words["group"] = {"first": change.group[0], "size": change.group[1]}
    return words


def read(words: Any) -> Foreign:
    """The change that a line says.  Raises Invalid: what is not right about it."""
    if not isinstance(words, Mapping) or not _MEMBERS <= words.keys() <= _MEMBERS | _MORE:
        lists = ", ".join(sorted(_MEMBERS))
        raise Invalid(f"A change is an object of {lists}, and of claimed and group at most.")
    clock, counter = _id(words["id"])
    type_, record = words["type"], words["record"]
    if not isinstance(type_, str) or not _TYPE.fullmatch(type_) or type_ in _NEVER:
        raise Invalid("Its type is no type of what a kit or a build holds.")
    if not _fits(_UUID, record):
        raise Invalid("Its record is not named by a lower-case UUID.")
    fields = words["set"]
    if not isinstance(fields, dict):
        raise Invalid("What it sets is no object.")
    problem = fields_problem(type_, fields)
    if problem is not None:
        raise problem
    supersedes = words["supersedes"]
    if not isinstance(supersedes, list) or len(supersedes) > 1024:
        raise Invalid("What it supersedes is no list of at most 1,024 changes.")
    for superseded in supersedes:
        _id(superseded)
    stamp, claimed = words["stamp"], words.get("claimed")
    for one in (stamp, stamp if claimed is None else claimed):
        if not _fits(_STAMP, one) or stamps.parts(one)[2] != clock:
            raise Invalid("A stamp is 32 hex digits that end in the clock of its author.")
    _check_group(words.get("group"), counter)
    _moment_ms(words["received"])
    return known(words)


def known(words: Mapping[str, Any]) -> Foreign:
    """The change that a line says which was found to be right before."""
    clock, counter = words["id"].split(".")
    group = words.get("group")
    change = Change(
        clock,
        int(counter),
        words["type"],
        words["record"],
        words["set"],
        words["stamp"],
        words["supersedes"],
        (group["first"], group["size"]) if group else None,
    )
    return Foreign(change, words.get("claimed"), _moment_ms(words["received"]))


def instant(ms: int) -> str:
    """Milliseconds since 1970 as the wire writes a moment."""
    moment = datetime.fromtimestamp(ms // 1000, UTC).strftime("%Y-%m-%dT%H:%M:%S")
    return f"{moment}.{ms % 1000:03d}Z"


def _moment_ms(text: Any) -> int:
    """Milliseconds since 1970 of a moment.  Raises Invalid."""
    if _fits(_INSTANT, text):
        try:
            moment = datetime.fromisoformat(text[:19]).replace(tzinfo=UTC)
            ms = int(moment.timestamp()) * 1000 + int(text[20:23])
        except ValueError:
            pass
        else:
            if ms >= 0:
                return ms
    raise Invalid("A moment is written as 2026-05-04T18:30:00.000Z.")


def is_change_id(text: Any) -> bool:
    return _fits(_ID, text)


def _fits(pattern: re.Pattern[str], text: Any) -> bool:
    return isinstance(text, str) and pattern.fullmatch(text) is not None


def _id(text: Any) -> tuple[str, int]:
    if not _fits(_ID, text):
        raise Invalid("A change is named by its clock, a full stop and its counter.")
    clock, counter = text.split(".")
    return clock, int(counter)


def _check_group(group: Any, counter: int) -> None:
    if group is None:
        return
    if isinstance(group, dict) and group.keys() == {"first", "size"}:
        first, size = group["first"], group["size"]
        whole = type(first) is int and type(size) is int
        if whole and size >= 2 and 1 <= first <= counter < first + size <= MAX_COUNTER:
            return
    raise Invalid("Its group does not hold it.")
