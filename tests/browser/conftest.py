"""A real server and a real Chromium, the built app between them.

Every context that is opened here must load nothing from elsewhere and leave no uncaught error.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Error,
    Page,
    Playwright,
    Request,
    WebError,
    sync_playwright,
)

from tests.conftest import leave_out

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "server"))
import making  # noqa: E402  (it stands beside the package, not in it)

ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


class Server:
    """`bagtrail serve` as a process of its own, to be stopped, killed, frozen and started again."""

    def __init__(
        self,
        data: Path,
        environ: dict[str, str] | None = None,
        app: Path | None = None,
        command: list[str] | None = None,
    ) -> None:
        self.data = data
        self.port = free_port()
        self.url = f"http://localhost:{self.port}"
        self.log = data.with_name(f"{data.name}.log")
        self._environ = {
            **{name: value for name, value in os.environ.items() if "BAGTRAIL" not in name},
            "PYTHONPATH": str(ROOT / "server"),
            "BAGTRAIL_DATA": str(data),
            "BAGTRAIL_PORT": str(self.port),
            **(environ or {}),
        }
        code = "import sys; from pathlib import Path; from bagtrail import cli, resources;"
        if app:
            code += f"resources.client_folder = lambda: Path({str(app)!r});"
        own = [sys.executable, "-c", f"{code} sys.exit(cli.main(sys.argv[1:]))"]
        self._command = command or [*own, "serve"]
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start and wait until it answers; on the same port and data as before."""
        with self.log.open("ab") as log:
            self._process = subprocess.Popen(
                self._command,
                env=self._environ,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        until = time.monotonic() + 30
        while not self.answers():
            if self._process.poll() is not None or time.monotonic() > until:
                self.kill()
                raise RuntimeError(f"the server did not start:\n{self.log.read_text()}")
            time.sleep(0.05)

    def answers(self) -> bool:
        request = urllib.request.Request(f"{self.url}/api/ping", headers={"Bagtrail-Protocol": "1"})
        try:
            with urllib.request.urlopen(request, timeout=2) as reply:
                return bool(reply.status == 200)
        except (urllib.error.URLError, OSError):
            return False

    def stop(self) -> None:
        """As by Ctrl+C: whatever is under way may end."""
        self._end(signal.SIGTERM)

    def kill(self) -> None:
        """As by a power cut: nothing may end."""
        self._end(signal.SIGKILL)

    def freeze(self) -> None:
        """As a laptop that went to sleep: connections are taken and never answered."""
        self._signal(signal.SIGSTOP)

    def thaw(self) -> None:
        self._signal(signal.SIGCONT)

    def _signal(self, number: int) -> None:
        if self._process:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self._process.pid, number)

    def _end(self, number: int) -> None:
        self._signal(number)
        if self._process:
            self._signal(signal.SIGCONT)
            try:
                self._process.wait(timeout=15)
            except subprocess.TimeoutExpired:
                self._signal(signal.SIGKILL)
                self._process.wait(timeout=15)
            self._process = None


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


def until(page: Page, expression: str, seconds: float = 60) -> Any:
    """Waits until a JavaScript expression is truthy; returns its value.

    In place of `page.wait_for_function`, which the app's own policy forbids (it uses eval).
    """
    last = time.monotonic() + seconds
    while True:
        try:
            value = page.evaluate(expression)
        except Error as why:
            # The page is being loaded anew: ask the next one.
            value = None
            if "context was destroyed" not in str(why) and "navigation" not in str(why):
                raise
        if value:
            return value
        if time.monotonic() > last:
            raise AssertionError(f"not within {seconds} s: {expression}")
        page.wait_for_timeout(50)


