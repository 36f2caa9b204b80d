"""Pushing 10,000 changes: against bare JSON and SQLite, and in bytes."""

from __future__ import annotations

import gzip
import json
import random
import sqlite3
import statistics
import time
import urllib.request
import uuid
from pathlib import Path
from typing import Any

import pytest

from bagtrail.trade import stamps
from bagtrail.wire import packing
from bagtrail.wire.changes import Change
from tests.bench.conftest import Report
from tests.browser.conftest import Server

CHANGES, RECORDS, ROUNDS = 10_000, 2_000, 3
#: Pushed over HTTP with journal, merge and projection, against json + executemany twice.
RATIO_MAX = 12
BYTES_MAX = 35
DEVICE = "00000000-0000-4000-8000-000000000001"


def work(clock: str, first: int, start_ms: int, seed: int = 0) -> list[Change]:
    """An evening's ticks, many times over: records are made, then changed by those who saw them."""
    dice = random.Random(seed)

    def some_id() -> str:
        return str(uuid.UUID(int=dice.getrandbits(128), version=4))

    build, steps = some_id(), [some_id() for _ in range(45)]
    records = [(some_id(), some_id(), dice.choice(steps)) for _ in range(RECORDS)]
    last: dict[str, str] = {}
    changes = []
    ms = start_ms
    for number in range(CHANGES):
        record, operation, step = records[number % RECORDS]
        ms += dice.randint(300, 9_000)
        at = (
            f"2026-05-04T{ms // 3_600_000 % 24:02}:{ms // 60_000 % 60:02}:{ms // 1000 % 60:02}.000Z"
        )
        fields: dict[str, Any] = {"done": dice.random() < 0.9, "at": at, "device": DEVICE}
        if record not in last:
            fields |= {"build": build, "step": step, "operation": operation}
        seen = [last[record]] if record in last else []
        stamp = stamps.make(ms, 0, clock)
        changes.append(Change(clock, first + number, "operation_tick", record, fields, stamp, seen))
        last[record] = changes[-1].id
    return changes


def body_of(changes: list[Change]) -> bytes:
    packed = packing.pack(changes)
    return json.dumps({"cursor": None, "changes": packed}, separators=(",", ":")).encode()


class Connection:
    """A paired device that speaks HTTP to a real server."""

    def __init__(self, server: Server, clock: str) -> None:
        self.url = server.url
        self.cookie = ""
        arrival = {"name": "Bench", "kind": "phone", "device": DEVICE, "clock": clock}
        reply = self.send("/api/devices/claim", json.dumps({**arrival, "workshop": "W"}).encode())
        self.cookie = reply.headers["Set-Cookie"].split(";")[0]

    def send(self, path: str, body: bytes | None = None, *, packed: bool = False) -> Any:
        headers = {
            "Bagtrail-Protocol": "1",
            "Content-Type": "application/json",
            "Accept-Encoding": "gzip",
            "Cookie": self.cookie,
        }
        if packed:
            headers["Content-Encoding"] = "gzip"
        return urllib.request.urlopen(
            urllib.request.Request(self.url + path, body, headers), timeout=120
        )


def _floor(body: bytes, folder: Path, turn: int) -> float:
    """json.loads, and every change twice into SQLite by executemany; no HTTP, no merge."""
    began = time.perf_counter()
    sent = json.loads(body)["changes"]
    rows = [
        (number, json.dumps(fields), json.dumps(seen), sent["record"][number])
        for number, (fields, seen) in enumerate(zip(sent["set"], sent["supersedes"], strict=True))
    ]
    base = sqlite3.connect(folder / f"floor{turn}.sqlite3")
    with base:
        for table in ("journal", "state"):
            base.execute(
                f"CREATE TABLE {table} (id INTEGER PRIMARY KEY, a TEXT, b TEXT, c INTEGER)"
            )
            base.executemany(f"INSERT INTO {table} VALUES (?, ?, ?, ?)", rows)
    base.close()
    return time.perf_counter() - began


def test_push_of_ten_thousand_changes(server: Server, tmp_path: Path, report: Report) -> None:
    clock = "00000000000000a1"
    device = Connection(server, clock)
    now_ms = time.time_ns() // 1_000_000
    ratios, seconds = [], []
    for turn in range(ROUNDS):
        changes = work(clock, turn * CHANGES + 1, now_ms - 100_000_000, seed=turn)
        body = body_of(changes)
        floor = _floor(body, tmp_path, turn)
        packed = gzip.compress(body, 6)
        began = time.perf_counter()
        reply = device.send("/api/sync/push", packed, packed=True)
        content = reply.read()
        seconds.append(time.perf_counter() - began)
        if reply.headers.get("Content-Encoding") == "gzip":
            content = gzip.decompress(content)
        assert set(json.loads(content)["verdicts"]) == {"applied"}
        ratios.append(seconds[-1] / floor)
    took = statistics.median(seconds)
    ratio = statistics.median(ratios)
    report(
        f"push of {CHANGES:,} changes over HTTP: {took:.2f} s, {CHANGES / took:,.0f} changes/s,"
        f" {ratio:.1f} times json + executemany (at most {RATIO_MAX})"
    )
    assert ratio <= RATIO_MAX


@pytest.mark.parametrize("seed", range(2))
def test_bytes_of_a_change(report: Report, seed: int) -> None:
    body = body_of(work("9f3b6c1d2e4a5b70", 1, 1_790_000_000_000, seed))
    plain, packed = len(body) / CHANGES, len(gzip.compress(body, 6)) / CHANGES
    report(
        f"a change on the wire: {packed:.1f} B gzipped, {plain:.0f} B plain (at most {BYTES_MAX})"
    )
    assert packed <= BYTES_MAX
