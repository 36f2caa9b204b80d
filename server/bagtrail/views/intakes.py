"""Getting a kit in: tables, pasted texts and manuals, from upload to kit."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from flask import Flask, current_app, request
from flask.views import MethodView

from ..domain.intake import reader, store, taking
from ..domain.intake.files import IntakeFiles
from ..domain.intake.findings import Found
from ..wire.intake import (
    KINDS,
    Corrections,
    CorrectionsReply,
    FindingsPage,
    FindingsQuery,
    IntakeList,
    IntakeMessage,
    IntakePages,
    IntakeQuery,
    LayoutChange,
    Take,
    TakeReply,
    UnfitPage,
    UnfitQuery,
)
from ..wire.messages import PROBLEM, ProblemMessage
from ..wire.problems import ChangedElsewhere, TooLarge
from .auth import caller, settings
from .blobs import store as blob_store
from .bodies import Calls

blp = Calls("intakes", __name__, url_prefix="/api/intakes", description="Getting a kit in")

_CHUNK = 256 * 1024


def files() -> IntakeFiles:
    return IntakeFiles(settings().intake_folder)


@blp.route("")
class Intakes(MethodView):
    @blp.response(200, IntakeList)
    def get(self) -> dict[str, Any]:
        """Intakes that are not taken into a kit yet, latest first."""
        workshop = caller().workshop
        _look_after(workshop)
        return {"items": [store.message(item) for item in store.listing(workshop)]}

    @blp.arguments(IntakeQuery, location="query", unknown=None)
    @blp.response(201, IntakeMessage)
    @blp.alt_response(413, schema=ProblemMessage, content_type=PROBLEM)
    @blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
    def post(self, query: dict[str, Any]) -> dict[str, Any]:
        """Takes in a file (the body, as it is) and begins to read it."""
        workshop, kind = caller().workshop, query["kind"]
        most = KINDS[kind]
        if (request.content_length or 0) > most:
            raise TooLarge(f"The file may have {most // 1_000_000} MB at most.")
        id_ = store.new_id()
        # The file first: as soon as there is an intake, somebody may begin to read it.
        files().keep(id_, _body(), most)
        try:
            store.make(workshop, kind, query["name"].strip() or kind, query.get("kit"), id_)
        except BaseException:
            files().drop(id_)
            raise
        _begin(workshop)
        return store.message(store.one(workshop, id_))


@blp.route("/<uuid:intake>")
class OneIntake(MethodView):
    @blp.response(200, IntakeMessage)
    @blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
    def get(self, intake: Any) -> dict[str, Any]:
        """How an intake stands."""
        item = store.one(caller().workshop, str(intake))
        if item.state == "reading":
            _look_after(item.workshop)
        return store.message(item)

    @blp.response(204)
    @blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
    def delete(self, intake: Any) -> None:
        """Throws an intake away, with its file and all that was found."""
        store.drop(caller().workshop, str(intake))
        files().drop(str(intake))


@blp.post("/<uuid:intake>/stop", endpoint="stop")
@blp.response(200, IntakeMessage)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def stop(intake: Any) -> dict[str, Any]:
    """Stops reading; what was read of a manual so far can be used."""
    return store.message(reader.stop(caller().workshop, str(intake)))


@blp.post("/<uuid:intake>/resume", endpoint="resume")
@blp.response(200, IntakeMessage)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def resume(intake: Any) -> dict[str, Any]:
    """Goes on reading where it was stopped, or tries again what failed."""
    workshop = caller().workshop
    item = store.set_state(workshop, str(intake), "reading", of=["stopped", "failed"])
    if item.state == "reading":
        _begin(workshop)
    return store.message(store.one(workshop, item.id))


@blp.post("/<uuid:intake>/layout", endpoint="layout")
@blp.arguments(LayoutChange)
@blp.response(200, IntakeMessage)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(412, schema=ProblemMessage, content_type=PROBLEM)
def layout(change: dict[str, Any], intake: Any) -> dict[str, Any]:
    """Reads a table anew in another way; the columns are remembered for tables of its shape."""
    workshop = caller().workshop
    if store.one(workshop, str(intake)).kind != "table":
        raise ChangedElsewhere("Only a table has columns to choose.")
    item = store.set_state(
        workshop, str(intake), "reading", of=["reading", "ready", "stopped", "failed"],
        change=change,
    )  # fmt: skip
    if item.state == "taken":
        raise ChangedElsewhere("It was taken into its kit already.")
    _begin(workshop)
    return store.message(store.one(workshop, item.id))


@blp.route("/<uuid:intake>/findings")
class Findings(MethodView):
    @blp.arguments(FindingsQuery, location="query", unknown=None)
    @blp.response(200, FindingsPage)
    @blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
    def get(self, query: dict[str, Any], intake: Any) -> dict[str, Any]:
        """What was found, in order."""
        item = store.one(caller().workshop, str(intake))
        limit = query.pop("limit")
        rows = store.findings(item.id, query.pop("after"), limit + 1, **query)
        shown = rows[:limit]
        following = shown[-1][0] if len(rows) > limit else None
        return {"items": [_finding(*row) for row in shown], "next": following}

    @blp.arguments(Corrections)
    @blp.response(200, CorrectionsReply)
    @blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
    @blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
    def post(self, body: dict[str, Any], intake: Any) -> dict[str, Any]:
        """Corrects findings, answers what they ask, leaves them out, adds further ones."""
        rows = store.correct(caller().workshop, str(intake), body["changed"], body["added"])
        return {"items": [_finding(*row) for row in rows]}


@blp.get("/<uuid:intake>/unfit", endpoint="unfit")
@blp.arguments(UnfitQuery, location="query", unknown=None)
@blp.response(200, UnfitPage)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def unfit(query: dict[str, Any], intake: Any) -> dict[str, Any]:
    """Rows and cells that could not be read, each with the reason."""
    item = store.one(caller().workshop, str(intake))
    return {
        "items": store.unfit(item.id, query["after"], query["limit"]),
        "total": store.counts(item.id)[2],
    }


@blp.get("/<uuid:intake>/pages", endpoint="pages")
@blp.response(200, IntakePages)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def pages(intake: Any) -> dict[str, Any]:
    """The pages of a manual that have been read so far."""
    return {"items": store.pages(store.one(caller().workshop, str(intake)).id)}


@blp.post("/<uuid:intake>/take", endpoint="take")
@blp.arguments(Take)
@blp.response(200, TakeReply)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(412, schema=ProblemMessage, content_type=PROBLEM)
def take(body: dict[str, Any], intake: Any) -> dict[str, Any]:
    """Writes what was found into a kit, as one group of changes; the intake ends with that."""
    taken = taking.take(
        caller().workshop, str(intake), body.get("kit"), body.get("name"), pages=body["pages"]
    )
    files().drop(str(intake))
    return asdict(taken)


def _finding(number: int, found: Found) -> dict[str, Any]:
    return {"id": number, **asdict(found)}


def _body() -> Iterator[bytes]:
    while chunk := request.stream.read(_CHUNK):
        yield chunk


def _look_after(workshop: str) -> None:
    """Has read on what nobody reads, as after a restart of the server."""
    if store.waits(workshop):
        _begin(workshop)


def _begin(workshop: str) -> None:
    """Reads what waits in the background: the one who asked may leave."""
    app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]
    about = (files(), blob_store(), settings().photo_max_pixels, workshop)

    def read() -> None:
        with app.app_context():
            reader.read_waiting(*about)

    threading.Thread(target=read, name=f"intakes of {workshop}", daemon=True).start()
