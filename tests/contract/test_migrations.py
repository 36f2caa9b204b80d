"""The database's history: up, down, up on filled tables; the model and the head never differ."""

from __future__ import annotations

import flask_migrate
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from flask import Flask

from bagtrail.domain import epochs, journal
from bagtrail.resources import migrations_folder
from bagtrail.storage.tables import RECORD_TABLES, db, metadata
from bagtrail.storage.work import reading
from bagtrail.wire import fields as wire
from bagtrail.wire.records import RECORDS, field_kinds
from tests.devices import SimDevice, new_workshop

EXAMPLES = {
    wire.Ref: "6f1d2a52-6f0c-4d3a-8f0e-2d5b1c7a9e01",
    wire.Instant: "2026-05-04T18:30:00.000Z",
    wire.Sha256: "ab" * 32,
    wire.OrderKey: "V",
    wire.LabelCode: "00000000",
    wire.Clock: "0123456789abcdef",
    wire.Whole: 2,
    wire.Number: 1.5,
    wire.YesNo: True,
    wire.Frame: [0.1, 0.1, 0.5, 0.5],
}


def example(kind: object) -> object:
    """A value that this kind of field takes."""
    if isinstance(kind, wire.Word):
        return kind.words[0]
    for cls, value in EXAMPLES.items():
        if isinstance(kind, cls):
            return value
    if isinstance(kind, wire.Several):
        return [example(kind.inner)]
    if isinstance(kind, wire.Text):
        return "Ä" * min(kind.most, 9)
    raise AssertionError(f"no example for {kind!r}")


def _fill() -> None:
    """A record of every type, with every field set."""
    device = SimDevice(new_workshop())
    for number, type_ in enumerate(RECORDS, 1):
        fields = {n: example(k) for n, k in field_kinds(type_).items() if n != "deleted"}
        id_ = f"00000000-0000-4000-8000-{number:012}"
        id_ = device.workshop if type_ == "workshop" else id_
        device.write(type_, id_, fields, 1_790_000_000_000)
    device.exchange(1_790_000_000_000)
    assert not device.parked


def test_there_is_one_head() -> None:
    assert len(ScriptDirectory(str(migrations_folder())).get_heads()) == 1


def test_the_head_is_the_model(database: str | None, app: Flask) -> None:
    with app.app_context(), db.engine.connect() as conn:
        context = MigrationContext.configure(conn, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_up_down_up_on_filled_tables(database: str | None, app: Flask) -> None:
    with app.app_context():
        _fill()
        with reading() as conn:
            for name, table in RECORD_TABLES.items():
                rows = conn.execute(sa.select(sa.func.count()).select_from(table)).scalar()
                assert rows, f"{name} is empty: the test would say nothing of it"
        revisions = list(ScriptDirectory(str(migrations_folder())).walk_revisions())
        for _ in revisions:
            flask_migrate.downgrade()
        with db.engine.connect() as conn:
            assert sa.inspect(conn).get_table_names() == ["alembic_version"]
        flask_migrate.upgrade()
        epochs.settle(app.config["BAGTRAIL"].epoch_file)
        _fill()
        # One of each, and the device that claimed the server.
        assert journal.rebuild() == len(RECORDS) + 1


def test_columns_are_as_long_as_the_wire_allows() -> None:
    """One definition: what the wire lets through fits into the table."""
    for type_, table in RECORD_TABLES.items():
        kinds = {n: k for n, k in field_kinds(type_).items() if n != "deleted"}
        extra = {"id", "workshop_id", "seq", "complete", "gone", "asks"}
        assert set(table.c.keys()) == kinds.keys() | extra
        for name, kind in kinds.items():
            if isinstance(kind, wire.Text) and not isinstance(kind, wire.Word):
                assert table.c[name].type.length == kind.most  # type: ignore[attr-defined]
