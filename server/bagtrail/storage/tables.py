"""Tables.  Those of the records are made from the wire's schemas, so that the two cannot differ.

``change`` is the journal, the truth; ``record_state`` and the typed tables are its projection and
can be made again from it.  No foreign keys tie projected records to each other: changes
may arrive in any order, and a record may name another that is yet to come.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from flask_sqlalchemy import SQLAlchemy
from marshmallow import fields as kinds

from ..wire import fields as wire
from ..wire.records import RECORDS, Record, field_kinds

db = SQLAlchemy(
    metadata=sa.MetaData(
        naming_convention={
            "pk": "pk_%(table_name)s",
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
        }
    )
)
metadata = db.metadata


def _key(length: int) -> sa.types.TypeEngine[str]:
    """Text that has to sort by its bytes on every database."""
    return sa.String(length).with_variant(sa.String(length, collation="C"), "postgresql")


#: One row: what the whole server counts.  ``seq`` is the greatest sequence given out, ``clock`` and
#: ``counter`` are those of changes that the server itself writes.
ledger = sa.Table(
    "ledger",
    metadata,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("epoch", sa.String(32), nullable=False),
    sa.Column("seq", sa.BigInteger, nullable=False),
    sa.Column("floor", sa.BigInteger, nullable=False),
    sa.Column("clock", sa.String(16), nullable=False),
    sa.Column("counter", sa.BigInteger, nullable=False),
)

change = sa.Table(
    "change",
    metadata,
    sa.Column("seq", sa.BigInteger, primary_key=True, autoincrement=False),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("clock", sa.String(16), nullable=False),
    sa.Column("counter", sa.BigInteger, nullable=False),
    sa.Column("type", sa.String(40), nullable=False),
    sa.Column("record_id", sa.String(36), nullable=False),
    sa.Column("stamp", sa.String(32), nullable=False),
    sa.Column("claimed_stamp", sa.String(32)),
    sa.Column("fields", sa.Text, nullable=False),
    sa.Column("supersedes", sa.Text, nullable=False),
    sa.Column("group_first", sa.BigInteger),
    sa.Column("group_size", sa.Integer),
    sa.Column("received_ms", sa.BigInteger, nullable=False),
    sa.UniqueConstraint("clock", "counter"),
    sa.Index(None, "record_id"),
)

record_state = sa.Table(
    "record_state",
    metadata,
    sa.Column("id", _key(36), primary_key=True),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("type", sa.String(40), nullable=False),
    sa.Column("seq", sa.BigInteger, nullable=False),
    sa.Column("change_id", sa.String(32), nullable=False),
    sa.Column("group_key", sa.String(32)),
    sa.Column("heads", sa.Text, nullable=False),
    sa.Column("ghosts", sa.Text, nullable=False),
    sa.Column("gone_ms", sa.BigInteger),
    sa.Index(None, "workshop_id", "seq"),
)

#: Ids of records that were deleted and cleared away; they must not come back.
purged = sa.Table(
    "purged",
    metadata,
    sa.Column("id", _key(36), primary_key=True),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("purged_ms", sa.BigInteger, nullable=False),
)

#: What a device shows to be let in.  Only a hash of the token is kept.
credential = sa.Table(
    "credential",
    metadata,
    sa.Column("token_hash", sa.String(64), primary_key=True),
    sa.Column("device_id", sa.String(36), nullable=False),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("created_ms", sa.BigInteger, nullable=False),
    sa.Column("revoked_ms", sa.BigInteger),
    sa.Index(None, "device_id"),
)

#: Every clock a device has or had; a clock belongs to one device for ever.
device_clock = sa.Table(
    "device_clock",
    metadata,
    sa.Column("clock", sa.String(16), primary_key=True),
    sa.Column("device_id", sa.String(36), nullable=False),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("since_ms", sa.BigInteger, nullable=False),
)

pairing = sa.Table(
    "pairing",
    metadata,
    sa.Column("code_hash", sa.String(64), primary_key=True),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("expires_ms", sa.BigInteger, nullable=False),
    sa.Column("used_ms", sa.BigInteger),
    sa.Column("tries", sa.Integer, nullable=False),
)

blob = sa.Table(
    "blob",
    metadata,
    sa.Column("workshop_id", sa.String(36), primary_key=True),
    sa.Column("sha256", sa.String(64), primary_key=True),
    sa.Column("media_type", sa.String(32), nullable=False),
    sa.Column("width_px", sa.Integer, nullable=False),
    sa.Column("height_px", sa.Integer, nullable=False),
    sa.Column("size_bytes", sa.Integer, nullable=False),
    sa.Column("stored_ms", sa.BigInteger, nullable=False),
)

#: A table, a text or a manual on its way into a kit.  The server's own, no record: it ends when it
#: is taken in or thrown away.  ``reader`` and ``beat_ms``: who reads it now, and last said so.
intake = sa.Table(
    "intake",
    metadata,
    sa.Column("id", sa.String(36), primary_key=True),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("kind", sa.String(8), nullable=False),
    sa.Column("name", sa.String(255), nullable=False),
    sa.Column("kit_id", sa.String(36)),
    sa.Column("state", sa.String(8), nullable=False),
    sa.Column("done", sa.Integer, nullable=False),
    sa.Column("total", sa.Integer, nullable=False),
    sa.Column("problem", sa.JSON(none_as_null=True)),
    sa.Column("layout", sa.JSON(none_as_null=True)),
    sa.Column("change", sa.JSON(none_as_null=True)),
    sa.Column("reader", sa.String(32)),
    sa.Column("beat_ms", sa.BigInteger, nullable=False),
    sa.Column("made_ms", sa.BigInteger, nullable=False),
    sa.Index(None, "workshop_id"),
)

#: A page of a manual being taken in.  ``lines``: what the reader saw on it; ``problem``: why not.
intake_page = sa.Table(
    "intake_page",
    metadata,
    sa.Column("intake_id", sa.String(36), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("blob", sa.String(64)),
    sa.Column("width_px", sa.Integer),
    sa.Column("height_px", sa.Integer),
    sa.Column("seen", sa.JSON(none_as_null=True)),
    sa.Column("problem", sa.JSON(none_as_null=True)),
)

#: What was found in an intake: a record to be, see :mod:`bagtrail.domain.intake.findings`.
intake_finding = sa.Table(
    "intake_finding",
    metadata,
    sa.Column("intake_id", sa.String(36), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("what", sa.String(16), nullable=False),
    sa.Column("page", sa.Integer),
    sa.Column("content", sa.JSON, nullable=False),
)

#: Rows and cells that could not be read.
intake_unfit = sa.Table(
    "intake_unfit",
    metadata,
    sa.Column("intake_id", sa.String(36), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("content", sa.JSON, nullable=False),
)

#: Which columns of a table are what, by the shape of its headings.
table_shape = sa.Table(
    "table_shape",
    metadata,
    sa.Column("workshop_id", sa.String(36), primary_key=True),
    sa.Column("shape", sa.String(64), primary_key=True),
    sa.Column("layout", sa.JSON, nullable=False),
    sa.Column("used_ms", sa.BigInteger, nullable=False),
)

#: What the last intake wrote to a record: for each field its value and the id of the change.
taken_in = sa.Table(
    "taken_in",
    metadata,
    sa.Column("record_id", sa.String(36), primary_key=True),
    sa.Column("workshop_id", sa.String(36), nullable=False),
    sa.Column("fields", sa.JSON, nullable=False),
)


def _column_type(field: kinds.Field[Any]) -> sa.types.TypeEngine[Any]:
    match field:
        case wire.Ref():
            return sa.String(36)
        case wire.OrderKey():
            return _key(64)
        case wire._Shaped():
            return sa.String(field.length)
        case wire.Word():
            return sa.String(32)
        case wire.Text():
            return sa.String(field.most)
        case wire.Whole():
            return sa.Integer()
        case wire.Number():
            return sa.Float()
        case wire.YesNo():
            return sa.Boolean()
        case wire.Several():
            return sa.JSON(none_as_null=True)
    raise TypeError(f"no column type for {type(field).__name__}")


def _record_table(schema: type[Record]) -> sa.Table:
    """Columns beside the fields: ``seq`` of the last change; ``complete``: all required fields are
    there; ``gone``: deleted; ``asks``: something waits for a person to settle it."""
    columns = [
        sa.Column(name, _column_type(field), nullable=True)
        for name, field in field_kinds(schema.record_type).items()
        if name != "deleted"
    ]
    indexed = {"build", "kit", "step", "bag", "code"} & {column.name for column in columns}
    return sa.Table(
        schema.record_type,
        metadata,
        sa.Column("id", _key(36), primary_key=True),
        sa.Column("workshop_id", sa.String(36), nullable=False),
        sa.Column("seq", sa.BigInteger, nullable=False),
        sa.Column("complete", sa.Boolean, nullable=False),
        sa.Column("gone", sa.Boolean, nullable=False),
        sa.Column("asks", sa.Boolean, nullable=False),
        *columns,
        sa.Index(None, "workshop_id"),
        *(sa.Index(None, name) for name in sorted(indexed)),
    )


#: The typed table of each record type.
RECORD_TABLES: dict[str, sa.Table] = {
    name: _record_table(schema) for name, schema in RECORDS.items()
}
