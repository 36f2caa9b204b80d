"""How the server hands out the built app, on a stand-in build so that each case is plain to see."""

from __future__ import annotations

import gzip
import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from bagtrail import resources
from bagtrail.settings import Settings
from bagtrail.views import shell
from tests.conftest import opened

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = b"console.log('bag')\n" * 100


@pytest.fixture
def dist(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "dist"
    (folder / "assets").mkdir(parents=True)
    (folder / "index.html").write_text("<!doctype html><title>Bagtrail</title>")
    (folder / "sw.js").write_text("self.version = 1")
    (folder / "manifest.webmanifest").write_text("{}")
    (folder / "assets" / "main-Ab12.js").write_bytes(SCRIPT)
    (folder / "assets" / "main-Ab12.js.gz").write_bytes(gzip.compress(SCRIPT))
    (folder / "assets" / "zxing_reader-Cd34.wasm").write_bytes(b"\0asm")
    monkeypatch.setattr(resources, "client_folder", lambda: folder)
    return folder


@pytest.fixture
def browser(dist: Path, settings: Settings) -> Iterator[FlaskClient]:
    assert dist.is_dir()
    with opened(settings) as app:
        yield app.test_client()


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/builds/0b0d",
        "/builds/0b0d/",
        "/builds//0b0d",
        "/kits/0b0d/labels",
        "/scan",
        "/devices",
        "/B/7K3QX",
        "/b/7k3qx",
        "/apiary",
    ],
)
def test_pitfalls_14_and_23_every_screen_is_the_shell_without_a_redirect(
    browser: FlaskClient, path: str
):
    reply = browser.get(path)
    assert reply.status_code == 200
    assert b"<title>Bagtrail</title>" in reply.data
    assert reply.content_type == "text/html; charset=utf-8"


@pytest.mark.parametrize(
    "path",
    [
        "/assets/gone-Zz99.js",
        "/assets/",
        "/assets/../index.html",
        "/assets/..%2findex.html",
        "/assets/%2e%2e/%2e%2e/pyproject.toml",
        "/assets/main-Ab12.js.gz",
        "/wp-login.php",
        "/.env",
        "/labels/none",
        "/ca",
    ],
)
def test_pitfall_23_what_is_no_screen_is_a_problem_and_never_the_shell(
    browser: FlaskClient, path: str
):
    reply = browser.get(path)
    assert reply.status_code in (401, 404)
    assert reply.content_type == "application/problem+json"
    assert reply.json is not None
    assert reply.json["detail"]


def test_wrong_call_of_the_api_is_not_taken_for_a_screen(browser: FlaskClient):
    reply = browser.get("/api/none", headers={"Bagtrail-Protocol": "1"})
    assert reply.status_code == 404
    assert reply.content_type == "application/problem+json"


def test_pitfall_21_tag_follows_content_even_if_size_and_time_stay(dist: Path, settings: Settings):
    worker = dist / "sw.js"
    os.utime(worker, (1_000_000_000, 1_000_000_000))
    with opened(settings) as app:
        first = app.test_client().get("/sw.js")
    worker.write_text("self.version = 2")
    os.utime(worker, (1_000_000_000, 1_000_000_000))
    with opened(settings) as app:
        again = app.test_client().get("/sw.js", headers={"If-None-Match": first.headers["ETag"]})
        known = app.test_client().get("/sw.js", headers={"If-None-Match": again.headers["ETag"]})
    assert again.status_code == 200
    assert again.data == b"self.version = 2"
    assert known.status_code == 304
    assert known.data == b""


@pytest.mark.parametrize("path", ["/", "/sw.js", "/manifest.webmanifest", "/scan"])
def test_pitfall_21_shell_and_worker_are_asked_for_anew(browser: FlaskClient, path: str):
    reply = browser.get(path)
    assert reply.headers["Cache-Control"] == "no-cache"
    assert "ETag" in reply.headers


def test_asset_is_kept_for_good_because_its_name_changes_with_it(browser: FlaskClient):
    reply = browser.get("/assets/main-Ab12.js")
    assert "immutable" in reply.headers["Cache-Control"]
    assert reply.data == SCRIPT


