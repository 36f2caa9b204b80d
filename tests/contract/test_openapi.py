"""The OpenAPI document says what the server does: fuzzed from the document itself.

Schemathesis (a general-purpose reference tool) makes requests, right and wrong ones, for every call
of the served document, and checks what comes back against it.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import schemathesis
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import Case
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from bagtrail.app import create_app
from bagtrail.domain import epochs
from bagtrail.settings import Settings
from bagtrail.storage.tables import db
from tests.conftest import migrate, speaking

#: Streams that do not end by themselves.
LEFT_OUT = ["/api/sync/events"]

CHECKS = (
    not_a_server_error,
    content_type_conformance,
    status_code_conformance,
    response_schema_conformance,
)


@pytest.fixture(scope="module")
def paired(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Flask, str]]:
    """An app with an owner, and the owner's token."""
    made = Settings(data=tmp_path_factory.mktemp("fuzz"))
    migrate(made)
    app = create_app(made)
    with app.app_context():
        epochs.settle(made.epoch_file)
    client = speaking(app)
    client.post(
        "/api/devices/claim",
        json={
            "workshop": "Shed",
            "name": "Bench",
            "kind": "phone",
            "device": "00000000-0000-4000-8000-000000000001",
            "clock": "00000000000000a1",
        },
    )
    cookie = client.get_cookie("bagtrail_device")
    assert cookie is not None
    yield app, cookie.value
    with app.app_context():
        db.engine.dispose()


def test_every_call_answers_as_the_document_says(paired: tuple[Flask, str]) -> None:
    app, token = paired
    headers = {"Authorization": f"Bearer {token}", "Bagtrail-Protocol": "1"}
    document = schemathesis.openapi.from_wsgi("/api/openapi.json", app).exclude(path=LEFT_OUT)
    tried = 0
    for result in document.get_all_operations():
        operation = result.ok()

        @settings(
            max_examples=4,
            deadline=None,
            derandomize=True,
            database=None,
            phases=[Phase.explicit, Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy())
        def answers(case: Case) -> None:
            response = case.call(headers=headers)
            case.validate_response(response, checks=CHECKS)
            assert "Traceback" not in response.text

        answers()
        tried += 1
    assert tried > 100


def test_the_document_names_every_record_type_and_what_clients_must_know(
    owner: FlaskClient,
) -> None:
    from bagtrail.wire.records import RECORDS

    schemas = owner.get("/api/openapi.json").json["components"]["schemas"]
    for type_, record in RECORDS.items():
        said = schemas[record.__name__]
        assert said["x-record"] == type_
        assert said["x-scope"] == record.scope
        assert said["x-quiet"] == sorted(record.quiet)
        assert set(said["x-required"]) == set(said.get("required", []))


def test_every_kind_of_problem_is_explained(owner: FlaskClient) -> None:
    from bagtrail.views.api_document import problem_kinds

    assert len(problem_kinds()) > 15
    for slug, kind in problem_kinds().items():
        told = owner.get(f"/api/problems/{slug}").json
        assert told["status"] == kind.status
        assert told["title"] == kind.title
    assert owner.get("/api/problems/nonsense").status_code == 404
