"""Reading an intake from beginning to end, in the background; can be stopped and gone on with."""

from __future__ import annotations

import contextlib
import hashlib
import logging
import secrets
import time
from collections.abc import Callable
from typing import Any

from ...storage.blobs import BlobStore
from ...wire.problems import Invalid, NotAPicture, NotFound, Problem, TooLarge, Unreadable
from .. import photos
from . import store
from .files import IntakeFiles
from .findings import Found, Unfit
from .sandbox import CannotRead, Sandbox, Stopped
from .store import Intake

log = logging.getLogger(__name__)

#: Seconds that one call of the reading process may take.
LOOK_S, TABLE_S, TEXT_S, PAGE_S, FINDINGS_S = 120, 120, 20, 20, 180
#: How often the database is told how far a table is, and asked whether to stop.
_TELL_S = 0.5


def read_waiting(files: IntakeFiles, blobs: BlobStore, pixels_max: int, workshop: str) -> None:
    """Reads what waits in state ``reading``, one after the other, until nothing waits that may be
    read now: whoever reads already goes on with the rest.

    Whatever happens, each intake says so at the end.
    """
    reader = secrets.token_hex(16)
    while (id_ := store.claim_next(workshop, reader)) is not None:
        _read(files, blobs, pixels_max, workshop, id_, reader)


def _read(
    files: IntakeFiles, blobs: BlobStore, pixels_max: int, workshop: str, id_: str, reader: str
) -> None:
    try:
        item = store.one(workshop, id_)
        with Sandbox(_asker(id_, reader)) as sandbox:
            if not files.path(id_).is_file():
                raise CannotRead("The server no longer has the file. Choose it again.")
            if item.kind == "text":
                _text(files, sandbox, item, reader)
            elif item.kind == "table":
                _table(files, sandbox, item, reader)
            else:
                _manual(files, blobs, pixels_max, sandbox, item, reader)
    except Stopped:
        return
    except CannotRead as why:
        store.fail(id_, reader, Unreadable(str(why)))
    except NotFound:
        return
    except Exception:
        log.exception("an intake could not be read")
        store.fail(id_, reader, Unreadable("Something went wrong while reading. Try it again."))


def _asker(id_: str, reader: str) -> Callable[[], bool]:
    """Whether to stop, asked of the database now and then; says at once that somebody reads."""
    last = 0.0

    def stop() -> bool:
        nonlocal last
        if time.monotonic() - last < _TELL_S:
            return False
        last = time.monotonic()
        return not store.beat(id_, reader)

    return stop


def _text(files: IntakeFiles, sandbox: Sandbox, item: Intake, reader: str) -> None:
    content = files.path(item.id).read_bytes().decode("utf-8-sig", "replace")
    found, unfit = sandbox.call("texts.findings", TEXT_S, {"text": content, "name": item.name})
    lines = content.count("\n") + 1
    store.finish(
        item.id, reader, "ready", store.found_of(found), store.unfit_of(unfit),
        done=lines, total=lines,
    )  # fmt: skip


def _table(files: IntakeFiles, sandbox: Sandbox, item: Intake, reader: str) -> None:
    change = item.change
    about = {"path": str(files.path(item.id)), "name": item.name}
    seen = sandbox.call("tables.look", LOOK_S, {**about, "change": change, "remembered": None})
    if not store.beat(item.id, reader):
        raise Stopped
    if change is not None and change.get("columns"):
        store.remember_shape(item.workshop, seen["shape"], seen["layout"])
    elif change is None and (known := store.shape_known(item.workshop, seen["shape"])):
        seen = sandbox.call("tables.look", LOOK_S, {**about, "change": None, "remembered": known})
    layout = seen["layout"]
    total = layout["rows"]
    store.beat(item.id, reader, layout=layout, done=0, total=total)
    last = time.monotonic()

    def report(done: int, total: int) -> None:
        nonlocal last
        if time.monotonic() - last > _TELL_S:
            last = time.monotonic()
            store.beat(item.id, reader, done=done, total=total)

    read = sandbox.call("tables.read", TABLE_S, {**about, "layout": layout}, report)
    store.finish(
        item.id, reader, "ready", store.found_of(read["findings"]), store.unfit_of(read["unfit"]),
        layout=layout, done=read["rows"], total=read["rows"],
    )  # fmt: skip


