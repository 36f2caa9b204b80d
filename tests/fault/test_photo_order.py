"""A picture's record (photo, page) and its bytes come to one end in either order."""

from __future__ import annotations

import hashlib
import time
from io import BytesIO
from typing import Any

import pytest
from flask.testing import FlaskClient
from PIL import Image

from bagtrail.wire import packing
from bagtrail.wire.changes import Change

CLOCK = "00000000000000a1"  # of the fixture `owner`
BUILD = "00000000-0000-4000-8000-0000000000b1"
NOW_MS = int(time.time() * 1000)
KIT = "00000000-0000-4000-8000-0000000000c1"
PHOTO = "00000000-0000-4000-8000-0000000000f1"
PAGE = "00000000-0000-4000-8000-0000000000f2"
RECORDS = {"photo": PHOTO, "page": PAGE}


def picture() -> bytes:
    out = BytesIO()
    Image.new("RGB", (64, 48), "teal").save(out, "JPEG")
    return out.getvalue()


def push_record(owner: FlaskClient, blob: str, kind: str = "photo") -> Any:
    fields = fields_of(blob) if kind == "photo" else {"kit": KIT, "number": "12", "blob": blob}
    made = [
        Change(CLOCK, 1, kind, RECORDS[kind], fields, f"{NOW_MS:012x}0000{CLOCK}"),
    ]
    body = {"cursor": None, "changes": packing.pack(made, push=True)}
    reply = owner.post("/api/sync/push", json=body)
    assert reply.status_code == 200, reply.text
    return reply.get_json()["verdicts"]


def fields_of(blob: str) -> dict[str, Any]:
    return {"build": BUILD, "blob": blob, "taken_at": "2026-05-04T18:30:00.000Z"}


@pytest.mark.usefixtures("database")
@pytest.mark.parametrize("kind", ["photo", "page"])
@pytest.mark.parametrize("order", ["record first", "bytes first", "bytes first, record twice"])
def test_failure_34_a_photo_is_stored_whichever_comes_first(
    owner: FlaskClient, order: str, kind: str
) -> None:
    """Failure 34: a device takes a photo while its pictures are being sent, so bytes may lead."""
    content = picture()
    blob = hashlib.sha256(content).hexdigest()

    def send_bytes() -> None:
        reply = owner.put(f"/api/blobs/{blob}", data=content, content_type="image/jpeg")
        assert reply.status_code == 201

    if order == "record first":
        assert push_record(owner, blob, kind) == ["applied"]
        send_bytes()
    else:
        send_bytes()
        assert push_record(owner, blob, kind) == ["applied"]
        if order.endswith("twice"):
            assert push_record(owner, blob, kind) == ["duplicate"]
    assert owner.get(f"/api/{kind}s/{RECORDS[kind]}").json["stored"] is True


@pytest.mark.parametrize("kind", ["photo", "page"])
def test_a_photo_without_its_bytes_is_not_called_stored(owner: FlaskClient, kind: str) -> None:
    push_record(owner, "ab" * 32, kind)
    assert owner.get(f"/api/{kind}s/{RECORDS[kind]}").json["stored"] is None
