"""The merge: what a set of changes to one record comes to.  Pure.

The state of a record is a function of the set of its changes, not of the order in which they
arrive.  The same rules stand in ``client/src/core/merge.ts``; tests/contract/merge.json holds the
two together.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..wire.changes import Change


@dataclass(slots=True)
class Head:
    """A change cut down to the fields of which it is still a head."""

    id: str
    stamp: str
    set: dict[str, Any]


@dataclass(slots=True)
class State:
    """Heads in order of (stamp, id).  ``ghosts``: ids that were superseded before they arrived,
    with the fields on which they will not be heads when they come."""

    heads: list[Head] = field(default_factory=list)
    ghosts: dict[str, list[str]] = field(default_factory=dict)


@dataclass(slots=True)
class Clash:
    """A field with several heads of different value; ``others`` are (value, change id, stamp)."""

    field: str
    others: list[tuple[Any, str, str]]


@dataclass(slots=True)
class Shown:
    values: dict[str, Any]
    clashes: list[Clash]
    gone: bool
    delete_asked: bool


def apply(state: State, change: Change) -> None:
    """Adds one change to a state, in place.  One that is a head already changes nothing; it is for
    the caller to let no other change come twice."""
    own = change.id
    if any(head.id == own for head in state.heads):
        return
    hidden = state.ghosts.pop(own, ())
    fields = {name: value for name, value in change.set.items() if name not in hidden}
    by_id = {head.id: head for head in state.heads} if change.supersedes else {}
    for superseded in change.supersedes:
        if superseded == own:
            continue
        head = by_id.get(superseded)
        if head is None:
            known = state.ghosts.get(superseded, [])
            state.ghosts[superseded] = sorted({*known, *change.set})
        else:
            for name in change.set:
                head.set.pop(name, None)
    heads = [head for head in state.heads if head.set]
    if fields:
        heads.append(Head(own, change.stamp, fields))
        if len(heads) > 1 and (heads[-2].stamp, heads[-2].id) > (change.stamp, own):
            heads.sort(key=lambda head: (head.stamp, head.id))
    state.heads = heads


def fold(changes: Iterable[Change]) -> State:
    """State of a record from its changes, in whatever order they come."""
    state = State()
    for change in changes:
        apply(state, change)
    return state


def superseded_by(state: State, fields: Collection[str]) -> list[str]:
    """Ids that a new change to ``fields`` must name: every head it has seen there."""
    return [head.id for head in state.heads if not head.set.keys().isdisjoint(fields)]


def floor(state: State, supersedes: Collection[str]) -> str | None:
    """The stamp that a change must sort above: the greatest of the heads that it supersedes."""
    if not supersedes:
        return None
    return max((head.stamp for head in state.heads if head.id in supersedes), default=None)


def values(state: State) -> dict[str, Any]:
    """Shown value of each field: that of the head with the greatest (stamp, id)."""
    shown: dict[str, Any] = {}
    for head in state.heads:
        shown.update(head.set)
    return shown


def gone(state: State, quiet: Collection[str] = ()) -> tuple[bool, bool]:
    """(deleted and nothing speaks against it, deleted but kept or changed elsewhere: ask).

    What was written to ``quiet`` fields alone speaks for nobody's wish to keep the record.
    """
    said = [head.set["deleted"] for head in state.heads if "deleted" in head.set]
    lists = [value for value in said if isinstance(value, list)]
    if not lists:
        return False, False
    covered = {str(change) for value in lists for change in value}
    # A person who chose to keep it, and did not know of the other's delete, is not overruled.
    stands = len(lists) == len(said) and all(
        head.id in covered or head.set.keys() <= {"deleted", *quiet} for head in state.heads
    )
    return stands, not stands


def shown(state: State, quiet: Collection[str] = ()) -> Shown:
    """What a person sees of a record: values, clashes on fields that are not quiet, deletion."""
    latest: dict[str, Head] = {}
    earlier: dict[str, list[Head]] = {}
    for head in state.heads:
        for name in head.set:
            if name in latest:
                earlier.setdefault(name, []).append(latest[name])
            latest[name] = head
    clashes = []
    for name in sorted(earlier):
        if name in quiet or name == "deleted":
            continue
        mine = canonical(latest[name].set[name])
        others = [
            (head.set[name], head.id, head.stamp)
            for head in earlier[name]
            if canonical(head.set[name]) != mine
        ]
        if others:
            clashes.append(Clash(name, others))
    is_gone, asked = gone(state, quiet)
    return Shown({name: h.set[name] for name, h in latest.items()}, clashes, is_gone, asked)


def canonical(value: Any) -> str:
    """JSON text by which values are compared: sorted keys, and 1.0 is 1 as it is in JavaScript."""
    return json.dumps(_plain(value), sort_keys=True, separators=(",", ":"))


def _plain(value: Any) -> Any:
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, list):
        return [_plain(item) for item in value]
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    return value


def dump(state: State) -> tuple[str, str]:
    """(heads, ghosts) as JSON text for keeping."""
    heads = [[head.id, head.stamp, head.set] for head in state.heads]
    return _dumps(heads), _dumps(state.ghosts) if state.ghosts else ""


def load(heads: str, ghosts: str) -> State:
    """A kept state; the opposite of :func:`dump`."""
    return State(
        [Head(*entry) for entry in json.loads(heads)], json.loads(ghosts) if ghosts else {}
    )


_dumps = json.JSONEncoder(separators=(",", ":")).encode
