"""An archive on its way in: everything is looked at before anything is written."""

from __future__ import annotations

import hashlib
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from io import BufferedReader
from pathlib import Path
from typing import IO, Any, NoReturn, TypeVar, cast

from marshmallow import ValidationError

from ...wire.changes import Foreign
from ...wire.fields import CLOCK_PATTERN, UUID_PATTERN
from ...wire.problems import (
    ArchiveDamaged,
    ArchiveNewer,
    Invalid,
    NoArchive,
    NotAPicture,
    Problem,
    TooLarge,
)
from ...wire.records import RECORDS, derived_id, field_kinds
from .. import merge, pictures
from ..checks import fields_problem
from . import form, lines, scope

T = TypeVar("T")

_UUID = re.compile(UUID_PATTERN)
_CLOCK = re.compile(CLOCK_PATTERN)
_SUM = re.compile(r"([0-9a-f]{64}) [ *](.+)")
_CHUNK = 1 << 20
#: What reading a member can raise where it is not as its headers say.
_BROKEN = (
    zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError,
    ValueError, OverflowError, struct.error, UnicodeDecodeError,
)  # fmt: skip
_MEND = "Save it anew where it comes from, and bring that in. Nothing was written."


@dataclass(frozen=True, slots=True)
class Limits:
    """``bytes_max``: what all members may unpack to; ``picture_max_bytes`` and ``pixels_max``: of
    one picture."""

    bytes_max: int
    picture_max_bytes: int
    pixels_max: int


@dataclass(frozen=True, slots=True)
class Device:
    """A device that wrote something; the clock that it had last is the last one."""

    id: str
    name: str
    kind: str | None
    clocks: list[str]
    paired_at: str | None
    revoked_at: str | None


@dataclass(slots=True)
class Record:
    """``root``: id of the kit or build that it belongs to.  ``parts``: where its id follows from
    others, those and whatever else it follows from."""

    type: str
    root: str
    gone: bool
    parts: tuple[str, ...] | None


@dataclass(slots=True)
class Archive:
    """An archive in which everything was found to be right."""

    file: zipfile.ZipFile
    name: str
    workshop: str
    workshop_name: str
    kits: list[str]
    build: str | None
    records: dict[str, Record] = field(default_factory=dict)
    devices: list[Device] = field(default_factory=list)
    #: Every clock that any change names.
    clocks: set[str] = field(default_factory=set)
    #: Members of pictures by the names of their blobs.
    pictures: dict[str, str] = field(default_factory=dict)

    @property
    def roots(self) -> list[str]:
        """Kits first: a build that is copied along with its kit has to know the copy."""
        return [*self.kits, *([self.build] if self.build else [])]

    def changes(self) -> Iterator[Foreign]:
        """The history, anew each time."""
        for _, words in _lines(self.file, form.CHANGES):
            yield lines.known(words)

    def intakes(self) -> Iterator[tuple[str, dict[str, list[Any]]]]:
        """What intakes wrote last: ids of records, and by field a value and the id of a change."""
        for _, words in _lines(self.file, form.INTAKES):
            yield words["record"], words["fields"]

    def picture(self, sha256: str) -> bytes:
        return self.file.read(self.pictures[sha256])


@contextmanager
def opened(source: Path | IO[bytes], limits: Limits) -> Iterator[Archive]:
    """The archive in a file.

    Raises NoArchive, ArchiveNewer, ArchiveDamaged or TooLarge: what is wrong, where, and how to
    mend it.
    """
    try:
        _check_directory(source)
        file = zipfile.ZipFile(source)
    except _BROKEN:
        raise NoArchive(
            "It is no ZIP file, or the end of it is missing. If it was downloaded, it may have been"
            " cut off: fetch it again. Nothing was written."
        ) from None
    with file:
        try:
            yield _checked(file, limits)
        except zipfile.BadZipFile as why:
            raise ArchiveDamaged(f"{why}. {_MEND}") from why
        except RecursionError:
            raise ArchiveDamaged(f"A line of it is nested too deeply. {_MEND}") from None


def _checked(file: zipfile.ZipFile, limits: Limits) -> Archive:
    about = _about(file)
    _check_members(file, limits)
    archive = _said(file, about)
    _check_sums(archive, limits)
    counts = about.get("counts")
    read = {
        "changes": _read_history(archive),
        "records": len(archive.records),
        "devices": _read_devices(archive),
        "intakes": _read_intakes(archive),
        "files": len(archive.pictures),
    }
    if counts != read:
        _damaged(form.ABOUT, f"its counts are {counts}, and the archive holds {read}")
    return archive


def _damaged(where: str, what: str) -> NoReturn:
    raise ArchiveDamaged(f"{where}: {what}. {_MEND}")


