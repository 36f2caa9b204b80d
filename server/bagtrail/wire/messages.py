"""Bodies of requests and replies that are not records."""

from __future__ import annotations

from marshmallow import RAISE, Schema, fields, validate

from .fields import Clock, Ref, Sha256, Text, Whole, Word
from .records import ChangeId

PROTOCOL = 1
#: Media type of problems (RFC 9457).
PROBLEM = "application/problem+json"
#: Changes in one push at most, and bytes of its JSON once unpacked.
PUSH_MAX_CHANGES = 20_000
PUSH_MAX_BYTES = 16 * 1024 * 1024
#: Bytes of the JSON of any other call.
BODY_MAX_BYTES = 1024 * 1024
#: Records in one page of a pull.
PULL_LIMIT, PULL_LIMIT_MAX = 5_000, 20_000


class Message(Schema):
    class Meta:
        unknown = RAISE


class ProblemMessage(Schema):
    """RFC 9457 problem details."""

    type = fields.String(required=True)
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String()
    instance = fields.String()
    errors = fields.Dict()


class Cursor(Message):
    epoch = fields.String(required=True, validate=validate.Length(max=32))
    seq = Whole(0, 2**53, required=True)
    change = ChangeId(required=False, load_default=None)


class Packed(Message):
    """Changes as columns; see server/PROTOCOL.md. Checked column by column when unpacked."""

    clocks = fields.List(fields.Raw(), required=True, metadata={"items": {"type": "string"}})
    records = fields.List(fields.Raw(), required=True)
    author = fields.List(fields.Raw(), required=True)
    counter = fields.List(fields.Raw(), required=True)
    record = fields.List(fields.Raw(), required=True)
    set = fields.List(fields.Raw(), required=True)
    ms = fields.List(fields.Raw(), required=True)
    tick = fields.List(fields.Raw(), required=True)
    supersedes = fields.List(fields.Raw())
    group = fields.List(fields.Raw())


class Push(Message):
    cursor = fields.Nested(Cursor, allow_none=True, load_default=None)
    changes = fields.Raw(required=True, metadata={"$ref": "#/components/schemas/Packed"})


class PushReply(Schema):
    epoch = fields.String(required=True)
    now = fields.Integer(required=True)
    verdicts = fields.List(Word("applied", "duplicate", "refused", "retry"), required=True)
    seqs = fields.List(fields.Integer(allow_none=True), required=True)
    restamped = fields.Dict(keys=fields.String(), values=fields.String(), required=True)
    problems = fields.Dict(
        keys=fields.String(), values=fields.Nested(ProblemMessage), required=True
    )


class PullQuery(Message):
    epoch = fields.String(validate=validate.Length(max=32))
    seq = fields.Integer(validate=validate.Range(0, 2**53))
    change = ChangeId()
    limit = fields.Integer(validate=validate.Range(1, PULL_LIMIT_MAX), load_default=PULL_LIMIT)


class PullReply(Schema):
    cursor = fields.Nested(Cursor, required=True)
    more = fields.Boolean(required=True)
    now = fields.Integer(required=True)
    workshop = fields.String(required=True)
    changes = fields.Nested(Packed, required=True)


class Offer(Message):
    ids = fields.List(ChangeId(required=True), required=True, validate=validate.Length(max=20_000))


class OfferReply(Schema):
    missing = fields.List(ChangeId(required=True), required=True)


class PingReply(Schema):
    service = fields.Constant("bagtrail")
    protocol = fields.Integer(required=True)
    epoch = fields.String(required=True)
    now = fields.Integer(required=True)


class Claim(Message):
    """A browser on the server's own machine takes a new server. ``device``: id it will have."""

    workshop = Text(80, least=1, required=True)
    name = Text(60, least=1, required=True)
    kind = Word("phone", "tablet", "desk", required=True)
    device = Ref("device", required=True)
    clock = Clock(required=True)


class Redeem(Message):
    code = Text(20, least=4, required=True)
    name = Text(60, least=1, required=True)
    kind = Word("phone", "tablet", "desk", required=True)
    device = Ref("device", required=True)
    clock = Clock(required=True)


class NewClock(Message):
    clock = Clock(required=True)


class Named(Schema):
    id = fields.String(required=True)
    name = fields.String(required=True)


class SessionDevice(Named):
    clock = Clock(required=True)


class SessionReply(Schema):
    workshop = fields.Nested(Named, required=True)
    device = fields.Nested(SessionDevice, required=True)
    epoch = fields.String(required=True)
    public_url = fields.String(required=True)


class PairingReply(Schema):
    """``code`` in clear, ``url`` to put in a QR symbol, ``svg`` that symbol, ``expires_at``."""

    code = fields.String(required=True)
    url = fields.String(required=True)
    svg = fields.String(required=True)
    expires_at = fields.String(required=True)


class BlobReply(Schema):
    blob = Sha256(required=True)
    width_px = fields.Integer(required=True)
    height_px = fields.Integer(required=True)
    size_bytes = fields.Integer(required=True)
