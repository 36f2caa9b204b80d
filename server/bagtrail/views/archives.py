"""Kits and builds as files: archives out and in, tables out."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from typing import IO, Any

from flask import Response, request

from ..domain import epochs
from ..domain.archive import bringing, members, tables, writing
from ..wire.archives import ArchiveReply, TableQuery
from ..wire.messages import PROBLEM, ProblemMessage
from ..wire.problems import NoRoom, NotFound, TooLarge
from .auth import caller, settings
from .blobs import store
from .bodies import Calls

blp = Calls("archives", __name__, url_prefix="/api", description="Kits and builds as files")

_ZIP = "application/zip"
_CHUNK = 1 << 18


@blp.get("/kits/<uuid:kit>/archive.zip", endpoint="kit")
@blp.response(200, content_type=_ZIP)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def kit_archive(kit: Any) -> Response:
    """A kit with its pictures and its whole history, as one archive."""
    return _archive("kit", str(kit))


@blp.get("/builds/<uuid:build>/archive.zip", endpoint="build")
@blp.response(200, content_type=_ZIP)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def build_archive(build: Any) -> Response:
    """A build with its kit, its photos and its whole history, as one archive."""
    return _archive("build", str(build))


@blp.post("/archives", endpoint="bring")
@blp.response(201, ArchiveReply)
@blp.alt_response(413, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(507, schema=ProblemMessage, content_type=PROBLEM)
def bring() -> dict[str, Any]:
    """Brings an archive in: its bytes are the body.  Again changes nothing."""
    own = settings()
    limits = members.Limits(own.archive_max_bytes, own.photo_max_bytes, own.photo_max_pixels)
    with tempfile.TemporaryFile(dir=own.data) as file:
        _receive(file, own.archive_max_bytes)
        brought = bringing.bring(store(), caller().workshop, file, limits)
    ledger = epochs.current()
    epochs.remember(own.epoch_file, ledger.epoch, ledger.seq)
    return {
        "name": brought.name,
        "kit": brought.kits[0] if brought.kits else None,
        "kits": brought.kits,
        "builds": [brought.build] if brought.build else [],
        "made": brought.made,
        "added": brought.added,
        "known": brought.known,
        "photos": brought.photos,
        "cleared": brought.cleared,
        "copied": brought.copied,
    }


@blp.get("/tables/<collection>.csv", endpoint="table")
@blp.arguments(TableQuery, location="query")
@blp.response(200, content_type="text/csv")
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
def table(query: dict[str, Any], collection: str) -> Response:
    """Records of one collection as a table."""
    type_ = tables.TYPES.get(collection)
    if type_ is None:
        raise NotFound(f"There is no table of that name; there are {', '.join(tables.TYPES)}.")
    text = tables.one(caller().workshop, type_, query.get("kit"), query.get("build"))
    return file([text.encode()], "text/csv; charset=utf-8", f"{collection}.csv")


@blp.get("/kits/<uuid:kit>/tables.zip", endpoint="kit_tables")
@blp.response(200, content_type=_ZIP)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def kit_tables(kit: Any) -> Response:
    """Every table of a kit, and its parts list."""
    return _tables("kit", str(kit))


@blp.get("/builds/<uuid:build>/tables.zip", endpoint="build_tables")
@blp.response(200, content_type=_ZIP)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def build_tables(build: Any) -> Response:
    """Every table of a build and its kit, its parts list, and what was done when."""
    return _tables("build", str(build))


def _tables(what: str, root: str) -> Response:
    out = tables.all_of(caller().workshop, what, root)
    return file(out.chunks, _ZIP, out.name)


def _archive(what: str, root: str) -> Response:
    archive = writing.export(store(), settings().data, caller().workshop, what, root)
    return file(archive.chunks, _ZIP, archive.name)


def file(chunks: Iterable[bytes], media_type: str, name: str) -> Response:
    """A file to be saved under this name, which is plain ASCII."""
    response = Response(chunks, content_type=media_type)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _receive(target: IO[bytes], most: int) -> None:
    """The body, into a file.  Raises TooLarge, NoRoom."""
    words = (
        f"This server takes archives of {most // 1_000_000} MB at most. The setting"
        " BAGTRAIL_ARCHIVE_MAX_BYTES says so; whoever runs the server can raise it."
    )
    if (request.content_length or 0) > most:
        raise TooLarge(words)
    received = 0
    try:
        while chunk := request.stream.read(_CHUNK):
            received += len(chunk)
            if received > most:
                raise TooLarge(words)
            target.write(chunk)
        target.flush()
    except OSError as why:
        if not bringing.is_full(why):
            raise
        raise NoRoom(
            "There is not enough room to receive this archive. Free some space there, then bring it"
            " in again. Nothing was written."
        ) from why
