"""The exchange with devices: push, pull, offer, events (server/PROTOCOL.md)."""

from __future__ import annotations

import json
import threading
import time
import zlib
from collections.abc import Iterator
from typing import Any

from flask import Response, request, stream_with_context
from flask.views import MethodView

from ..domain import epochs, journal, photos, records
from ..domain.journal import Cursor
from ..wire import messages, packing
from ..wire.changes import Change
from .auth import caller, settings
from .bodies import Calls

blp = Calls("sync", __name__, url_prefix="/api", description="Exchange with devices")

#: Set when this process is told to end: streams end then, and nobody waits for them.
closing = threading.Event()
#: Seconds between looks at the ledger for a device that listens, and between signs of life.
_LOOK_S = 0.5
_BEAT_S = 15
#: A listening device is let go after this, and comes back: a thread is not held for ever.
_LISTEN_S = 300


@blp.get("/ping", endpoint="ping")
@blp.response(200, messages.PingReply)
def ping() -> dict[str, Any]:
    """Is this the server?"""
    return {
        "service": "bagtrail",
        "protocol": messages.PROTOCOL,
        "epoch": epochs.current().epoch,
        "now": journal.now_ms(),
    }


@blp.route("/sync/push")
class Push(MethodView):
    @blp.arguments(messages.Push)
    @blp.response(200, messages.PushReply)
    @blp.alt_response(410, schema=messages.ProblemMessage, content_type=messages.PROBLEM)
    def post(self, body: dict[str, Any]) -> Response:
        """Changes of this device; a verdict for each."""
        changes = packing.unpack(body["changes"], most=messages.PUSH_MAX_CHANGES)
        cursor = Cursor(**body["cursor"]) if body["cursor"] else None
        who = caller()
        ledger, verdicts = journal.push(who.workshop, who.clocks, changes, cursor)
        epochs.remember(settings().epoch_file, ledger.epoch, ledger.seq)
        if any(isinstance(change, Change) and change.type == "photo" for change in changes):
            photos.mark_stored(who.workshop)
        return _json(
            {
                "epoch": ledger.epoch,
                "now": journal.now_ms(),
                "verdicts": [verdict.verdict for verdict in verdicts],
                "seqs": [verdict.seq for verdict in verdicts],
                "restamped": {
                    str(i): verdict.restamped
                    for i, verdict in enumerate(verdicts)
                    if verdict.restamped
                },
                "problems": {
                    str(i): verdict.problem.body()
                    for i, verdict in enumerate(verdicts)
                    if verdict.problem
                },
            }
        )


@blp.route("/sync/pull")
class Pull(MethodView):
    @blp.arguments(messages.PullQuery, location="query", unknown=None)
    @blp.response(200, messages.PullReply)
    @blp.alt_response(410, schema=messages.ProblemMessage, content_type=messages.PROBLEM)
    def get(self, query: dict[str, Any]) -> Response:
        """States of the records changed since a cursor."""
        cursor = None
        if "epoch" in query:
            cursor = Cursor(query["epoch"], query.get("seq", 0), query.get("change"))
        workshop = caller().workshop
        after, more, changes = journal.pull(workshop, cursor, query["limit"])
        return _json(
            {
                "cursor": after._asdict(),
                "more": more,
                "now": journal.now_ms(),
                "workshop": workshop,
                "changes": packing.pack(changes, push=False),
            }
        )


@blp.route("/sync/offer")
class Offer(MethodView):
    @blp.arguments(messages.Offer)
    @blp.response(200, messages.OfferReply)
    def post(self, body: dict[str, Any]) -> dict[str, Any]:
        """Which of these changes the server has not (after it was restored)."""
        return {"missing": journal.missing(caller().workshop, body["ids"])}


@blp.get("/sync/events", endpoint="events")
@blp.response(200, content_type="text/event-stream")
def events() -> Response:
    """Says when there is something new to pull, as server-sent events."""
    workshop = caller().workshop

    def stream() -> Iterator[str]:
        told = -1
        began = spoke = time.monotonic()
        while time.monotonic() - began < _LISTEN_S and not closing.is_set():
            seq = records.newest(workshop)
            if seq != told:
                told, spoke = seq, time.monotonic()
                yield f"data: {json.dumps({'epoch': epochs.current().epoch, 'seq': seq})}\n\n"
            elif time.monotonic() - spoke > _BEAT_S:
                # A line of comment keeps proxies from closing, and finds out who has left.
                spoke = time.monotonic()
                yield ": here\n\n"
            closing.wait(_LOOK_S)

    response = Response(stream_with_context(stream()), content_type="text/event-stream")
    response.headers["X-Accel-Buffering"] = "no"
    return response


def _json(body: Any) -> Response:
    text = json.dumps(body, separators=(",", ":")).encode()
    response = Response(text, content_type="application/json")
    if len(text) > 1024 and "gzip" in request.headers.get("Accept-Encoding", ""):
        packer = zlib.compressobj(6, wbits=31)
        response.set_data(packer.compress(text) + packer.flush())
        response.headers["Content-Encoding"] = "gzip"
    response.headers["Vary"] = "Accept-Encoding"
    return response
