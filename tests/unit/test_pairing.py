"""Nothing is open to strangers: claiming, pairing, revoking."""

from __future__ import annotations

import logging
import secrets
import uuid
from dataclasses import replace

import pytest
from flask import Flask
from flask.testing import FlaskClient

from bagtrail.domain import devices, journal
from bagtrail.views import sync
from tests.conftest import speaking
from tests.devices import SimDevice


def _arrival(**more: str) -> dict[str, str]:
    return {
        "name": "Tablet",
        "kind": "tablet",
        "device": str(uuid.uuid4()),
        "clock": secrets.token_hex(8),
        **more,
    }


def _offer(owner: FlaskClient) -> str:
    return str(owner.post("/api/pairing").json["code"])


def test_every_call_but_the_open_ones_wants_a_paired_device(
    app: Flask, client: FlaskClient
) -> None:
    """Walks the application's own list of calls, so that a new one cannot be forgotten."""
    open_ones = {
        ("POST", "/api/devices/claim"),
        ("POST", "/api/pairing/redeem"),
        ("GET", "/api/ping"),
        ("GET", "/api/openapi.json"),
        ("GET", "/api/problems/<slug>"),
    }
    asked = 0
    for rule in app.url_map.iter_rules():
        if not rule.rule.startswith(("/api", "/labels")):
            continue
        for method in rule.methods - {"OPTIONS", "HEAD"}:
            if (method, rule.rule) in open_ones:
                continue
            path = rule.build({name: _some(name) for name in rule.arguments})
            assert path is not None
            reply = client.open(path[1], method=method)
            assert reply.status_code == 401, (method, rule.rule, reply.status_code)
            assert reply.json["type"] == "/api/problems/not-paired"
            asked += 1
    assert asked > 100


def _some(name: str) -> object:
    return {"sha256": "a" * 64}.get(name, uuid.uuid4())


def test_the_first_browser_on_this_machine_takes_the_server(client: FlaskClient) -> None:
    told = client.get("/api/session")
    assert told.status_code == 401
    assert told.json["claimable"] is True
    arrival = _arrival()
    made = client.post("/api/devices/claim", json={**arrival, "workshop": "Shed"})
    assert made.status_code == 201
    cookie = made.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    session = client.get("/api/session").json
    assert session["device"] == {
        "id": arrival["device"], "name": "Tablet", "clock": arrival["clock"],
    }  # fmt: skip


def test_the_cookie_is_for_https_alone_but_on_this_machine(client: FlaskClient, app: Flask) -> None:
    app.config["BAGTRAIL"] = replace(app.config["BAGTRAIL"], public_url="https://shed.example")
    made = client.post("/api/devices/claim", json={**_arrival(), "workshop": "Shed"})
    assert "Secure" not in made.headers["Set-Cookie"]
    code = _offer(client)
    passed_on = {"X-Forwarded-For": "203.0.113.9"}
    reply = speaking(app).post("/api/pairing/redeem", json=_arrival(code=code), headers=passed_on)
    assert "Secure" in reply.headers["Set-Cookie"]


def test_a_second_claim_is_refused(owner: FlaskClient, app: Flask) -> None:
    reply = speaking(app).post("/api/devices/claim", json={**_arrival(), "workshop": "Mine"})
    assert reply.status_code == 409
    assert reply.json["type"] == "/api/problems/already-claimed"


@pytest.mark.parametrize(
    "told",
    [
        {"environ_base": {"REMOTE_ADDR": "192.168.1.9"}},
        {"headers": {"X-Forwarded-For": "203.0.113.9"}},
        {"headers": {"Forwarded": "for=203.0.113.9"}},
        {"headers": {"Via": "1.1 proxy"}},
        {"headers": {"X-Real-IP": "203.0.113.9"}},
        {"environ_overrides": {"SERVER_PROTOCOL": "HTTP/1.0"}},
    ],
)
def test_nobody_from_outside_can_claim(client: FlaskClient, told: dict[str, object]) -> None:
    """A proxy on the same machine also comes from 127.0.0.1; what it adds gives it away."""
    environ = {**client.environ_base, **told.pop("environ_base", {})}  # type: ignore[dict-item]
    reply = client.post(
        "/api/devices/claim",
        json={**_arrival(), "workshop": "Mine"},
        environ_base=environ,
        **told,  # type: ignore[arg-type]
    )
    assert reply.status_code == 403


