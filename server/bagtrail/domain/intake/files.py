"""Files of intakes: kept as they came until they are taken in or thrown away."""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import Collection, Iterator
from pathlib import Path

from ...wire.problems import Malformed, TooLarge


class IntakeFiles:
    """Files below one folder, each named by its intake."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def path(self, intake: str) -> Path:
        return self._folder / intake

    def picture(self, intake: str) -> Path:
        """Where the picture of the page that is being read is drawn."""
        return self._folder / f"{intake}.picture"

    def keep(self, intake: str, chunks: Iterator[bytes], most: int) -> int:
        """Writes what comes; the number of bytes.  Raises TooLarge or Malformed (empty), and
        leaves nothing behind then."""
        self._folder.mkdir(parents=True, exist_ok=True)
        part = self._folder / f".{intake}.{secrets.token_hex(4)}"
        size = 0
        try:
            with part.open("wb") as file:
                for chunk in chunks:
                    size += len(chunk)
                    if size > most:
                        raise TooLarge(f"The file may have {most // 1_000_000} MB at most.")
                    file.write(chunk)
            if not size:
                raise Malformed("The file is empty.")
            part.replace(self.path(intake))
        finally:
            part.unlink(missing_ok=True)
        return size

    def clear_but(self, intakes: Collection[str], before_s: float) -> int:
        """Deletes files that are of none of these intakes and were written last before
        ``before_s`` (seconds since 1970); how many."""
        cleared = 0
        for path in self._folder.iterdir() if self._folder.is_dir() else ():
            if path.name in intakes or not path.is_file():
                continue
            with contextlib.suppress(FileNotFoundError):
                if path.stat().st_mtime < before_s:
                    path.unlink()
                    cleared += 1
        return cleared

    def drop(self, intake: str) -> None:
        for path in (self.path(intake), self.picture(intake)):
            path.unlink(missing_ok=True)
