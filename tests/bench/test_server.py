"""The server by itself: starting again, a whole pull, and the small round of a busy evening.

The floor is the same server stack around an app of one line that answers with as many bytes.
"""

from __future__ import annotations

import gzip
import json
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from bagtrail.trade import stamps
from bagtrail.wire.changes import Change
from tests.bench.conftest import Report
from tests.bench.eyes import middle, told
from tests.bench.seed import CHANGES, CLOCK, DEVICE, Connection, body_of, work
from tests.browser.conftest import ROOT, Server

#: A second start, looking whether everything is made included, against importing what it runs on.
START_RATIO_MAX = 4
#: 10,000 records out of the database, packed, against the same bytes as JSON there and back.
PULL_RATIO_MAX = 6
#: 10 changes pushed and pulled in two calls, against two calls that do nothing.
ROUND_RATIO_MAX = 10

_ECHO = """
import json, sys
from flask import Flask, request
from bagtrail import cli
from bagtrail.settings import Settings

app = Flask("echo")

@app.post("/echo")
def echo():
    return json.dumps(json.loads(request.get_data()), separators=(",", ":")).encode()

@app.get("/api/ping")
def ping():
    return {}

cli._app = lambda settings: app
cli._gunicorn(Settings.from_env(), lambda _=None: None)
"""


@pytest.fixture
def echo(tmp_path: Path) -> Iterator[Server]:
    (tmp_path / "echo").mkdir()
    server = Server(tmp_path / "echo", command=[sys.executable, "-c", _ECHO])
    server.start()
    yield server
    server.kill()


def _timed(do: Callable[[], Any]) -> float:
    """ms"""
    began = time.perf_counter()
    do()
    return 1000 * (time.perf_counter() - began)


def _echoed(server: Server, body: bytes) -> None:
    asked = urllib.request.Request(f"{server.url}/echo", body)
    with urllib.request.urlopen(asked, timeout=60) as reply:
        assert len(json.loads(reply.read())) == len(json.loads(body))


def test_second_start(built: Path, tmp_path: Path, report: Report) -> None:
    """`./server/start` when everything is made, until it answers; on data that it knows."""
    python = shutil.which("python3") or sys.executable
    data = tmp_path / "data"
    again: list[float] = []
    for _ in range(8):
        server = Server(data, command=[python, str(ROOT / "server" / "start")])
        server.log.unlink(missing_ok=True)
        known = data.exists()
        took = _timed(server.start)
        server.kill()
        # The first makes the database, and whatever else is missing or has been changed meanwhile.
        if known and "done (" not in server.log.read_text():
            again.append(took)
        if len(again) == 3:
            break
    assert len(again) == 3, "every start makes something"
    load = "import flask, flask_smorest, flask_sqlalchemy, marshmallow, alembic, gunicorn.app.base"
    floor = middle(
        [_timed(lambda: subprocess.run([sys.executable, "-c", load], check=True)) for _ in range(3)]
    )
    ratio = middle(again) / floor
    report(
        f"second ./server/start until it answers: {middle(again) / 1000:.2f} s (target 3 s);"
        f" {ratio:.1f} times importing its libraries in {floor:.0f} ms (at most"
        f" {START_RATIO_MAX}) {told(again)}"
    )
    assert ratio <= START_RATIO_MAX


def test_pull_of_ten_thousand_records(server: Server, echo: Server, report: Report) -> None:
    device = Connection(server)
    sent = work(CLOCK, 1, time.time_ns() // 1_000_000 - 100_000_000, record_count=CHANGES)
    assert set(device.push(sent)) == {"applied"}
    body = b""

    def pull() -> None:
        nonlocal body
        reply = device.send("/api/sync/pull?limit=20000")
        body = gzip.decompress(reply.read())
        assert len(json.loads(body)["changes"]["set"]) > CHANGES

    times = [_timed(pull) for _ in range(3)]
    floor = middle([_timed(lambda: _echoed(echo, body)) for _ in range(3)])
    ratio = middle(times) / floor
    report(
        f"pull of {CHANGES:,} records over HTTP: {middle(times):.0f} ms,"
        f" {len(body) / 1e6:.1f} MB unpacked; {ratio:.1f} times a JSON echo of as much in"
        f" {floor:.0f} ms (at most {PULL_RATIO_MAX}) {told(times)}"
    )
    assert ratio <= PULL_RATIO_MAX


def test_small_round(server: Server, echo: Server, report: Report) -> None:
    """10 ticks pushed, then pulled again, 40 times, on a workshop that has 10,000 changes."""
    device = Connection(server)
    now_ms = time.time_ns() // 1_000_000
    sent = work(CLOCK, 1, now_ms - 100_000_000)
    assert set(device.push(sent)) == {"applied"}
    page = device.ask("/api/sync/pull?limit=20000")
    cursor = page["cursor"]
    known = sent[-10:]
    rounds, floors = [], []
    body = b""

    def both() -> None:
        nonlocal cursor, known, body
        ticks = [
            Change(
                CLOCK,
                known[-1].counter + 1 + at,
                old.type,
                old.record,
                {"done": at % 2 == 0, "at": "2026-05-04T20:00:00.000Z", "device": DEVICE},
                stamps.make(time.time_ns() // 1_000_000, at, CLOCK),
                [old.id],
            )
            for at, old in enumerate(known)
        ]
        body = body_of(ticks, cursor)
        reply = json.loads(device.send("/api/sync/push", body).read())
        assert reply["verdicts"] == ["applied"] * 10, reply
        asked = "&".join(f"{name}={cursor[name]}" for name in ("epoch", "seq", "change"))
        pulled = device.ask(f"/api/sync/pull?{asked}")
        assert len(pulled["changes"]["records"]) == 10
        cursor, known = pulled["cursor"], ticks

    for _ in range(40):
        rounds.append(_timed(both))
        floors.append(_timed(lambda: [_echoed(echo, body) for _ in range(2)]))
    ratio = middle(rounds) / middle(floors)
    slowest = sorted(rounds)[-3:]
    report(
        f"10 changes pushed and pulled: {middle(rounds):.1f} ms; {ratio:.1f} times two JSON echoes"
        f" in {middle(floors):.1f} ms (at most {ROUND_RATIO_MAX}); slowest {told(slowest)}"
    )
    assert ratio <= ROUND_RATIO_MAX
