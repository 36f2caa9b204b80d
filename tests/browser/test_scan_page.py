"""The scanner alone in real Chromium, before a fake camera (phone pitfalls 1, 6-13, 17, 34).

The page under test is ``scan_page/``: the app's own ``client/src/scan`` and nothing else, served
with the policy that the app is served with.  Budgets: decode median at most 25 ms on a desktop.
"""

from __future__ import annotations

import hashlib
import http.server
import io
import statistics
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
import qrcode
from PIL import Image
from playwright.sync_api import Browser, Page

from tests.browser.camera import Scene, bare_bench, film, photograph, write_mjpeg
from tests.browser.conftest import ROOT, making
from tests.conftest import leave_out

CLIENT = ROOT / "client"
TEXT = "https://KIT.EXAMPLE:8410/B/SR00000Q"
POLICY = "default-src 'self'; script-src 'self' {wasm}; worker-src 'self'; img-src 'self' data:"
MEDIAN_BUDGET_MS = 25.0
#: Starts a browser before a film, with further arguments; the fixture of that name.
Launch = Callable[..., Browser]


def label_picture(text: str = TEXT, border: int = 4) -> Image.Image:
    """A label's symbol, level M, with its quiet zone."""
    code = qrcode.QRCode(
        error_correction=qrcode.constants.ERROR_CORRECT_M, border=border, box_size=16
    )
    code.add_data(text, optimize=20)
    code.make(fit=True)
    return code.make_image().get_image().convert("RGB")


@pytest.fixture(scope="session")
def node() -> str:
    """The Node that builds the app too."""
    found = making.system_node() or making.packaged_node(Path(sys.executable))
    if found is None:
        leave_out("no Node to build the page with: ./tests/run gets one")
        raise AssertionError
    return str(found.node)


