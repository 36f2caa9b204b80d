"""'Try the demo kit': into the workshop once, with a build, codes, and pictures in place."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask
from flask.testing import FlaskClient

from bagtrail import resources
from bagtrail.domain import demo, journal, upkeep
from bagtrail.storage.blobs import BlobStore
from bagtrail.storage.tables import RECORD_TABLES, change
from bagtrail.storage.work import reading
from bagtrail.wire.records import derived_id


@pytest.fixture(scope="module")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from demo import make

    folder = tmp_path_factory.mktemp("demo")
    make.main(folder)
    return folder


@pytest.fixture(autouse=True)
def _demo(demo_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(resources, "demo_folder", lambda: demo_folder)


def test_the_demo_kit_comes_whole_and_once(owner: FlaskClient, app: Flask) -> None:
    made = owner.post("/api/demo")
    assert made.status_code == 201, made.text
    kit, build = made.json["kit"], made.json["build"]
    assert owner.get(f"/api/builds/{build}").json["kit"] == kit
    bags = owner.get(f"/api/bags?kit={kit}&limit=100").json["items"]
    assert len({bag["code"] for bag in bags}) == len(bags) >= 11
    found = owner.get(f"/api/codes/{bags[0]['code'].lower()}").json
    assert found == {"bags": [{"bag": bags[0]["id"], "kit": kit}]}
    # The makers' barcodes have the ids that a device would give them.
    barcodes = owner.get(f"/api/barcodes?kit={kit}&limit=100").json["items"]
    assert sorted(one["bag"] for one in barcodes) == sorted(bag["id"] for bag in bags)
    for one in barcodes:
        assert one["id"] == derived_id("barcode", one["bag"], one["text"])
    steps = owner.get(f"/api/steps?kit={kit}&limit=100").json["items"]
    assert 44 <= len(steps) <= 46
    assert all(bag in {b["id"] for b in bags} for step in steps for bag in step["bags"] or [])
    for page in owner.get(f"/api/pages?kit={kit}&limit=100").json["items"]:
        assert owner.get(f"/api/blobs/{page['blob']}?size=thumb").status_code == 200
    assert owner.post("/api/demo").json == made.json
    assert len(owner.get("/api/kits").json["items"]) == 1


def test_a_deleted_demo_kit_comes_anew(owner: FlaskClient) -> None:
    first = owner.post("/api/demo").json
    owner.delete(f"/api/kits/{first['kit']}")
    second = owner.post("/api/demo").json
    assert second["kit"] != first["kit"]
    assert owner.get(f"/api/kits/{second['kit']}").status_code == 200


def test_a_demo_kit_cleared_away_comes_anew(owner: FlaskClient, app: Flask) -> None:
    first = owner.post("/api/demo").json
    owner.delete(f"/api/kits/{first['kit']}")
    with app.app_context():
        later = journal.now_ms() + 200 * 86_400_000
        assert upkeep.compact(app.config["BAGTRAIL"], now_ms=later) == 1
    second = owner.post("/api/demo")
    assert second.status_code == 201, second.text
    assert second.json["kit"] != first["kit"]


def test_two_taps_at_once_make_one_demo_kit(
    database: str | None, owner: FlaskClient, app: Flask, demo_folder: Path
) -> None:
    """The codes of the second would replace those on labels printed from the first."""
    workshop = owner.get("/api/session").json["workshop"]["id"]
    store = BlobStore(app.config["BAGTRAIL"].blob_folder)
    barrier = threading.Barrier(2)

    def tap() -> None:
        with app.app_context():
            barrier.wait(10)
            demo.install(store, workshop, demo_folder, 50_000_000)

    threads = [threading.Thread(target=tap) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    with app.app_context(), reading() as conn:
        codes_given = conn.execute(
            sa.select(sa.func.count()).where(
                change.c.type == "bag", change.c.fields.contains("code")
            )
        ).scalar()
        bags = conn.execute(sa.select(sa.func.count()).select_from(RECORD_TABLES["bag"])).scalar()
    assert codes_given == bags


@pytest.mark.parametrize(
    ("code", "status"),
    [("ABC", 422), ("UUUUUUUU", 422), ("00000000", 422), ("ZZZZZZZ", 422)],
)
def test_a_code_that_is_none_says_why(owner: FlaskClient, code: str, status: int) -> None:
    reply = owner.get(f"/api/codes/{code}")
    assert reply.status_code == status
    assert len(reply.json["detail"]) > 20


def test_another_workshops_label_is_told_apart_from_an_unknown_one(owner: FlaskClient) -> None:
    from bagtrail.trade import codes

    own = owner.get("/api/session").json["workshop"]["id"]
    other = next(
        f"00000000-0000-4000-8000-{number:012}"
        for number in range(100)
        if codes.workshop_tag(f"00000000-0000-4000-8000-{number:012}") != codes.workshop_tag(own)
    )
    draws = iter(range(1000))
    for workshop, status in ((own, 404), (other, 403)):
        code = codes.issue(workshop, lambda: next(draws))
        assert owner.get(f"/api/codes/{code}").status_code == status


def test_queries_that_nobody_knows_are_refused(owner: FlaskClient) -> None:
    assert owner.get("/api/kits?colour=red").status_code == 422
    assert owner.get("/api/kits?limit=0").status_code == 422
    assert owner.get("/api/sync/pull?since=3").status_code == 422
