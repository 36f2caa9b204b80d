"""However many files come at once, only so many are read at once, and each has its turn."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from bagtrail.domain.intake import store
from bagtrail.domain.intake.sandbox import Sandbox
from bagtrail.storage.tables import intake
from bagtrail.storage.work import writing

from ..conftest import read_to_end
from ..intake_files import LIST
from .test_intake_races import LONG_S

SHED, BARN = (f"00000000-0000-4000-8000-00000000000{n}" for n in (1, 2))


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[queue.SimpleQueue[Any], Any]]:
    """Readers say in the queue who they are when they begin to read, and wait for the event."""
    begun: queue.SimpleQueue[Any] = queue.SimpleQueue()
    go_on, real = threading.Event(), Sandbox.call

    def call(self: Sandbox, *about: Any, **more: Any) -> Any:
        begun.put(threading.current_thread())
        assert go_on.wait(LONG_S)
        return real(self, *about, **more)

    monkeypatch.setattr(Sandbox, "call", call)
    yield begun, go_on
    go_on.set()


def test_ten_files_at_once_are_read_two_at_a_time(
    database: str | None, owner: FlaskClient, held: tuple[queue.SimpleQueue[Any], Any]
) -> None:
    begun, go_on = held
    for number in range(10):
        query = {"kind": "text", "name": f"list {number}"}
        assert owner.post("/api/intakes", query_string=query, data=LIST).status_code == 201
    reading = {begun.get(timeout=LONG_S) for _ in range(store.AT_ONCE)}
    # Whoever looks has what waits looked after, too.
    items = owner.get("/api/intakes").json["items"]
    assert {(one["state"], one["total"]) for one in items} == {("reading", 0)}
    for thread in threading.enumerate():
        if thread.name.startswith("intakes of") and thread not in reading:
            thread.join(LONG_S)
            assert not thread.is_alive()
    assert begun.empty()
    # Nobody looks; each has its turn all the same.
    go_on.set()
    read_to_end()
    items = owner.get("/api/intakes").json["items"]
    assert [one["state"] for one in items] == ["ready"] * 10


def test_one_that_waits_can_be_stopped_and_thrown_away(
    owner: FlaskClient, held: tuple[queue.SimpleQueue[Any], Any]
) -> None:
    begun, go_on = held
    ids = [owner.post("/api/intakes?kind=text", data=LIST).json["id"] for _ in range(4)]
    for _ in range(store.AT_ONCE):
        begun.get(timeout=LONG_S)
    assert owner.post(f"/api/intakes/{ids[2]}/stop").json["state"] == "stopped"
    assert owner.delete(f"/api/intakes/{ids[3]}").status_code == 204
    go_on.set()
    read_to_end()
    states = {one["id"]: one["state"] for one in owner.get("/api/intakes").json["items"]}
    assert states == {ids[0]: "ready", ids[1]: "ready", ids[2]: "stopped"}


def test_a_place_is_taken_once_and_is_free_again_when_its_reader_is_gone(
    database: str | None, app: Flask
) -> None:
    with app.app_context():
        ids = {store.make(SHED, "text", f"list {number}", None) for number in range(8)}
        other = store.make(BARN, "text", "list", None)
    barrier = threading.Barrier(6)

    def claim(number: int) -> str | None:
        with app.app_context():
            barrier.wait(LONG_S)
            return store.claim_next(SHED, f"reader {number}")

    with ThreadPoolExecutor(6) as threads:
        claimed = [id_ for id_ in threads.map(claim, range(6)) if id_ is not None]
    assert len(claimed) == len(set(claimed)) == store.AT_ONCE
    with app.app_context():
        assert not store.waits(SHED)
        # Another workshop does not wait for this one.
        assert store.claim_next(BARN, "me") == other
        long_ago = store.now_ms() - store.BEAT_MS - 1
        with writing() as conn:
            conn.execute(intake.update().where(intake.c.id == claimed[0]).values(beat_ms=long_ago))
        assert store.waits(SHED)
        assert store.claim_next(SHED, "another") in ids
        assert store.claim_next(SHED, "another") is None


def test_a_file_that_is_still_on_its_way_is_not_read(
    app: Flask, owner: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever looks meanwhile has what waits read on; half a file must not be among it."""
    seen = []

    def chunks() -> Iterator[bytes]:
        yield LIST[:10].encode()
        with app.app_context():
            seen.append(store.ids())
        yield LIST[10:].encode()

    monkeypatch.setattr("bagtrail.views.intakes._body", chunks)
    assert owner.post("/api/intakes?kind=text", data=LIST).status_code == 201
    assert seen == [set()]
