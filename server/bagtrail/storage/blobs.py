"""The blob store: bytes of pictures in a folder, named by what they hash to.

``<folder>/<workshop>/<first two digits>/<sha256>[.size]``.  A file is written under another name
beside its place and renamed when it is whole and on the disk, so that nobody ever sees half of one.
"""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path


class BlobStore:
    """Blobs below one folder.  ``size`` names a smaller version of a picture, or "" for itself."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def path(self, workshop: str, sha256: str, size: str = "") -> Path:
        name = f"{sha256}.{size}" if size else sha256
        return self._folder / workshop / sha256[:2] / name

    def write(self, workshop: str, sha256: str, size: str, content: bytes) -> None:
        """Keeps ``content``; raises OSError (disk full, say) with nothing left behind."""
        path = self.path(workshop, sha256, size)
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
        try:
            with part.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
        if os.name != "nt":
            # A name is on the disk only once its folder is.
            folder = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)

    def has(self, workshop: str, sha256: str) -> bool:
        return self.path(workshop, sha256).is_file()

    def read(self, workshop: str, sha256: str, size: str = "") -> bytes | None:
        try:
            return self.path(workshop, sha256, size).read_bytes()
        except FileNotFoundError:
            return None

    def delete(self, workshop: str, sha256: str) -> None:
        for path in self.path(workshop, sha256).parent.glob(f"{sha256}*"):
            path.unlink(missing_ok=True)

    def workshops(self) -> list[str]:
        return sorted(path.name for path in self._folder.iterdir() if path.is_dir())

    def all(self, workshop: str) -> Iterator[tuple[str, float]]:
        """(sha256, seconds since 1970 of its last writing) of every blob."""
        for path in (self._folder / workshop).glob("*/*"):
            if "." not in path.name:
                yield path.name, path.stat().st_mtime

    def copy_to(self, target: Path) -> None:
        """Copies everything to ``target`` (for a backup); files that are there already stay."""
        if self._folder.is_dir():
            shutil.copytree(self._folder, target, dirs_exist_ok=True)
