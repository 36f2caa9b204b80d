"""The command `bagtrail`: thin; what it does is done by the domain.

Modules of the program are imported inside the commands, so that a wrong setting is told before
anything else happens, and `bagtrail --help` is there at once.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import socket
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any

from .settings import BadSetting, Settings

if TYPE_CHECKING:
    from flask import Flask


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status: 0, 1 = could not be done, 2 = wrong setting."""
    parsed = _parser().parse_args(arguments)
    from sqlalchemy.exc import SQLAlchemyError

    from .domain.upkeep import NoBackup
    from .resources import Missing
    from .wire.problems import Problem

    try:
        command: Callable[[Settings, argparse.Namespace], int] = parsed.command
        return command(Settings.from_env(), parsed)
    except BadSetting as why:
        return _fail(str(why), 2)
    except Problem as why:
        return _fail(f"{why.title}. {why.detail}")
    except (Missing, NoBackup) as why:
        return _fail(str(why))
    except (OSError, SQLAlchemyError) as why:
        return _fail(f"{type(why).__name__}: {str(why).splitlines()[0]}")


def _fail(text: str, status: int = 1) -> int:
    print(f"bagtrail: {text}", file=sys.stderr)
    return status


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bagtrail",
        description="The server of a workshop that builds kits.",
        epilog="Settings are environment variables; README.md lists them.",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    def add(name: str, does: Callable[[Settings, argparse.Namespace], int], help: str) -> Any:
        command = commands.add_parser(name, help=help, description=help)
        command.set_defaults(command=does)
        return command

    add("serve", _serve, "bring the database up to date and answer browsers and phones")
    add("migrate", _migrate, "bring the database up to date, and nothing else")
    add("pair", _pair, "show a one-time code that lets a further device in")
    backup = add("backup", _backup, "write the database and all pictures to one file")
    backup.add_argument("file", type=Path, help="a .tar file, made anew")
    restore = add("restore", _restore, "put a backup in place of what is there (server stopped)")
    restore.add_argument("file", type=Path, help="what `bagtrail backup` wrote")
    out = add("export", _export, "write a kit, or a build with its kit, to one archive")
    out.add_argument("id", help="of the kit or build, as in its address in the app")
    out.add_argument("file", type=Path, help="a .zip file, made anew")
    back = add("import", _import, "bring in a kit or a build from an archive")
    back.add_argument("file", type=Path, help="what `bagtrail export` or the app wrote")
    compact = add("compact", _compact, "clear away what was deleted long ago")
    compact.add_argument("--days", type=int, default=180, help="deleted so many days ago (180)")
    add("rebuild", _rebuild, "make the tables again from the journal")
    openapi = add("openapi", _openapi, "write the API's description as OpenAPI JSON")
    openapi.add_argument("file", nargs="?", type=Path, help="instead of standard output")
    return parser


def _app(settings: Settings) -> Flask:
    from .app import create_app

    return create_app(settings)


@contextmanager
def _ready(settings: Settings) -> Iterator[None]:
    """Inside the app's context, its database up to date; all connections closed at the end."""
    from flask_migrate import upgrade

    from .domain import epochs, photos
    from .storage.blobs import BlobStore
    from .storage.work import engine

    with _app(settings).app_context():
        try:
            upgrade()
            if epochs.settle(settings.epoch_file) == "restored":
                print("An older database was put back: devices will offer what it lacks.")
                photos.adopt(BlobStore(settings.blob_folder), settings.photo_max_pixels)
            yield
        finally:
            engine().dispose()


def _migrate(settings: Settings, _: argparse.Namespace) -> int:
    with _ready(settings):
        print("The database is up to date.")
    return 0


def _serve(settings: Settings, _: argparse.Namespace) -> int:
    from .domain import devices
    from .views import shell

    if why := _taken(settings.host, settings.port):
        return _fail(
            f"Port {settings.port} on {settings.host} cannot be used ({why}). Is Bagtrail running"
            " already? Stop the other program, or set BAGTRAIL_PORT."
        )
    with _ready(settings):
        claimed = devices.claimed()
    shell.keep_assets(settings)

    def announce(_: Any = None) -> None:
        print(f"Bagtrail is at {settings.public_url} (data: {settings.data}). Ctrl+C stops it.")
        if not claimed:
            print(
                f"It has no owner yet: open http://localhost:{settings.port} in a browser on this"
                " machine to make it yours."
            )
        sys.stdout.flush()

    if os.name == "nt":
        import waitress

        announce()
        waitress.serve(
            _app(settings), host=settings.host, port=settings.port, threads=settings.threads
        )
    else:
        _gunicorn(settings, announce)
    return 0


