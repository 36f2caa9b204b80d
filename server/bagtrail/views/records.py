"""Plain REST over every record type: read, filter, page; write through the journal."""

from __future__ import annotations

import re
from typing import Any

from flask import Response, jsonify, request
from flask.views import MethodView
from marshmallow import RAISE, Schema, fields, validate

from ..domain import epochs, records
from ..wire.fields import Ref, Word
from ..wire.messages import PROBLEM, ProblemMessage
from ..wire.problems import ChangedElsewhere, NotFound
from ..wire.records import RECORDS, Record, field_kinds
from .auth import caller
from .bodies import Calls

blp = Calls("records", __name__, url_prefix="/api", description="Records of the workshop")

PAGE, PAGE_MAX = 100, 1000


class ClashMessage(Schema):
    field = fields.String(required=True)
    others = fields.List(fields.Dict(), required=True)


class ClashList(Schema):
    clashes = fields.List(fields.Nested(ClashMessage), required=True)


def _reads(schema: type[Record]) -> type[Schema]:
    own = {name: kind for name, kind in schema._declared_fields.items() if name != "deleted"}
    extra = {
        "id": fields.String(required=True),
        "seq": fields.Integer(required=True),
        "asks": fields.Boolean(required=True),
    }
    return type(f"{schema.__name__}Read", (Schema,), {**extra, **own})


def _page_of(read: type[Schema]) -> type[Schema]:
    name = read.__name__.removesuffix("Read")
    members = {
        "items": fields.List(fields.Nested(read), required=True),
        "next": fields.String(allow_none=True, required=True),
    }
    return type(f"{name}Page", (Schema,), members)


def _query_of(schema: type[Record]) -> type[Schema]:
    """Filters: every reference to another record, and every word from a fixed list."""
    filters: dict[str, Any] = {
        name: type(kind)(kind.kind) if isinstance(kind, Ref) else Word(*kind.words)
        for name, kind in field_kinds(schema.record_type).items()
        if isinstance(kind, Ref | Word)
    }
    paging = {
        "after": Ref(schema.record_type),
        "limit": fields.Integer(load_default=PAGE, validate=validate.Range(1, PAGE_MAX)),
    }
    meta = type("Meta", (), {"unknown": RAISE})
    return type(f"{schema.__name__}Query", (Schema,), {**filters, **paging, "Meta": meta})


def _dump(read: records.Read) -> dict[str, Any]:
    return {"id": read.id, "seq": read.seq, "asks": read.asks, **read.values}


def _tag(seq: int | str) -> str:
    """Sequences begin anew in another epoch, and a purge takes the latest away."""
    ledger = epochs.current()
    return f"{ledger.epoch}.{ledger.floor}.{seq}"


def _seen() -> int | None:
    """The sequence in If-Match, if the writer says what it had read."""
    if not request.if_match or request.if_match.star_tag:
        return None
    tags = list(request.if_match)
    number = tags[0].removeprefix(_tag("")) if len(tags) == 1 else ""
    if not re.fullmatch("[0-9]{1,16}", number):
        raise ChangedElsewhere("If-Match must be the ETag of the record as you have read it.")
    return int(number)


def _tagged(response: Response, tag: str) -> Response:
    response.set_etag(tag)
    response.headers["Cache-Control"] = "private, no-cache"
    response.make_conditional(request)
    return response


def _collection(schema: type[Record]) -> None:
    type_, name = schema.record_type, schema.__name__
    read = _reads(schema)
    partial = type(f"{name}Patch", (schema,), {})

    class Many(MethodView):
        @blp.arguments(_query_of(schema), location="query", unknown=None)
        @blp.response(200, _page_of(read))
        def get(self, query: dict[str, Any]) -> Response:
            workshop = caller().workshop
            limit, after = query.pop("limit"), query.pop("after", None)
            tag = _tag(records.newest(workshop))
            found, following = records.page(workshop, type_, query, after, limit)
            body = {"items": [_dump(item) for item in found], "next": following}
            return _tagged(_reply(body), tag)

    class Growing(Many):
        @blp.arguments(schema)
        @blp.response(201, read)
        @blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
        def post(self, values: dict[str, Any]) -> Response:
            values.pop("deleted", None)
            made = records.create(caller().workshop, type_, values)
            response = _reply(_dump(made), 201)
            response.headers["Location"] = f"/api/{schema.collection}/{made.id}"
            response.set_etag(_tag(made.seq))
            return response

    class One(MethodView):
        @blp.response(200, read)
        @blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
        def get(self, record: Any) -> Response:
            found = records.one(caller().workshop, type_, str(record))
            return _tagged(_reply(_dump(found)), _tag(found.seq))

        @blp.arguments(partial(partial=True))
        @blp.response(200, read)
        @blp.alt_response(412, schema=ProblemMessage, content_type=PROBLEM)
        def patch(self, values: dict[str, Any], record: Any) -> Response:
            values.pop("deleted", None)
            changed = records.change(caller().workshop, type_, str(record), values, _seen())
            response = _reply(_dump(changed))
            response.set_etag(_tag(changed.seq))
            return response

    class Ending(One):
        @blp.response(204)
        @blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
        def delete(self, record: Any) -> None:
            records.delete(caller().workshop, type_, str(record), _seen())

    many, one = (Many, One) if schema.lasting else (Growing, Ending)
    blp.route(f"/{schema.collection}", endpoint=f"{name}Many")(many)
    blp.route(f"/{schema.collection}/<uuid:record>", endpoint=f"{name}One")(one)


def _reply(body: dict[str, Any], status: int = 200) -> Response:
    response = jsonify(body)
    response.status_code = status
    return response


for _schema in RECORDS.values():
    _collection(_schema)


@blp.get("/clashes/<type_>/<uuid:record>", endpoint="clashes")
@blp.response(200, ClashList)
def clashes(type_: str, record: Any) -> dict[str, Any]:
    """What a person has to settle on a record: the values that are not shown."""
    if type_ not in RECORDS:
        raise NotFound(f"There is no record type {type_}.")
    found = records.clashes(caller().workshop, type_, str(record))
    return {
        "clashes": [
            {
                "field": clash.field,
                "others": [{"value": v, "change": i, "stamp": s} for v, i, s in clash.others],
            }
            for clash in found
        ]
    }
