"""The command, as the owner of a server meets it."""

from __future__ import annotations

import hashlib
import json
import socket
import tarfile
import uuid
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image

from bagtrail import cli
from bagtrail.settings import Settings
from bagtrail.storage.tables import db
from bagtrail.wire import packing
from tests.devices import SimDevice

Said = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def environment(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BAGTRAIL_DATA", str(settings.data))
    monkeypatch.delenv("BAGTRAIL_DATABASE_URL", raising=False)
    if settings.database:
        monkeypatch.setenv("BAGTRAIL_DATABASE_URL", settings.database)


def test_migrate_makes_a_database_where_there_was_none(settings: Settings, capsys: Said):
    (settings.data / "bagtrail.sqlite3").unlink()
    assert cli.main(["migrate"]) == 0
    assert (settings.data / "bagtrail.sqlite3").is_file()
    assert "up to date" in capsys.readouterr().out
    assert cli.main(["migrate"]) == 0


def test_pair_before_there_is_an_owner_says_what_to_do(capsys: Said):
    assert cli.main(["pair"]) == 1
    assert "open it in a browser first" in capsys.readouterr().err


def test_pair_shows_a_code_that_lets_one_device_in(
    owner: FlaskClient, client: FlaskClient, capsys: Said
):
    assert owner.get("/api/session").status_code == 200
    assert cli.main(["pair"]) == 0
    code = capsys.readouterr().out.split(" and type ")[1].split()[0]
    arrival = {
        "code": code,
        "name": "Tablet",
        "kind": "tablet",
        "device": "00000000-0000-4000-8000-000000000002",
        "clock": "00000000000000a2",
    }
    assert client.post("/api/pairing/redeem", json=arrival).status_code == 201
    again = {**arrival, "device": "00000000-0000-4000-8000-000000000003"}
    assert client.post("/api/pairing/redeem", json=again).status_code == 410


@pytest.mark.usefixtures("database")
def test_rebuild_makes_as_many_records_as_the_journal_has(owner: FlaskClient, capsys: Said):
    assert owner.get("/api/session").status_code == 200
    assert cli.main(["rebuild"]) == 0
    # The workshop and its first device.
    assert "Made 2 records" in capsys.readouterr().out


def test_backup_and_restore_bring_back_what_was_there(
    app: Flask, owner: FlaskClient, tmp_path: Path, capsys: Said
):
    before = owner.get("/api/session").json
    file = tmp_path / "shed.tar"
    assert cli.main(["backup", str(file)]) == 0
    with app.app_context():
        # The server is stopped: nothing holds the file that is about to be put aside.
        db.engine.dispose()
    assert cli.main(["restore", str(file)]) == 0
    after = owner.get("/api/session").json
    assert before is not None
    assert after is not None
    assert after["workshop"] == before["workshop"]
    assert after["epoch"] != before["epoch"]
    assert "is in place" in capsys.readouterr().out


def test_restore_of_something_else_leaves_all_as_it_was(
    owner: FlaskClient, tmp_path: Path, capsys: Said
):
    before = owner.get("/api/session").json
    file = tmp_path / "picture.jpg"
    file.write_bytes(b"no backup")
    assert cli.main(["restore", str(file)]) == 1
    assert "not a backup" in capsys.readouterr().err
    assert owner.get("/api/session").json == before


def _stopped(app: Flask) -> None:
    with app.app_context():
        db.engine.dispose()


def test_a_damaged_database_can_be_replaced_by_a_backup_and_is_put_aside(
    app: Flask, owner: FlaskClient, settings: Settings, tmp_path: Path, capsys: Said
):
    before = owner.get("/api/session").json
    file = tmp_path / "shed.tar"
    assert cli.main(["backup", str(file)]) == 0
    _stopped(app)
    database = settings.data / "bagtrail.sqlite3"
    for damage in (b"this is no database" * 1000, b"nor is this" * 1000):
        for suffix in ("-wal", "-shm"):
            database.with_name(database.name + suffix).unlink(missing_ok=True)
        database.write_bytes(damage)
        assert cli.main(["restore", str(file)]) == 0, capsys.readouterr().err
        assert owner.get("/api/session").json["workshop"] == before["workshop"]
        _stopped(app)
    aside = sorted(settings.data.glob("*.before-restore*"))
    assert [path.read_bytes()[:4] for path in aside] == [b"this", b"nor "]


def test_a_damaged_backup_replaces_nothing(
    app: Flask, owner: FlaskClient, settings: Settings, tmp_path: Path, capsys: Said
):
    before = owner.get("/api/session").json
    bad = tmp_path / "bagtrail.sqlite3"
    bad.write_bytes(b"no database at all " * 1000)
    file = tmp_path / "shed.tar"
    with tarfile.open(file, "w") as archive:
        archive.add(bad, bad.name)
    assert cli.main(["restore", str(file)]) == 1
    assert "damaged" in capsys.readouterr().err
    assert owner.get("/api/session").json == before
    assert list(settings.data.glob("*.before-restore*")) == []


def test_photos_taken_since_the_backup_are_known_again_after_a_restore(
    app: Flask, owner: FlaskClient, tmp_path: Path
):
    """Failure 7: the record comes back from the device, whose bytes may be gone by then."""
    file = tmp_path / "shed.tar"
    assert cli.main(["backup", str(file)]) == 0
    picture = BytesIO()
    Image.new("RGB", (40, 30), "navy").save(picture, "PNG")
    sha = hashlib.sha256(picture.getvalue()).hexdigest()
    kept = owner.put(f"/api/blobs/{sha}", data=picture.getvalue(), content_type="image/png")
    assert kept.status_code == 201
    _stopped(app)
    assert cli.main(["restore", str(file)]) == 0
    assert owner.get(f"/api/blobs/{sha}").status_code == 200
    with app.app_context():
        phone = SimDevice(owner.get("/api/session").json["workshop"]["id"])
        fields = {"build": str(uuid.uuid4()), "blob": sha, "taken_at": "2026-05-04T18:30:00.000Z"}
        change = phone.write("photo", str(uuid.uuid4()), fields, 1_790_000_000_000)
    owner.post("/api/devices/me/clock", json={"clock": phone.clock})
    packed = packing.pack([change])
    assert owner.post("/api/sync/push", json={"changes": packed}).json["verdicts"] == ["applied"]
    assert owner.get(f"/api/photos/{change.record}").json["stored"] is True


@pytest.mark.parametrize("command", [["serve"], ["restore", "shed.tar"]])
def test_port_in_use_is_told_before_anything_is_touched(
    command: list[str], settings: Settings, monkeypatch: pytest.MonkeyPatch, capsys: Said
):
    database = settings.data / "bagtrail.sqlite3"
    database.unlink()
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        monkeypatch.setenv("BAGTRAIL_PORT", str(other.getsockname()[1]))
        assert cli.main(command) == 1
    assert "port" in capsys.readouterr().err.lower()
    assert not database.exists()


def test_compact_of_less_than_a_day_is_refused(capsys: Said):
    assert cli.main(["compact", "--days", "0"]) == 2
    assert "--days" in capsys.readouterr().err


def test_compact_says_how_much_went(capsys: Said):
    assert cli.main(["compact"]) == 0
    assert "Cleared away 0" in capsys.readouterr().out


def test_openapi_is_written_in_the_form_that_the_standard_names(tmp_path: Path):
    """OpenAPI Specification 3.1.0, section 4.8.1: openapi, info and paths stand at the top."""
    file = tmp_path / "openapi.json"
    assert cli.main(["openapi", str(file)]) == 0
    document = json.loads(file.read_text())
    assert document["openapi"].startswith("3.1")
    assert document["info"]["title"] == "Bagtrail"
    assert "/api/sync/push" in document["paths"]


def test_database_that_is_none_gets_a_sentence(settings: Settings, capsys: Said):
    (settings.data / "bagtrail.sqlite3").write_bytes(b"this is no database" * 100)
    assert cli.main(["migrate"]) == 1
    said = capsys.readouterr().err
    assert said.startswith("bagtrail: ")
    assert "Traceback" not in said