def _check_directory(source: Path | IO[bytes]) -> None:
    """Raises ValueError where the ZIP's directory is larger than any archive's, before it is read
    into memory.  Where its size stands: .ZIP File Format Specification, 4.3.14 and 4.3.16."""
    if isinstance(source, Path):
        with source.open("rb") as file:
            return _check_directory(file)
    source.seek(0, 2)
    length = source.tell()
    source.seek(max(0, length - (1 << 16) - 200))
    tail = source.read()
    at = tail.rfind(b"PK\x05\x06")
    if at < 0 or len(tail) < at + 22:
        raise ValueError("no end of a directory")
    size = int.from_bytes(tail[at + 12 : at + 16], "little")
    wide = tail.rfind(b"PK\x06\x06", 0, at)
    if size == 0xFFFFFFFF and wide >= 0:
        size = int.from_bytes(tail[wide + 40 : wide + 48], "little")
    if size > form.DIRECTORY_MAX_BYTES:
        raise ValueError("the directory is too large")
    source.seek(0)
    return None


def _about(file: zipfile.ZipFile) -> dict[str, Any]:
    """What the archive says of itself; its version is one that can be read."""
    names = file.namelist()
    if names.count(form.ABOUT) != 1:
        raise NoArchive(
            f"It holds no {form.ABOUT}, so it is a ZIP file of something else. Choose a file that"
            " was made by Save as archive. Nothing was written."
        )
    about: Any = None
    try:
        with file.open(form.ABOUT) as member:
            about = form.parsed(member.read(form.ABOUT_MAX_BYTES + 1).decode())
    except _BROKEN as why:
        _damaged(form.ABOUT, f"it cannot be read ({why})")
    if not isinstance(about, dict) or about.get("format") != form.FORMAT:
        raise NoArchive(
            f"Its {form.ABOUT} does not say that it is a {form.FORMAT}. Choose a file that was made"
            " by Save as archive. Nothing was written."
        )
    version = about.get("version")
    if type(version) is not int or version < 1:
        _damaged(form.ABOUT, "it does not say which version of the format this is")
    if version > form.VERSION:
        raise ArchiveNewer(
            f"It is written in version {version} of the format{_maker(about)}. This program,"
            f" Bagtrail {form.program_version()}, reads versions up to {form.VERSION}. Update this"
            " server, then bring the archive in again. Nothing was written."
        )
    return about


def _maker(about: Mapping[str, Any]) -> str:
    made_by = about.get("made_by")
    version = made_by.get("version") if isinstance(made_by, dict) else None
    return f", by Bagtrail {version[:40]}" if isinstance(version, str) else ""


def _check_members(file: zipfile.ZipFile, limits: Limits) -> None:
    """Each member is one that an archive has, is there once, and unpacks to a bearable size."""
    infos = file.infolist()
    if len(infos) > form.MEMBERS_MAX:
        raise TooLarge(f"An archive has {form.MEMBERS_MAX} members at most. Nothing was written.")
    seen: set[str] = set()
    total = 0
    for info in infos:
        name = info.filename
        # As other programs add it when they pack the same files anew.
        if name == "files/" and info.file_size == 0:
            continue
        called = name.encode("unicode_escape").decode()[:120]
        if info.orig_filename != name or not (name in form.MEMBERS or form.PICTURE.fullmatch(name)):
            _damaged(called, "no archive has a member of this name")
        if name in seen:
            _damaged(called, "there are two members of this name")
        seen.add(name)
        kind = info.external_attr >> 28
        if kind not in (0, 8) or info.is_dir():
            _damaged(called, "it is a link or a device, and no file")
        if info.flag_bits & 1:
            _damaged(called, "it is encrypted")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            _damaged(called, "it is packed in a way that archives do not use")
        ratio = info.file_size / max(info.compress_size, 1)
        if info.file_size > form.RATIO_FROM_BYTES and ratio > form.RATIO_MAX:
            _damaged(called, f"it claims to unpack to {ratio:.0f} times its size")
        if form.PICTURE.fullmatch(name) and info.file_size > 2 * limits.picture_max_bytes:
            raise TooLarge(
                f"{called} has {info.file_size} bytes; this server takes pictures up to"
                f" {limits.picture_max_bytes} (BAGTRAIL_PHOTO_MAX_BYTES). Nothing was written."
            )
        total += info.file_size
        if total > limits.bytes_max:
            raise TooLarge(
                f"It unpacks to more than {limits.bytes_max} bytes, the most that this server takes"
                " (BAGTRAIL_ARCHIVE_MAX_BYTES). Nothing was written."
            )
    for name in form.MEMBERS:
        if name not in seen and name not in (form.MIMETYPE, form.README):
            _damaged(name, "it is missing")


