"""Pushing 10,000 changes: against bare JSON and SQLite, and in bytes."""

from __future__ import annotations

import gzip
import json
import sqlite3
import statistics
import time
from pathlib import Path

import pytest

from tests.bench.conftest import Report
from tests.bench.seed import CHANGES, CLOCK, Connection, body_of, work
from tests.browser.conftest import Server

ROUNDS = 3
#: Pushed over HTTP with journal, merge and projection, against json + executemany twice.
RATIO_MAX = 12
BYTES_MAX = 35


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
    device = Connection(server)
    now_ms = time.time_ns() // 1_000_000
    ratios, seconds = [], []
    for turn in range(ROUNDS):
        changes = work(CLOCK, turn * CHANGES + 1, now_ms - 100_000_000, seed=turn)
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
