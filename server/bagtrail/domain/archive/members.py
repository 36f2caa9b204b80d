"""The members of an archive as a ZIP file: names, sizes, checksums, lines."""

from __future__ import annotations

import hashlib
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BufferedReader
from pathlib import Path
from typing import IO, Any, NoReturn, TypeVar, cast

from ...wire.problems import ArchiveDamaged, NotAPicture, Problem, TooLarge
from .. import pictures
from . import form

T = TypeVar("T")

_SUM = re.compile(r"([0-9a-f]{64}) [ *](.+)")
_CHUNK = 1 << 20
#: What reading a member can raise where it is not as its headers say.
BROKEN = (
    zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError,
    ValueError, OverflowError, struct.error, UnicodeDecodeError,
)  # fmt: skip
MEND = "Save it anew where it comes from, and bring that in. Nothing was written."


@dataclass(frozen=True, slots=True)
class Limits:
    """``bytes_max``: what all members may unpack to; ``picture_max_bytes`` and ``pixels_max``: of
    one picture."""

    bytes_max: int
    picture_max_bytes: int
    pixels_max: int


def damaged(where: str, what: str) -> NoReturn:
    raise ArchiveDamaged(f"{where}: {what}. {MEND}")


def check_directory(source: Path | IO[bytes]) -> None:
    """Raises ValueError where the ZIP's directory is larger than any archive's, before it is read
    into memory.  Where its size stands: .ZIP File Format Specification, 4.3.14 and 4.3.16."""
    if isinstance(source, Path):
        with source.open("rb") as file:
            return check_directory(file)
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


def check_members(file: zipfile.ZipFile, limits: Limits) -> None:
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
            damaged(called, "no archive has a member of this name")
        if name in seen:
            damaged(called, "there are two members of this name")
        seen.add(name)
        kind = info.external_attr >> 28
        if kind not in (0, 8) or info.is_dir():
            damaged(called, "it is a link or a device, and no file")
        if info.flag_bits & 1:
            damaged(called, "it is encrypted")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            damaged(called, "it is packed in a way that archives do not use")
        ratio = info.file_size / max(info.compress_size, 1)
        if info.file_size > form.RATIO_FROM_BYTES and ratio > form.RATIO_MAX:
            damaged(called, f"it claims to unpack to {ratio:.0f} times its size")
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
            damaged(name, "it is missing")


def check_sums(file: zipfile.ZipFile, limits: Limits) -> None:
    """Every member is there to its last bit, and every picture can be shown."""
    expected = _sums(file)
    names = {info.filename for info in file.infolist() if not info.is_dir()}
    for name in sorted(names - expected.keys() - {form.CHECKSUMS}):
        damaged(name, f"{form.CHECKSUMS} does not list it")
    for name in sorted(expected.keys() - names):
        damaged(name, "it is missing")
    for name in sorted(expected):
        found = form.PICTURE.fullmatch(name)
        content = bytearray()
        digest = hashlib.sha256()
        try:
            with file.open(name) as member:
                while chunk := member.read(_CHUNK):
                    digest.update(chunk)
                    if found:
                        content += chunk
        except BROKEN as why:
            damaged(name, f"it cannot be read to its end ({why})")
        if digest.hexdigest() != expected[name]:
            damaged(name, "its checksum is another: some of it was changed or lost")
        if found:
            try:
                pictures.check(bytes(content), limits.pixels_max)
            except NotAPicture as why:
                damaged(name, why.detail)


def _sums(file: zipfile.ZipFile) -> dict[str, str]:
    sums: dict[str, str] = {}
    for at, text in _texts(file, form.CHECKSUMS):
        found = _SUM.fullmatch(text.rstrip("\r\n"))
        if found is None or found[2] in sums or found[2] == form.CHECKSUMS:
            damaged(f"{form.CHECKSUMS}, line {at}", "it is no checksum of a member")
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
                    damaged(f"{name}, line {at}", "it is longer than any line of an archive")
                yield at, text.decode()
    except BROKEN as why:
        raise ArchiveDamaged(f"{name}: it cannot be read to its end ({why}). {MEND}") from why


def parsed(file: zipfile.ZipFile, name: str) -> Iterator[tuple[int, Any]]:
    for at, text in _texts(file, name):
        try:
            words = form.parsed(text)
        except ValueError as why:
            raise ArchiveDamaged(f"{name}, line {at}: it is no JSON ({why}). {MEND}") from why
        yield at, words


def said(name: str, at: int, read: Callable[[Any], T], words: Any) -> T:
    """What a line says; what is not right about it is told with its number."""
    try:
        return read(words)
    except Problem as why:
        raise ArchiveDamaged(f"{name}, line {at}: {why.detail} {MEND}", **why.extra) from why
