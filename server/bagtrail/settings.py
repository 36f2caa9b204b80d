"""What can be set from outside, and the only place that reads the environment."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from platformdirs import user_data_dir
from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

MEGA = 1_000_000
DEFAULT_PORT = 8410

_HOST_NAME = re.compile(r"\.?[a-z0-9]([a-z0-9.-]*[a-z0-9])?", re.IGNORECASE)


class BadSetting(ValueError):
    """A setting cannot be used; the text names it, says why and what would do."""


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Settings of one server.

    ``data``: folder of everything that is kept on disk.  ``database``: SQLAlchemy URL, or ``None``
    for the SQLite file in ``data``.  ``public_url``: scheme, host and port under which devices
    reach the server, without a slash at its end; the only source of addresses on labels and in
    pairing.  ``photo_max_bytes`` in bytes, ``photo_max_pixels`` in pixels (width times height).
    ``archive_max_bytes``: of an archive that is brought in, and of all that it unpacks to.
    """

    data: Path
    database: str | None = None
    public_url: str = f"http://localhost:{DEFAULT_PORT}"
    host: str = "127.0.0.1"
    port: int = DEFAULT_PORT
    workers: int = 2
    threads: int = 32
    photo_max_bytes: int = 12 * MEGA
    photo_max_pixels: int = 50 * MEGA
    archive_max_bytes: int = 4_000 * MEGA
    more_hosts: tuple[str, ...] = ()

    @property
    def database_url(self) -> str:
        """The SQLAlchemy URL of the database."""
        if self.database is not None:
            return self.database
        file = URL.create("sqlite", database=(self.data / "bagtrail.sqlite3").as_posix())
        return file.render_as_string(hide_password=False)

    @property
    def blob_folder(self) -> Path:
        """Where the bytes of pictures are."""
        return self.data / "blobs"

    @property
    def intake_folder(self) -> Path:
        """Where tables, texts and manuals are until they are taken into a kit."""
        return self.data / "intakes"

    @property
    def epoch_file(self) -> Path:
        """Remembers epoch and greatest sequence beside the data, so that a restore is noticed."""
        return self.data / "epoch.json"

    @property
    def trusted_hosts(self) -> tuple[str, ...]:
        """Names by which the server answers (no ports); a request for another one gets 400."""
        public = urlsplit(self.public_url).hostname or ""
        return tuple(dict.fromkeys(("localhost", "127.0.0.1", public, *self.more_hosts)))

    def prepare(self) -> None:
        """Make the folders.  Raises BadSetting if the data folder cannot be written."""
        try:
            self.blob_folder.mkdir(parents=True, exist_ok=True)
            writable = os.access(self.data, os.W_OK | os.X_OK)
        except OSError as why:
            raise BadSetting(
                f"BAGTRAIL_DATA: the folder {self.data} cannot be made ({why.strerror})."
                " Name a folder that you may write."
            ) from why
        if not writable:
            raise BadSetting(
                f"BAGTRAIL_DATA: the folder {self.data} cannot be written."
                " Change its owner, or name another folder."
            )

    @classmethod
    def from_env(cls, environ: Mapping[str, str] | None = None) -> Settings:
        """Read the settings; an empty value counts as not set.

        Raises BadSetting for the first value that cannot be used.
        """
        env = os.environ if environ is None else environ
        port = _whole(env, "BAGTRAIL_PORT", DEFAULT_PORT, 1, 65_535)
        return cls(
            data=_folder(env, "BAGTRAIL_DATA"),
            database=_database(env, "BAGTRAIL_DATABASE_URL"),
            public_url=_public_url(env, "BAGTRAIL_PUBLIC_URL", f"http://localhost:{port}"),
            host=_text(env, "BAGTRAIL_HOST") or "127.0.0.1",
            port=port,
            workers=_whole(env, "BAGTRAIL_WORKERS", 2, 1, 64),
            threads=_whole(env, "BAGTRAIL_THREADS", 32, 2, 512),
            photo_max_bytes=_whole(env, "BAGTRAIL_PHOTO_MAX_BYTES", 12 * MEGA, 1_000, 200 * MEGA),
            photo_max_pixels=_whole(env, "BAGTRAIL_PHOTO_MAX_PIXELS", 50 * MEGA, 1_000, 500 * MEGA),
            archive_max_bytes=_whole(
                env, "BAGTRAIL_ARCHIVE_MAX_BYTES", 4_000 * MEGA, MEGA, 1_000_000 * MEGA
            ),
            more_hosts=_hosts(env, "BAGTRAIL_TRUSTED_HOSTS"),
        )


def _text(env: Mapping[str, str], name: str) -> str:
    return env.get(name, "").strip()


def _whole(env: Mapping[str, str], name: str, default: int, low: int, high: int) -> int:
    text = _text(env, name)
    if not text:
        return default
    try:
        value = int(text)
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        raise BadSetting(f"{name} is '{text}': it must be a whole number from {low} to {high}.")
    return value


def _folder(env: Mapping[str, str], name: str) -> Path:
    text = _text(env, name)
    folder = Path(text).expanduser() if text else Path(user_data_dir("bagtrail", appauthor=False))
    if folder.exists() and not folder.is_dir():
        raise BadSetting(f"{name} is '{folder}': that is a file, and a folder is needed.")
    return folder.absolute()


def _database(env: Mapping[str, str], name: str) -> str | None:
    text = _text(env, name)
    if not text:
        return None
    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as why:
        raise BadSetting(
            f"{name} cannot be read as a database address: it looks like"
            " sqlite:////folder/file.sqlite3 or postgresql://user@host:5432/name."
        ) from why
    kind = url.get_backend_name()
    if kind not in ("sqlite", "postgresql", "postgres"):
        raise BadSetting(f"{name} names '{kind}': only sqlite and postgresql are known.")
    if url.database in (None, "", ":memory:"):
        raise BadSetting(f"{name} names no database: several processes share one that is kept.")
    if kind != "sqlite":
        # One driver for all, whatever the address was copied from.
        url = url.set(drivername="postgresql+psycopg")
    return url.render_as_string(hide_password=False)


def _public_url(env: Mapping[str, str], name: str, default: str) -> str:
    text = _text(env, name) or default
    form = "it looks like https://workshop.example or http://localhost:8410"
    try:
        parts = urlsplit(text)
        host, _ = parts.hostname or "", parts.port
    except ValueError as why:
        raise BadSetting(f"{name} is '{text}', which cannot be read: {form}.") from why
    if parts.scheme not in ("http", "https") or not _HOST_NAME.fullmatch(host):
        raise BadSetting(f"{name} is '{text}': scheme and host name are needed; {form}.")
    if parts.path.strip("/") or parts.query or parts.fragment or parts.username:
        raise BadSetting(f"{name} is '{text}': nothing may follow host and port; {form}.")
    return f"{parts.scheme}://{parts.netloc.lower()}"


def _hosts(env: Mapping[str, str], name: str) -> tuple[str, ...]:
    hosts = tuple(one.strip().lower() for one in _text(env, name).split(",") if one.strip())
    for host in hosts:
        if not _HOST_NAME.fullmatch(host):
            raise BadSetting(
                f"{name} holds '{host}': host names are needed, without scheme or port,"
                " with commas between them."
            )
    return hosts
