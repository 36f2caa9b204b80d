"""The wheel works alone: installed into an empty environment, away from the tree."""

from __future__ import annotations

import gzip
import json
import os
import subprocess
import sys
import urllib.request
import zipfile
from pathlib import Path

import pytest

from tests.browser.conftest import ROOT, Server


@pytest.fixture(scope="module")
def wheel(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    assert built.is_dir()
    folder = tmp_path_factory.mktemp("wheel")
    ended = subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(folder), str(ROOT)],
        capture_output=True,
        text=True,
    )
    assert ended.returncode == 0, ended.stdout[-3000:] + ended.stderr[-3000:]
    (file,) = folder.glob("*.whl")
    return file


def test_wheel_carries_app_migrations_and_demo_kit_and_nothing_of_the_tools(wheel: Path):
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    carried = {name.removeprefix("bagtrail/carried/") for name in names if "/carried/" in name}
    assert {"client/index.html", "client/sw.js", "migrations/env.py"} <= carried
    assert any(name.startswith("client/assets/") and name.endswith(".wasm") for name in carried)
    assert any(name.startswith("migrations/versions/") for name in carried)
    assert any(name.startswith("demo/") for name in carried)
    assert [name for name in names if "node_modules" in name or name.endswith(".pyc")] == []


def test_wheel_serves_alone(wheel: Path, tmp_path: Path):
    home = tmp_path / "home"
    subprocess.run([sys.executable, "-m", "venv", str(home)], check=True)
    python = home / "bin" / "python"
    ended = subprocess.run(
        [python, "-m", "pip", "install", "--quiet", "-c", ROOT / "server/requirements.lock", wheel],
        capture_output=True,
        text=True,
        cwd=tmp_path,
    )
    assert ended.returncode == 0, ended.stderr[-3000:]
    command = [str(home / "bin" / "bagtrail"), "serve"]
    server = Server(tmp_path / "data", {"PYTHONPATH": ""}, command=command)
    server.start()
    try:
        said = _get(server, "/api/ping")
        assert json.loads(said)["service"] == "bagtrail"
        assert b'<div id="app">' in _get(server, "/B/7K3QX")
        assert len(_get(server, "/sw.js")) > 1_000
    finally:
        server.stop()
    assert (tmp_path / "data" / "bagtrail.sqlite3").is_file()
    assert str(home) in _resource(python, tmp_path, "client_folder")
    assert str(home) in _resource(python, tmp_path, "migrations_folder")
    assert str(home) in _resource(python, tmp_path, "demo_folder")


def _get(server: Server, path: str) -> bytes:
    request = urllib.request.Request(
        server.url + path, headers={"Bagtrail-Protocol": "1", "Accept-Encoding": "gzip"}
    )
    with urllib.request.urlopen(request, timeout=10) as reply:
        body: bytes = reply.read()
        return gzip.decompress(body) if reply.headers["Content-Encoding"] == "gzip" else body


def _resource(python: Path, folder: Path, name: str) -> str:
    code = f"from bagtrail import resources; print(resources.{name}())"
    environ = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    return subprocess.run(
        [python, "-c", code], capture_output=True, text=True, check=True, cwd=folder, env=environ
    ).stdout
