"""The app's own engine (stores, courier, photos), in Node, against the real server."""

from __future__ import annotations

import base64
import os
import subprocess
from io import BytesIO
from pathlib import Path

from PIL import Image

import making
from tests.browser.conftest import Server

CLIENT = Path(__file__).resolve().parents[2] / "client"


def jpeg() -> str:
    """A picture of 16 x 16 px, which the server takes for one, as base64."""
    content = BytesIO()
    Image.new("RGB", (16, 16), (90, 80, 70)).save(content, "JPEG")
    return base64.b64encode(content.getvalue()).decode()


def test_engine_and_server_agree(tmp_path: Path) -> None:
    """Claim, pair, push, pull, clash, refusal, photo, copied clock, lost cursor, revocation."""
    node = making.find_node()
    server = Server(tmp_path / "data")
    server.start()
    try:
        vitest = CLIENT / "node_modules" / "vitest" / "vitest.mjs"
        said = subprocess.run(
            [str(node.node), str(vitest), "run", "test/real-server.test.ts"],
            cwd=CLIENT,
            env={**os.environ, "BAGTRAIL_SERVER": server.url, "BAGTRAIL_JPEG": jpeg()},
            capture_output=True,
            text=True,
            timeout=180,
        )
    finally:
        server.kill()
    assert said.returncode == 0, said.stdout + said.stderr
    assert "1 passed" in said.stdout, said.stdout
