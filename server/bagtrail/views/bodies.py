"""Bodies of calls: JSON, gzipped or not, within bounds; one that cannot be read is a problem."""

from __future__ import annotations

import json
import zlib
from typing import Any

from flask import Request, current_app, request
from flask_smorest import Blueprint
from webargs.core import missing
from webargs.flaskparser import FlaskParser

from ..wire.intake import KINDS
from ..wire.messages import BODY_MAX_BYTES, PUSH_MAX_BYTES
from ..wire.problems import Malformed, TooLarge

#: Endpoints whose bodies may be longer; those of pictures are held to their own setting.
_LONG = {"sync.Push": PUSH_MAX_BYTES, "intakes.Intakes": max(KINDS.values())}


def hold_to_bounds() -> None:
    """Before a body is read: how long it may be as it travels.  Strangers get to send little."""
    if request.endpoint == "archives.bring":
        # One byte more: that is where its own words begin.
        request.max_content_length = current_app.config["BAGTRAIL"].archive_max_bytes + 1
    elif request.endpoint != "blobs.Blob":
        request.max_content_length = _most(request)


class _Bodies(FlaskParser):
    def load_json(self, req: Request, schema: Any) -> Any:  # noqa: ARG002  (overrides)
        data = req.get_data(cache=False)
        if not data:
            return missing
        if req.headers.get("Content-Encoding", "").lower() == "gzip":
            data = _unpacked(data, _most(req))
        try:
            return json.loads(data)
        except (ValueError, RecursionError):
            raise Malformed("The body is not JSON.") from None


class Calls(Blueprint):  # type: ignore[misc]
    """Calls whose bodies are read like this."""

    ARGUMENTS_PARSER = _Bodies()


def _most(req: Request) -> int:
    return _LONG.get(req.endpoint or "", BODY_MAX_BYTES)


def _unpacked(data: bytes, most: int) -> bytes:
    unpacker = zlib.decompressobj(wbits=31)
    try:
        plain = unpacker.decompress(data, most + 1)
    except zlib.error:
        raise Malformed("The body says that it is gzip, and is not.") from None
    if len(plain) > most:
        raise TooLarge(f"At most {most} bytes unpacked: send less at a time.")
    if not unpacker.eof:
        raise Malformed("The gzip body is cut off.")
    return plain
