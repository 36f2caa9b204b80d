"""What all tests share: settings, an app on a fresh database, clients.

`app` runs on SQLite.  A test that asks for `database` too runs on SQLite and on PostgreSQL.
"""

from __future__ import annotations

import os
import secrets
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import flask_migrate
import psycopg
import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import URL, make_url

from bagtrail.app import create_app
from bagtrail.domain import epochs
from bagtrail.settings import Settings
from bagtrail.storage.tables import db
from bagtrail.wire.messages import PROTOCOL

CI = os.environ.get("CI") == "true"
POSTGRES = make_url(
    os.environ.get("TEST_POSTGRES_URL") or "postgresql+psycopg://postgres@127.0.0.1:5432/test"
)


def leave_out(why: str) -> None:
    """Skip a test for want of a tool; where everything has to run, that is a failure."""
    if CI:
        pytest.fail(f"{why} (CI=true: nothing may be left out)", pytrace=False)
    pytest.skip(why)


@contextmanager
def opened(settings: Settings) -> Iterator[Flask]:
    """An app whose connections are closed at the end."""
    app = create_app(settings)
    try:
        yield app
    finally:
        read_to_end()
        with app.app_context():
            db.engine.dispose()


def read_to_end() -> None:
    """Until no thread of an app reads intakes any more: each opens connections."""
    for thread in threading.enumerate():
        if thread.name.startswith("intakes of"):
            thread.join(60)
            assert not thread.is_alive(), thread.name


def migrate(settings: Settings) -> None:
    """Bring the database of these settings up to date."""
    with opened(settings) as app, app.app_context():
        flask_migrate.upgrade()


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with all tables, to be copied."""
    settings = Settings(data=tmp_path_factory.mktemp("template"))
    migrate(settings)
    return settings.data / "bagtrail.sqlite3"


@pytest.fixture(scope="session")
def migrated_postgres(tmp_path_factory: pytest.TempPathFactory) -> Iterator[URL]:
    """A PostgreSQL database with all tables, to be used as template; dropped at the end."""
    with fresh_postgres() as url:
        migrate(
            Settings(
                data=tmp_path_factory.mktemp("postgres"),
                database=url.render_as_string(hide_password=False),
            )
        )
        yield url


@pytest.fixture(scope="session")
def demo_manuals(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo kit's PDF manuals, and what was drawn where; see demo/manuals."""
    # Asks for much that few tests need.
    from demo.manuals.write import write

    folder = tmp_path_factory.mktemp("manuals")
    write(folder)
    return folder


@contextmanager
def fresh_postgres(template: URL | None = None) -> Iterator[URL]:
    """A database of its own on the tests' PostgreSQL, dropped at the end."""
    name = f"bagtrail_{os.getpid()}_{secrets.token_hex(4)}"
    address = POSTGRES.set(drivername="postgresql").render_as_string(hide_password=False)
    try:
        server = psycopg.connect(address, autocommit=True, connect_timeout=5)
    except psycopg.OperationalError as why:
        reason = str(why).strip().splitlines()[0]
        leave_out(f"no PostgreSQL at {POSTGRES.render_as_string()} ({reason})")
        raise
    with server:
        copy = f' TEMPLATE "{template.database}"' if template else ""
        server.execute(f'CREATE DATABASE "{name}"{copy}')
        try:
            yield POSTGRES.set(drivername="postgresql+psycopg", database=name)
        finally:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest) -> Iterator[str | None]:
    """URL of a fresh migrated PostgreSQL database; None for SQLite."""
    if request.param == "sqlite":
        yield None
    else:
        template: URL = request.getfixturevalue("migrated_postgres")
        with fresh_postgres(template) as url:
            yield url.render_as_string(hide_password=False)


@pytest.fixture
def settings(request: pytest.FixtureRequest, tmp_path: Path) -> Settings:
    """Settings with a data folder of their own; on `database`, if the test asks for that."""
    url = request.getfixturevalue("database") if "database" in request.fixturenames else None
    settings = Settings(data=tmp_path / "data", database=url)
    settings.prepare()
    if url is None:
        template: Path = request.getfixturevalue("migrated_file")
        shutil.copyfile(template, settings.data / "bagtrail.sqlite3")
    return settings


@pytest.fixture
def app(settings: Settings) -> Iterator[Flask]:
    """The app on a fresh database, started as `bagtrail serve` does."""
    with opened(settings) as app:
        with app.app_context():
            epochs.settle(settings.epoch_file)
        yield app


@pytest.fixture
def app_context(app: Flask) -> Iterator[Flask]:
    """The app's context, for tests of the domain.

    Not together with `client`: requests inside it would share one `flask.g`.
    """
    with app.app_context():
        yield app


def speaking(app: Flask) -> FlaskClient:
    """A client, not paired, that says which protocol it speaks."""
    client = app.test_client()
    client.environ_base["HTTP_BAGTRAIL_PROTOCOL"] = str(PROTOCOL)
    return client


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A client of a device that is not paired."""
    return speaking(app)


@pytest.fixture
def owner(app: Flask) -> FlaskClient:
    """A client whose device has taken the new server."""
    client = speaking(app)
    reply = client.post(
        "/api/devices/claim",
        json={
            "workshop": "Shed",
            "name": "Bench phone",
            "kind": "phone",
            "device": "00000000-0000-4000-8000-000000000001",
            "clock": "00000000000000a1",
        },
    )
    assert reply.status_code == 201, reply.text
    return client


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name every test that was left out, one by one, with the reason."""
    skipped = terminalreporter.stats.get("skipped", [])
    if skipped:
        terminalreporter.section("left out")
    for report in skipped:
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else ""
        terminalreporter.line(f"{report.nodeid}: {reason.removeprefix('Skipped: ')}")
