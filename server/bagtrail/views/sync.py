"""The exchange with devices: push, pull, offer, events (server/PROTOCOL.md)."""

from __future__ import annotations

import json
import threading
import time
import zlib
from collections.abc import Iterator
from typing import Any, cast

from flask import Response, current_app, request
from flask.views import MethodView

from ..domain import devices, epochs, journal, photos, records
from ..domain.journal import Cursor
from ..wire import messages, packing
from ..wire.changes import Change
from ..wire.problems import Busy
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
#: Streams of this process.  They take up to half of its threads, so that calls find one.
_streams: set[object] = set()


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
        if any(isinstance(one, Change) and one.type in photos.PICTURED for one in changes):
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
    if len(_streams) >= settings().threads // 2:
        raise Busy("Too many devices are listening. Look from time to time instead.")
    who = caller()
    app = cast(Any, current_app)._get_current_object()

    def stream() -> Iterator[str]:
        own = object()
        _streams.add(own)
        try:
            told = -1
            began = spoke = time.monotonic()
            while time.monotonic() - began < _LISTEN_S and not closing.is_set():
                # No context is held between looks, and with it no connection.
                with app.app_context():
                    seq = records.newest(who.workshop)
                    speak = seq != told or time.monotonic() - spoke > _BEAT_S
                    if speak and not devices.still_paired(who):
                        return
                    hint = {"epoch": epochs.current().epoch, "seq": seq} if speak else None
                if hint:
                    spoke = time.monotonic()
                    # A line of comment keeps proxies from closing, and finds out who has left.
                    yield f"data: {json.dumps(hint)}\n\n" if seq != told else ": here\n\n"
                    told = seq
                closing.wait(_LOOK_S)
        finally:
            _streams.discard(own)

    response = Response(stream(), content_type="text/event-stream")
    response.headers["X-Accel-Buffering"] = "no"
    return response


def _json(body: Any) -> Response:
    text = json.dumps(body, separators=(",", ":")).encode()
    response = Response(text, content_type="application/json")
    if len(text) > 1024 and request.accept_encodings["gzip"]:
        packer = zlib.compressobj(6, wbits=31)
        response.set_data(packer.compress(text) + packer.flush())
        response.headers["Content-Encoding"] = "gzip"
    response.headers["Vary"] = "Accept-Encoding"
    return response