def _manual(
    files: IntakeFiles, blobs: BlobStore, pixels_max: int, sandbox: Sandbox, item: Intake,
    reader: str,
) -> None:  # fmt: skip
    path = str(files.path(item.id))
    total = sandbox.call("manual.look", LOOK_S, {"path": path, "name": item.name})["pages"]
    read = {row["number"] for row in store.page_rows(item.id) if row["problem"] is None}
    for number in range(1, total + 1):
        # What is on screen meanwhile is how far it is; what was read before a stop stays read.
        if not store.beat(item.id, reader, done=number - 1, total=total):
            raise Stopped
        if number not in read:
            store.keep_page(
                item.id,
                reader,
                number,
                **_page(files, blobs, pixels_max, sandbox, item, number),
            )
    found, unfit = findings_of_manual(sandbox, item.id, item.name)
    store.finish(item.id, reader, "ready", found, unfit, done=total, total=total)


def findings_of_manual(sandbox: Sandbox, id_: str, name: str) -> tuple[list[Found], list[Unfit]]:
    """What the pages that have been read come to; ``name``: that of the file."""
    pages = [
        {"number": row["number"], **row["seen"]}
        for row in store.page_rows(id_)
        if row["seen"] is not None
    ]
    found, unfit = sandbox.call("manual.findings", FINDINGS_S, {"pages": pages})
    return store.found_of(found), store.unfit_of([{**one, "file": name} for one in unfit])


def stop(workshop: str, id_: str) -> Intake:
    """Ends the reading; what was read of a manual until then is made usable first, so that nobody
    takes it in before.  One that is not being read stays as it is.  Raises NotFound."""
    item = store.one(workshop, id_)
    if item.kind != "manual":
        return store.set_state(workshop, id_, "stopped", of=["reading"])
    reader = secrets.token_hex(16)
    if not store.take_over(id_, reader):
        return store.one(workshop, id_)
    found: list[Found] = []
    unfit: list[Unfit] = []
    try:
        with Sandbox(_asker(id_, reader)) as sandbox:
            if store.page_rows(id_):
                found, unfit = findings_of_manual(sandbox, id_, item.name)
    except Stopped:
        # Somebody else has stopped it too, or has thrown it away.
        return store.one(workshop, id_)
    except CannotRead as why:
        log.warning("what was read before a stop comes to nothing: %s", why)
        return store.set_state(workshop, id_, "stopped", of=["reading"])
    store.finish(id_, reader, "stopped", found, unfit)
    return store.one(workshop, id_)


def _page(
    files: IntakeFiles, blobs: BlobStore, pixels_max: int, sandbox: Sandbox, item: Intake,
    number: int,
) -> dict[str, Any]:  # fmt: skip
    """The row of one page, which says so if the page cannot be read: the others can."""
    picture = files.picture(item.id)
    picture.unlink(missing_ok=True)
    try:
        about = {"path": str(files.path(item.id)), "number": number, "picture": str(picture)}
        seen = sandbox.call("manual.page", PAGE_S, about)
        content = picture.read_bytes()
        sha256 = hashlib.sha256(content).hexdigest()
        kept, _ = photos.keep(blobs, item.workshop, sha256, content, pixels_max)
    except (CannotRead, OSError, NotAPicture, TooLarge, Invalid) as why:
        said = why.detail if isinstance(why, Problem) else str(why)
        return {"problem": Unreadable(f"Page {number}: {said}").body()}
    finally:
        with contextlib.suppress(OSError):
            picture.unlink(missing_ok=True)
    return {
        "blob": kept.sha256, "width_px": kept.width_px, "height_px": kept.height_px, "seen": seen,
    }  # fmt: skip
