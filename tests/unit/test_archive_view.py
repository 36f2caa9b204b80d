"""Archives and tables as a browser gets them, read with Python's zipfile, csv and hashlib alone."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import tracemalloc
import zipfile
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from bagtrail import cli
from bagtrail.domain import demo
from bagtrail.domain.archive.writing import export
from bagtrail.resources import demo_folder
from bagtrail.settings import Settings
from bagtrail.storage.blobs import BlobStore
from bagtrail.storage.tables import blob
from bagtrail.storage.work import writing
from bagtrail.wire.records import RECORDS, field_kinds
from tests import archives
from tests.conftest import speaking

KIT = {"name": "=Tarn/6: ½\\.."}


def _make(owner: FlaskClient, path: str, values: dict[str, Any]) -> str:
    reply = owner.post(f"/api/{path}", json=values)
    assert reply.status_code == 201, reply.text
    return str(reply.json["id"])


@pytest.fixture
def made(owner: FlaskClient) -> dict[str, str]:
    """A small kit with a build, by plain REST; ids by what they are."""
    kit = _make(owner, "kits", KIT)
    bags = [
        _make(owner, "bags", {"kit": kit, "number": number, "order": order})
        for number, order in (("2", "a2"), ("1", "a1"))
    ]
    step = _make(owner, "steps", {"kit": kit, "number": "1.1", "order": "a1", "bags": bags})
    part = _make(owner, "parts", {"kit": kit, "name": "-Screw", "number": "+T6",
                                  "designation": "M3x12 cap screw"})  # fmt: skip
    for bag, quantity in zip(bags, (2, 4), strict=True):
        _make(owner, "part_lines", {"kit": kit, "part": part, "quantity": quantity, "bag": bag,
                                    "step": step})  # fmt: skip
    build = _make(owner, "builds", {"kit": kit, "name": "Red one"})
    for at, text in (("2026-05-05", 'second, "quoted"\nline'), ("2026-05-04", "first")):
        _make(owner, "notes", {"build": build, "step": step, "text": text,
                               "at": f"{at}T18:30:00.000Z"})  # fmt: skip
    return {"kit": kit, "build": build, "step": step}


def _csv(text: bytes) -> list[dict[str, str]]:
    assert text.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(text.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("what", ["kit", "build"])
def test_an_archive_is_a_zip_whose_checksums_hold(
    owner: FlaskClient, made: dict[str, str], what: str
) -> None:
    # A link that the browser follows by itself: without the app's header.
    del owner.environ_base["HTTP_BAGTRAIL_PROTOCOL"]
    reply = owner.get(f"/api/{what}s/{made[what]}/archive.zip")
    assert reply.status_code == 200
    assert reply.content_type == "application/zip"
    disposition = reply.headers["Content-Disposition"]
    name = disposition.split('filename="')[1].rstrip('"')
    assert name.startswith("Tarn-6-kit-" if what == "kit" else "Red-one-build-")
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.")
    with zipfile.ZipFile(io.BytesIO(reply.data)) as file:
        names = file.namelist()
        assert names[0] == "mimetype"
        assert names[-1] == "checksums.sha256"
        # As `sha256sum -c` reads it: hash, two blanks, name.
        listed = dict(
            reversed(line.split("  ", 1))
            for line in file.read("checksums.sha256").decode().splitlines()
        )
        assert listed.keys() == set(names) - {"checksums.sha256"}
        for member, said in listed.items():
            assert hashlib.sha256(file.read(member)).hexdigest() == said
        about = json.loads(file.read("about.json"))
        assert (about["format"], about["version"], about["what"]) == ("bagtrail-archive", 1, what)
        assert about["counts"]["changes"] == len(file.read("changes.jsonl").splitlines())


def test_an_archive_goes_in_at_another_server(
    owner: FlaskClient, made: dict[str, str], tmp_path: Path, migrated_file: Path
) -> None:
    archive = owner.get(f"/api/builds/{made['build']}/archive.zip").data
    again = owner.post("/api/archives", data=archive)
    assert again.status_code == 201
    assert again.json["added"] == 0
    assert (again.json["kit"], again.json["builds"]) == (made["kit"], [made["build"]])
    settings = Settings(data=tmp_path / "other")
    settings.prepare()
    (settings.data / "bagtrail.sqlite3").write_bytes(migrated_file.read_bytes())
    from tests.conftest import opened

    with opened(settings) as app:
        from bagtrail.domain import epochs

        with app.app_context():
            epochs.settle(settings.epoch_file)
        other = speaking(app)
        other.post(
            "/api/devices/claim",
            json={"workshop": "Club", "name": "Desk", "kind": "desk",
                  "device": archives.named(70), "clock": "00000000000000b7"},
        )  # fmt: skip
        reply = other.post("/api/archives", data=archive, content_type="application/zip")
        assert reply.status_code == 201, reply.text
        assert reply.json["made"] == {
            "bag": 2, "build": 1, "kit": 1, "note": 2, "part": 1, "part_line": 2, "step": 1,
        }  # fmt: skip
        assert reply.json["copied"]
        notes = other.get(f"/api/notes?build={reply.json['builds'][0]}").json["items"]
        assert {note["text"][:5] for note in notes} == {"first", "secon"}


def test_strangers_get_and_bring_nothing(client: FlaskClient, made: dict[str, str]) -> None:
    for path in (
        f"/api/kits/{made['kit']}/archive.zip",
        f"/api/builds/{made['build']}/tables.zip",
        "/api/tables/notes.csv",
    ):
        assert client.get(path).status_code == 401
    assert client.post("/api/archives", data=b"PK").status_code == 401


def test_what_is_not_there_or_was_deleted_has_no_archive(
    owner: FlaskClient, made: dict[str, str]
) -> None:
    assert owner.get(f"/api/kits/{made['build']}/archive.zip").status_code == 404
    assert owner.delete(f"/api/builds/{made['build']}").status_code == 204
    assert owner.get(f"/api/builds/{made['build']}/archive.zip").status_code == 404
    assert owner.get(f"/api/builds/{made['build']}/tables.zip").status_code == 404


def test_an_archive_that_is_too_large_is_refused_with_the_settings_name(tmp_path: Path) -> None:
    from tests.conftest import migrate, opened

    settings = Settings(data=tmp_path / "data", archive_max_bytes=1_000_000)
    settings.prepare()
    migrate(settings)
    with opened(settings) as app:
        from bagtrail.domain import epochs

        with app.app_context():
            epochs.settle(settings.epoch_file)
        client = speaking(app)
        client.post(
            "/api/devices/claim",
            json={"workshop": "Shed", "name": "Desk", "kind": "desk",
                  "device": archives.named(70), "clock": "00000000000000b7"},
        )  # fmt: skip
        reply = client.post("/api/archives", data=b"\0" * 1_000_001)
        assert reply.status_code == 413
        assert "BAGTRAIL_ARCHIVE_MAX_BYTES" in reply.json["detail"]
        # Without a length that tells in advance.
        reply = client.post(
            "/api/archives",
            input_stream=io.BytesIO(b"\0" * 1_500_000),
            headers={"Transfer-Encoding": "chunked"},
            environ_overrides={"wsgi.input_terminated": True},
        )
        assert reply.status_code == 413
        # One that unpacks to more.
        bomb = archives.repacked({"about.json": b'{"format":"bagtrail-archive","version":1}',
                                  "changes.jsonl": b"\n" * 1_100_000})  # fmt: skip
        assert client.post("/api/archives", data=bomb).status_code in (413, 422)


def test_a_full_disk_is_told(
    owner: FlaskClient, made: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    archive = owner.get(f"/api/kits/{made['kit']}/archive.zip").data

    class Full(io.BytesIO):
        def write(self, _: Any) -> int:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr("bagtrail.views.archives.tempfile.TemporaryFile", lambda **_: Full())
    reply = owner.post("/api/archives", data=archive)
    assert reply.status_code == 507
    assert "Nothing was written" in reply.json["detail"]


def test_memory_holds_one_picture_at_a_time(
    app_context: Flask, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    shed = archives.fill(settings)
    size = 2_000_000
    for number in range(200, 240):
        name = f"{number:064x}"
        row = {"workshop_id": shed.workshop, "sha256": name, "media_type": "image/jpeg",
               "width_px": 1, "height_px": 1, "size_bytes": size, "stored_ms": 1}  # fmt: skip
        with writing() as conn:
            conn.execute(blob.insert().values(row))
        about = {"build": shed.build, "blob": name, "taken_at": "2026-05-04T18:30:00.000Z"}
        shed.phone.write("photo", archives.named(number), about, archives.NOW)
    shed.exchange()
    monkeypatch.setattr(BlobStore, "has", lambda *_: True)
    monkeypatch.setattr(BlobStore, "read", lambda *_: bytes(size))
    archive = export(shed.store, settings.data, shed.workshop, "build", shed.build)
    tracemalloc.start()
    try:
        sent = sum(map(len, archive.chunks))
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert sent > 40 * size
    assert peak < 4 * size


# ---- tables ----


@pytest.mark.parametrize("type_", RECORDS)
def test_every_record_type_has_a_table(
    owner: FlaskClient, made: dict[str, str], type_: str
) -> None:
    schema = RECORDS[type_]
    reply = owner.get(f"/api/tables/{schema.collection}.csv")
    assert reply.status_code == 200
    assert reply.content_type == "text/csv; charset=utf-8"
    heading = next(csv.reader(io.StringIO(reply.data.decode("utf-8-sig"))))
    assert heading == ["id", *(name for name in field_kinds(type_) if name != "deleted")]
    items = owner.get(f"/api/{schema.collection}").json["items"]
    assert {row["id"] for row in _csv(reply.data)} == {item["id"] for item in items}
    some = owner.get(f"/api/tables/{schema.collection}.csv?build={made['build']}")
    if type_ in ("workshop", "device"):
        assert some.status_code == 422
        assert "belongs to no kit" in some.json["detail"]
    else:
        assert len(_csv(some.data)) == len(items)
    none = owner.get(f"/api/tables/{schema.collection}.csv?kit={archives.named(1)}")
    assert none.status_code == 422 or _csv(none.data) == []


def test_cells_say_what_the_record_does_and_no_spreadsheet_runs_them(
    owner: FlaskClient, made: dict[str, str]
) -> None:
    """RFC 4180 for quotes and line ends; the apostrophe is common practice against formulas."""
    text = owner.get("/api/tables/parts.csv").data
    assert b"\r\n" in text
    (part,) = _csv(text)
    assert part["name"] == "'-Screw"
    assert part["number"] == "'+T6"
    assert part["designation"] == "M3x12 cap screw"
    assert part["material"] == ""
    (kit,) = _csv(owner.get("/api/tables/kits.csv").data)
    assert kit["name"] == "'=Tarn/6: ½\\.."
    (step,) = _csv(owner.get(f"/api/tables/steps.csv?kit={made['kit']}").data)
    shown = owner.get(f"/api/steps/{made['step']}").json
    assert json.loads(step["bags"]) == shown["bags"]
    notes = _csv(owner.get("/api/tables/notes.csv").data)
    assert [note["text"] for note in notes] == ["first", 'second, "quoted"\nline']


def test_numbers_below_zero_stay_numbers(owner: FlaskClient, made: dict[str, str]) -> None:
    part = owner.get("/api/parts").json["items"][0]["id"]
    _make(owner, "movements", {"build": made["build"], "part": part, "quantity": -2,
                               "reason": "lost", "at": "2026-05-04T18:30:00.000Z"})  # fmt: skip
    (row,) = _csv(owner.get("/api/tables/movements.csv").data)
    assert row["quantity"] == "-2"


def test_an_unknown_table_says_which_there_are(owner: FlaskClient) -> None:
    reply = owner.get("/api/tables/nonsense.csv")
    assert reply.status_code == 404
    assert "part_lines" in reply.json["detail"]


def test_all_tables_of_a_build_come_in_one_file(owner: FlaskClient, made: dict[str, str]) -> None:
    reply = owner.get(f"/api/builds/{made['build']}/tables.zip")
    assert reply.status_code == 200
    with zipfile.ZipFile(io.BytesIO(reply.data)) as file:
        assert file.testzip() is None
        tables = {name: _csv(file.read(name)) for name in file.namelist()}
    scoped = {schema.collection for schema in RECORDS.values() if schema.scope}
    assert tables.keys() == {
        f"{name}.csv" for name in {*scoped, "kits", "builds", "parts-list", "build-log"}
    }
    assert [(row["Bag"], row["Step"], row["Quantity"]) for row in tables["parts-list.csv"]] == [
        ("1", "1.1", "4"), ("2", "1.1", "2"),
    ]  # fmt: skip
    assert tables["parts-list.csv"][0]["Designation"] == "M3x12 cap screw"
    assert [row["Says"] for row in tables["build-log.csv"]] == [
        "first", 'second, "quoted"\nline',
    ]  # fmt: skip
    assert {row["Step"] for row in tables["build-log.csv"]} == {"1.1"}


def test_tables_of_a_kit_hold_nothing_of_its_builds(
    owner: FlaskClient, made: dict[str, str]
) -> None:
    reply = owner.get(f"/api/kits/{made['kit']}/tables.zip")
    with zipfile.ZipFile(io.BytesIO(reply.data)) as file:
        names = set(file.namelist())
    assert "parts-list.csv" in names
    assert not names & {"notes.csv", "builds.csv", "build-log.csv"}


# ---- commands, and a kit of true size ----


def test_the_command_writes_and_reads_archives(
    app: Flask,
    owner: FlaskClient,
    made: dict[str, str],
    settings: Settings,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("BAGTRAIL_DATA", str(settings.data))
    monkeypatch.delenv("BAGTRAIL_DATABASE_URL", raising=False)
    file = tmp_path / "red.zip"
    assert cli.main(["export", made["build"], str(file)]) == 0
    assert "The build is in" in capsys.readouterr().out
    assert cli.main(["import", str(file)]) == 0
    assert "was here already" in capsys.readouterr().out
    assert cli.main(["export", archives.named(1), str(file)]) == 1
    assert "No kit or build" in capsys.readouterr().err
    file.write_bytes(file.read_bytes()[:-30])
    assert cli.main(["import", str(file)]) == 1
    assert "no archive" in capsys.readouterr().err
    assert not list(tmp_path.glob(".*part"))
    assert owner.delete(f"/api/builds/{made['build']}").status_code == 204


def test_the_demo_kit_comes_back_picture_for_picture(
    app_context: Flask, settings: Settings
) -> None:
    workshop = archives.claim(settings)
    store = BlobStore(settings.blob_folder)
    kit, build = demo.install(store, workshop, demo_folder(), settings.photo_max_pixels)
    first = archives.export(settings, workshop, "build", build)
    archives.wipe(settings)
    archives.claim(settings, workshop)
    brought = archives.bring(settings, workshop, first)
    assert (brought.kits, brought.build) == ([kit], build)
    assert brought.photos > 20
    one = archives.members(first)
    two = archives.members(archives.export(settings, workshop, "build", build))
    files = [name for name in one if name.startswith("files/")]
    assert len(files) == brought.photos
    for name in (*files, "changes.jsonl", "records.jsonl"):
        assert one[name] == two[name], name
