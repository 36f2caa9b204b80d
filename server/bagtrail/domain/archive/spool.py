"""Lines of JSON on their way into an archive: deflated into a file, so that memory stays small."""

from __future__ import annotations

import hashlib
import tempfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from .form import line
from .zipping import DEFLATED, Member

_CHUNK = 1 << 18


class Spool:
    """One member, written line by line.  Its file has no name and ends with it."""

    def __init__(self, name: str, folder: Path) -> None:
        self.name = name
        self.lines = 0
        self._file = tempfile.TemporaryFile(dir=folder)  # noqa: SIM115  (closed by close)
        self._packer = zlib.compressobj(wbits=-15)
        self._hash = hashlib.sha256()
        self._crc = self._size = self._packed = 0

    def write(self, value: Any) -> None:
        """Adds a JSON object as one line.  Raises OSError (disk full, say)."""
        content = line(value)
        self.lines += 1
        self._hash.update(content)
        self._crc = zlib.crc32(content, self._crc)
        self._size += len(content)
        self._put(self._packer.compress(content))

    def done(self) -> tuple[Member, str]:
        """The member, and its SHA-256.  Nothing can be written after this."""
        self._put(self._packer.flush())
        member = Member(self.name, DEFLATED, self._crc, self._size, self._packed)
        return member, self._hash.hexdigest()

    def packed(self) -> Iterator[bytes]:
        self._file.seek(0)
        while chunk := self._file.read(_CHUNK):
            yield chunk

    def close(self) -> None:
        self._file.close()

    def _put(self, content: bytes) -> None:
        self._packed += self._file.write(content)
