"""Intakes in the database: made, read on, corrected, ended."""

from __future__ import annotations

import time
import uuid
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from marshmallow import ValidationError
from sqlalchemy.engine import Connection, RowMapping

from ...storage.tables import (
    intake,
    intake_finding,
    intake_page,
    intake_unfit,
    table_shape,
)
from ...storage.work import reading, upsert, writing
from ...wire.intake import values_of
from ...wire.problems import Invalid, NotFound, Problem
from .findings import Ask, Found, Unfit

#: A reader that has not said for so long that it is at work is taken to be gone.
BEAT_MS = 20_000
#: Intakes of one workshop that are read at once; others wait for their turn.
AT_ONCE = 2
#: So long a taken intake can be looked at, to see what became of it.
KEPT_MS = 60 * 86_400_000
#: So long a file may be on its way here at most.
COMING_MS = 86_400_000


@dataclass(frozen=True, slots=True)
class Intake:
    """One intake as it stands; see ``wire.intake.IntakeMessage``.  ``change``: of a table's layout,
    by which it is to be read anew."""

    id: str
    workshop: str
    kind: str
    name: str
    kit: str | None
    state: str
    done: int
    total: int
    problem: dict[str, Any] | None
    layout: dict[str, Any] | None
    change: dict[str, Any] | None
    beat_ms: int
    made_ms: int


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def instant(ms: int) -> str:
    """Milliseconds since 1970 as the wire writes a moment."""
    moment = datetime.fromtimestamp(ms / 1000, UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def new_id() -> str:
    return str(uuid.uuid4())


def make(workshop: str, kind: str, name: str, kit: str | None, id_: str | None = None) -> str:
    """A new intake that waits for its reader, its file being there; its id."""
    id_ = id_ or new_id()
    now = now_ms()
    with writing() as conn:
        conn.execute(
            intake.insert().values(
                id=id_, workshop_id=workshop, kind=kind, name=name, kit_id=kit, state="reading",
                done=0, total=0, beat_ms=0, made_ms=now,
            )
        )  # fmt: skip
    return id_


def one(workshop: str, id_: str) -> Intake:
    """Raises NotFound."""
    with reading() as conn:
        return _one(conn, workshop, id_)


def listing(workshop: str) -> list[Intake]:
    """Those that are not taken in yet, latest first."""
    with reading() as conn:
        rows = conn.execute(
            sa.select(intake)
            .where(intake.c.workshop_id == workshop, intake.c.state != "taken")
            .order_by(intake.c.made_ms.desc(), intake.c.id)
        )
        return [_intake(row) for row in rows.mappings()]


def drop(workshop: str, id_: str) -> None:
    """Throws an intake away with all that was found.  Raises NotFound."""
    with writing() as conn:
        _one(conn, workshop, id_)
        _forget(conn, [id_])


def clear_old(now_ms: int, has_file: Callable[[str], bool]) -> int:
    """Forgets intakes that are of no use any more: those taken long ago, and those without their
    file.  What was read keeps its use without a file, and is kept as long as a taken one.

    ``has_file``: whether the file of an intake is there.  Returns how many.
    """
    columns = intake.c
    with writing() as conn:
        rows = conn.execute(
            sa.select(columns.id, columns.state, columns.made_ms, columns.beat_ms)
        ).all()
        old = []
        for row in rows:
            idle_ms = now_ms - max(row.made_ms, row.beat_ms)
            useful = row.state in ("ready", "stopped")
            if row.state == "taken" or (useful and not has_file(row.id)):
                keep_ms = KEPT_MS
            elif not has_file(row.id):
                keep_ms = COMING_MS
            else:
                continue
            if idle_ms > keep_ms:
                old.append(row.id)
        _forget(conn, old)
    return len(old)


def ids() -> set[str]:
    """All intakes of all workshops."""
    with reading() as conn:
        return set(conn.execute(sa.select(intake.c.id)).scalars())


def _forget(conn: Connection, gone: Sequence[str]) -> None:
    for id_ in gone:
        for table in (intake_finding, intake_unfit, intake_page):
            conn.execute(table.delete().where(table.c.intake_id == id_))
        conn.execute(intake.delete().where(intake.c.id == id_))


# ---- what the reader does ----


def claim_next(workshop: str, reader: str) -> str | None:
    """Makes ``reader`` the one who reads the intake that has waited longest; its id, or None if
    none waits or as many as may be are being read."""
    with writing() as conn:
        id_ = _next(conn, workshop)
        if id_ is not None:
            conn.execute(
                intake.update().where(intake.c.id == id_).values(reader=reader, beat_ms=now_ms())
            )
        return id_


def waits(workshop: str) -> bool:
    """Whether an intake waits that can be read now."""
    with reading() as conn:
        return _next(conn, workshop) is not None


def _next(conn: Connection, workshop: str) -> str | None:
    columns = intake.c
    rows = conn.execute(
        sa.select(columns.id, columns.beat_ms)
        .where(columns.workshop_id == workshop, columns.state == "reading")
        .order_by(columns.made_ms, columns.id)
    ).all()
    # One that nobody reads has no beat, or that of a reader that is gone.
    oldest = now_ms() - BEAT_MS
    waiting = [row.id for row in rows if row.beat_ms < oldest]
    return waiting[0] if waiting and len(rows) - len(waiting) < AT_ONCE else None


def take_over(id_: str, reader: str) -> bool:
    """Makes ``reader`` the one who has an intake that is being read, whoever had it."""
    with writing() as conn:
        done = conn.execute(
            intake.update()
            .where(intake.c.id == id_, intake.c.state == "reading")
            .values(reader=reader, beat_ms=now_ms())
        )
        return done.rowcount == 1


def beat(id_: str, reader: str, **values: Any) -> bool:
    """Says that the reader is at work and writes ``values``; False if it is to stop: the intake
    was stopped or thrown away, or another reader has it."""
    with writing() as conn:
        done = conn.execute(
            intake.update()
            .where(intake.c.id == id_, intake.c.reader == reader, intake.c.state == "reading")
            .values(beat_ms=now_ms(), **values)
        )
        return done.rowcount == 1


def finish(
    id_: str,
    reader: str,
    state: str,
    found: Sequence[Found],
    unfit: Sequence[Unfit],
    **values: Any,
) -> None:
    """Writes what was found and the state; what a person has corrected or added stays."""
    with writing() as conn:
        if not _reads(conn, id_, reader):
            return
        _replace(conn, id_, found, unfit)
        conn.execute(
            intake.update()
            .where(intake.c.id == id_)
            .values(state=state, beat_ms=now_ms(), reader=None, change=None, **values)
        )


def fail(id_: str, reader: str, problem: Problem) -> None:
    with writing() as conn:
        conn.execute(
            intake.update()
            .where(intake.c.id == id_, intake.c.reader == reader, intake.c.state == "reading")
            .values(state="failed", problem=problem.body(), reader=None, change=None)
        )


def keep_page(id_: str, reader: str, number: int, **values: Any) -> None:
    """Writes what a page came to, unless its intake was thrown away or is another reader's."""
    row = {"blob": None, "width_px": None, "height_px": None, "seen": None, "problem": None}
    with writing() as conn:
        if _reads(conn, id_, reader):
            upsert(conn, intake_page, [{**row, "intake_id": id_, "number": number, **values}])


def _reads(conn: Connection, id_: str, reader: str) -> bool:
    mine = sa.select(intake.c.id).where(
        intake.c.id == id_, intake.c.reader == reader, intake.c.state == "reading"
    )
    return conn.execute(mine).first() is not None


def page_rows(id_: str) -> list[dict[str, Any]]:
    with reading() as conn:
        return page_rows_in(conn, id_)


def page_rows_in(conn: Connection, id_: str) -> list[dict[str, Any]]:
    """The same within a transaction."""
    rows = conn.execute(
        sa.select(intake_page).where(intake_page.c.intake_id == id_).order_by(intake_page.c.number)
    )
    return [dict(row) for row in rows.mappings()]


def shape_known(workshop: str, shape: str) -> dict[str, Any] | None:
    """The columns that a person set for a table of this shape, or None."""
    with reading() as conn:
        layout: dict[str, Any] | None = conn.execute(
            sa.select(table_shape.c.layout).where(
                table_shape.c.workshop_id == workshop, table_shape.c.shape == shape
            )
        ).scalar()
        return layout


def remember_shape(workshop: str, shape: str, layout: dict[str, Any]) -> None:
    row = {"workshop_id": workshop, "shape": shape, "layout": layout, "used_ms": now_ms()}
    with writing() as conn:
        upsert(conn, table_shape, [row])


# ---- what a person does ----


def set_state(workshop: str, id_: str, state: str, *, of: Iterable[str], **values: Any) -> Intake:
    """Changes the state, and ``values``, if it is one ``of`` those; else all stays as it is.
    Whoever reads it is to stop.  Raises NotFound."""
    with writing() as conn:
        _one(conn, workshop, id_)
        conn.execute(
            intake.update()
            .where(intake.c.id == id_, intake.c.state.in_(list(of)))
            .values(state=state, beat_ms=0, reader=None, **values)
        )
        return _one(conn, workshop, id_)


def close(conn: Connection, workshop: str, id_: str, kit: str) -> bool:
    """Marks an intake as taken into ``kit``, within the transaction that writes that; False if it
    cannot be taken.  Raises NotFound."""
    _one(conn, workshop, id_)
    done = conn.execute(
        intake.update()
        .where(intake.c.id == id_, intake.c.state.in_(("ready", "stopped")))
        .values(state="taken", kit_id=kit, beat_ms=now_ms())
    )
    return done.rowcount == 1


def findings(
    id_: str, after: int = 0, limit: int | None = None, **only: Any
) -> list[tuple[int, Found]]:
    """Findings in order, with their numbers; ``only``: ``page``, ``what``, ``asking``."""
    with reading() as conn:
        return findings_in(conn, id_, after, limit, **only)


def findings_in(
    conn: Connection, id_: str, after: int = 0, limit: int | None = None, **only: Any
) -> list[tuple[int, Found]]:
    """The same within a transaction."""
    columns = intake_finding.c
    query = sa.select(intake_finding).where(columns.intake_id == id_, columns.number > after)
    for name in ("page", "what"):
        if only.get(name) is not None:
            query = query.where(columns[name] == only[name])
    query = query.order_by(columns.number)
    if not only.get("asking"):
        query = query.limit(limit)
    rows = [(row.number, Found.of(row.what, row.page, row.content)) for row in conn.execute(query)]
    if only.get("asking"):
        rows = [(number, found) for number, found in rows if found.asks and not found.left_out]
    return rows[:limit]


def unfit(id_: str, after: int, limit: int) -> list[dict[str, Any]]:
    columns = intake_unfit.c
    with reading() as conn:
        return list(
            conn.execute(
                sa.select(columns.content)
                .where(columns.intake_id == id_)
                .order_by(columns.number)
                .offset(after)
                .limit(limit)
            ).scalars()
        )


def pages(id_: str) -> list[dict[str, Any]]:
    """Pages of a manual with what there is on them: ``wire.intake.IntakePage``."""
    steps: Counter[int] = Counter()
    asking: Counter[int] = Counter()
    for _, found in findings(id_):
        if found.page is not None and not found.left_out:
            steps[found.page] += found.what == "step"
            asking[found.page] += bool(found.asks)
    return [
        {
            **{name: row[name] for name in ("number", "blob", "width_px", "height_px", "problem")},
            "has_text": bool(row["seen"] and row["seen"]["has_text"]),
            "steps": steps[row["number"]],
            "asking": asking[row["number"]],
        }
        for row in page_rows(id_)
    ]


def counts(id_: str) -> tuple[dict[str, int], int, int]:
    """Findings that would be taken by what they are, those that ask, and what did not fit."""
    columns = intake_finding.c
    taken: Counter[str] = Counter()
    asking = 0
    with reading() as conn:
        rows = conn.execute(
            sa.select(columns.what, columns.content).where(columns.intake_id == id_)
        )
        for row in rows:
            if row.content["left_out"]:
                continue
            if row.content["asks"]:
                asking += 1
            else:
                taken[row.what] += 1
        bad = conn.execute(
            sa.select(sa.func.count()).where(intake_unfit.c.intake_id == id_)
        ).scalar()
    return taken, asking, int(bad or 0)


def correct(
    workshop: str,
    id_: str,
    changed: Sequence[dict[str, Any]],
    added: Sequence[dict[str, Any]],
) -> list[tuple[int, Found]]:
    """Writes what a person says of findings; those concerned, as they are then.

    Raises NotFound, and Invalid if values are not what such a finding holds (then nothing is
    written).
    """
    columns = intake_finding.c
    rows = []
    with writing() as conn:
        _one(conn, workshop, id_)
        wanted = {change["id"] for change in changed}
        mine = sa.select(intake_finding).where(columns.intake_id == id_)
        known = {
            row.number: Found.of(row.what, row.page, row.content)
            for row in conn.execute(mine.where(columns.number.in_(wanted)))
        }
        for change in changed:
            found = known.get(change["id"])
            if found is None:
                raise NotFound(f"There is no finding {change['id']} in this intake.")
            _change(found, change)
            rows.append((change["id"], found))
        last = conn.execute(
            sa.select(sa.func.max(columns.number)).where(columns.intake_id == id_)
        ).scalar()
        for number, new in enumerate(added, (last or 0) + 1):
            values = _checked(new["what"], new["values"])
            frame = new.get("frame")
            rows.append(
                (number, Found(new["what"], values, page=new.get("page"), frame=frame,
                               corrected=True))
            )  # fmt: skip
        upsert(conn, intake_finding, [_row(id_, number, found) for number, found in rows])
    return rows


#: What a person can say otherwise of a finding.
_CORRECTABLE = ("values", "frame", "asks", "left_out")


def _change(found: Found, change: dict[str, Any]) -> None:
    if change.get("as_read"):
        if found.read is not None:
            before = {**found.read, "asks": [Ask(**ask) for ask in found.read["asks"]]}
            for name in _CORRECTABLE:
                setattr(found, name, before[name])
            found.read, found.corrected = None, False
        return
    if not found.corrected:
        found.read = {name: asdict(found)[name] for name in _CORRECTABLE}
    if "values" in change:
        found.values = _checked(found.what, change["values"])
        found.asks = []
    if "frame" in change:
        found.frame = change["frame"]
    if "left_out" in change:
        found.left_out = change["left_out"]
    found.corrected = True


def _checked(what: str, values: dict[str, Any]) -> dict[str, Any]:
    try:
        return values_of(what, values)
    except ValidationError as why:
        raise Invalid(f"{what}: this cannot be written like this.", errors=why.messages) from None


def _replace(conn: Connection, id_: str, found: Sequence[Found], bad: Sequence[Unfit]) -> None:
    columns = intake_finding.c
    kept = [
        Found.of(row.what, row.page, row.content)
        for row in conn.execute(sa.select(intake_finding).where(columns.intake_id == id_))
        if row.content["corrected"]
    ]
    # One that a person has corrected stands for what would be found in its place again.
    places = {_place(one) for one in kept}
    both = [one for one in found if _place(one) not in places] + kept
    both.sort(key=lambda one: (one.page or 0, one.row or 0))
    conn.execute(intake_finding.delete().where(columns.intake_id == id_))
    conn.execute(intake_unfit.delete().where(intake_unfit.c.intake_id == id_))
    rows = [_row(id_, number, one) for number, one in enumerate(both, 1)]
    if rows:
        conn.execute(intake_finding.insert(), rows)
    lost = [
        {"intake_id": id_, "number": number, "content": asdict(one)}
        for number, one in enumerate(bad, 1)
    ]
    if lost:
        conn.execute(intake_unfit.insert(), lost)


def _place(found: Found) -> tuple[Any, ...]:
    return (found.what, found.page, found.row, found.text)


def _row(id_: str, number: int, found: Found) -> dict[str, Any]:
    return {
        "intake_id": id_,
        "number": number,
        "what": found.what,
        "page": found.page,
        "content": found.content(),
    }


def _one(conn: Connection, workshop: str, id_: str) -> Intake:
    row = conn.execute(
        sa.select(intake).where(intake.c.id == id_, intake.c.workshop_id == workshop)
    ).mappings().first()  # fmt: skip
    if row is None:
        raise NotFound("There is no such intake in this workshop: it may have been thrown away.")
    return _intake(row)


def _intake(row: RowMapping) -> Intake:
    return Intake(
        row["id"], row["workshop_id"], row["kind"], row["name"], row["kit_id"], row["state"],
        row["done"], row["total"], row["problem"], row["layout"], row["change"], row["beat_ms"],
        row["made_ms"],
    )  # fmt: skip


def message(item: Intake) -> dict[str, Any]:
    """As it goes over the wire: ``wire.intake.IntakeMessage``."""
    taken, asking, bad = counts(item.id)
    return {
        "id": item.id, "kind": item.kind, "name": item.name, "kit": item.kit, "state": item.state,
        "done": item.done, "total": item.total, "problem": item.problem, "layout": item.layout,
        "made_at": instant(item.made_ms),
        "counts": taken, "asking": asking, "unfit": bad,
    }  # fmt: skip


def found_of(rows: Iterable[dict[str, Any]]) -> list[Found]:
    """Findings as the reading process hands them over."""
    return [Found(**{**row, "asks": [Ask(**ask) for ask in row.get("asks", [])]}) for row in rows]


def unfit_of(rows: Iterable[dict[str, Any]]) -> list[Unfit]:
    return [Unfit(**row) for row in rows]
