"""The app's files in a real browser: kept, served without a network, renewed when asked."""

from __future__ import annotations

import hashlib
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, Route

from tests.browser.conftest import PHONE, ROOT, Server, until

READY = "navigator.serviceWorker.ready.then(r => r.active.state)"


def open_and_keep(context: BrowserContext, path: str = "/") -> Page:
    """Opens a page and waits until the worker has all files."""
    page = context.new_page()
    page.goto(path)
    until(page, "navigator.serviceWorker.controller !== null")
    page.evaluate(READY)
    return page


def test_pitfall_20_worker_is_active_within_5_s_of_the_first_visit(phone: BrowserContext):
    page = phone.new_page()
    page.goto("/")
    until(page, "navigator.serviceWorker.controller !== null", 5)


@pytest.mark.parametrize("path", ["/", "/scan", "/devices", "/B/7K3QX", "/b/7k3qx"])
def test_pitfall_23_any_screen_opens_without_a_network(phone: BrowserContext, path: str):
    open_and_keep(phone)
    phone.set_offline(True)
    page = phone.new_page()
    reply = page.goto(path)
    assert reply is not None
    assert reply.status == 200
    assert reply.from_service_worker
    until(page, "document.getElementById('app').childElementCount > 0")


def test_pitfall_24_app_opens_while_the_server_sleeps(phone: BrowserContext, server: Server):
    open_and_keep(phone)
    server.freeze()
    page = phone.new_page()
    page.goto("/", timeout=5_000)
    until(page, "document.getElementById('app').childElementCount > 0")
    assert page.evaluate("navigator.onLine") is True
    server.thaw()


def test_worker_never_keeps_an_answer_of_the_api(phone: BrowserContext):
    page = open_and_keep(phone)
    page.evaluate("fetch('/api/ping', {headers: {'Bagtrail-Protocol': '1'}}).then(r => r.text())")
    kept = page.evaluate(
        "caches.keys().then(names => Promise.all(names.map(name => caches.open(name)"
        ".then(cache => cache.keys()))).then(all => all.flat().map(one => one.url)))"
    )
    assert any("/index.html" in url for url in kept)
    assert [url for url in kept if "/api/" in url] == []


def test_pitfall_6_decoder_is_kept_with_the_app(phone: BrowserContext):
    page = open_and_keep(phone)
    phone.set_offline(True)
    assert page.evaluate(
        "caches.keys().then(names => Promise.all(names.map(name => caches.open(name)"
        ".then(cache => cache.keys()))).then(all => all.flat()"
        ".some(one => /zxing_reader.*\\.wasm$/.test(one.url))))"
    )


def test_pitfall_7_built_decoder_is_the_one_its_script_was_made_for(built: Path):
    """ZXING_WASM_SHA256 is what the library's authors publish in their package."""
    (wasm,) = (built / "assets").glob("zxing_reader*.wasm")
    script = ROOT / "client" / "node_modules" / "zxing-wasm" / "dist" / "es" / "reader" / "index.js"
    (published,) = re.findall(r'"([0-9a-f]{64})"', script.read_text())
    assert hashlib.sha256(wasm.read_bytes()).hexdigest() == published


DECODE = """async (url) => {
  const worker = new Worker(url, { type: "module" });
  const canvas = new OffscreenCanvas(64, 64);
  const pen = canvas.getContext("2d");
  pen.fillRect(0, 0, 64, 64);
  const picture = canvas.transferToImageBitmap();
  return await new Promise((done) => {
    worker.onmessage = (event) => done(event.data);
    worker.onerror = (event) => done({ failure: event.message || "not loaded" });
    worker.postMessage({ id: 1, picture, thorough: false }, [picture]);
  });
}"""


