"""The application: extensions bound, blueprints registered, problems written."""

from __future__ import annotations

import logging
from http import HTTPStatus
from typing import Any

import sqlalchemy as sa
from flask import Flask, Response, json
from flask_migrate import Migrate
from werkzeug.exceptions import HTTPException

from . import resources
from .settings import Settings
from .storage import work
from .storage.tables import db
from .views import (
    api_document,
    archives,
    auth,
    blobs,
    intakes,
    kits,
    labels,
    records,
    shell,
    sync,
)
from .wire.messages import PROBLEM, PROTOCOL, PUSH_MAX_BYTES
from .wire.problems import Busy, Invalid, Malformed, Problem

log = logging.getLogger("bagtrail")


def create_app(settings: Settings) -> Flask:
    """The WSGI application for these settings.  Does not touch the database's tables."""
    app = Flask("bagtrail", static_folder=None)
    app.config.update(
        BAGTRAIL=settings,
        SQLALCHEMY_DATABASE_URI=settings.database_url,
        SQLALCHEMY_ENGINE_OPTIONS={"pool_pre_ping": not settings.database_url.startswith("sqlite")},
        MAX_CONTENT_LENGTH=max(settings.photo_max_bytes, PUSH_MAX_BYTES) + 1024,
        TRUSTED_HOSTS=list(settings.trusted_hosts),
        API_TITLE="Bagtrail",
        API_VERSION=str(PROTOCOL),
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/api",
        OPENAPI_JSON_PATH="openapi.json",
        PROPAGATE_EXCEPTIONS=False,
    )
    settings.prepare()
    db.init_app(app)
    Migrate(app, db, directory=str(resources.migrations_folder()), render_as_batch=True)
    with app.app_context():
        work.prepare(db.engine)
    api = api_document.Document(app)
    api_document.describe(api)
    for module in _views():
        api.register_blueprint(module.blp)
    api_document.say_problems(api)
    auth.guard(app)
    _write_problems(app)
    shell.register(app, settings)
    return app


def _views() -> list[Any]:
    return [sync, records, auth, blobs, kits, labels, intakes, archives, api_document]


def problem_response(body: dict[str, Any]) -> Response:
    """An RFC 9457 reply."""
    return Response(
        json.dumps(body), status=body["status"], content_type=PROBLEM
    )


def _write_problems(app: Flask) -> None:
    """The one place where errors become replies.  What a driver says goes to the log only."""

    @app.errorhandler(Problem)
    def _problem(problem: Problem) -> Response:
        return problem_response(problem.body())

    @app.errorhandler(HTTPException)
    def _http(error: HTTPException) -> Response:
        status = error.code or 500
        body: dict[str, Any] = {
            "type": "about:blank",
            "title": HTTPStatus(status).phrase,
            "status": status,
            "detail": error.description or HTTPStatus(status).description,
        }
        data = getattr(error, "data", None)
        if data and data.get("messages"):
            body = Invalid("What is not right is in errors.", errors=data["messages"]).body()
        response = problem_response(body)
        for name, value in error.get_headers():
            if name.lower() not in ("content-type", "content-length"):
                response.headers[name] = value
        return response

    @app.errorhandler(sa.exc.OperationalError)
    @app.errorhandler(sa.exc.TimeoutError)
    def _database(error: sa.exc.SQLAlchemyError) -> Response:
        log.exception("the database did not answer", exc_info=error)
        return _busy(Busy("The database did not answer in time. Nothing was written; try again."))

    @app.errorhandler(Busy)
    def _busy(problem: Busy) -> Response:
        response = problem_response(problem.body())
        response.headers["Retry-After"] = "2"
        return response

    @app.errorhandler(RecursionError)
    def _nested(_: RecursionError) -> Response:
        return problem_response(Malformed("The body is nested too deeply.").body())

    @app.errorhandler(Exception)
    def _unexpected(error: Exception) -> Response:
        log.exception("unexpected error", exc_info=error)
        return problem_response(
            {
                "type": "about:blank",
                "title": "Something went wrong on the server",
                "status": 500,
                "detail": "The server's log says what. Nothing that was accepted is lost.",
            }
        )
