"""Two people at one intake at once: nothing is half written, and each is told in plain words.

Threads are brought to the moment in question by barriers and events, never by waiting a while.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy.engine import Connection

from bagtrail.domain.intake import reader, store, taking
from bagtrail.domain.intake.sandbox import Sandbox
from bagtrail.settings import Settings
from bagtrail.storage.tables import intake_finding, intake_page, intake_unfit
from bagtrail.storage.work import reading, writing
from bagtrail.views.auth import COOKIE
from bagtrail.wire.messages import PROBLEM

from ..conftest import read_to_end, speaking
from ..intake_files import LIST, manual
from ..unit.test_intakes_api import findings, send, settled, table

#: Seconds after which a test that hangs fails.
LONG_S = 60
COLUMNS = ["part.number", "part.name", "part.quantity"]
ROWS = table(["Ref", "What", "N"], ["T6-1", "Case", "2"], ["T6-2", "Gear", "3"])


@pytest.fixture
def other(app: Flask, owner: FlaskClient) -> FlaskClient:
    """The same workshop from somewhere else."""
    client = speaking(app)
    cookie = owner.get_cookie(COOKIE)
    assert cookie is not None
    client.set_cookie(COOKIE, cookie.value)
    return client


@pytest.fixture
def threads() -> Iterator[ThreadPoolExecutor]:
    with ThreadPoolExecutor() as pool:
        yield pool


class Gate:
    """Where a thread says that it has come, and waits to be let on."""

    def __init__(self) -> None:
        self._come, self._open = threading.Event(), threading.Event()

    def wait(self) -> None:
        self._come.set()
        assert self._open.wait(LONG_S), "was never let on"

    def come(self) -> None:
        assert self._come.wait(LONG_S), "nobody came here"

    def open(self) -> None:
        self._open.set()


def first_waits(monkeypatch: pytest.MonkeyPatch, owner: Any, name: str, when: Any = None) -> Gate:
    """Holds the first call of a function (for which ``when`` holds) before it is done."""
    gate, real, first = Gate(), getattr(owner, name), iter([True])

    def held(*args: Any, **more: Any) -> Any:
        if (when is None or when(*args)) and next(first, False):
            gate.wait()
        return real(*args, **more)

    monkeypatch.setattr(owner, name, held)
    return gate


def both_before_writing(monkeypatch: pytest.MonkeyPatch, *modules: Any) -> None:
    """The first two writing transactions begin when both are about to."""
    barrier, first_two = threading.Barrier(2), iter([True, True])

    @contextmanager
    def together() -> Iterator[Connection]:
        if next(first_two, False):
            barrier.wait(LONG_S)
        with writing() as conn:
            yield conn

    for module in modules:
        monkeypatch.setattr(module, "writing", together)


def in_words(reply: Any) -> bool:
    """Whether it is a refusal that a person can read."""
    return bool(reply.content_type == PROBLEM and len(reply.json["detail"]) > 20)


def kits(client: FlaskClient) -> list[Any]:
    return list(client.get("/api/kits").json["items"])


def test_taken_on_two_devices_at_once_it_becomes_one_kit(
    database: str | None, owner: FlaskClient, other: FlaskClient, threads: ThreadPoolExecutor,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = f"/api/intakes/{send(owner, LIST)['id']}"
    both_before_writing(monkeypatch, taking)
    replies = [threads.submit(one.post, f"{path}/take", json={}) for one in (owner, other)]
    done, refused = sorted((one.result(LONG_S) for one in replies), key=lambda one: one.status_code)
    assert (done.status_code, refused.status_code) == (200, 412)
    assert in_words(refused)
    (kit,) = kits(owner)
    assert kit["id"] == done.json["kit"] == owner.get(path).json["kit"]
    lines = owner.get(f"/api/part_lines?kit={kit['id']}").json["items"]
    assert len(lines) == done.json["made"]["part_line"] == 3


def test_what_is_corrected_just_before_it_is_taken_is_taken_as_corrected(
    database: str | None, owner: FlaskClient, other: FlaskClient, threads: ThreadPoolExecutor,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    item = send(owner, LIST)
    (asking,) = findings(owner, item, asking="yes")
    gate = first_waits(monkeypatch, taking, "writing")
    taking_it = threads.submit(owner.post, f"/api/intakes/{item['id']}/take", json={})
    gate.come()
    said = {"id": asking["id"], "values": {**asking["values"], "quantity": 6}}
    reply = other.post(f"/api/intakes/{item['id']}/findings", json={"changed": [said]})
    assert reply.status_code == 200
    gate.open()
    assert taking_it.result(LONG_S).json["left"] == 0
    assert taking_it.result().json["made"]["part_line"] == 4


def test_another_layout_while_it_is_read_is_the_one_that_stays(
    database: str | None, owner: FlaskClient, other: FlaskClient, threads: ThreadPoolExecutor,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = f"/api/intakes/{send(owner, ROWS, 'table', 'parts.csv')['id']}"
    gate = first_waits(monkeypatch, store, "finish")
    first = owner.post(f"{path}/layout", json={"columns": ["part.name", None, None]})
    assert first.status_code == 200
    gate.come()
    # It has read everything and is about to say so.
    refused = other.post(f"{path}/take", json={})
    assert refused.status_code == 412
    assert in_words(refused)
    second = other.post(f"{path}/layout", json={"columns": COLUMNS})
    assert second.status_code == 200
    gate.open()
    item = settled(owner, owner.get(path).json)
    read_to_end()
    assert owner.get(path).json == item
    assert [one["field"] for one in item["layout"]["columns"]] == COLUMNS
    assert item["counts"] == {"part_line": 2}


def test_two_layouts_at_once_leave_one_of_them_whole(
    database: str | None, owner: FlaskClient, other: FlaskClient, threads: ThreadPoolExecutor,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = f"/api/intakes/{send(owner, ROWS, 'table', 'parts.csv')['id']}"
    ways = [COLUMNS, [None, "part.name", "part.quantity"]]
    both_before_writing(monkeypatch, store)
    replies = [
        threads.submit(one.post, f"{path}/layout", json={"columns": way})
        for one, way in zip((owner, other), ways, strict=True)
    ]
    assert [one.result(LONG_S).status_code for one in replies] == [200, 200]
    item = settled(owner, owner.get(path).json)
    assert [one["field"] for one in item["layout"]["columns"]] in ways
    assert item["counts"] == {"part_line": 2}


def test_a_layout_while_it_is_taken_changes_nothing(
    database: str | None, owner: FlaskClient, other: FlaskClient, threads: ThreadPoolExecutor,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = f"/api/intakes/{send(owner, ROWS, 'table', 'parts.csv')['id']}"
    gate = first_waits(monkeypatch, taking._Writer, "save")
    taken = threads.submit(owner.post, f"{path}/take", json={})
    gate.come()
    late = threads.submit(other.post, f"{path}/layout", json={"columns": COLUMNS})
    gate.open()
    assert taken.result(LONG_S).status_code == 200
    assert late.result(LONG_S).status_code == 412
    assert in_words(late.result())
    assert owner.get(path).json["state"] == "taken"
    assert len(kits(owner)) == 1


def test_a_stop_while_it_is_taken_changes_nothing(
    database: str | None, owner: FlaskClient, other: FlaskClient, threads: ThreadPoolExecutor,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = f"/api/intakes/{send(owner, manual(2), 'manual', 'Tarn 6.pdf')['id']}"
    gate = first_waits(monkeypatch, taking._Writer, "save")
    taken = threads.submit(owner.post, f"{path}/take", json={})
    gate.come()
    stopped = threads.submit(other.post, f"{path}/stop")
    gate.open()
    assert taken.result(LONG_S).json["made"]["step"] == 2
    assert stopped.result(LONG_S).status_code == 200
    assert owner.get(path).json["state"] == "taken"


def test_one_that_is_being_stopped_is_taken_only_with_what_was_read(
    database: str | None, owner: FlaskClient, other: FlaskClient, threads: ThreadPoolExecutor,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    pages = first_waits(monkeypatch, reader, "_page", lambda *about: about[-1] == 3)
    gate = first_waits(monkeypatch, reader, "findings_of_manual")
    asked = {"kind": "manual", "name": "Tarn 6.pdf"}
    item = owner.post("/api/intakes", query_string=asked, data=manual(4)).json
    path = f"/api/intakes/{item['id']}"
    pages.come()
    stopped = threads.submit(owner.post, f"{path}/stop")
    gate.come()
    early = other.post(f"{path}/take", json={})
    assert early.status_code == 412
    assert in_words(early)
    gate.open()
    assert stopped.result(LONG_S).json["state"] == "stopped"
    # The reader only now notices that it was stopped; its page comes too late.
    pages.open()
    read_to_end()
    assert len(owner.get(f"{path}/pages").json["items"]) == 2
    assert other.post(f"{path}/take", json={}).json["made"]["step"] == 2
    assert owner.get(path).json["state"] == "taken"


def test_thrown_away_while_a_page_is_read_nothing_of_it_is_left(
    database: str | None, app: Flask, owner: FlaskClient, settings: Settings,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    gate = first_waits(monkeypatch, store, "keep_page", lambda *about: about[2] == 2)
    asked = {"kind": "manual", "name": "Tarn 6.pdf"}
    item = owner.post("/api/intakes", query_string=asked, data=manual(3)).json
    gate.come()
    assert owner.delete(f"/api/intakes/{item['id']}").status_code == 204
    gate.open()
    read_to_end()
    assert nothing_of(app, item["id"])
    assert list(settings.intake_folder.iterdir()) == []
    gone = owner.post(f"/api/intakes/{item['id']}/take", json={})
    assert gone.status_code == 404
    assert in_words(gone)


def test_thrown_away_while_it_is_stopped_nothing_of_it_is_left(
    database: str | None, app: Flask, owner: FlaskClient, other: FlaskClient,
    threads: ThreadPoolExecutor, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    pages = first_waits(monkeypatch, reader, "_page", lambda *about: about[-1] == 2)
    gate = first_waits(monkeypatch, Sandbox, "call", lambda *about: about[1] == "manual.findings")
    asked = {"kind": "manual", "name": "Tarn 6.pdf"}
    item = owner.post("/api/intakes", query_string=asked, data=manual(3)).json
    pages.come()
    stopped = threads.submit(owner.post, f"/api/intakes/{item['id']}/stop")
    gate.come()
    assert other.delete(f"/api/intakes/{item['id']}").status_code == 204
    gate.open()
    pages.open()
    assert stopped.result(LONG_S).status_code == 404
    assert in_words(stopped.result())
    read_to_end()
    assert nothing_of(app, item["id"])


def test_thrown_away_and_taken_at_once_it_is_one_or_the_other(
    database: str | None, app: Flask, owner: FlaskClient, other: FlaskClient,
    threads: ThreadPoolExecutor, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = f"/api/intakes/{send(owner, LIST)['id']}"
    both_before_writing(monkeypatch, taking, store)
    taken = threads.submit(owner.post, f"{path}/take", json={})
    thrown = threads.submit(other.delete, path)
    assert thrown.result(LONG_S).status_code == 204
    reply = taken.result(LONG_S)
    if reply.status_code == 200:
        assert [one["id"] for one in kits(owner)] == [reply.json["kit"]]
    else:
        assert reply.status_code == 404
        assert in_words(reply)
        assert kits(owner) == []
    assert owner.get(path).status_code == 404
    assert nothing_of(app, path.rsplit("/", 1)[1])


def nothing_of(app: Flask, id_: str) -> bool:
    with app.app_context(), reading() as conn:
        return not any(
            conn.execute(sa.select(table.c.intake_id).where(table.c.intake_id == id_)).first()
            for table in (intake_finding, intake_page, intake_unfit)
        )
