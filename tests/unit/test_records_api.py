"""Plain REST over the records: reading, filtering, paging, writing, and what is refused."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from flask.testing import FlaskClient

from bagtrail.domain import epochs, journal, upkeep
from bagtrail.wire.records import RECORDS, derived_id, field_kinds
from tests.contract.test_migrations import example


def _kit(owner: FlaskClient, name: str = "Tarn") -> str:
    return str(owner.post("/api/kits", json={"name": name}).json["id"])


@pytest.mark.parametrize("type_", sorted(n for n, s in RECORDS.items() if not s.lasting))
def test_every_record_type_is_made_read_changed_and_deleted(owner: FlaskClient, type_: str) -> None:
    schema = RECORDS[type_]
    fields = {n: example(k) for n, k in field_kinds(type_).items() if n != "deleted"}
    made = owner.post(f"/api/{schema.collection}", json=fields)
    assert made.status_code == 201, made.json
    assert {name: made.json[name] for name in fields} == fields
    path = made.headers["Location"]
    assert path == f"/api/{schema.collection}/{made.json['id']}"
    assert owner.get(path).json == made.json
    assert made.json in owner.get(f"/api/{schema.collection}").json["items"]
    optional = [n for n, k in field_kinds(type_).items() if not k.required and n != "deleted"]
    change = {optional[0]: None} if optional else {"text": "Other words"}
    changed = owner.patch(path, json=change)
    assert changed.status_code == 200
    assert changed.json == made.json | change | {"seq": changed.json["seq"]}
    assert owner.delete(path).status_code == 204
    assert owner.get(path).status_code == 404


def test_records_that_can_exist_once_have_a_derived_id(owner: FlaskClient) -> None:
    build, step = str(uuid.uuid4()), str(uuid.uuid4())
    body = {"build": build, "step": step, "state": "done"}
    made = owner.post("/api/step_progress", json=body)
    assert made.json["id"] == derived_id("step_progress", build, step)
    assert owner.post("/api/step_progress", json=body).status_code == 412


def test_lists_are_filtered_and_paged(owner: FlaskClient) -> None:
    kits = [_kit(owner, f"Kit {n}") for n in range(2)]
    for number in range(7):
        body = {"kit": kits[number % 2], "number": f"{number}", "order": f"{number}"}
        assert owner.post("/api/bags", json=body).status_code == 201
    found: list[dict[str, Any]] = []
    after = ""
    pages = 0
    while True:
        reply = owner.get(f"/api/bags?kit={kits[0]}&limit=2{after}").json
        found += reply["items"]
        pages += 1
        if reply["next"] is None:
            break
        after = f"&after={reply['next']}"
    assert pages == 2
    assert {bag["number"] for bag in found} == {"0", "2", "4", "6"}


def test_reading_again_costs_nothing_if_nothing_has_changed(owner: FlaskClient) -> None:
    kit = _kit(owner)
    for path in (f"/api/kits/{kit}", "/api/kits"):
        tag = owner.get(path).headers["ETag"]
        assert owner.get(path, headers={"If-None-Match": tag}).status_code == 304
    owner.patch(f"/api/kits/{kit}", json={"maker": "M"})
    assert owner.get("/api/kits", headers={"If-None-Match": tag}).status_code == 200


def test_tags_of_before_a_restore_fit_nothing(owner: FlaskClient, app: Any) -> None:
    """Sequences begin anew there: the same number may stand for something else."""
    kit = f"/api/kits/{_kit(owner)}"
    tags = [(path, owner.get(path).headers["ETag"]) for path in (kit, "/api/kits")]
    file = app.config["BAGTRAIL"].epoch_file
    with app.app_context():
        epochs.forget(file)
        assert epochs.settle(file) == "restored"
    for path, tag in tags:
        assert owner.get(path, headers={"If-None-Match": tag}).status_code == 200
    reply = owner.patch(kit, json={"maker": "M"}, headers={"If-Match": tags[0][1]})
    assert reply.status_code == 412


def test_a_purge_does_not_bring_back_an_older_tag(owner: FlaskClient, app: Any) -> None:
    """The list as it was before the deletion must not pass for what is there now."""
    first = _kit(owner)
    tag = owner.get("/api/kits").headers["ETag"]
    gone = owner.post("/api/kits", json={"name": "Gone"}).json["id"]
    owner.delete(f"/api/kits/{gone}")
    with app.app_context():
        upkeep.compact(app.config["BAGTRAIL"], now_ms=journal.now_ms() + 200 * 86_400_000)
    assert owner.get(f"/api/kits/{first}").status_code == 200
    assert owner.get("/api/kits", headers={"If-None-Match": tag}).status_code == 200


def test_a_write_upon_something_old_is_refused(owner: FlaskClient) -> None:
    kit = _kit(owner)
    tag = owner.get(f"/api/kits/{kit}").headers["ETag"]
    first = owner.patch(f"/api/kits/{kit}", json={"maker": "A"}, headers={"If-Match": tag})
    assert first.status_code == 200
    second = owner.patch(f"/api/kits/{kit}", json={"maker": "B"}, headers={"If-Match": tag})
    assert second.status_code == 412
    assert second.json["type"] == "/api/problems/changed-elsewhere"
    assert owner.get(f"/api/kits/{kit}").json["maker"] == "A"
    assert owner.delete(f"/api/kits/{kit}", headers={"If-Match": tag}).status_code == 412


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "name"),
        ({"name": ""}, "name"),
        ({"name": "   "}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"name": 7}, "name"),
        ({"name": ["a"]}, "name"),
        ({"name": None}, "name"),
        ({"name": "a\x00b"}, "name"),
        ({"name": "\ud800"}, "name"),
        ({"name": "ok", "source": "thin air"}, "source"),
        ({"name": "ok", "wings": 2}, "wings"),
        ({"name": "ok", "currency": "EURO"}, "currency"),
    ],
)
def test_what_is_wrong_is_named(owner: FlaskClient, body: dict[str, Any], field: str) -> None:
    reply = owner.post("/api/kits", json=body)
    assert reply.status_code == 422
    assert reply.content_type == "application/problem+json"
    assert field in str(reply.json["errors"])
    assert owner.get("/api/kits").json["items"] == []


@pytest.mark.parametrize(
    "body", [b"", b"{", b"[" * 100_000, b"\xff\xfe", b"null", b"[]", b'{"name": NaN}', b'"x"']
)
def test_bodies_that_are_no_json_object_get_a_problem(owner: FlaskClient, body: bytes) -> None:
    reply = owner.post("/api/kits", data=body, content_type="application/json")
    assert reply.status_code in (400, 422)
    assert reply.content_type == "application/problem+json"
    assert "Traceback" not in reply.text


@pytest.mark.parametrize(
    "path",
    [
        "/api/kits/not-a-uuid",
        "/api/kits/../../etc/passwd",
        "/api/kits/00000000-0000-4000-8000-000000000009",
        "/api/nothing",
        "/api/blobs/short",
        "/api/blobs/" + "z" * 64,
    ],
)
def test_what_is_not_there_is_a_problem_without_a_trace(owner: FlaskClient, path: str) -> None:
    reply = owner.get(path)
    assert reply.status_code == 404
    assert reply.content_type == "application/problem+json"
    assert "Traceback" not in reply.text


def test_hostile_names_are_only_text(owner: FlaskClient) -> None:
    for name in ("'; DROP TABLE kit; --", "<script>alert(1)</script>", "../../x", "\u202egnp.exe"):
        kit = _kit(owner, name)
        assert owner.get(f"/api/kits/{kit}").json["name"] == name


def test_a_clash_can_be_read(owner: FlaskClient, app: Any) -> None:
    from tests.devices import SimDevice

    kit = _kit(owner, "first")
    workshop = owner.get("/api/session").json["workshop"]["id"]
    with app.app_context():
        one, two = SimDevice(workshop), SimDevice(workshop)
        for device, name in ((one, "mine"), (two, "yours")):
            device.pull()
            device.write("kit", kit, {"name": name}, 1_790_000_000_000)
        one.push(1_790_000_000_000)
        two.push(1_790_000_000_000)
    shown = owner.get(f"/api/kits/{kit}").json
    assert shown["asks"] is True
    clashes = owner.get(f"/api/clashes/kit/{kit}").json["clashes"]
    assert {shown["name"], clashes[0]["others"][0]["value"]} == {"mine", "yours"}
    owner.patch(f"/api/kits/{kit}", json={"name": "ours"})
    assert owner.get(f"/api/kits/{kit}").json["asks"] is False
    assert owner.get(f"/api/clashes/kit/{kit}").json["clashes"] == []