def _said(file: zipfile.ZipFile, about: Mapping[str, Any]) -> Archive:
    workshop, kits, build = about.get("workshop"), about.get("kits"), about.get("build")
    what, name = about.get("what"), about.get("name")
    right = (
        isinstance(workshop, dict)
        and _is_id(workshop.get("id"))
        and isinstance(kits, list)
        and len(set(map(str, kits))) == len(kits) <= 20
        and all(map(_is_id, kits))
        and (_is_id(build) if what == "build" else what == "kit" and build is None and kits)
        and isinstance(name, str)
    )
    if not right:
        _damaged(form.ABOUT, "it does not say which kit or build of which workshop this is")
    shop = cast(dict[str, Any], workshop)
    names = {
        found[1]: info.filename
        for info in file.infolist()
        if (found := form.PICTURE.fullmatch(info.filename))
    }
    return Archive(
        file,
        cast(str, name)[:120],
        shop["id"],
        str(shop.get("name") or ""),
        cast(list[str], kits),
        build,
        pictures=names,
    )


def _is_id(value: Any) -> bool:
    return isinstance(value, str) and _UUID.fullmatch(value) is not None


def _check_sums(archive: Archive, limits: Limits) -> None:
    """Every member is there to its last bit, and every picture can be shown."""
    expected = _sums(archive.file)
    names = {info.filename for info in archive.file.infolist() if not info.is_dir()}
    for name in sorted(names - expected.keys() - {form.CHECKSUMS}):
        _damaged(name, f"{form.CHECKSUMS} does not list it")
    for name in sorted(expected.keys() - names):
        _damaged(name, "it is missing")
    for name in sorted(expected):
        found = form.PICTURE.fullmatch(name)
        content = bytearray()
        digest = hashlib.sha256()
        try:
            with archive.file.open(name) as member:
                while chunk := member.read(_CHUNK):
                    digest.update(chunk)
                    if found:
                        content += chunk
        except _BROKEN as why:
            _damaged(name, f"it cannot be read to its end ({why})")
        if digest.hexdigest() != expected[name]:
            _damaged(name, "its checksum is another: some of it was changed or lost")
        if found:
            try:
                pictures.check(bytes(content), limits.pixels_max)
            except NotAPicture as why:
                _damaged(name, why.detail)


def _sums(file: zipfile.ZipFile) -> dict[str, str]:
    sums: dict[str, str] = {}
    for at, text in _texts(file, form.CHECKSUMS):
        found = _SUM.fullmatch(text.rstrip("\r\n"))
        if found is None or found[2] in sums or found[2] == form.CHECKSUMS:
            _damaged(f"{form.CHECKSUMS}, line {at}", "it is no checksum of a member")
        sums[found[2]] = found[1]
    return sums


def _texts(file: zipfile.ZipFile, name: str) -> Iterator[tuple[int, str]]:
    """Lines of a member with their numbers, from 1."""
    try:
        with file.open(name) as member:
            reader = BufferedReader(cast(Any, member), _CHUNK)
            at = 0
            while text := reader.readline(form.LINE_MAX_BYTES + 1):
                at += 1
                if len(text) > form.LINE_MAX_BYTES:
                    _damaged(f"{name}, line {at}", "it is longer than any line of an archive")
                yield at, text.decode()
    except _BROKEN as why:
        raise ArchiveDamaged(f"{name}: it cannot be read to its end ({why}). {_MEND}") from why


def _lines(file: zipfile.ZipFile, name: str) -> Iterator[tuple[int, Any]]:
    for at, text in _texts(file, name):
        try:
            words = form.parsed(text)
        except ValueError as why:
            raise ArchiveDamaged(f"{name}, line {at}: it is no JSON ({why}). {_MEND}") from why
        yield at, words


def _at(name: str, at: int, read: Callable[[Any], T], words: Any) -> T:
    """What a line says; what is not right about it is told with its number."""
    try:
        return read(words)
    except Problem as why:
        raise ArchiveDamaged(f"{name}, line {at}: {why.detail} {_MEND}", **why.extra) from why


def _read_history(archive: Archive) -> int:
    """Reads the changes, and whether they come to the records; returns how many they are."""
    ids: set[str] = set()
    states: dict[str, tuple[str, merge.State]] = {}
    for at, words in _lines(archive.file, form.CHANGES):
        change = _at(form.CHANGES, at, lines.read, words).change
        where = f"{form.CHANGES}, line {at}"
        if change.id in ids:
            _damaged(where, f"the change {change.id} is there twice")
        if len(ids) >= form.CHANGES_MAX:
            raise TooLarge(f"An archive has {form.CHANGES_MAX} changes at most.")
        ids.add(change.id)
        archive.clocks.add(change.clock)
        archive.clocks.update(superseded[:16] for superseded in change.supersedes)
        type_, state = states.setdefault(change.record, (change.type, merge.State()))
        if type_ != change.type:
            _damaged(where, f"the record {change.record} is a {type_}, not a {change.type}")
        merge.apply(state, change)
    _check_records(archive, states)
    for id_, (type_, state) in states.items():
        values = merge.values(state)
        root = _root(archive, id_, type_, state)
        gone, _ = merge.gone(state, RECORDS[type_].quiet if type_ in RECORDS else ())
        archive.records[id_] = Record(type_, root, gone, _parts(type_, id_, values))
    for root in archive.roots:
        found = archive.records.get(root)
        if found is None or found.type != ("build" if root == archive.build else "kit"):
            _damaged(form.CHANGES, f"nothing is said of {root}, which {form.ABOUT} names")
    return len(ids)


