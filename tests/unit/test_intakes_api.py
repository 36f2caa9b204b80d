"""Getting a kit in over HTTP: from upload to kit, and everything that can go wrong on the way."""

from __future__ import annotations

import csv
import io
import time
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from bagtrail.domain.intake import store
from bagtrail.wire import intake as wire
from bagtrail.wire.messages import PROBLEM

from ..intake_files import LIST, manual


def send(
    client: FlaskClient, content: bytes | str, kind: str = "text", name: str = "list", **query: str
) -> dict[str, Any]:
    """Uploads, and waits until it is read."""
    asked = {"kind": kind, "name": name, **query}
    reply = client.post("/api/intakes", query_string=asked, data=content)
    assert reply.status_code == 201, reply.text
    return settled(client, reply.json)


def settled(client: FlaskClient, item: Any) -> dict[str, Any]:
    last = time.monotonic() + 90
    while item["state"] == "reading":
        assert time.monotonic() < last, item
        time.sleep(0.05)
        item = client.get(f"/api/intakes/{item['id']}").json
    return dict(item)


def findings(client: FlaskClient, item: dict[str, Any], **query: Any) -> list[dict[str, Any]]:
    reply = client.get(f"/api/intakes/{item['id']}/findings", query_string=query)
    assert reply.status_code == 200, reply.text
    return list(reply.json["items"])


