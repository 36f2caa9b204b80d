"""Archives that are damaged, forged, too new or too large, and servers that run out of room.

Whatever is wrong: it is told in words that name the place, and nothing was written.
"""

from __future__ import annotations

import copy
import io
import json
import os
import random
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from hypothesis import HealthCheck, given
from hypothesis import settings as example
from hypothesis import strategies as st

from bagtrail.domain import epochs, journal
from bagtrail.domain.archive import bringing, form, members
from bagtrail.settings import Settings
from bagtrail.storage.blobs import BlobStore
from bagtrail.wire.problems import (
    ArchiveDamaged,
    ArchiveNewer,
    IdReuse,
    NoArchive,
    NoRoom,
    Problem,
    TooLarge,
)
from tests import archives
from tests.archives import NOW, Shed, named

_made: list[bytes] = []


@pytest.fixture
def archive(app_context: Flask, settings: Settings) -> bytes:
    """An archive of a build, whose workshop is gone since: all of it would be new here."""
    if not _made:
        _made.append(archives.fill(settings).export())
    archives.wipe(settings)
    return _made[0]


@pytest.fixture
def workshop(archive: bytes, settings: Settings) -> str:
    return archives.claim(settings)


def _refused(settings: Settings, workshop: str, archive: bytes) -> Problem:
    """The problem that it is refused with; nothing was written."""
    before = archives.everything(settings)
    ledger = epochs.current()
    with pytest.raises(Problem) as raised:
        archives.bring(settings, workshop, archive)
    assert archives.everything(settings) == before
    assert epochs.current() == ledger
    assert len(raised.value.detail) > 30
    assert raised.value.status in (413, 422)
    return raised.value


