"""Which labels a kit needs: its bags, their codes and the steps they serve."""

from __future__ import annotations

import secrets
from collections.abc import Collection
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from ..storage.tables import RECORD_TABLES
from ..storage.work import reading, writing
from ..trade import codes
from ..wire.problems import Invalid, NotFound
from . import journal
from .journal import Draft
from .paper.tag import LabelBag

_KIT, _BAG, _STEP, _LINE = (RECORD_TABLES[name] for name in ("kit", "bag", "step", "part_line"))


def labels_of_kit(
    workshop: str, kit: str, bags: Collection[str] | None = None
) -> tuple[str, list[LabelBag]]:
    """Name of a kit and what to print for its bags (or these of them), in the kit's order.

    A bag without a code gets one, through the journal.  Raises NotFound, or Invalid if a code
    stands on two bags of the workshop.
    """
    with reading() as conn:
        lacks_code = any(row["code"] is None for row in _bags(conn, workshop, kit, bags))
    if lacks_code:
        _give_codes(workshop, kit, bags)
    with reading() as conn:
        rows = _bags(conn, workshop, kit, bags)
        _check_codes(conn, workshop, [row["code"] for row in rows])
        serves = _steps_served(conn, workshop, kit)
        name = conn.execute(_standing(_KIT, workshop).where(_KIT.c.id == kit)).mappings().one()
    labels = [
        LabelBag(row["code"], row["number"], row["title"] or "", serves.get(row["id"], []))
        for row in rows
    ]
    return name["name"], labels


def label_of_bag(workshop: str, bag: str) -> tuple[str, LabelBag]:
    """The same for one bag: name of its kit, and what to print.  Raises NotFound, Invalid."""
    with reading() as conn:
        row = conn.execute(_standing(_BAG, workshop).where(_BAG.c.id == bag)).mappings().first()
    if row is None:
        raise NotFound("There is no such bag in this workshop.")
    name, labels = labels_of_kit(workshop, row["kit"], [bag])
    return name, labels[0]


def _standing(table: sa.Table, workshop: str) -> sa.Select[Any]:
    return sa.select(table).where(
        table.c.workshop_id == workshop, table.c.complete, sa.not_(table.c.gone)
    )


def _bags(
    conn: Connection, workshop: str, kit: str, wanted: Collection[str] | None
) -> list[sa.RowMapping]:
    if conn.execute(_standing(_KIT, workshop).where(_KIT.c.id == kit)).first() is None:
        raise NotFound("There is no such kit in this workshop.")
    query = _standing(_BAG, workshop).where(_BAG.c.kit == kit).order_by(_BAG.c.order, _BAG.c.id)
    rows = list(conn.execute(query).mappings())
    if wanted is None:
        return rows
    lacking = set(wanted) - {row["id"] for row in rows}
    if lacking:
        raise NotFound(f"This kit has no bag {', '.join(sorted(lacking))}.")
    return [row for row in rows if row["id"] in wanted]


def _give_codes(workshop: str, kit: str, bags: Collection[str] | None) -> None:
    with writing() as conn:
        known = sa.select(_BAG.c.code).where(_BAG.c.workshop_id == workshop)
        taken = {str(row.code) for row in conn.execute(known)}
        drafts = []
        for row in _bags(conn, workshop, kit, bags):
            if row["code"] is None:
                code = codes.issue(workshop, lambda: secrets.randbits(codes.RANDOM_BITS), taken)
                taken.add(code)
                drafts.append(Draft("bag", row["id"], {"code": code}))
        journal.write(conn, workshop, drafts)


def _check_codes(conn: Connection, workshop: str, printed: list[str]) -> None:
    """A code on two bags would open the wrong one: nothing is printed until that is settled."""
    query = (
        sa.select(_BAG.c.code, _BAG.c.number, _KIT.c.name)
        .join(_KIT, _KIT.c.id == _BAG.c.kit)
        .where(_BAG.c.workshop_id == workshop, _BAG.c.complete, sa.not_(_BAG.c.gone))
        .where(sa.not_(_KIT.c.gone), _BAG.c.code.in_(printed))
        .order_by(_BAG.c.code, _KIT.c.name, _BAG.c.number)
    )
    seen: dict[str, str] = {}
    for row in conn.execute(query):
        code, words = str(row.code), f"bag {row.number} of {row.name}"
        other = seen.get(code)
        seen[code] = words
        if other is not None:
            raise Invalid(
                f"Two bags have the code {codes.in_clear(code)}: {other} and {words}. Give one of "
                "them a new code, so that scanning its label opens the right bag.",
                errors={"code": [f"{code} is on {other} and on {words}."]},
            )


def _steps_served(conn: Connection, workshop: str, kit: str) -> dict[str, list[str]]:
    """Numbers of the steps that a bag serves, in the kit's order: those that name the bag, and
    those that take parts from it."""
    taken: dict[str, set[str]] = {}
    lines = _standing(_LINE, workshop).where(
        _LINE.c.kit == kit, _LINE.c.bag.is_not(None), _LINE.c.step.is_not(None)
    )
    for line in conn.execute(lines).mappings():
        taken.setdefault(line["step"], set()).add(line["bag"])
    serves: dict[str, list[str]] = {}
    query = _standing(_STEP, workshop).where(_STEP.c.kit == kit)
    for step in conn.execute(query.order_by(_STEP.c.order, _STEP.c.id)).mappings():
        for bag in {*(step["bags"] or []), *taken.get(step["id"], ())}:
            serves.setdefault(bag, []).append(step["number"])
    return serves
