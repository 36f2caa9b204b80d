"""Pictures: upright, within bounds, without place and camera; bombs and torn uploads."""

from __future__ import annotations

import hashlib
import shutil
import struct
import threading
import uuid
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image

from bagtrail.domain import journal, photos, pictures, upkeep
from bagtrail.storage.blobs import BlobStore
from bagtrail.wire.problems import NotAPicture, TooLarge
from tests.devices import SimDevice

PIXELS_MAX = 50_000_000


def _photo(
    size: tuple[int, int] = (640, 480), *, orientation: int = 1, place: bool = True
) -> bytes:
    """A JPEG with the left upper corner red, EXIF orientation, and a place in its GPS block."""
    image = Image.new("RGB", size, "navy")
    image.paste("red", (0, 0, size[0] // 4, size[1] // 4))
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x0110] = "Camera of Nobody"
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    target = BytesIO()
    image.save(target, "JPEG", exif=exif, quality=90)
    return target.getvalue()


def _sha(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _put(client: FlaskClient, content: bytes, sha: str = "", kind: str = "image/jpeg") -> object:
    return client.put(f"/api/blobs/{sha or _sha(content)}", data=content, content_type=kind)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_pictures_are_upright_whatever_exif_says(orientation: int) -> None:
    """Orientations 1 to 8 as CIPA DC-008 (EXIF) numbers them; Pillow does the turning, here
    checked against where the red corner must be after it (from memory of the standard's table)."""
    kept = Image.open(BytesIO(pictures.clean(_photo(orientation=orientation), PIXELS_MAX).content))
    corner = {1: "lt", 2: "rt", 3: "rb", 4: "lb", 5: "lt", 6: "rt", 7: "rb", 8: "lb"}[orientation]
    x = 10 if corner[0] == "l" else kept.width - 10
    y = 10 if corner[1] == "t" else kept.height - 10
    red, _, blue = kept.getpixel((x, y))  # type: ignore[misc]
    assert red > 200
    assert blue < 80
    assert kept.size == ((640, 480) if orientation < 5 else (480, 640))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_place_and_camera_are_stripped(kind: str) -> None:
    source = Image.open(BytesIO(_photo()))
    target = BytesIO()
    source.save(target, kind, exif=source.getexif())
    picture = pictures.clean(target.getvalue(), PIXELS_MAX)
    for content in (picture.content, *picture.smaller.values()):
        kept = Image.open(BytesIO(content))
        assert dict(kept.getexif()) == {}
        assert b"Nobody" not in content


def test_what_hangs_behind_a_jpegs_end_is_cut_off() -> None:
    clean = pictures.clean(_photo(), PIXELS_MAX).content
    with_film = clean + b"\x00\x00\x00\x18ftypmp42 52.31 N"
    assert b"ftyp" not in pictures.clean(with_film, PIXELS_MAX).content


def test_clean_bytes_are_kept_as_they_are() -> None:
    clean = pictures.clean(_photo(), PIXELS_MAX).content
    assert pictures.clean(clean, PIXELS_MAX).content == clean


def test_large_pictures_are_made_smaller() -> None:
    picture = pictures.clean(_photo((6000, 4000)), PIXELS_MAX)
    assert (picture.width_px, picture.height_px) == (2560, 1707)
    sides = {name: max(Image.open(BytesIO(c)).size) for name, c in picture.smaller.items()}
    assert sides == pictures.SIZES


def _png_header(width: int, height: int) -> bytes:
    """A PNG that says it is huge, in a few bytes."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100_000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("side", [8_000, 20_000, 60_000])
def test_a_picture_that_unpacks_to_gigapixels_is_refused_before_it_is_unpacked(side: int) -> None:
    """Pitfall 33."""
    with pytest.raises(TooLarge):
        pictures.clean(_png_header(side, side), PIXELS_MAX)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"not a picture",
        b"GIF89a\x01\x00\x01\x00\x00\x00\x00;",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        _photo()[:2000],
        _photo()[:30],
        _png_header(100, 100)[:60],
        b"RIFF\x10\x00\x00\x00WEBPVP8 ",
        b"\xff\xd8\xff\xe1\xff\xff" + b"\x00" * 50,
    ],
)
def test_what_is_no_picture_is_refused(content: bytes) -> None:
    with pytest.raises(NotAPicture):
        pictures.clean(content, PIXELS_MAX)


def test_bytes_are_verified_kept_once_and_seen_by_others(owner: FlaskClient) -> None:
    content = _photo()
    sha = _sha(content)
    build = owner.post("/api/builds", json={"kit": "0" * 8 + "-0000-4000-8000-000000000000",
                                            "name": "B"}).json["id"]  # fmt: skip
    photo = {"build": build, "blob": sha, "taken_at": "2026-05-04T18:30:00.000Z"}
    made = owner.post("/api/photos", json=photo).json
    assert made["stored"] is None
    assert owner.head(f"/api/blobs/{sha}").status_code == 404
    assert _put(owner, content).status_code == 201  # type: ignore[attr-defined]
    assert _put(owner, content).status_code == 200  # type: ignore[attr-defined]
    assert owner.get(f"/api/photos/{made['id']}").json["stored"] is True
    for size in ("", "?size=thumb", "?size=preview"):
        reply = owner.get(f"/api/blobs/{sha}{size}")
        assert reply.status_code == 200
        assert reply.headers["X-Content-Type-Options"] == "nosniff"
        assert b"Nobody" not in reply.data
    again = owner.get(f"/api/blobs/{sha}", headers={"If-None-Match": reply.headers["ETag"]})
    assert again.status_code == 200, "another size has another tag"


def test_failure_34_a_torn_upload_leaves_nothing(owner: FlaskClient, settings: object) -> None:
    """Failure 34: cut off at every hundredth byte: 422 or 415, and no file of it anywhere."""
    content = _photo((200, 150))
    for cut in range(0, len(content) - 1, max(1, len(content) // 40)):
        reply = _put(owner, content[:cut], _sha(content))
        assert reply.status_code == 422  # type: ignore[attr-defined]
    folder: Path = settings.blob_folder  # type: ignore[attr-defined]
    assert [path for path in folder.rglob("*") if path.is_file()] == []


def test_failure_34_a_full_disk_leaves_nothing_half_written(
    owner: FlaskClient, settings: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder: Path = settings.blob_folder  # type: ignore[attr-defined]

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("bagtrail.storage.blobs.os.fsync", full)
        assert _put(owner, _photo()).status_code == 500  # type: ignore[attr-defined]
    assert [path for path in folder.rglob("*") if path.is_file()] == []
    assert _put(owner, _photo()).status_code == 201  # type: ignore[attr-defined]


def test_failure_34_bytes_are_cleared_by_references_after_a_grace(
    app: Flask, owner: FlaskClient, settings: object
) -> None:
    """Failure 34: two photos share a hash; deleting one keeps the bytes, deleting both does not."""
    content = _photo()
    sha = _sha(content)
    _put(owner, content)
    body = {
        "build": "00000000-0000-4000-8000-000000000000",
        "blob": sha,
        "taken_at": "2026-05-04T18:30:00.000Z",
    }
    first, second = (owner.post("/api/photos", json=body).json["id"] for _ in range(2))
    workshop = owner.get("/api/session").json["workshop"]["id"]
    store = BlobStore(settings.blob_folder)  # type: ignore[attr-defined]
    later = 4_000_000_000.0

    def clear(now_s: float | None = later) -> int:
        with app.app_context():
            return photos.clear_unused(store, workshop, now_s=now_s)

    owner.delete(f"/api/photos/{first}")
    assert clear() == 0
    owner.delete(f"/api/photos/{second}")
    assert clear() == 0, "a deleted record may be kept after all, until it is purged"
    with app.app_context():
        upkeep.compact(settings, now_ms=journal.now_ms() + 200 * 86_400_000)  # type: ignore[arg-type]
    assert owner.get(f"/api/blobs/{sha}").status_code == 404
    assert _put(owner, content).status_code == 201  # type: ignore[attr-defined]


def test_failure_34_young_bytes_and_those_on_the_other_side_of_a_clash_stay(
    app: Flask, owner: FlaskClient, settings: object
) -> None:
    """Failure 34: their record may be on its way, or may be chosen when the clash is settled."""
    pictures_ = [_photo((60 + n, 40)) for n in range(3)]
    for content in pictures_:
        _put(owner, content)
    workshop = owner.get("/api/session").json["workshop"]["id"]
    store = BlobStore(settings.blob_folder)  # type: ignore[attr-defined]
    record, now = str(uuid.uuid4()), journal.now_ms()
    with app.app_context():
        for content in pictures_[:2]:
            device = SimDevice(workshop)
            device.write("page", record, {"blob": _sha(content)}, now)
            device.push(now)
        assert photos.clear_unused(store, workshop) == 0
        assert photos.clear_unused(store, workshop, now_s=4_000_000_000.0) == 1
    statuses = [owner.get(f"/api/blobs/{_sha(content)}").status_code for content in pictures_]
    assert statuses == [200, 200, 404]


def test_bytes_that_the_disk_has_lost_are_taken_in_again(
    owner: FlaskClient, settings: object
) -> None:
    """The device lets go of its bytes when the server says that it has them."""
    content = _photo()
    assert _put(owner, content).status_code == 201  # type: ignore[attr-defined]
    shutil.rmtree(settings.blob_folder)  # type: ignore[attr-defined]
    assert owner.get(f"/api/blobs/{_sha(content)}").status_code == 404
    assert _put(owner, content).status_code == 201  # type: ignore[attr-defined]
    assert owner.get(f"/api/blobs/{_sha(content)}").status_code == 200


def test_a_photo_deleted_before_its_bytes_came_stays_deleted(
    database: str | None, owner: FlaskClient
) -> None:
    content = _photo()
    body = {
        "build": str(uuid.uuid4()),
        "blob": _sha(content),
        "taken_at": "2026-05-04T18:30:00.000Z",
    }
    photo = owner.post("/api/photos", json=body).json["id"]
    owner.delete(f"/api/photos/{photo}")
    assert _put(owner, content).status_code == 201  # type: ignore[attr-defined]
    assert owner.get(f"/api/photos/{photo}").status_code == 404


def test_two_uploads_of_one_picture_at_once_are_one(app: Flask, owner: FlaskClient) -> None:
    content = _photo((1200, 900))
    workshop = owner.get("/api/session").json["workshop"]["id"]
    store = BlobStore(app.config["BAGTRAIL"].blob_folder)
    made: list[bool] = []

    def put() -> None:
        with app.app_context():
            made.append(photos.keep(store, workshop, _sha(content), content, PIXELS_MAX)[1])

    threads = [threading.Thread(target=put) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(made) == 3
    assert owner.get(f"/api/blobs/{_sha(content)}").status_code == 200


def test_uploads_over_the_limit_or_of_another_kind_are_refused(owner: FlaskClient) -> None:
    """Pitfalls 31 and 33."""
    huge = b"\0" * 12_000_001
    assert _put(owner, huge).status_code == 413  # type: ignore[attr-defined]
    heic = _put(owner, b"....ftypheic", kind="image/heic")
    assert heic.status_code == 415  # type: ignore[attr-defined]
    assert "JPEG" in _put(owner, b"nothing").json["detail"]  # type: ignore[attr-defined]
