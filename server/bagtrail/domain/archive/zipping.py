"""A ZIP file as a stream of bytes.  Pure; after the public ".ZIP File Format Specification" (6.3).

Sizes and checksums of a member are known before its first byte, so that they stand in its local
header and nothing has to be sought back: readers that go through the file once can read it too.
ZIP64 fields are written where a number needs them, and nowhere else.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import NamedTuple

STORED, DEFLATED = 0, 8
_UTF8_NAMES = 0x0800
_UNIX = 3
_FILE_MODE = 0o100644 << 16


class Member(NamedTuple):
    """A member as it is written: ``size`` of its content and ``packed`` of the bytes that stand in
    the file, both in bytes; CRC-32 of its content."""

    name: str
    method: int
    crc: int
    size: int
    packed: int


def stored(name: str, content: bytes) -> Member:
    return Member(name, STORED, zlib.crc32(content), len(content), len(content))


def deflated(content: bytes) -> bytes:
    """Content as it stands in a deflated member (RFC 1951, no header)."""
    packer = zlib.compressobj(wbits=-15)
    return packer.compress(content) + packer.flush()


class Zip:
    """Writes one ZIP: ``add`` for each member, then ``end``; both give the bytes to send.

    ``moment`` is the time of all members.  ``large``: numbers from here on go to ZIP64 fields;
    ``many``: so do counts of members.  Both are the format's own bounds, lower in tests.
    """

    def __init__(self, moment: datetime, *, large: int = 0xFFFFFFFF, many: int = 0xFFFF) -> None:
        year = min(max(moment.year, 1980), 2107)
        self._date = (year - 1980) << 9 | moment.month << 5 | moment.day
        self._time = moment.hour << 11 | moment.minute << 5 | moment.second // 2
        self._large, self._many = large, many
        self._at = 0
        self._directory: list[bytes] = []

    def add(self, member: Member, packed: Iterable[bytes]) -> Iterator[bytes]:
        """A member and its bytes as they stand in the file.  Raises ValueError if they are not as
        many as it says."""
        name = member.name.encode()
        big = max(member.size, member.packed) >= self._large
        needs = 45 if big else 20
        sizes = (0xFFFFFFFF, 0xFFFFFFFF) if big else (member.packed, member.size)
        extra = struct.pack("<HHQQ", 1, 16, member.size, member.packed) if big else b""
        common = (_UTF8_NAMES, member.method, self._time, self._date, member.crc, *sizes)
        head = struct.pack("<4sHHHHHLLLHH", b"PK\x03\x04", needs, *common, len(name), len(extra))
        self._note(member, name, needs, common, big)
        yield self._sent(head + name + extra)
        left = member.packed
        for chunk in packed:
            left -= len(chunk)
            yield self._sent(chunk)
        if left:
            raise ValueError(f"{member.name} is not as long as was said")

    def _note(
        self, member: Member, name: bytes, needs: int, common: tuple[int, ...], big: bool
    ) -> None:
        """The member's entry in the directory at the end."""
        far = self._at >= self._large
        wide = struct.pack("<QQ", member.size, member.packed) if big else b""
        wide += struct.pack("<Q", self._at) if far else b""
        extra = struct.pack("<HH", 1, len(wide)) + wide if wide else b""
        entry = struct.pack(
            "<4sBBHHHHHLLLHHHHHLL", b"PK\x01\x02", 45, _UNIX, 45 if far else needs, *common,
            len(name), len(extra), 0, 0, 0, _FILE_MODE, 0xFFFFFFFF if far else self._at,
        )  # fmt: skip
        self._directory.append(entry + name + extra)

    def end(self) -> Iterator[bytes]:
        """The directory, and where it stands."""
        start, count = self._at, len(self._directory)
        for entry in self._directory:
            yield self._sent(entry)
        size = self._at - start
        if count >= self._many or max(start, size) >= self._large:
            at = self._at
            yield struct.pack(
                "<4sQHHLLQQQQ", b"PK\x06\x06", 44, _UNIX << 8 | 45, 45, 0, 0, count, count, size,
                start,
            )  # fmt: skip
            yield struct.pack("<4sLQL", b"PK\x06\x07", 0, at, 1)
            count, size, start = 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF
        yield struct.pack("<4sHHHHLLH", b"PK\x05\x06", 0, 0, count, count, size, start, 0)

    def _sent(self, chunk: bytes) -> bytes:
        self._at += len(chunk)
        return chunk