def test_packed_file_is_sent_to_those_who_take_it_under_a_tag_of_its_own(browser: FlaskClient):
    plain = browser.get("/assets/main-Ab12.js")
    packed = browser.get("/assets/main-Ab12.js", headers={"Accept-Encoding": "br, gzip"})
    refused = browser.get("/assets/main-Ab12.js", headers={"Accept-Encoding": "gzip;q=0"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data == refused.data
    assert packed.headers["ETag"] != plain.headers["ETag"]
    assert "Content-Encoding" not in plain.headers
    assert plain.headers["Vary"] == packed.headers["Vary"] == "Accept-Encoding"
    assert packed.content_type == plain.content_type == "text/javascript; charset=utf-8"


def test_decoder_has_the_type_that_browsers_compile_while_loading(browser: FlaskClient):
    assert browser.get("/assets/zxing_reader-Cd34.wasm").content_type == "application/wasm"


def test_pitfall_22_assets_of_the_last_version_stay_for_pages_that_are_open(
    dist: Path, settings: Settings
):
    shell.keep_assets(settings)
    (dist / "assets" / "main-Ab12.js").rename(dist / "assets" / "main-Ef56.js")
    shell.keep_assets(settings)
    with opened(settings) as app:
        for name in ("main-Ab12.js", "main-Ef56.js"):
            reply = app.test_client().get(f"/assets/{name}")
            assert (reply.status_code, reply.data) == (200, SCRIPT)


def test_pitfall_22_assets_long_out_of_use_are_forgotten(dist: Path, settings: Settings):
    shell.keep_assets(settings)
    kept = settings.data / "assets"
    long_ago = 1_000_000_000
    for path in kept.iterdir():
        os.utime(path, (long_ago, long_ago))
    (dist / "assets" / "main-Ab12.js").unlink()
    shell.keep_assets(settings)
    assert not (kept / "main-Ab12.js").exists()
    assert (kept / "zxing_reader-Cd34.wasm").exists()


@pytest.mark.parametrize("path", ["/", "/api/ping", "/assets/none.js"])
def test_pitfall_34_policy_lets_the_decoder_run_and_nothing_from_elsewhere(
    browser: FlaskClient, path: str
):
    reply = browser.get(path)
    policy = dict(
        part.strip().split(" ", 1) for part in reply.headers["Content-Security-Policy"].split(";")
    )
    assert policy["script-src"] == "'self' 'wasm-unsafe-eval'"
    assert policy["worker-src"] == policy["default-src"] == policy["connect-src"] == "'self'"
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    assert "http" not in reply.headers["Content-Security-Policy"]
    assert reply.headers["X-Content-Type-Options"] == "nosniff"
    assert reply.headers["Referrer-Policy"] == "same-origin"


def test_pitfall_25_no_reply_tells_the_browser_to_forget_its_storage(browser: FlaskClient):
    for path in ("/", "/api/session", "/api/ping", "/assets/none.js"):
        assert "Clear-Site-Data" not in browser.get(path).headers


def test_pitfall_26_answers_of_the_api_are_not_stored(browser: FlaskClient):
    assert browser.get("/api/ping").headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("path", ["/", "/B/7K3QX", "/api/ping", "/assets/main-Ab12.js"])
@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "evil.example:8410"])
def test_pitfall_5_request_for_another_host_is_refused(browser: FlaskClient, path: str, host: str):
    reply = browser.get(path, headers={"Host": host, "Bagtrail-Protocol": "1"})
    assert reply.status_code == 400
    assert reply.content_type == "application/problem+json"


@pytest.mark.parametrize("host", ["localhost", "localhost:8410", "127.0.0.1:8410"])
def test_pitfall_5_this_machine_is_answered_by_its_names(browser: FlaskClient, host: str):
    assert browser.get("/", headers={"Host": host}).status_code == 200


def test_server_without_a_built_app_says_so(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def missing() -> Path:
        raise resources.Missing("not built")

    monkeypatch.setattr(resources, "client_folder", missing)
    with opened(settings) as app:
        reply = app.test_client().get("/")
    assert reply.status_code == 503
    assert b"server/start" in reply.data


def test_pitfall_36_manifest_makes_the_whole_origin_the_app():
    """Members as in the W3C's Web Application Manifest, https://www.w3.org/TR/appmanifest/."""
    public = ROOT / "client" / "public"
    manifest = json.loads((public / "manifest.webmanifest").read_text())
    assert manifest["id"] == manifest["scope"] == manifest["start_url"] == "/"
    assert manifest["display"] == "standalone"
    icons = {(icon["sizes"], icon["purpose"]) for icon in manifest["icons"]}
    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= icons
    for icon in manifest["icons"]:
        assert (public / icon["src"].removeprefix("/")).is_file()


def test_worker_and_server_agree_on_what_is_no_screen():
    worker = (ROOT / "client" / "src" / "sw.ts").read_text()
    assert f"const NOT_SCREENS = {json.dumps(list(shell.NOT_SCREENS))};" in worker
    assert len(worker.splitlines()) <= 120


def test_pitfall_20_scripts_of_the_client_are_modules():
    package = json.loads((ROOT / "client" / "package.json").read_text())
    assert package["type"] == "module"
