"""`bagtrail serve` as a process: it ends when told, and comes back with what it had."""

from __future__ import annotations

import http.client
import json
import time

from tests.browser.conftest import Server

SPOKEN = {"Bagtrail-Protocol": "1", "Content-Type": "application/json"}


def claim(server: Server) -> dict[str, str]:
    """Takes the new server; returns the headers of its owner."""
    line = http.client.HTTPConnection("localhost", server.port, timeout=20)
    arrival = {
        "workshop": "Shed",
        "name": "Desk",
        "kind": "desk",
        "device": "00000000-0000-4000-8000-000000000001",
        "clock": "00000000000000a1",
    }
    line.request("POST", "/api/devices/claim", json.dumps(arrival), SPOKEN)
    reply = line.getresponse()
    reply.read()
    assert reply.status == 201
    cookie = (reply.headers["Set-Cookie"] or "").split(";")[0]
    line.close()
    return {**SPOKEN, "Cookie": cookie}


def test_server_ends_soon_although_an_app_listens(server: Server):
    listening = http.client.HTTPConnection("localhost", server.port, timeout=20)
    listening.request("GET", "/api/sync/events", headers=claim(server))
    stream = listening.getresponse()
    assert stream.readline().startswith(b"data: ")
    began = time.monotonic()
    server.stop()
    # Streams last for minutes if nobody ends them; gunicorn would then kill its worker after 10 s.
    assert time.monotonic() - began < 10
    assert "SIGKILL" not in server.log.read_text()
    stream.close()
    listening.close()


def test_server_that_was_killed_knows_its_owner_when_it_is_started_again(server: Server):
    owner = claim(server)
    server.kill()
    assert not server.answers()
    server.start()
    line = http.client.HTTPConnection("localhost", server.port, timeout=20)
    line.request("GET", "/api/session", headers=owner)
    reply = line.getresponse()
    assert json.loads(reply.read())["workshop"]["name"] == "Shed"
    line.close()


def test_start_tells_where_it_is_and_what_to_do_next(server: Server):
    said = server.log.read_text()
    assert f"Bagtrail is at {server.url}" in said
    assert "It has no owner yet" in said
    claim(server)
    server.stop()
    server.start()
    assert server.log.read_text().count("It has no owner yet") == 1