@pytest.mark.parametrize("allowed", [True, False])
def test_pitfall_34_decoder_runs_by_the_policy_and_not_without_its_word_for_wasm(
    built: Path,
    server: Server,
    chromium: Browser,
    opened_context: Callable[..., BrowserContext],
    allowed: bool,
):
    (script,) = (built / "assets").glob("decoder.worker*.js")
    context = opened_context(chromium, server, PHONE)

    def weaken(route: Route) -> None:
        reply = route.fetch()
        policy = reply.headers["content-security-policy"]
        assert " 'wasm-unsafe-eval'" in policy
        stricter = policy.replace(" 'wasm-unsafe-eval'", "")
        route.fulfill(
            response=reply, headers={**reply.headers, "content-security-policy": stricter}
        )

    if not allowed:
        context.route("**/assets/decoder.worker*.js", weaken)
    page = context.new_page()
    page.goto("/")
    told = page.evaluate(DECODE, f"/assets/{script.name}")
    if allowed:
        assert told["text"] is None
        assert "failure" not in told
    else:
        assert "WebAssembly" in told["failure"]


def test_pitfall_6_decoder_runs_without_a_network(built: Path, phone: BrowserContext):
    (script,) = (built / "assets").glob("decoder.worker*.js")
    page = open_and_keep(phone)
    phone.set_offline(True)
    assert "failure" not in page.evaluate(DECODE, f"/assets/{script.name}")


def test_pitfall_36_browser_finds_nothing_wrong_with_the_manifest(phone: BrowserContext):
    page = open_and_keep(phone)
    found = phone.new_cdp_session(page).send("Page.getAppManifest")
    assert found["errors"] == []
    assert found["manifest"]["scope"] == page.evaluate("location.origin") + "/"
    wrong = phone.new_cdp_session(page).send("Page.getInstallabilityErrors")
    # Contexts of a test are private windows, in which nothing can be installed.
    reasons = {one["errorId"] for one in wrong["installabilityErrors"]}
    assert reasons <= {"in-incognito"}


def claim_elsewhere(player: Playwright, server: Server) -> None:
    """Another device takes the server, so that this one is asked to pair."""
    other = player.request.new_context(
        base_url=server.url, extra_http_headers={"Bagtrail-Protocol": "1"}
    )
    arrival = {
        "workshop": "Shed",
        "name": "Desk",
        "kind": "desk",
        "device": "00000000-0000-4000-8000-000000000001",
        "clock": "00000000000000a1",
    }
    assert other.post("/api/devices/claim", data=arrival).ok
    other.dispose()


def put_version(built: Path, app: Path, version: str) -> None:
    """Copies the built app to `app`, with another index.html, which the worker's list names."""
    shutil.rmtree(app, ignore_errors=True)
    shutil.copytree(built, app, ignore=shutil.ignore_patterns("*.gz", "*.br"))
    index = app / "index.html"
    text = index.read_text().replace("<title>", f'<meta name="made" content="{version}"><title>')
    index.write_text(text)
    digest = hashlib.sha256(text.encode()).hexdigest()[:32]
    listed = re.compile(r'(\{[^{}]*)(revision"?:")[0-9a-f]{32}')
    found = 0

    def renew(hit: re.Match[str]) -> str:
        nonlocal found
        entry = worker_text[hit.start() : worker_text.index("}", hit.start())]
        if '"index.html"' not in entry:
            return hit[0]
        found += 1
        return f"{hit[1]}{hit[2]}{digest}"

    worker = app / "sw.js"
    worker_text = worker.read_text()
    worker.write_text(listed.sub(renew, worker_text))
    assert found == 1


def test_pitfall_22_new_version_waits_until_it_is_asked_for_then_reloads_once(
    built: Path,
    make_server: Callable[..., Server],
    player: Playwright,
    chromium: Browser,
    opened_context: Callable[..., BrowserContext],
    tmp_path: Path,
):
    app = tmp_path / "app"
    put_version(built, app, "1")
    server = make_server(app=app)
    claim_elsewhere(player, server)
    context = opened_context(chromium, server, PHONE)
    page = open_and_keep(context)
    made = "document.querySelector('meta[name=made]').content"
    page.reload()
    assert page.evaluate(made) == "1"
    server.stop()
    put_version(built, app, "2")
    server.start()
    waiting = "navigator.serviceWorker.getRegistration().then(r => r.waiting !== null)"
    page.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update())")
    until(page, waiting)
    page.goto("/devices")
    assert page.evaluate(made) == "1", "a load alone must not take up a new version"
    loads: list[str] = []
    page.on("load", lambda _: loads.append(page.url))
    page.get_by_role("button", name="Update now").click()
    until(page, f"{made} === '2'")
    page.wait_for_timeout(500)
    assert len(loads) == 1
