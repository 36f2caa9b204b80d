"""Messages about archives and tables."""

from __future__ import annotations

from marshmallow import EXCLUDE, Schema, fields

from .fields import Ref


class ArchiveReply(Schema):
    """What came of an archive.  ``made``: new records by type; ``added`` and ``known``: changes
    that are new, and that were here already; ``photos``: new pictures; ``cleared``: records that
    were deleted here and cleared away before, and stay so; ``copied``: it came from another
    workshop, or its like had been deleted here, and it got ids and labels of its own."""

    name = fields.String(required=True)
    kit = fields.String(required=True, allow_none=True)
    kits = fields.List(fields.String(), required=True)
    builds = fields.List(fields.String(), required=True)
    made = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    added = fields.Integer(required=True)
    known = fields.Integer(required=True)
    photos = fields.Integer(required=True)
    cleared = fields.Integer(required=True)
    copied = fields.Boolean(required=True)


class TableQuery(Schema):
    """Only what belongs to this kit, or to this build and its kit."""

    class Meta:
        unknown = EXCLUDE

    kit = Ref("kit", allow_none=False)
    build = Ref("build", allow_none=False)
