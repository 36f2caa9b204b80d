"""What the benchmarks work on: an evening's changes, a large kit, a device that speaks HTTP."""

from __future__ import annotations

import gzip
import hashlib
import json
import random
import time
import urllib.request
import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from bagtrail.trade import order, stamps
from bagtrail.wire import packing
from bagtrail.wire.changes import Change
from tests.browser.conftest import Server

CHANGES, RECORDS = 10_000, 2_000
DEVICE = "00000000-0000-4000-8000-000000000001"
CLOCK = "00000000000000a1"


def work(
    clock: str, first: int, start_ms: int, seed: int = 0, record_count: int = RECORDS
) -> list[Change]:
    """An evening's ticks, many times over: records are made, then changed by those who saw them."""
    dice = random.Random(seed)

    def some_id() -> str:
        return str(uuid.UUID(int=dice.getrandbits(128), version=4))

    build, steps = some_id(), [some_id() for _ in range(45)]
    records = [(some_id(), some_id(), dice.choice(steps)) for _ in range(record_count)]
    last: dict[str, str] = {}
    changes = []
    ms = start_ms
    for number in range(CHANGES):
        record, operation, step = records[number % record_count]
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


STEPS, PART_LINES, PHOTOS = 2_000, 10_000, 3_000


class LargeBuild:
    """A kit of 2,000 steps in 100 bags with 10,000 part lines; its build is half done, with 3,000
    photos whose pictures are elsewhere."""

    def __init__(self) -> None:
        self.changes: list[Change] = []
        dice = random.Random(5)
        start_ms = time.time_ns() // 1_000_000 - 1_000_000

        def some_id() -> str:
            return str(uuid.UUID(int=dice.getrandbits(128), version=4))

        def add(type_: str, values: Mapping[str, Any]) -> str:
            record = some_id()
            number = len(self.changes) + 1
            stamp = stamps.make(start_ms + number, 0, CLOCK)
            self.changes.append(Change(CLOCK, number, type_, record, values, stamp))
            return record

        kit = add("kit", {"name": "Large kit"})
        bags = [
            add("bag", {"kit": kit, "number": str(n + 1), "order": key})
            for n, key in enumerate(order.spread(100))
        ]
        sections = [
            add("section", {"kit": kit, "mark": str(n + 1), "title": f"Part {n + 1}", "order": key})
            for n, key in enumerate(order.spread(20))
        ]
        parts = [add("part", {"kit": kit, "name": f"Part {n}"}) for n in range(500)]
        steps = []
        for n, key in enumerate(order.spread(STEPS)):
            place = {"kit": kit, "section": sections[n // 100], "bags": [bags[n // 20]]}
            number = f"{n // 100 + 1}.{n % 100 + 1}"
            step = {**place, "number": number, "title": f"Fit group {n}", "order": key}
            steps.append(add("step", step))
        for n in range(PART_LINES):
            line = {"kit": kit, "part": parts[n % 500], "quantity": 1 + n % 4}
            step = n % STEPS
            add("part_line", {**line, "step": steps[step], "bag": bags[step // 20]})
        build = add("build", {"kit": kit, "name": "Large one"})
        for n in range(STEPS // 2):
            at = "2026-05-04T20:00:00.000Z"
            add("step_progress", {"build": build, "step": steps[n], "state": "done", "at": at})
        for n in range(PHOTOS):
            photo = {
                "build": build,
                "step": steps[n % STEPS],
                "blob": hashlib.sha256(str(n).encode()).hexdigest(),
                "media_type": "image/jpeg",
                "width_px": 2560,
                "height_px": 1920,
                "size_bytes": 900_000,
                "taken_at": "2026-05-04T20:00:00.000Z",
            }
            add("photo", photo)
        self.build = build


def body_of(changes: Sequence[Change], cursor: Mapping[str, Any] | None = None) -> bytes:
    packed = packing.pack(changes)
    return json.dumps({"cursor": cursor, "changes": packed}, separators=(",", ":")).encode()


class Connection:
    """A paired device that speaks HTTP to a real server."""

    def __init__(self, server: Server, clock: str = CLOCK) -> None:
        self.url = server.url
        self.cookie = ""
        arrival = {"name": "Bench", "kind": "phone", "device": DEVICE, "clock": clock}
        reply = self.send("/api/devices/claim", json.dumps({**arrival, "workshop": "W"}).encode())
        self.cookie = reply.headers["Set-Cookie"].split(";")[0]
        self.workshop: str = json.loads(reply.read())["workshop"]["id"]

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

    def ask(self, path: str, body: Any = None) -> Any:
        """JSON there and back; None is read, anything else is posted."""
        reply = self.send(path, None if body is None else json.dumps(body).encode())
        content = reply.read()
        if reply.headers.get("Content-Encoding") == "gzip":
            content = gzip.decompress(content)
        return json.loads(content)

    def push(self, changes: Sequence[Change]) -> list[str]:
        """Verdicts."""
        reply = self.send("/api/sync/push", gzip.compress(body_of(changes), 6), packed=True)
        content = reply.read()
        if reply.headers.get("Content-Encoding") == "gzip":
            content = gzip.decompress(content)
        return list(json.loads(content)["verdicts"])
