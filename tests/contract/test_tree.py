"""The tree holds what its tools ask of it: style, types, imports, the client's own tests.

Each tool is one test, so that the last line of a run counts them too.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import making
from bagtrail import cli
from tests.conftest import leave_out

ROOT = Path(__file__).resolve().parents[2]
CLIENT = ROOT / "client"
PYTHON = ["server", "migrations", "demo", "tests", "client/tools"]


def passes(command: list[str], env: dict[str, str] | None = None) -> None:
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, env=env)
    if ended.returncode:
        pytest.fail(f"{' '.join(command)}\n{ended.stdout}{ended.stderr}", pytrace=False)


@pytest.fixture(scope="session")
def node() -> making.Node:
    found = making.system_node() or making.packaged_node(Path(sys.executable))
    if found is None or not (CLIENT / "node_modules").is_dir():
        leave_out("no Node, or the client's packages are missing: ./tests/run gets them")
    assert found is not None
    return found


@pytest.mark.parametrize(
    "tool",
    [
        ["ruff", "check", *PYTHON],
        ["mypy"],
        ["mypy", "--strict", "server/making.py"],
    ],
    ids=" ".join,
)
def test_python_is_clean(tool: list[str]):
    passes([sys.executable, "-m", *tool])


def test_imports_of_the_server_run_one_way():
    passes([str(Path(sys.executable).parent / "lint-imports"), "--no-cache"])


@pytest.mark.parametrize("script", ["check", "test"])
def test_client_passes(script: str, node: making.Node):
    passes([*node.npm, "--prefix", str(CLIENT), "run", "--silent", script], node.env)


def test_openapi_document_in_the_tree_is_what_the_server_says(tmp_path: Path):
    said = tmp_path / "openapi.json"
    assert cli.main(["openapi", str(said)]) == 0
    kept = CLIENT / "openapi.json"
    assert json.loads(kept.read_text()) == json.loads(said.read_text()), (
        "run `bagtrail openapi client/openapi.json`, then `npm run types` in client/"
    )


def test_types_of_the_wire_are_made_from_the_document(node: making.Node, tmp_path: Path):
    made = tmp_path / "wire.gen.ts"
    tool = CLIENT / "node_modules" / "openapi-typescript" / "bin" / "cli.js"
    passes([str(node.node), str(tool), str(CLIENT / "openapi.json"), "-o", str(made)], node.env)
    kept = CLIENT / "src" / "core" / "wire.gen.ts"
    assert kept.read_text() == made.read_text(), "run `npm run types` in client/"


def test_what_the_client_knows_of_records_is_made_from_the_document(
    node: making.Node, tmp_path: Path
):
    made = tmp_path / "meta.gen.ts"
    tool = CLIENT / "tools" / "meta.mjs"
    passes([str(node.node), str(tool), str(CLIENT / "openapi.json"), str(made)], node.env)
    kept = CLIENT / "src" / "core" / "meta.gen.ts"
    assert kept.read_text() == made.read_text(), "run `npm run types` in client/"


@pytest.mark.parametrize("name", ["requirements.lock", "requirements-dev.lock"])
def test_locks_say_versions_and_nothing_of_where_they_come_from(name: str):
    lines = (ROOT / "server" / name).read_text().splitlines()
    pins = [line for line in lines if line and not line.startswith("#")]
    assert pins
    for pin in pins:
        assert re.fullmatch(r"[a-z0-9-]+==[0-9a-z.]+( ; .+)?", pin), pin
    assert "://" not in "\n".join(lines)


@pytest.mark.parametrize("name", ["requirements.lock", "requirements-dev.lock"])
def test_locks_hold_all_that_the_ranges_ask_for(name: str):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = project["dependencies"]
    if name == "requirements-dev.lock":
        asked = asked + project["optional-dependencies"]["test"]
    lines = (ROOT / "server" / name).read_text().splitlines()
    pins = {line.split("==")[0] for line in lines if "==" in line}
    names = {re.split(r"[\[<>=; ]", one)[0].lower().replace("_", "-") for one in asked}
    assert names - pins == set(), "make the locks again: DEVELOPERS.md says how"


def test_top_level_is_what_was_agreed():
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= {
        "pyproject.toml",
        "README.md",
        "DEVELOPERS.md",
        "server",
        "client",
        "migrations",
        "tests",
        "demo",
    }