def test_every_piece_of_it_cut_off_is_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    for share in range(0, 100, 4):
        problem = _refused(settings, workshop, archive[: len(archive) * share // 100])
        assert isinstance(problem, NoArchive)
    _refused(settings, workshop, archive[:-1])


def test_a_flipped_byte_anywhere_is_refused_or_harms_nothing(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    """Some bytes of a ZIP mean nothing (dates, versions of makers): then all comes in as it was."""
    chance = random.Random(20260504)
    places = [*range(0, len(archive), max(1, len(archive) // 150))]
    whole = archives.bring(settings, workshop, archive)
    reference = archives.export(settings, workshop, "build", str(whole.build))
    for place in places:
        broken = bytearray(archive)
        broken[place] ^= 1 << chance.randrange(8)
        before = archives.everything(settings)
        try:
            brought = archives.bring(settings, workshop, bytes(broken))
        except (ArchiveDamaged, NoArchive, ArchiveNewer, TooLarge):
            pass
        else:
            assert (brought.added, brought.photos) == (0, 0), place
        assert archives.everything(settings) == before, place
    again = archives.members(archives.export(settings, workshop, "build", str(whole.build)))
    assert again["changes.jsonl"] == archives.members(reference)["changes.jsonl"]


@pytest.mark.parametrize("name", ["changes.jsonl", "records.jsonl", "devices.jsonl", "files/"])
def test_the_member_that_differs_is_named(
    archive: bytes, workshop: str, settings: Settings, name: str
) -> None:
    content = archives.members(archive)
    name = next(member for member in content if member.startswith(name))
    content[name] = content[name][:-2] + b"\n\n"
    problem = _refused(settings, workshop, archives.repacked(content, sums=False))
    assert isinstance(problem, ArchiveDamaged)
    assert problem.detail.startswith(name)
    assert "checksum" in problem.detail


@pytest.mark.parametrize("name", ["changes.jsonl", "records.jsonl", "devices.jsonl", "checksums"])
def test_a_missing_member_is_named(
    archive: bytes, workshop: str, settings: Settings, name: str
) -> None:
    content = archives.members(archive)
    gone = next(member for member in content if member.startswith(name))
    del content[gone]
    problem = _refused(settings, workshop, archives.repacked(content, sums=False))
    assert problem.detail.startswith(f"{gone}: it is missing")


def test_a_missing_picture_is_named(archive: bytes, workshop: str, settings: Settings) -> None:
    content = archives.members(archive)
    gone = next(member for member in content if member.startswith("files/"))
    del content[gone]
    problem = _refused(settings, workshop, archives.repacked(content, sums=False))
    assert problem.detail.startswith(f"{gone}: it is missing")
    # Taken out of the checksums as well, it is missed by its count.
    problem = _refused(settings, workshop, archives.repacked(content))
    assert "counts" in problem.detail


# ---- newer, and none ----


def _about(content: dict[str, bytes], **said: Any) -> dict[str, bytes]:
    about = {**json.loads(content["about.json"]), **said}
    return {**content, "about.json": json.dumps(about).encode()}


def test_a_newer_version_is_refused_with_both_versions_and_what_to_do(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    content = _about(
        archives.members(archive), version=7, made_by={"program": "bagtrail", "version": "3.2.1"}
    )
    # Members that this version does not know are no reason to call it damaged.
    content["future.cbor"] = b"?"
    problem = _refused(settings, workshop, archives.repacked(content))
    assert isinstance(problem, ArchiveNewer)
    for words in ("version 7", "Bagtrail 3.2.1", "up to 1", "Update this server"):
        assert words in problem.detail


@pytest.mark.parametrize("version", [0, -1, "1", 1.0, None, True, [1]])
def test_a_version_that_is_none_is_damage(
    archive: bytes, workshop: str, settings: Settings, version: Any
) -> None:
    content = _about(archives.members(archive), version=version)
    assert isinstance(_refused(settings, workshop, archives.repacked(content)), ArchiveDamaged)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"PK",
        b"not a zip",
        b"PK\x05\x06" + b"\0" * 18,
        b"PK\x05\x06" + b"\xff" * 18,
        b"\x1f\x8b" + b"\0" * 100,
        archives.repacked({"letter.txt": b"hello"}, sums=False),
        archives.repacked({"about.json": b"{}"}, sums=False),
        archives.repacked({"about.json": b"[]"}, sums=False),
        archives.repacked({"about.json": b'{"format": "other", "version": 1}'}, sums=False),
    ],
)
def test_what_is_no_archive_is_told(workshop: str, settings: Settings, content: bytes) -> None:
    assert isinstance(_refused(settings, workshop, content), NoArchive)


@pytest.mark.parametrize(
    "said",
    [
        {"what": "club"}, {"build": None}, {"build": "x"}, {"kits": []}, {"kits": "x"},
        {"kits": [named(1), named(1)]}, {"workshop": None}, {"workshop": {"id": "x"}},
        {"name": None}, {"counts": None}, {"counts": {"changes": 1}}, {"build": named(77)},
    ],
)  # fmt: skip
def test_an_about_that_does_not_fit_is_refused(
    archive: bytes, workshop: str, settings: Settings, said: dict[str, Any]
) -> None:
    content = _about(archives.members(archive), **said)
    assert isinstance(_refused(settings, workshop, archives.repacked(content)), ArchiveDamaged)


# ---- path tricks ----


@pytest.mark.parametrize(
    "name",
    [
        "/etc/passwd", "../up.json", "files/../../up.jpg", "C:\\up.jpg", "files\\up.jpg", "a/",
        "files/" + "0" * 63 + ".jpg", "files/" + "0" * 64 + ".svg", "changes.jsonl\0.txt",
        "files/" + "0" * 64 + ".jpg/x", "CHANGES.JSONL", "__MACOSX/changes.jsonl",
    ],
)  # fmt: skip
def test_a_member_of_a_strange_name_is_refused(
    archive: bytes, workshop: str, settings: Settings, name: str
) -> None:
    out = io.BytesIO(archive)
    with zipfile.ZipFile(out, "a") as file:
        # A zero byte would be cut off by the writer, too.
        written = zipfile.ZipInfo(name.replace("\0", "\x01"))
        file.writestr(written, b"?")
    content = out.getvalue().replace(b"jsonl\x01.txt", b"jsonl\0.txt")
    problem = _refused(settings, workshop, content)
    assert isinstance(problem, ArchiveDamaged)
    assert "no archive has a member of this name" in problem.detail


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_is_there_twice_is_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    out = io.BytesIO(archive)
    with zipfile.ZipFile(out, "a") as file:
        file.writestr("changes.jsonl", b"")
    assert "two members" in _refused(settings, workshop, out.getvalue()).detail


@pytest.mark.parametrize("mode", [0o120777, 0o060644, 0o020644])
def test_a_link_or_a_device_is_refused(
    archive: bytes, workshop: str, settings: Settings, mode: int
) -> None:
    content = archives.members(archive)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name, plain in content.items():
            info = zipfile.ZipInfo(name)
            info.external_attr = (mode if name == "devices.jsonl" else 0o100644) << 16
            file.writestr(info, plain)
    assert "link" in _refused(settings, workshop, out.getvalue()).detail


def test_an_archive_that_was_unpacked_and_packed_anew_is_as_good(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    content = archives.members(archive)
    names = ["files/", *sorted(content, reverse=True)]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        for name in names:
            file.writestr(name, content.get(name, b""))
    assert archives.bring(settings, workshop, out.getvalue()).made["kit"] == 1


# ---- bombs ----


def _with_sizes(archive: bytes, name: str, size: int) -> bytes:
    """The archive, its directory saying another size of a member."""
    at = archive.rindex(name.encode()) - 46
    assert archive[at : at + 4] == b"PK\x01\x02"
    return archive[: at + 24] + struct.pack("<L", size) + archive[at + 28 :]


def test_a_member_that_unpacks_to_thousands_of_times_its_size_is_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    content = archives.members(archive)
    content["changes.jsonl"] += b"\n" * 50_000_000
    problem = _refused(settings, workshop, archives.repacked(content))
    assert "times its size" in problem.detail


@pytest.mark.parametrize("size", [10, 3_000_000_000])
def test_a_member_that_claims_another_size_is_refused(
    archive: bytes, workshop: str, settings: Settings, size: int
) -> None:
    packed = archives.repacked(archives.members(archive))
    _refused(settings, workshop, _with_sizes(packed, "records.jsonl", size))


def test_members_that_unpack_to_too_much_together_are_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    limits = members.Limits(20_000, 12_000_000, 50_000_000)
    with pytest.raises(TooLarge) as raised:
        bringing.bring(BlobStore(settings.blob_folder), workshop, io.BytesIO(archive), limits)
    assert "BAGTRAIL_ARCHIVE_MAX_BYTES" in raised.value.detail


def test_a_directory_that_would_fill_the_memory_is_not_read(
    workshop: str, settings: Settings
) -> None:
    entry = b"PK\x01\x02" + b"\0" * 42
    count = form.DIRECTORY_MAX_BYTES // len(entry) + 2
    end = struct.pack("<4sHHHHLLH", b"PK\x05\x06", 0, 0, 0xFFFF, 0xFFFF, len(entry) * count, 0, 0)
    assert isinstance(_refused(settings, workshop, entry * count + end), NoArchive)


def test_members_that_share_their_bytes_are_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    """A ZIP whose entries overlap unpacks to far more than it holds (D. Fifield, 2019)."""
    content = archives.members(archive)
    pictures = [name for name in content if name.startswith("files/")]
    packed = archives.repacked(content, method=0)
    first = packed.index(pictures[0].encode()) - 30
    at = packed.rindex(pictures[1].encode()) - 46
    assert packed[at : at + 4] == b"PK\x01\x02"
    crossed = packed[: at + 42] + struct.pack("<L", first) + packed[at + 46 :]
    problem = _refused(settings, workshop, crossed)
    assert pictures[1] in problem.detail


def test_a_picture_that_unpacks_to_gigapixels_is_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    def chunk(kind: bytes, data: bytes) -> bytes:
        crc = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + crc

    huge = b"\x89PNG\r\n\x1a\n" + chunk(
        b"IHDR", struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    )
    content = archives.members(archive)
    name = next(name for name in content if name.startswith("files/") and name.endswith("png"))
    content[name] = huge + chunk(b"IDAT", b"") + chunk(b"IEND", b"")
    assert isinstance(_refused(settings, workshop, archives.repacked(content)), TooLarge)


def test_what_is_no_picture_is_refused(archive: bytes, workshop: str, settings: Settings) -> None:
    content = archives.members(archive)
    name = next(name for name in content if name.startswith("files/"))
    for bytes_ in (b"", b"<svg/>", content[name][: len(content[name]) // 2]):
        content[name] = bytes_
        problem = _refused(settings, workshop, archives.repacked(content))
        assert problem.detail.startswith(name)


# ---- lines ----


@pytest.mark.parametrize(
    ("member", "line", "words"),
    [
        ("changes.jsonl", b"{", "line 1: it is no JSON"),
        ("changes.jsonl", b"[" * 50_000, "line 1: it is no JSON"),
        ("changes.jsonl", b"null", "line 1: A change is an object"),
        ("changes.jsonl", b"\xff\xfe", "cannot be read"),
        ("changes.jsonl", b"7" * 5_000, "line 1: it is no JSON"),
        ("changes.jsonl", b'{"n": NaN}', "line 1: it is no JSON"),
        ("changes.jsonl", b" " * 4_000_010, "line 1: it is longer"),
        ("records.jsonl", b"null", "line 1: "),
        ("devices.jsonl", b'{"id": 1}', "line 1: A device is an object"),
        ("intakes.jsonl", b"7", "line 1: What an intake wrote is an object"),
        ("intakes.jsonl", b'{"record": "x", "fields": {}}', "line 1: What an intake wrote"),
        ("checksums.sha256", b"what", "line 1: it is no checksum"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(
    archive: bytes, workshop: str, settings: Settings, member: str, line: bytes, words: str
) -> None:
    content = archives.members(archive)
    content[member] = line + b"\n" + content[member]
    sums = member != "checksums.sha256"
    # Not deflated: a long line of blanks would be a bomb.
    problem = _refused(settings, workshop, archives.repacked(content, sums=sums, method=0))
    assert problem.detail.startswith(member)
    assert words in problem.detail


def _set(**said: Any) -> Callable[[dict[str, Any]], None]:
    return lambda change: change.update(said)


CLOCK = "00000000000000ff"


@pytest.mark.parametrize(
    "spoil",
    [
        _set(id="x"), _set(id=f"{CLOCK}.0"), _set(id=f"{CLOCK}.1"), _set(id=5),
        _set(type="workshop"), _set(type="device"), _set(type="../x"), _set(type=None),
        _set(record="x"), _set(record=None), _set(record=named(99)),
        _set(set=None), _set(set={}), _set(set={"name": 5}), _set(set={"name": "a\0b"}),
        _set(set={"unknown": "x" * 9000}), _set(set={"Not a name": 1}),
        _set(stamp="x"), _set(stamp="0" * 32), _set(stamp=None), _set(claimed="0" * 32),
        _set(supersedes=None), _set(supersedes=["x"]), _set(supersedes=[f"{CLOCK}.1"] * 1025),
        _set(group={"first": 1}), _set(group={"first": 900, "size": 2}), _set(group=[1, 2]),
        _set(received=None), _set(received="yesterday"), _set(received="2026-02-30T00:00:00.000Z"),
        _set(received=5), _set(more=1), lambda change: change.pop("set"),
    ],
)  # fmt: skip
def test_a_change_that_is_not_well_formed_is_named_by_its_line(
    archive: bytes, workshop: str, settings: Settings, spoil: Callable[[dict[str, Any]], None]
) -> None:
    content = archives.members(archive)
    changes = [json.loads(line) for line in content["changes.jsonl"].splitlines()]
    spoil(changes[0])
    content["changes.jsonl"] = b"\n".join(json.dumps(one).encode() for one in changes) + b"\n"
    problem = _refused(settings, workshop, archives.repacked(content))
    assert isinstance(problem, ArchiveDamaged)
    assert problem.detail.startswith(("changes.jsonl", "records.jsonl"))


def test_a_change_that_is_there_twice_or_changes_its_type_is_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    content = archives.members(archive)
    first = json.loads(content["changes.jsonl"].splitlines()[0])
    other = {**first, "id": f"{CLOCK}.1", "stamp": first["stamp"][:16] + CLOCK, "type": "part"}
    other.pop("group", None)
    for added, words in ((first, "is there twice"), (other, "is a kit, not a part")):
        spoiled = dict(content)
        spoiled["changes.jsonl"] += json.dumps(added).encode() + b"\n"
        assert words in _refused(settings, workshop, archives.repacked(spoiled)).detail


@pytest.mark.parametrize("deep", [200, 450, 900])
def test_a_record_that_is_nested_too_deeply_is_refused(
    archive: bytes, workshop: str, settings: Settings, deep: int
) -> None:
    content = archives.members(archive)
    nested = b"[" * deep + b"]" * deep
    content["records.jsonl"] = content["records.jsonl"].replace(
        b'"scale":"1:6"', b'"scale":' + nested
    )
    problem = _refused(settings, workshop, archives.repacked(content))
    assert isinstance(problem, ArchiveDamaged)


def test_pictures_that_another_import_gave_up_are_kept_all_the_same(
    archive: bytes, workshop: str, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bagtrail.domain import photos

    store = BlobStore(settings.blob_folder)
    names = [n.split("/")[1].split(".")[0] for n in archives.members(archive) if "files/" in n]
    real = journal.take_in

    def meanwhile(*about: Any, **more: Any) -> Any:
        taken = real(*about, **more)
        for name in names:
            store.delete(workshop, name)
        return taken

    monkeypatch.setattr(journal, "take_in", meanwhile)
    archives.bring(settings, workshop, archive)
    assert all(photos.fetch(store, workshop, name, "")[0] for name in names)


def test_records_that_are_not_what_the_changes_come_to_are_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    content = archives.members(archive)
    for old, new in ((b"Tight fit", b"Loose fit"), (b'"type":"note"', b'"type":"part"')):
        spoiled = {**content, "records.jsonl": content["records.jsonl"].replace(old, new, 1)}
        problem = _refused(settings, workshop, archives.repacked(spoiled))
        assert "come to something else" in problem.detail
    lacking = {**content, "records.jsonl": content["records.jsonl"].split(b"\n", 1)[1]}
    assert "is missing" in _refused(settings, workshop, archives.repacked(lacking)).detail


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b'"quantity":[4', b'"quantity":["x"', "quantity cannot be written"),
        (b'"quantity":[4,', b'"quantity":[4,4,', "a value and the id of a change"),
        (b"}}\n", b"}}\n" * 2, "line 2"),
    ],
)
def test_what_an_intake_cannot_have_written_is_refused(
    archive: bytes, workshop: str, settings: Settings, old: bytes, new: bytes, words: str
) -> None:
    content = archives.members(archive)
    said = content["intakes.jsonl"]
    content["intakes.jsonl"] = said.replace(old, new) if new != old * 2 else said + said
    assert content["intakes.jsonl"] != said
    problem = _refused(settings, workshop, archives.repacked(content))
    assert problem.detail.startswith("intakes.jsonl")
    assert words in problem.detail


def test_a_record_of_something_else_is_refused(
    archive: bytes, workshop: str, settings: Settings
) -> None:
    content = archives.members(archive)
    change = {
        "id": f"{CLOCK}.1", "type": "part", "record": named(99), "supersedes": [],
        "set": {"kit": named(60), "name": "Of another kit"},
        "stamp": f"{NOW:012x}0000{CLOCK}", "received": "2026-05-04T18:30:00.000Z",
    }  # fmt: skip
    record = {"type": "part", "id": named(99), "gone": False, "values": change["set"]}
    content["changes.jsonl"] += json.dumps(change).encode() + b"\n"
    content["records.jsonl"] += json.dumps(record).encode() + b"\n"
    assert "belongs to nothing" in _refused(settings, workshop, archives.repacked(content)).detail


@example(
    max_examples=60,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
@given(data=st.data())
def test_whatever_stands_in_a_change_the_server_stays_whole(
    archive: bytes, workshop: str, settings: Settings, data: st.DataObject
) -> None:
    """Any JSON in any place of a change: a problem, or a change that is well formed."""
    content = archives.members(archive)
    changes = [json.loads(line) for line in content["changes.jsonl"].splitlines()]
    change = changes[data.draw(st.integers(0, len(changes) - 1))]
    odd = st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
        max_leaves=6,
    )
    change[data.draw(st.sampled_from(sorted(change)))] = data.draw(odd)
    content["changes.jsonl"] = b"\n".join(json.dumps(one).encode() for one in changes) + b"\n"
    before = archives.everything(settings)
    try:
        archives.bring(settings, workshop, archives.repacked(content))
    except Problem:
        assert archives.everything(settings) == before
    else:
        # What was drawn is what had stood there, or as good.
        assert journal.rebuild() > 0


# ---- what fails while it is written ----


@pytest.fixture
def files_that_fill_up(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[int], None]]:
    """Has the disk be full after so many more files."""
    real = BlobStore.write

    def fill(after: int) -> None:
        left = [after]

        def write(self: BlobStore, *about: Any) -> None:
            left[0] -= 1
            if left[0] < 0:
                raise OSError(28, os.strerror(28))
            real(self, *about)

        monkeypatch.setattr(BlobStore, "write", write)

    yield fill
    monkeypatch.setattr(BlobStore, "write", real)


@pytest.mark.parametrize("after", range(0, 9))
def test_a_disk_that_fills_up_leaves_nothing_behind(
    archive: bytes,
    workshop: str,
    settings: Settings,
    files_that_fill_up: Callable[[int], None],
    after: int,
) -> None:
    before = archives.everything(settings)
    files_that_fill_up(after)
    with pytest.raises(NoRoom):
        archives.bring(settings, workshop, archive)
    assert archives.everything(settings) == before
    # With room again, it comes in.
    files_that_fill_up(99)
    assert archives.bring(settings, workshop, archive).made["kit"] == 1


def test_a_database_that_fills_up_leaves_nothing_behind(
    archive: bytes, workshop: str, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any, **__: Any) -> None:
        raise sa.exc.OperationalError("INSERT", {}, Exception("database or disk is full"))

    before = archives.everything(settings)
    with monkeypatch.context() as patched:
        patched.setattr("bagtrail.domain.projection.write", full)
        with pytest.raises(NoRoom):
            archives.bring(settings, workshop, archive)
    assert archives.everything(settings) == before
    assert archives.bring(settings, workshop, archive).made["kit"] == 1


def test_a_change_that_cannot_stand_here_gives_all_of_it_up(
    app_context: Flask, settings: Settings
) -> None:
    """Another change of this workshop has its id: one of the two was forged."""
    shed: Shed = archives.fill(settings)
    content = archives.members(shed.export())
    forged = copy.copy(content)
    for name in ("changes.jsonl", "records.jsonl"):
        forged[name] = content[name].replace(b"Tight fit", b"Loose fit")
    before = archives.everything(settings)
    with pytest.raises(IdReuse):
        archives.bring(settings, shed.workshop, archives.repacked(forged))
    assert archives.everything(settings) == before
