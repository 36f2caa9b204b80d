"""What nobody should send: each gets a problem that says why, and harms nobody else."""

from __future__ import annotations

import gzip
import json
import uuid
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from bagtrail.wire.messages import BODY_MAX_BYTES, PUSH_MAX_BYTES, PUSH_MAX_CHANGES

JSON = {"Content-Type": "application/json"}
PROBLEM = "application/problem+json"


def _packed(*sets: dict[str, Any], type_: str = "kit", **columns: Any) -> dict[str, Any]:
    many = len(sets)
    return {
        "clocks": ["00000000000000a1"],
        "records": [[type_, str(uuid.uuid4())] for _ in sets],
        "author": [0] * many,
        "counter": [1] * many,
        "record": list(range(many)),
        "set": list(sets),
        "ms": [1_790_000_000_000] + [1] * (many - 1),
        "tick": [0] * many,
        "supersedes": [[] for _ in sets],
        "group": [None] * many,
        **columns,
    }


def _push(owner: FlaskClient, packed: dict[str, Any], number: str = "0") -> TestResponse:
    """``number`` stands in the JSON text in place of "?", spelled as it is."""
    text = json.dumps({"changes": packed}).replace('"?"', number)
    return owner.post("/api/sync/push", data=text, headers=JSON)


def _refused(reply: TestResponse, status: int) -> None:
    assert reply.status_code == status, reply.text
    assert reply.content_type == PROBLEM
    assert len(reply.json["detail"]) > 10
    assert "Traceback" not in reply.text


@pytest.mark.parametrize(
    "body",
    [
        "", "{}", "null", "[]", "7", '{"cursor": 5, "changes": {}}', '{"changes": {}, "more": 1}',
        '{"cursor": {"epoch": 1, "seq": -1}, "changes": {}}', "1" * 5000, "[" * 100_000,
    ],
)  # fmt: skip
def test_a_push_that_is_none_is_a_problem(owner: FlaskClient, body: str) -> None:
    reply = owner.post("/api/sync/push", data=body, headers=JSON)
    _refused(reply, 400 if body[:2] in ("11", "[[") else 422)


@pytest.mark.parametrize("number", ["1e400", "-1e400", "NaN", "Infinity", "1" + "0" * 400])
@pytest.mark.parametrize(
    ("type_", "field"), [("reading", "value"), ("step", "minutes"), ("kit", "wings"), ("kite", "x")]
)
def test_a_number_that_no_reader_has_stops_no_neighbour_and_reaches_no_device(
    database: str | None, owner: FlaskClient, type_: str, field: str, number: str
) -> None:
    """A number such as 1e400 would come out as no JSON at all, and end every device's pulls."""
    packed = _packed({field: "?"}, {"name": "fine"}, type_=type_)
    packed["records"][1][0] = "kit"
    reply = _push(owner, packed, number)
    assert reply.status_code == 200, reply.text
    assert reply.json["verdicts"] == ["refused", "applied"]
    assert field in reply.json["problems"]["0"]["errors"]
    nested = _packed({"unheard_of": [{"of": ["?"]}]}, counter=[9])
    assert _push(owner, nested, number).json["verdicts"] == ["refused"]

    def none(text: str) -> None:
        raise AssertionError(f"{text} is no JSON (RFC 8259, section 6)")

    json.loads(owner.get("/api/sync/pull").text, parse_constant=none)


@pytest.mark.parametrize("number", ["1e308", "-1e308", "9007199254740993", "1.5"])
def test_large_numbers_of_a_newer_device_are_passed_on(
    database: str | None, owner: FlaskClient, number: str
) -> None:
    assert _push(owner, _packed({"wings": "?"}), number).json["verdicts"] == ["applied"]
    assert owner.get("/api/sync/pull").json["changes"]["set"][-1]["wings"] == json.loads(number)


def test_texts_that_a_database_cannot_hold_are_passed_on_where_unknown(
    database: str | None, owner: FlaskClient
) -> None:
    strange = {"unheard_of": ["\x00", "\ud800", "\uffff"]}
    assert _push(owner, _packed(strange)).json["verdicts"] == ["applied"]
    assert owner.get("/api/sync/pull").json["changes"]["set"][-1] == strange


@pytest.mark.parametrize("type_", ["reading", "movement", "step"])
def test_rest_refuses_numbers_out_of_bounds(
    database: str | None, owner: FlaskClient, type_: str
) -> None:
    for number in ("1e400", "1" + "0" * 30, "1" + "0" * 400, "1" + "0" * 5000):
        body = '{"value": %s, "quantity": %s, "minutes": %s}' % ((number,) * 3)
        reply = owner.post(f"/api/{type_}s", data=body, headers=JSON)
        _refused(reply, 400 if len(number) > 5000 else 422)


@pytest.mark.parametrize("group", [[10**30, 2], [5, 3], [0, 2], [1, 1], [1, 10**9], [1, "2"], [1]])
def test_a_group_that_can_never_be_whole_is_refused_rather_than_awaited(
    database: str | None, owner: FlaskClient, group: list[Any]
) -> None:
    """'retry' for it would hold up the device's outbox for ever."""
    reply = _push(owner, _packed({"name": "a"}, {"name": "b"}, group=[group, None]))
    assert reply.json["verdicts"] == ["refused", "applied"]


def test_a_push_of_too_many_changes_is_refused_before_they_are_read(owner: FlaskClient) -> None:
    _refused(_push(owner, _packed(*[{}] * (PUSH_MAX_CHANGES + 1), author=["?"] * 20_001)), 413)


@pytest.mark.parametrize("path", ["/api/sync/push", "/api/sync/offer", "/api/devices/claim"])
def test_a_body_that_unpacks_to_a_flood_is_refused(owner: FlaskClient, path: str) -> None:
    flood = gzip.compress(b"[" + b"0," * (PUSH_MAX_BYTES // 2) + b"0]")
    assert len(flood) < 100_000
    _refused(owner.post(path, data=flood, headers={**JSON, "Content-Encoding": "gzip"}), 413)


def test_strangers_get_to_send_little(client: FlaskClient) -> None:
    body = b" " * (BODY_MAX_BYTES + 1)
    _refused(client.post("/api/pairing/redeem", data=body, headers=JSON), 413)


def test_any_body_may_be_gzipped(owner: FlaskClient) -> None:
    packed = gzip.compress(b'{"name": "Tarn"}')
    headers = {**JSON, "Content-Encoding": "gzip"}
    assert owner.post("/api/kits", data=packed, headers=headers).json["name"] == "Tarn"
    _refused(owner.post("/api/kits", data=packed[:-9], headers=headers), 400)
    _refused(owner.post("/api/kits", data=b"no gzip", headers=headers), 400)


def test_names_of_pictures_that_are_none_are_not_there(
    database: str | None, owner: FlaskClient
) -> None:
    for name in ("%00" + "a" * 63, "A" * 64, "." * 64, "%0a" + "a" * 63, "é" * 64):
        _refused(owner.get(f"/api/blobs/{name}"), 404)


@pytest.mark.parametrize("tag", ["9" * 5000, "9" * 20, "-1", "²", "x"])
def test_a_tag_that_is_none_is_refused(owner: FlaskClient, tag: str) -> None:
    kit = owner.post("/api/kits", json={"name": "a"}).json["id"]
    headers = {"If-Match": f'"{tag}"'}
    _refused(owner.patch(f"/api/kits/{kit}", json={"name": "b"}, headers=headers), 412)
    assert owner.get(f"/api/kits/{kit}").json["name"] == "a"
