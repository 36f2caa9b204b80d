"""Where the files are that travel with the program: inside the wheel, or in the source tree."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_TREE = _PACKAGE.parent.parent


class Missing(FileNotFoundError):
    """A part of the program is not there; the text says how to make it."""


def _find(inside: str, in_tree: str, remedy: str) -> Path:
    for folder in (_PACKAGE / "carried" / inside, _TREE / in_tree):
        if folder.is_dir():
            return folder
    raise Missing(f"The folder {in_tree} is missing. {remedy}")


def client_folder() -> Path:
    """The built app (index.html, sw.js, assets).  Raises Missing."""
    return _find("client", "client/dist", "Run server/start, which builds it.")


def migrations_folder() -> Path:
    """Alembic's folder (env.py, versions).  Raises Missing."""
    return _find("migrations", "migrations", "This copy of the program is incomplete: get it anew.")


def demo_folder() -> Path:
    """The demo kit as `python -m demo.make` wrote it.  Raises Missing."""
    return _find("demo", "demo/out", "Run server/start, which makes it.")
