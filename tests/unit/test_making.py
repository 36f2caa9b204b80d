"""What server/start makes, and that it makes nothing twice."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest

import making


@pytest.fixture
def tree(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A tree of one client and one demo script; `made` records what is run."""
    monkeypatch.setattr(making, "ROOT", tmp_path)
    monkeypatch.setattr(making, "CLIENT", tmp_path / "client")
    monkeypatch.setattr(making, "DEMO", tmp_path / "demo")
    monkeypatch.setattr(making, "LOCK", tmp_path / "lock")
    monkeypatch.setattr(making, "VENV", tmp_path / ".venv")
    (tmp_path / "client" / "src").mkdir(parents=True)
    (tmp_path / "client" / "src" / "main.ts").write_text("one")
    (tmp_path / "client" / "package-lock.json").write_text("{}")
    (tmp_path / "client" / "node_modules").mkdir()
    (tmp_path / "demo").mkdir()
    (tmp_path / "demo" / "make.py").write_text("print()")
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / "pyvenv.cfg").write_text("version = 3.11.7")
    (tmp_path / "lock").write_text("flask==3.1.3")
    return tmp_path


@pytest.fixture
def made(tree: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    ran: list[str] = []

    def run(what: str, command: object, env: object = None) -> None:
        ran.append(what)
        if what == "Building the app":
            (tree / "client" / "dist").mkdir(exist_ok=True)
            for name in ("index.html", "sw.js"):
                (tree / "client" / "dist" / name).write_text(name)

    monkeypatch.setattr(making, "run", run)
    return ran


NODE = making.Node(Path("node"), ("npm",))


def test_app_is_built_once_and_again_after_a_change(tree: Path, made: list[str]):
    making.build_client(NODE)
    assert made == ["Installing the app's packages", "Building the app"]
    made.clear()
    making.build_client(NODE)
    assert made == []
    (tree / "client" / "src" / "main.ts").write_text("two")
    making.build_client(NODE)
    assert made == ["Building the app"]


def test_app_is_built_again_when_its_result_is_gone(tree: Path, made: list[str]):
    making.build_client(NODE)
    made.clear()
    (tree / "client" / "dist" / "sw.js").unlink()
    making.build_client(NODE)
    assert made == ["Building the app"]


def test_file_that_only_moves_counts_as_a_change(tree: Path):
    before = making.client_key()
    (tree / "client" / "src" / "main.ts").rename(tree / "client" / "src" / "start.ts")
    assert making.client_key() != before


def test_packages_are_installed_once_and_again_for_another_lock_or_python(
    tree: Path, made: list[str]
):
    making.install("Installing", tree / "lock")
    making.install("Installing", tree / "lock")
    assert made == ["Installing"]
    (tree / "lock").write_text("flask==3.1.4")
    making.install("Installing", tree / "lock")
    (tree / ".venv" / "pyvenv.cfg").write_text("version = 3.12.1")
    making.install("Installing", tree / "lock")
    assert made == ["Installing"] * 3


def test_build_that_fails_is_tried_again(tree: Path, monkeypatch: pytest.MonkeyPatch):
    def fail(what: str, command: object, env: object = None) -> None:
        raise making.Failed(what)

    monkeypatch.setattr(making, "run", fail)
    for _ in range(2):
        with pytest.raises(making.Failed):
            making.build_client(NODE)
        with pytest.raises(making.Failed):
            making.make_demo(Path(sys.executable))
    assert not making.client_is_fresh()
    assert not making.demo_is_fresh()


def test_failed_command_shows_what_it_said_and_how_to_go_on(capsys: pytest.CaptureFixture[str]):
    command = [sys.executable, "-c", "print('no such package'); raise SystemExit(3)"]
    with pytest.raises(making.Failed, match="ended with 3") as failure:
        making.run("Installing", command)
    said = capsys.readouterr().out
    assert said.startswith("Installing ")
    assert "    no such package" in said
    assert "network" in str(failure.value)


def test_command_that_is_not_there_is_told():
    with pytest.raises(making.Failed, match="cannot be started"):
        making.run("Installing", ["/nowhere/to/be/found"])


@pytest.mark.skipif(making.WINDOWS, reason="the stand-in is a shell script")
@pytest.mark.parametrize(
    ("version", "taken"),
    [
        ("v18.20.4", False),
        ("v20.18.3", False),
        ("v20.19.0", True),
        ("v21.7.3", False),
        ("v22.11.0", False),
        ("v22.12.0", True),
        ("v24.1.0", True),
        ("what?", False),
    ],
)
def test_system_node_is_taken_if_the_build_tools_run_on_it(
    version: str, taken: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """Versions as the build tool's own package.json names them: ^20.19.0 || >=22.12.0."""
    for name, said in (("node", version), ("npm", "10")):
        script = tmp_path / name
        script.write_text(f"#!/bin/sh\necho '{said}'\n")
        script.chmod(script.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", str(tmp_path) + os.pathsep + "/bin")
    assert (making.system_node() is not None) is taken


def test_machine_without_node_has_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    assert making.system_node() is None