def _taken(host: str, port: int) -> str | None:
    """Why nothing can listen there, or None."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        if os.name != "nt":
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as why:
            return why.strerror
    return None


def _gunicorn(settings: Settings, announce: Callable[..., None]) -> None:
    from gunicorn.app.base import BaseApplication

    class Server(BaseApplication):
        def load_config(self) -> None:
            host = f"[{settings.host}]" if ":" in settings.host else settings.host
            for name, value in {
                "bind": f"{host}:{settings.port}",
                "worker_class": "gthread",
                "workers": settings.workers,
                "threads": settings.threads,
                "keepalive": 15,
                "graceful_timeout": 10,
                "control_socket_disable": True,
                "loglevel": "warning",
                "when_ready": announce,
                "post_worker_init": _end_streams_first,
            }.items():
                self.cfg.set(name, value)

        def load(self) -> Any:
            # In the worker, after the fork: no connection is ever shared between processes.
            return _app(settings)

    Server().run()


def _end_streams_first(_: Any) -> None:
    """In a worker: a signal to end also ends the event streams, which else go on for minutes."""
    from .views import sync

    def then(handler: Any) -> Callable[[int, FrameType | None], None]:
        def end(number: int, frame: FrameType | None) -> None:
            sync.closing.set()
            handler(number, frame)

        return end

    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGQUIT):
        signal.signal(number, then(signal.getsignal(number)))


def _pair(settings: Settings, _: argparse.Namespace) -> int:
    import qrcode

    from .domain import devices

    with _ready(settings):
        code, _ends = devices.offer_pairing()
    address = f"{settings.public_url}/devices#pair={code}"
    picture = qrcode.QRCode(border=4)
    picture.add_data(address)
    picture.print_ascii(invert=sys.stdout.isatty())
    print(f"On the new device open {settings.public_url}/devices and type {code[:4]}-{code[4:]}")
    print("The code works once, within ten minutes.")
    return 0


def _rebuild(settings: Settings, _: argparse.Namespace) -> int:
    from .domain import journal

    with _ready(settings):
        records = journal.rebuild()
    print(f"Made {records} records again from the journal.")
    return 0


def _backup(settings: Settings, arguments: argparse.Namespace) -> int:
    from .domain import upkeep

    with _ready(settings):
        upkeep.backup(settings, arguments.file.absolute())
    print(f"Database and pictures are in {arguments.file}.")
    return 0


def _restore(settings: Settings, arguments: argparse.Namespace) -> int:
    from .domain import upkeep

    if why := _taken(settings.host, settings.port):
        return _fail(f"Stop the server first: port {settings.port} is in use ({why}).")
    # The database that is there may be damaged: nothing is asked of it.
    with _app(settings).app_context():
        upkeep.restore(settings, arguments.file.absolute())
    # The copy may be of an older version of the program.
    with _ready(settings):
        print(f"{arguments.file} is in place. Devices will offer what it lacks when they come by.")
    return 0


def _export(settings: Settings, arguments: argparse.Namespace) -> int:
    from .domain import devices
    from .domain.archive import writing
    from .storage.blobs import BlobStore

    file: Path = arguments.file.absolute()
    part = file.with_name(f".{file.name}.part")
    with _ready(settings):
        workshop = devices.only_workshop()
        what = writing.kind_of(workshop, arguments.id)
        store = BlobStore(settings.blob_folder)
        archive = writing.export(store, settings.data, workshop, what, arguments.id)
        try:
            with part.open("wb") as target:
                target.writelines(archive.chunks)
            part.replace(file)
        finally:
            part.unlink(missing_ok=True)
    print(f"The {what} is in {arguments.file}, with its history and pictures.")
    return 0


def _import(settings: Settings, arguments: argparse.Namespace) -> int:
    from .domain import devices, epochs
    from .domain.archive import bringing, members
    from .storage.blobs import BlobStore

    limits = members.Limits(
        settings.archive_max_bytes, settings.photo_max_bytes, settings.photo_max_pixels
    )
    with _ready(settings):
        store = BlobStore(settings.blob_folder)
        workshop = devices.only_workshop()
        brought = bringing.bring(store, workshop, arguments.file.absolute(), limits)
        ledger = epochs.current()
        epochs.remember(settings.epoch_file, ledger.epoch, ledger.seq)
    if brought.added == brought.photos == 0:
        print(f"{brought.name} was here already, all of it.")
    else:
        print(
            f"{brought.name} is here: {sum(brought.made.values())} new records,"
            f" {brought.added} new changes, {brought.photos} new pictures."
        )
    return 0


def _compact(settings: Settings, arguments: argparse.Namespace) -> int:
    from .domain import upkeep

    if arguments.days < 1:
        return _fail("--days must be 1 or more.", 2)
    with _ready(settings):
        cleared = upkeep.compact(settings, days=arguments.days)
    print(f"Cleared away {cleared} deleted records.")
    return 0


def _openapi(_: Settings, arguments: argparse.Namespace) -> int:
    with tempfile.TemporaryDirectory() as folder:
        # The document depends on nobody's data or settings.
        document = _app(Settings(data=Path(folder))).test_client().get("/api/openapi.json").json
    text = json.dumps(document, indent=1) + "\n"
    if arguments.file:
        arguments.file.write_text(text)
    else:
        sys.stdout.write(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