def table(*rows: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue()


def test_a_copied_list_becomes_part_lines_and_asks_what_it_cannot_know(owner: FlaskClient) -> None:
    item = send(owner, LIST)
    assert (item["state"], item["asking"]) == ("ready", 1)
    assert item["counts"] == {"bag": 2, "part_line": 3}
    (asking,) = findings(owner, item, asking="yes")
    assert asking["asks"][0]["field"] == "quantity"
    answer = {**asking["values"], "quantity": 6}
    reply = owner.post(
        f"/api/intakes/{item['id']}/findings",
        json={"changed": [{"id": asking["id"], "values": answer}]},
    )
    assert reply.json["items"][0]["asks"] == []
    taken = owner.post(f"/api/intakes/{item['id']}/take", json={"name": "Red one"}).json
    assert taken["made"]["part_line"] == 4
    lines = owner.get(f"/api/part_lines?kit={taken['kit']}").json["items"]
    assert sorted(one["quantity"] for one in lines) == [2, 4, 6, 8]
    parts = owner.get(f"/api/parts?kit={taken['kit']}").json["items"]
    screw = next(one for one in parts if (one["designation"] or "").startswith("M3x12"))
    assert screw["designation"] == "M3x12 button head screw, ISO 7380-1"
    assert owner.get("/api/intakes").json["items"] == []
    # The file is gone with it.
    folder = owner.application.config["BAGTRAIL"].intake_folder
    assert list(folder.iterdir()) == []


def test_a_table_is_read_shown_set_right_and_remembered(owner: FlaskClient) -> None:
    rows = [["Ref", "What", "N"], ["T6-1", "Case", "2"], ["T6-2", "Gear", "three"]]
    item = send(owner, table(*rows), "table", "parts.csv")
    assert item["state"] == "ready"
    fields = ["part.number", "part.name", "part.quantity"]
    reply = owner.post(f"/api/intakes/{item['id']}/layout", json={"columns": fields})
    item = settled(owner, reply.json)
    assert [one["field"] for one in item["layout"]["columns"]] == fields
    assert item["unfit"] == 1
    (bad,) = owner.get(f"/api/intakes/{item['id']}/unfit").json["items"]
    assert (bad["file"], bad["row"], bad["column"], bad["text"]) == ("parts.csv", 3, "N", "three")
    again = send(owner, table(*rows, ["T6-3", "Pin", "4"]), "table", "parts-2.csv")
    assert again["layout"]["remembered"]
    assert [one["field"] for one in again["layout"]["columns"]] == fields
    assert again["counts"]["part_line"] == 2


def test_a_manual_comes_page_by_page_with_its_steps(owner: FlaskClient) -> None:
    item = send(owner, manual(4), "manual", "Tarn 6.pdf")
    assert (item["state"], item["done"], item["total"]) == ("ready", 4, 4)
    pages = owner.get(f"/api/intakes/{item['id']}/pages").json["items"]
    assert [one["number"] for one in pages] == [1, 2, 3, 4]
    assert [one["steps"] for one in pages] == [1, 1, 1, 1]
    picture = owner.get(f"/api/blobs/{pages[0]['blob']}")
    assert picture.status_code == 200
    taken = owner.post(f"/api/intakes/{item['id']}/take", json={}).json
    steps = owner.get(f"/api/steps?kit={taken['kit']}").json["items"]
    assert sorted(one["number"] for one in steps) == ["1", "2", "3", "4"]
    kept = {one["id"]: one for one in owner.get(f"/api/pages?kit={taken['kit']}").json["items"]}
    assert all(kept[one["page"]]["number"] == one["number"] for one in steps)
    assert owner.get(f"/api/kits/{taken['kit']}").json["name"] == "Tarn 6"


def test_a_stopped_manual_keeps_what_was_read_and_can_go_on(owner: FlaskClient) -> None:
    asked = {"kind": "manual", "name": "long.pdf"}
    item = owner.post("/api/intakes", query_string=asked, data=manual(40)).json
    last = time.monotonic() + 60
    while item["done"] < 2:
        assert time.monotonic() < last
        time.sleep(0.05)
        item = owner.get(f"/api/intakes/{item['id']}").json
    item = owner.post(f"/api/intakes/{item['id']}/stop").json
    assert item["state"] == "stopped"
    read = owner.get(f"/api/intakes/{item['id']}/pages").json["items"]
    assert 2 <= len(read) < 40
    assert len(findings(owner, item, what="step")) >= 2
    item = settled(owner, owner.post(f"/api/intakes/{item['id']}/resume").json)
    assert (item["state"], item["done"]) == ("ready", 40)
    assert len(findings(owner, item, what="step")) == 40


def test_one_whose_reader_is_gone_is_read_on_when_somebody_looks(
    owner: FlaskClient, app: Flask
) -> None:
    """As after a restart of the server in the middle."""
    workshop = owner.get("/api/session").json["workshop"]["id"]
    with app.app_context():
        id_ = store.make(workshop, "text", "list", None)
    folder = app.config["BAGTRAIL"].intake_folder
    folder.mkdir(parents=True)
    (folder / id_).write_text(LIST)
    item = owner.get(f"/api/intakes/{id_}").json
    assert settled(owner, item)["state"] == "ready"


@pytest.mark.parametrize(
    ("kind", "content"),
    [
        ("manual", b"%PDF-1.7 and nothing more"),
        ("manual", b"<html>no manual</html>"),
        ("table", b"PK\x03\x04 no workbook"),
        ("table", b"%PDF-1.7"),
    ],
)
def test_a_file_that_cannot_be_read_says_so_and_can_be_thrown_away(
    owner: FlaskClient, kind: str, content: bytes
) -> None:
    item = send(owner, content, kind, "broken")
    assert item["state"] == "failed"
    assert item["problem"]["type"] == "/api/problems/unreadable"
    assert len(item["problem"]["detail"]) > 20
    assert owner.delete(f"/api/intakes/{item['id']}").status_code == 204
    assert owner.get(f"/api/intakes/{item['id']}").status_code == 404
    folder = owner.application.config["BAGTRAIL"].intake_folder
    assert list(folder.iterdir()) == []


def test_what_is_empty_or_too_large_or_of_no_kind_is_refused_and_leaves_nothing(
    owner: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    empty = owner.post("/api/intakes?kind=text", data=b"")
    assert (empty.status_code, empty.content_type) == (400, PROBLEM)
    monkeypatch.setitem(wire.KINDS, "text", 100)
    large = owner.post("/api/intakes?kind=text", data=b"x" * 101)
    assert (large.status_code, large.content_type) == (413, PROBLEM)
    assert owner.post("/api/intakes?kind=film", data=b"x").status_code == 422
    assert owner.get("/api/intakes").json["items"] == []


def test_corrections_that_are_none_are_refused_whole(owner: FlaskClient) -> None:
    item = send(owner, LIST)
    first, second, *_ = findings(owner, item)
    changes = [
        {"id": first["id"], "left_out": True},
        {"id": second["id"], "values": {"quantity": "many"}},
    ]
    reply = owner.post(f"/api/intakes/{item['id']}/findings", json={"changed": changes})
    assert (reply.status_code, reply.content_type) == (422, PROBLEM)
    assert findings(owner, item) == findings(owner, item)
    assert not findings(owner, item)[0]["left_out"]
    unknown = owner.post(
        f"/api/intakes/{item['id']}/findings", json={"changed": [{"id": 999, "left_out": True}]}
    )
    assert unknown.status_code == 404


def test_strangers_get_nothing(client: FlaskClient) -> None:
    assert client.get("/api/intakes").status_code == 401
    assert client.post("/api/intakes?kind=text", data=b"x").status_code == 401


def test_what_was_said_of_a_finding_can_be_taken_back_and_it_asks_again(
    owner: FlaskClient,
) -> None:
    item = send(owner, LIST)
    before = findings(owner, item)
    (asking,) = [one for one in before if one["asks"]]

    def say(*changed: dict[str, Any]) -> list[dict[str, Any]]:
        path = f"/api/intakes/{item['id']}/findings"
        reply = owner.post(path, json={"changed": [{"id": asking["id"], **one} for one in changed]})
        assert reply.status_code == 200, reply.text
        return list(reply.json["items"])

    say({"values": {**asking["values"], "quantity": 6}})
    say({"left_out": True, "frame": [0.1, 0.1, 0.2, 0.2]})
    assert owner.get(f"/api/intakes/{item['id']}").json["asking"] == 0
    assert say({"as_read": True}) == [asking]
    assert findings(owner, item) == before
    # Again changes nothing, nor does it for one of which nothing was said.
    assert say({"as_read": True}) == [asking]
    assert say({"values": {**asking["values"], "quantity": 2}})[0]["corrected"]
