"""What becomes of intakes: a taken one remembers its kit; old ones and lost files are cleared."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from flask.testing import FlaskClient

from bagtrail.domain import upkeep
from bagtrail.domain.intake import store
from bagtrail.settings import Settings
from bagtrail.storage.tables import intake, intake_finding, intake_page
from bagtrail.storage.work import reading, writing

from ..intake_files import LIST, manual
from .test_intakes_api import findings, send

DAY_MS = 86_400_000


def take(client: FlaskClient, item: dict[str, Any], **what: str) -> Any:
    reply = client.post(f"/api/intakes/{item['id']}/take", json=what)
    assert reply.status_code == 200, reply.text
    return reply.json


def status(client: FlaskClient, item: dict[str, Any]) -> int:
    return client.get(f"/api/intakes/{item['id']}").status_code


def compact(app: Flask, *, days: float) -> None:
    """As so many days from now."""
    with app.app_context():
        upkeep.compact(app.config["BAGTRAIL"], now_ms=store.now_ms() + int(days * DAY_MS))


def test_a_taken_intake_remembers_its_kit(owner: FlaskClient) -> None:
    item = send(owner, LIST)
    kit = take(owner, item, name="Tarn 6")["kit"]
    again = owner.get(f"/api/intakes/{item['id']}").json
    assert (again["state"], again["kit"]) == ("taken", kit)
    into = send(owner, LIST, kit=kit)
    assert take(owner, into)["kit"] == kit
    assert owner.get(f"/api/intakes/{into['id']}").json["kit"] == kit


def test_taken_intakes_are_cleared_away_after_sixty_days_with_all_of_theirs(
    app: Flask, owner: FlaskClient
) -> None:
    taken = send(owner, manual(1), "manual", "Tarn 6.pdf")
    kit = take(owner, taken)["kit"]
    waiting = send(owner, LIST)
    compact(app, days=59)
    assert status(owner, taken) == 200
    compact(app, days=61)
    assert status(owner, taken) == 404
    with app.app_context(), reading() as conn:
        for table in (intake_finding, intake_page):
            mine = sa.select(table).where(table.c.intake_id == taken["id"])
            assert conn.execute(mine).all() == []
    # The kit is not touched, nor what still waits with its file.
    assert owner.get(f"/api/kits/{kit}").status_code == 200
    assert len(findings(owner, waiting)) == 6


@pytest.mark.parametrize(("state", "gone_after"), [("failed", 1), ("reading", 1), ("ready", 60)])
def test_an_intake_without_its_file_is_cleared_away_later_if_it_was_read(
    app: Flask, owner: FlaskClient, settings: Settings, state: str, gone_after: int
) -> None:
    item = send(owner, LIST)
    (settings.intake_folder / item["id"]).unlink()
    with app.app_context(), writing() as conn:
        conn.execute(intake.update().where(intake.c.id == item["id"]).values(state=state))
    compact(app, days=gone_after - 0.1)
    with app.app_context():
        assert item["id"] in store.ids()
    compact(app, days=gone_after + 0.1)
    with app.app_context():
        assert store.ids() == set()


def test_files_that_no_intake_names_are_cleared_away_once_none_can_be_on_its_way(
    app: Flask, owner: FlaskClient, settings: Settings
) -> None:
    item = send(owner, LIST)
    lost = str(uuid.uuid4())
    strays = [
        settings.intake_folder / name for name in (lost, f"{lost}.picture", f".{lost}.0a1b2c3d")
    ]
    for path in strays:
        path.write_text("cut off")
    compact(app, days=0)
    assert all(path.exists() for path in strays)
    compact(app, days=2)
    assert [path.name for path in settings.intake_folder.iterdir()] == [item["id"]]


def test_clearing_away_needs_no_folder(app: Flask, owner: FlaskClient, settings: Settings) -> None:
    assert not settings.intake_folder.exists()
    compact(app, days=2)
    assert not settings.intake_folder.exists()