@pytest.fixture(scope="session")
def built() -> Path:
    """client/dist, made from the sources as they are."""
    with Path(tempfile.gettempdir(), "bagtrail-build.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not making.client_is_fresh():
            node = making.system_node() or making.packaged_node(Path(sys.executable))
            if node is None:
                leave_out("no Node to build the app with: ./tests/run gets one")
            else:
                making.build_client(node)
    return making.CLIENT / "dist"


@pytest.fixture
def make_server(built: Path, tmp_path: Path) -> Iterator[Callable[..., Server]]:
    """Makes servers, each with data of its own.  All end with the test.

    `environ` adds settings; `app` is a folder to be served in place of client/dist.
    """
    assert built.is_dir()
    made: list[Server] = []

    def make(
        name: str = "server", environ: dict[str, str] | None = None, app: Path | None = None
    ) -> Server:
        server = Server(tmp_path / name, environ, app)
        made.append(server)
        server.start()
        return server

    yield make
    for server in made:
        server.kill()


@pytest.fixture
def server(make_server: Callable[..., Server]) -> Server:
    """A new server that nobody owns yet."""
    return make_server()


_playing: list[Playwright] = []


@pytest.fixture(scope="session")
def player() -> Iterator[Playwright]:
    """One for all folders that use these fixtures: there cannot be two at a time."""
    if _playing:
        yield _playing[0]
        return
    with sync_playwright() as player:
        _playing.append(player)
        yield player
        _playing.clear()


@pytest.fixture(scope="session")
def chromium_path(player: Playwright) -> str:
    """BAGTRAIL_CHROMIUM, or a Chromium on PATH, or the one that Playwright has fetched."""
    named = os.environ.get("BAGTRAIL_CHROMIUM")
    found = named or next(
        filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))),
        player.chromium.executable_path,
    )
    if not found or not Path(found).is_file():
        leave_out("no Chromium: install it, or name it in BAGTRAIL_CHROMIUM")
    return str(found)


@pytest.fixture
def launch(player: Playwright, chromium_path: str) -> Iterator[Callable[..., Browser]]:
    """Starts further browsers: `camera` is an .mjpeg or .y4m file that the camera shows."""
    with ExitStack() as stack:

        def start(camera: Path | None = None, *arguments: str) -> Browser:
            return stack.enter_context(_browser(player, chromium_path, camera, *arguments))

        yield start


@contextmanager
def _browser(
    player: Playwright, path: str, camera: Path | None, *arguments: str
) -> Iterator[Browser]:
    film = [f"--use-file-for-fake-video-capture={camera}"] if camera else []
    browser = player.chromium.launch(
        executable_path=path,
        args=[*ARGUMENTS, "--use-fake-device-for-media-stream", *film, *arguments],
    )
    try:
        yield browser
    finally:
        browser.close()


@pytest.fixture(scope="session")
def chromium(player: Playwright, chromium_path: str) -> Iterator[Browser]:
    """One browser for all tests; each opens contexts of its own."""
    with _browser(player, chromium_path, None) as browser:
        yield browser


PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
}
DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}}


@pytest.fixture
def opened_context() -> Iterator[Callable[..., BrowserContext]]:
    """Opens contexts in any browser and holds them to their manners when the test ends.

    `errors=True` lets uncaught errors pass, for tests that provoke them.
    """
    seen: list[tuple[BrowserContext, list[str]]] = []

    def open_context(
        browser: Browser, server: Server, kind: dict[str, Any], *, errors: bool = False, **more: Any
    ) -> BrowserContext:
        context = browser.new_context(
            **{"base_url": server.url, "locale": "en-GB", "permissions": ["camera"], **kind, **more}
        )
        context.set_default_timeout(30_000)
        faults: list[str] = []

        def on_request(request: Request) -> None:
            # Pitfall 6: a decoder or font from elsewhere works at the desk and not at the bench.
            own = (server.url, f"blob:{server.url}", "data:")
            if not request.url.startswith(own):
                faults.append(f"asked elsewhere: {request.url}")

        def on_error(error: WebError) -> None:
            if not errors:
                faults.append(f"uncaught: {error.error}")

        context.on("request", on_request)
        context.on("weberror", on_error)
        seen.append((context, faults))
        return context

    yield open_context
    for context, _ in seen:
        context.close()
    assert [fault for _, faults in seen for fault in faults] == []


@pytest.fixture
def phone(
    chromium: Browser, server: Server, opened_context: Callable[..., BrowserContext]
) -> BrowserContext:
    """A phone, held upright: 390 x 844 px, touch."""
    return opened_context(chromium, server, PHONE)


@pytest.fixture
def desk(
    chromium: Browser, server: Server, opened_context: Callable[..., BrowserContext]
) -> BrowserContext:
    """A browser at the desk: 1280 x 800 px, mouse."""
    return opened_context(chromium, server, DESK)