def test_a_code_lets_one_device_in_once(owner: FlaskClient, app: Flask) -> None:
    """Pitfall 35: single use; a second use gets 410."""
    code = _offer(owner)
    tablet, late = speaking(app), speaking(app)
    assert tablet.post("/api/pairing/redeem", json=_arrival(code=code)).status_code == 201
    assert tablet.get("/api/session").status_code == 200
    reply = late.post("/api/pairing/redeem", json=_arrival(code=code))
    assert reply.status_code == 410
    assert reply.json["type"] == "/api/problems/code-spent"
    assert late.get("/api/session").status_code == 401


def test_a_code_is_read_as_people_type_it(owner: FlaskClient, app: Flask) -> None:
    code = _offer(owner).lower().replace("-", " ").replace("0", "o").replace("1", "l")
    reply = speaking(app).post("/api/pairing/redeem", json=_arrival(code=code))
    assert reply.status_code == 201


def test_a_code_ends_after_ten_minutes(
    owner: FlaskClient, app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = _offer(owner)
    now = journal.now_ms()
    monkeypatch.setattr(journal, "now_ms", lambda: now + 10 * 60_000 + 1_000)
    assert speaking(app).post("/api/pairing/redeem", json=_arrival(code=code)).status_code == 410


def test_guessing_spends_the_open_codes(owner: FlaskClient, app: Flask) -> None:
    code = _offer(owner)
    guesser = speaking(app)
    for _ in range(devices.PAIRING_TRIES):
        wrong = guesser.post("/api/pairing/redeem", json=_arrival(code="ZZZZ-ZZZZ"))
        assert wrong.status_code == 410
    assert guesser.post("/api/pairing/redeem", json=_arrival(code=code)).status_code == 410
    assert guesser.post("/api/pairing/redeem", json=_arrival(code=_offer(owner))).status_code == 201


def test_the_code_is_in_the_fragment_and_in_no_log(
    owner: FlaskClient, app: Flask, caplog: pytest.LogCaptureFixture
) -> None:
    """Pitfall 35: browsers do not send what stands behind '#'; the database has a hash only."""
    caplog.set_level(logging.DEBUG)
    offer = owner.post("/api/pairing").json
    bare = offer["code"].replace("-", "")
    assert offer["url"].endswith(f"/devices#pair={bare}")
    assert offer["svg"].startswith("<?xml")
    speaking(app).post("/api/pairing/redeem", json=_arrival(code=bare))
    assert bare not in caplog.text
    data = app.config["BAGTRAIL"].data
    kept = b"".join(path.read_bytes() for path in data.glob("bagtrail.sqlite3*"))
    assert bare.encode() not in kept


def test_a_revoked_device_gets_401_and_can_come_back(owner: FlaskClient, app: Flask) -> None:
    tablet, arrival = speaking(app), _arrival()
    tablet.post("/api/pairing/redeem", json={**arrival, "code": _offer(owner)})
    assert owner.post(f"/api/devices/{arrival['device']}/revoke").status_code == 204
    reply = tablet.get("/api/session")
    assert reply.status_code == 401
    assert reply.json["claimable"] is False
    assert "code" in reply.json["detail"]
    shown = owner.get(f"/api/devices/{arrival['device']}").json
    assert shown["revoked_at"] is not None
    again = tablet.post("/api/pairing/redeem", json={**arrival, "code": _offer(owner)})
    assert again.status_code == 201
    assert again.json["device"]["id"] == arrival["device"]
    assert owner.get(f"/api/devices/{arrival['device']}").json["revoked_at"] is None


def test_what_a_revoked_device_listens_to_ends(
    owner: FlaskClient, app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sync, "_LOOK_S", 0.01)
    tablet, arrival = speaking(app), _arrival()
    tablet.post("/api/pairing/redeem", json={**arrival, "code": _offer(owner)})
    told = iter(tablet.get("/api/sync/events").response)
    assert b'"seq"' in next(told)
    owner.post("/api/kits", json={"name": "Tarn"})
    assert b'"seq"' in next(told)
    owner.post(f"/api/devices/{arrival['device']}/revoke")
    assert next(told, None) is None
    assert sync._streams == set()


def test_devices_that_listen_leave_threads_for_calls(owner: FlaskClient, app: Flask) -> None:
    settings = app.config["BAGTRAIL"]
    listening = [iter(owner.get("/api/sync/events").response) for _ in range(settings.threads // 2)]
    assert all(b'"seq"' in next(stream) for stream in listening)
    reply = owner.get("/api/sync/events")
    assert reply.status_code == 503
    assert reply.json["type"] == "/api/problems/busy"
    assert reply.headers["Retry-After"]
    for stream in listening:
        stream.close()  # type: ignore[attr-defined]
    assert owner.get("/api/sync/events").status_code == 200


def test_a_clock_belongs_to_one_device(owner: FlaskClient, app: Flask) -> None:
    """Failure 33: a copy of a device cannot write under its clock; it takes a new one."""
    arrival = _arrival(clock="00000000000000a1")
    reply = speaking(app).post("/api/pairing/redeem", json={**arrival, "code": _offer(owner)})
    assert reply.status_code == 403
    assert owner.post("/api/devices/me/clock", json={"clock": "b" * 16}).status_code == 204
    assert owner.get("/api/session").json["device"]["clock"] == "b" * 16
    assert (
        owner.post("/api/devices/me/clock", json={"clock": "00000000000000a1"}).status_code == 204
    ), "a device may go back to a clock that was its own"


def test_requests_say_which_protocol_they_speak(app: Flask, owner: FlaskClient) -> None:
    plain = app.test_client()
    assert plain.get("/api/ping").status_code == 400
    old = plain.get("/api/ping", headers={"Bagtrail-Protocol": "0"})
    assert old.status_code == 426
    assert old.json["type"] == "/api/problems/too-old"
    assert plain.get("/api/ping", headers={"Bagtrail-Protocol": "9"}).status_code == 400
    assert owner.get("/api/ping").json["service"] == "bagtrail"


def test_another_site_cannot_write_with_the_cookie(app: Flask, owner: FlaskClient) -> None:
    """A form of another site sends the cookie (were it not SameSite) but never our header."""
    cookie = owner.get_cookie("bagtrail_device")
    assert cookie is not None
    victim = app.test_client()
    victim.set_cookie("bagtrail_device", cookie.value)
    assert victim.post("/api/kits", data={"name": "x"}).status_code == 400
    assert owner.get("/api/kits").json["items"] == []


def test_two_workshops_see_nothing_of_each_other(app: Flask, owner: FlaskClient) -> None:
    kit = owner.post("/api/kits", json={"name": "Ours"}).json["id"]
    with app.app_context():
        other = SimDevice(str(uuid.uuid4()))
        other.write("kit", str(uuid.uuid4()), {"name": "Theirs"}, journal.now_ms())
        other.exchange(journal.now_ms())
        assert kit not in other.mirror
    assert [item["name"] for item in owner.get("/api/kits").json["items"]] == ["Ours"]
    theirs = next(iter(other.types))
    assert owner.get(f"/api/kits/{theirs}").status_code == 404
    assert owner.patch(f"/api/kits/{theirs}", json={"name": "x"}).status_code == 404


@pytest.mark.parametrize("type_", ["workshop", "device"])
def test_what_lets_devices_in_is_not_deleted_nor_made_by_the_way(
    database: str | None, owner: FlaskClient, app: Flask, type_: str
) -> None:
    """Without its workshop's or device's record, a paired device would be locked out for good."""
    session = owner.get("/api/session").json
    own = session[type_]["id"]
    assert owner.delete(f"/api/{type_}s/{own}").status_code == 405
    assert owner.post(f"/api/{type_}s", json={"name": "Another"}).status_code == 405
    with app.app_context():
        other = SimDevice(session["workshop"]["id"])
        other.pull()
        deleted = other.delete(own, journal.now_ms())
        verdict = other.send([deleted], journal.now_ms())[0]
    assert verdict.problem is not None
    assert "deleted" in verdict.problem.body()["errors"]
    assert owner.get("/api/session").json == session


def test_pairing_is_for_the_workshop_that_claimed_the_server(
    database: str | None, owner: FlaskClient, app: Flask
) -> None:
    """A record of type workshop with another id would be taken for the workshop to pair with."""
    workshop = owner.get("/api/session").json["workshop"]["id"]
    with app.app_context():
        other = SimDevice(workshop)
        bogus = other.write("workshop", str(uuid.UUID(int=1)), {"name": "Mine"}, journal.now_ms())
        verdict = other.send([bogus], journal.now_ms())[0]
        assert verdict.verdict == "refused"
        code, _ = devices.offer_pairing()
    made = speaking(app).post("/api/pairing/redeem", json=_arrival(code=code))
    assert made.json["workshop"]["id"] == workshop