@pytest.fixture(scope="session")
def scan_page(node: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page, built as the app is."""
    out = tmp_path_factory.mktemp("scan-page")
    command = [
        node, str(CLIENT / "node_modules/vite/bin/vite.js"), "build",
        str(Path(__file__).parent / "scan_page"), "--outDir", str(out), "--emptyOutDir",
        "--logLevel", "warn",
    ]  # fmt: skip
    subprocess.run(command, cwd=CLIENT, check=True, timeout=180)
    return out


class _Handler(http.server.SimpleHTTPRequestHandler):
    policy = ""
    extensions_map = {  # noqa: RUF012
        **http.server.SimpleHTTPRequestHandler.extensions_map,
        ".wasm": "application/wasm",
    }

    def end_headers(self) -> None:
        self.send_header("Content-Security-Policy", self.policy)
        super().end_headers()

    def log_message(self, *_: object) -> None:
        pass


@contextmanager
def served(folder: Path, *, wasm: str = "'wasm-unsafe-eval'") -> Iterator[str]:
    class Handler(_Handler):
        policy = POLICY.format(wasm=wasm)

    server = http.server.ThreadingHTTPServer(
        ("127.0.0.1", 0), partial(Handler, directory=str(folder))
    )
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://localhost:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


COUNT_CALLS = """
  window.calls = [];
  if (navigator.mediaDevices) {
    const ask = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
    navigator.mediaDevices.getUserMedia = (wanted) => {
      window.calls.push(wanted);
      return ask(wanted);
    };
  }
"""


@contextmanager
def opened(browser: Browser, address: str, *, allowed: bool = True) -> Iterator[Page]:
    context = browser.new_context(permissions=["camera"] if allowed else [])
    context.add_init_script(COUNT_CALLS)
    page = context.new_page()
    page.goto(address)
    try:
        yield page
    finally:
        context.close()


def wait_for(page: Page, condition: str, timeout_ms: int = 15_000) -> None:
    # By polling from here: waiting inside the page would need unsafe-eval.
    page.wait_for_timeout(50)
    for _ in range(timeout_ms // 100):
        if page.evaluate(f"() => {condition}"):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"not so after {timeout_ms} ms: {condition}; {page.evaluate('seen')}")


@pytest.mark.parametrize("ending", ["mjpeg", "y4m"])
def test_a_label_before_the_camera_is_read_once_and_within_the_budget(
    ending: str,
    scan_page: Path,
    launch: Launch,
    tmp_path: Path,
    record_property: Callable[[str, object], None],
) -> None:
    """Pitfalls 6, 8, 44: own origin only; median budget on a noisy feed; one action per code."""
    path = film(label_picture(), tmp_path / f"label.{ending}", Scene(noise=12), frames=6)
    asked: list[str] = []
    with served(scan_page) as address, opened(launch(path), address) as page:
        page.context.on("request", lambda request: asked.append(request.url))
        page.click("#start")
        wait_for(page, "seen.texts.length > 0")
        # A machine that is busy with other things says nothing of the reader: up to six tries.
        for tries in range(1, 7):
            wait_for(page, f"seen.frameMs.length >= {1 + 30 * tries}", 60_000)
            seen = page.evaluate("seen")
            median = statistics.median(seen["frameMs"][-30:])
            if median <= MEDIAN_BUDGET_MS:
                break
    assert seen["texts"] == [TEXT]
    assert seen["failures"] == []
    assert any(url.endswith(".wasm") for url in asked)
    assert all(url.startswith(address) for url in asked), asked
    first = seen["frameMs"][0]
    to_text = seen["firstTextAt"] - seen["startedAt"]
    record_property("first_frame_ms", round(first, 1))
    record_property("median_frame_ms", round(median, 1))
    print(f"{ending}: first {first:.0f} ms, median {median:.1f} ms, tap to text {to_text:.0f} ms")
    assert median <= MEDIAN_BUDGET_MS


def test_the_reader_is_loaded_when_first_needed(scan_page: Path, chromium: Browser) -> None:
    """Nothing of the decoder comes before the camera is started."""
    asked: list[str] = []
    with served(scan_page) as address:
        context = chromium.new_context(permissions=["camera"])
        context.on("request", lambda request: asked.append(request.url))
        page = context.new_page()
        page.goto(address)
        page.wait_for_timeout(300)
        before = [url for url in asked if "worker" in url or url.endswith(".wasm")]
        page.click("#start")
        wait_for(page, "seen.frameMs.length > 0")
        context.close()
    assert before == []
    assert any("worker" in url for url in asked)


def test_the_wasm_file_is_the_one_its_glue_was_made_with(built: Path, node: str) -> None:
    """Pitfall 7: the app's file has the hash that the package names (ZXING_WASM_SHA256)."""
    ask = "import('zxing-wasm/reader').then((it) => console.log(it.ZXING_WASM_SHA256))"
    command = [node, "--input-type=module", "-e", ask]
    named = subprocess.run(command, cwd=CLIENT, check=True, capture_output=True, text=True).stdout
    emitted = list((built / "assets").glob("*.wasm"))
    assert len(emitted) == 1
    assert hashlib.sha256(emitted[0].read_bytes()).hexdigest() == named.strip()


def test_five_scans_ask_for_the_camera_once(
    scan_page: Path, launch: Launch, tmp_path: Path
) -> None:
    """Pitfall 10."""
    frames = []
    for number in range(5):
        text = f"https://KIT.EXAMPLE/B/SR0000{number}0"
        frames += [photograph(label_picture(text), Scene(), seed=number)] * 8
    path = write_mjpeg(frames, tmp_path / "five.mjpeg")
    with served(scan_page) as address, opened(launch(path), address) as page:
        for number in range(5):
            page.click("#start")
            wait_for(page, f"seen.texts.length > {number}")
            page.click("#rest")
        wait_for(page, "new Set(seen.texts).size >= 2")
        assert page.evaluate("calls.length") == 1
        assert page.evaluate("calls[0].video.facingMode") == {"ideal": "environment"}


def test_a_hidden_page_lets_the_camera_go_and_has_it_back(
    scan_page: Path, launch: Launch, tmp_path: Path
) -> None:
    """Pitfall 11: the page's visibility is switched by hand, the tracks are Chromium's own."""
    path = film(label_picture(), tmp_path / "label.mjpeg", frames=4)
    switch = """(hidden) => {
      Object.defineProperty(document, 'visibilityState',
        { value: hidden ? 'hidden' : 'visible', configurable: true });
      document.dispatchEvent(new Event('visibilitychange'));
    }"""
    with served(scan_page) as address, opened(launch(path), address) as page:
        page.click("#start")
        wait_for(page, "seen.texts.length === 1")
        page.evaluate("window.old = video.srcObject.getVideoTracks()[0]")
        page.evaluate(switch, True)
        wait_for(page, "seen.state === 'asleep' && old.readyState === 'ended'")
        page.evaluate(switch, False)
        wait_for(page, "seen.state === 'live' && seen.texts.length === 2")
        # A track that ended without a word: focus alone brings the picture back.
        page.evaluate("video.srcObject.getVideoTracks()[0].stop()")
        page.evaluate("window.dispatchEvent(new Event('focus'))")
        wait_for(page, "seen.texts.length === 3")
        live = page.evaluate("video.srcObject.getVideoTracks()[0].readyState")
        assert live == "live"
        assert page.evaluate("calls.length") == 3


def test_no_grant_no_camera_and_no_torch_are_told_apart(scan_page: Path, launch: Launch) -> None:
    """Pitfall 13; a fake camera has no torch, so none is offered."""
    count = "--use-fake-device-for-media-stream=device-count="
    with served(scan_page) as address:
        denied = launch(None, "--use-fake-ui-for-media-stream=deny")
        with opened(denied, address, allowed=False) as page:
            page.click("#start")
            wait_for(page, "seen.state === 'failed'")
            assert page.evaluate("seen.detail") == "refused"
        with opened(launch(None, f"{count}0"), address) as page:
            page.click("#start")
            wait_for(page, "seen.state === 'failed'")
            assert page.evaluate("seen.detail") == "none"
        with opened(launch(None, f"{count}2"), address) as page:
            page.click("#start")
            wait_for(page, "seen.state === 'live'")
            assert page.evaluate("seen.torch") == "absent"
            assert page.evaluate("seen.lenses") == 2


def test_without_leave_for_wasm_the_reader_fails_in_words(
    scan_page: Path, launch: Launch, tmp_path: Path
) -> None:
    """Pitfall 34: the policy has to allow it; where it does not, no silence."""
    path = film(label_picture(), tmp_path / "label.mjpeg", frames=2)
    with served(scan_page, wasm="") as address, opened(launch(path), address) as page:
        page.click("#start")
        wait_for(page, "seen.failures.length > 0")
        assert page.evaluate("seen.texts") == []


#: A label as it is met at the bench; all of these have to be read within a few frames.  Folds of
#: 1 % of the label are beyond the decoder: that is what the hint to smooth it and typing are for.
MET = {
    "plain": Scene(),
    "small": Scene(height=0.28),
    "turned 45 degrees": Scene(turn_deg=45),
    "upside down": Scene(turn_deg=180),
    "tilted 45 degrees": Scene(tilt_deg=45),
    "half in shadow": Scene(shadow=0.3),
    "dim and noisy": Scene(light=0.35, noise=14),
    "glare on a corner": Scene(glare=0.16, glare_at=(0.8, 0.8)),
    "crinkled": Scene(crinkle=0.006),
    "a little out of focus": Scene(blur_px=2.2),
}


@pytest.fixture(scope="module")
def gallery(scan_page: Path, chromium: Browser) -> Iterator[Page]:
    with served(scan_page) as address, opened(chromium, address) as page:
        yield page


def chosen(page: Page, name: str, data: bytes, mime: str) -> dict[str, list[str | None]]:
    """Chooses a file as from the gallery; what came of it."""
    page.evaluate("() => { seen.pictures = []; seen.failures = []; }")
    page.set_input_files("#file", {"name": name, "mimeType": mime, "buffer": data})
    wait_for(page, "seen.pictures.length + seen.failures.length > 0")
    seen: dict[str, list[str | None]] = page.evaluate("seen")
    return seen


def jpeg(frame: object) -> bytes:
    out = io.BytesIO()
    Image.fromarray(frame).save(out, "JPEG", quality=92)  # type: ignore[arg-type]
    return out.getvalue()


@pytest.mark.parametrize("name", MET)
def test_a_damaged_label_is_read(name: str, gallery: Page) -> None:
    """Pitfall 17: glare, crinkle, 45 degrees, half shadow; most of five frames, never wrongly."""
    read = []
    for seed in range(5):
        frame = photograph(label_picture(), MET[name], seed=seed)
        read.append(chosen(gallery, "frame.jpg", jpeg(frame), "image/jpeg")["pictures"])
    texts = [each[0] for each in read if each]
    assert set(texts) <= {TEXT, None}
    assert texts.count(TEXT) >= 3, f"{name}: {texts.count(TEXT)} of 5"


def test_a_bench_without_a_label_reads_nothing(gallery: Page) -> None:
    seen = chosen(gallery, "bench.jpg", jpeg(bare_bench()), "image/jpeg")
    assert seen["pictures"] == [None]


def test_a_large_upright_photo_is_read_and_a_text_is_refused(gallery: Page) -> None:
    """Pitfall 32's size (24 megapixels, EXIF orientation 6) from the gallery."""
    large = Image.fromarray(photograph(label_picture(), Scene(height=0.3))).resize((5712, 4284))
    exif = large.getexif()
    exif[0x0112] = 6
    out = io.BytesIO()
    large.save(out, "JPEG", quality=80, exif=exif)
    assert chosen(gallery, "large.jpg", out.getvalue(), "image/jpeg")["pictures"] == [TEXT]
    assert chosen(gallery, "not.png", b"plain text", "image/png")["failures"] == ["NotAPicture"]
