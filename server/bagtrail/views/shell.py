"""Serves the built app: its shell, its assets, and the headers that keep it safe.

Numbers in comments are those of the project's list of pitfalls of phone apps; the tests carry them.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from flask import Flask, Response, request
from werkzeug.routing import PathConverter

from .. import resources
from ..settings import Settings
from ..wire.problems import NotFound

#: First parts of paths that are never a screen of the app; the service worker has the same list.
NOT_SCREENS: Final = ("api", "labels", "ca", "assets")

#: Days for which assets of earlier versions are kept for pages that were open since (22).
KEEP_DAYS: Final = 90

_TYPES: Final = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".ico": "image/x-icon",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".wasm": "application/wasm",
    ".webmanifest": "application/manifest+json",
    ".woff2": "font/woff2",
}
#: Content codings that the build leaves beside a file, best first.
_CODINGS: Final = (("br", ".br"), ("gzip", ".gz"))

# 34: the decoder is WebAssembly in a worker; without these two words it does not run.
POLICY: Final = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "worker-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
_HEADERS: Final = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
}


class _ScreenPath(PathConverter):
    """Any path but those under NOT_SCREENS, so that a wrong call there keeps its own answer."""

    regex = rf"(?!(?:{'|'.join(NOT_SCREENS)})(?:/|$)).*?"


@dataclass(frozen=True)
class _File:
    """A file of the app as it travels: content type, tag of the content, bytes by coding."""

    type: str
    tag: str
    bodies: dict[str, bytes]

    @classmethod
    def read(cls, path: Path) -> _File:
        body = path.read_bytes()
        bodies = {"": body}
        for coding, ending in _CODINGS:
            packed = path.with_name(path.name + ending)
            if packed.is_file():
                bodies[coding] = packed.read_bytes()
        # 21: the tag is made of the content; time and size stay the same across some builds.
        return cls(_TYPES[path.suffix], hashlib.sha256(body).hexdigest()[:32], bodies)

    def reply(self, caching: str) -> Response:
        coding = next(
            (c for c, _ in _CODINGS if c in self.bodies and request.accept_encodings[c]), ""
        )
        response = Response(self.bodies[coding], content_type=self.type)
        response.set_etag(f"{self.tag}-{coding}" if coding else self.tag)
        response.headers["Cache-Control"] = caching
        response.headers["Vary"] = "Accept-Encoding"
        if coding:
            response.headers["Content-Encoding"] = coding
        response.make_conditional(request)
        return response


_IMMUTABLE: Final = "public, max-age=31536000, immutable"
_ASK: Final = "no-cache"


def register(app: Flask, settings: Settings) -> None:
    """Add the app's pages and assets, and the headers of every reply, to ``app``."""
    app.url_map.converters["screen"] = _ScreenPath
    files = _files()
    kept = _kept_folder(settings)

    def asset(name: str) -> Response:
        file = files.get(f"assets/{name}")
        if file is None:
            file = _kept_asset(kept, name)
        if file is None:
            # 23: an app page in place of a script breaks the app in ways that nobody understands.
            raise NotFound("There is no such file in this version of the app. Load the page again.")
        return file.reply(_IMMUTABLE)

    def page(path: str = "") -> Response:
        file = files.get(path)
        if file is not None and path:
            return file.reply(_ASK)
        if "." in path.rpartition("/")[2]:
            raise NotFound("There is no such file.")
        shell = files.get("index.html")
        if shell is None:
            return Response(
                "The app has not been built yet: stop this server and run server/start.\n",
                503,
                content_type="text/plain; charset=utf-8",
            )
        return shell.reply(_ASK)

    app.add_url_rule("/assets/<path:name>", "shell.asset", asset, merge_slashes=False)
    # 14, 23: every path of the app, with or without a slash at its end, answers 200 as it is.
    app.add_url_rule("/", "shell.home", page)
    app.add_url_rule(
        "/<screen:path>", "shell.page", page, merge_slashes=False, strict_slashes=False
    )
    app.after_request(_protect)


def keep_assets(settings: Settings) -> None:
    """Copy this version's assets beside the data, and forget those that are long out of use (22).

    Names of assets carry a hash of their content, so versions never get into each other's way.
    """
    try:
        source = resources.client_folder() / "assets"
    except resources.Missing:
        return
    kept = _kept_folder(settings)
    kept.mkdir(parents=True, exist_ok=True)
    for path in source.iterdir() if source.is_dir() else ():
        target = kept / path.name
        if target.exists():
            target.touch()
        else:
            part = kept / f".{path.name}.{os.getpid()}"
            shutil.copyfile(path, part)
            part.replace(target)
    oldest = time.time() - KEEP_DAYS * 86_400
    for path in kept.iterdir():
        if path.stat().st_mtime < oldest:
            path.unlink(missing_ok=True)


def _kept_folder(settings: Settings) -> Path:
    return settings.data / "assets"


def _kept_asset(folder: Path, name: str) -> _File | None:
    path = folder / name
    if "/" in name or "\\" in name or name.startswith(".") or path.suffix not in _TYPES:
        return None
    return _File.read(path) if path.is_file() else None


def _files() -> dict[str, _File]:
    """The built app by path; empty when it has not been built (tests of the API need none)."""
    try:
        root = resources.client_folder()
    except resources.Missing:
        return {}
    return {
        path.relative_to(root).as_posix(): _File.read(path)
        for path in root.rglob("*")
        if path.is_file() and path.suffix in _TYPES
    }


def _protect(response: Response) -> Response:
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    if request.path.startswith("/api/"):
        # 26: what the API says is about now; nothing between here and the app may keep it.
        response.headers.setdefault("Cache-Control", "no-store")
    return response