def _root(archive: Archive, id_: str, type_: str, state: merge.State) -> str:
    """The kit or build of a record.  Raises ArchiveDamaged if the archive is not about that."""
    if type_ in scope.SCOPES:
        named = [id_]
    else:
        field_name = scope.scope_of(type_, [head.set for head in state.heads])
        named = [head.set[field_name] for head in state.heads if field_name in head.set]
    root = next((one for one in reversed(named) if one in archive.roots), None)
    if root is None:
        _damaged(form.CHANGES, f"the {type_} {id_} belongs to nothing that this archive is about")
    return root


def _parts(type_: str, id_: str, values: Mapping[str, Any]) -> tuple[str, ...] | None:
    if type_ not in RECORDS or not RECORDS[type_].derived:
        return None
    parts = tuple(str(values.get(name)) for name in RECORDS[type_].derived)
    return parts if derived_id(type_, *parts) == id_ else None


def _check_records(archive: Archive, states: Mapping[str, tuple[str, merge.State]]) -> None:
    """The records as they are said to have stood are what the changes come to."""
    seen: set[str] = set()
    for at, words in _lines(archive.file, form.RECORDS):
        where = f"{form.RECORDS}, line {at}"
        id_ = words.get("id") if isinstance(words, dict) else None
        if not isinstance(id_, str) or id_ not in states or id_ in seen:
            _damaged(where, f"{form.CHANGES} says nothing of this record, or it is there twice")
        seen.add(id_)
        type_, state = states[id_]
        values = merge.values(state)
        values.pop("deleted", None)
        if words.get("type") != type_ or merge.canonical(words.get("values")) != merge.canonical(
            values
        ):
            _damaged(where, f"the changes of the {type_} {id_} come to something else")
    for id_ in states:
        if id_ not in seen:
            _damaged(form.RECORDS, f"the record {id_} is missing")


def _read_intakes(archive: Archive) -> int:
    """Looks at what intakes wrote last; returns of how many records."""
    seen: set[str] = set()
    for at, words in _lines(archive.file, form.INTAKES):
        record = _at(form.INTAKES, at, lambda words: _intake(archive, words), words)
        if record in seen:
            _damaged(f"{form.INTAKES}, line {at}", "the record is there twice")
        seen.add(record)
    return len(seen)


def _intake(archive: Archive, words: Any) -> str:
    right = isinstance(words, dict) and words.keys() == {"record", "fields"}
    record = words["record"] if right else None
    if not isinstance(record, str) or record not in archive.records:
        raise Invalid("What an intake wrote is an object of record, one of these, and fields.")
    fields = words["fields"]
    if not isinstance(fields, dict) or not all(
        isinstance(said, list) and len(said) == 2 and lines.is_change_id(said[1])
        for said in fields.values()
    ):
        raise Invalid("What an intake wrote is, for each field, a value and the id of a change.")
    values = {name: said[0] for name, said in fields.items()}
    problem = fields_problem(archive.records[record].type, values) if values else None
    if problem is not None:
        raise problem
    return record


def _read_devices(archive: Archive) -> int:
    for at, words in _lines(archive.file, form.DEVICES):
        device = _at(form.DEVICES, at, _device, words)
        if any(device.id == other.id for other in archive.devices):
            _damaged(f"{form.DEVICES}, line {at}", "the device is there twice")
        archive.devices.append(device)
    return len(archive.devices)


def _device(words: Any) -> Device:
    members = {"id", "name", "kind", "paired_at", "revoked_at", "clocks"}
    if not isinstance(words, dict) or words.keys() != members or not _is_id(words["id"]):
        raise Invalid(f"A device is an object of {', '.join(sorted(members))}.")
    kinds = field_kinds("device")
    for name in ("name", "kind", "paired_at", "revoked_at"):
        try:
            kinds[name].deserialize(words[name])
        except ValidationError as why:
            raise Invalid(f"{name}: {' '.join(map(str, why.messages))}") from why
    clocks = words["clocks"]
    if (
        not isinstance(clocks, list)
        or len(clocks) > 1000
        or not all(isinstance(clock, str) and _CLOCK.fullmatch(clock) for clock in clocks)
    ):
        raise Invalid("A clock is 16 lower-case hex digits.")
    return Device(**words)
