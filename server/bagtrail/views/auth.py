"""Who asks, and how devices are let in."""

from __future__ import annotations

import ipaddress
from io import BytesIO
from typing import Any, cast

import qrcode
import qrcode.image.svg
from flask import Flask, Response, current_app, g, jsonify, request
from flask.views import MethodView

from ..domain import devices, epochs
from ..domain.devices import Arrival, Caller
from ..domain.records import one
from ..settings import Settings
from ..wire import messages
from ..wire.problems import Malformed, NotAllowed, NotPaired, OtherWorkshop, TooOld
from .bodies import Calls, hold_to_bounds

blp = Calls("devices", __name__, url_prefix="/api", description="Devices and pairing")

COOKIE = "bagtrail_device"
_COOKIE_LASTS_S = 400 * 24 * 3600
#: Calls under /api that need no pairing.
_OPEN = {
    "devices.claim",
    "devices.redeem",
    "sync.ping",
    "api-docs.openapi_json",
    "document.problem_kinds",
}
#: Calls that a browser makes by itself, where it cannot add a header.
_PLAIN = {
    "api-docs.openapi_json",
    "document.problem_kinds",
    "sync.events",
    "archives.kit",
    "archives.build",
    "archives.table",
    "archives.kit_tables",
    "archives.build_tables",
}


_PROXIES_ADD = (
    "Forwarded",
    "Via",
    "X-Forwarded-For",
    "X-Forwarded-Host",
    "X-Forwarded-Proto",
    "X-Real-IP",
)


def settings() -> Settings:
    return cast(Settings, current_app.config["BAGTRAIL"])


def caller() -> Caller:
    """The device that makes this request.  Raises NotPaired."""
    if "caller" not in g:
        g.caller = devices.whoever_holds(_token())
    return cast(Caller, g.caller)


def guard(app: Flask) -> None:
    """Nothing under /api or /labels is answered to strangers, nor to a protocol of another time."""

    @app.before_request
    def _check() -> None:
        hold_to_bounds()
        path = request.path
        if not path.startswith(("/api/", "/labels/")) or request.endpoint is None:
            return
        reads_plainly = request.endpoint in _PLAIN or path.startswith(("/labels/", "/api/blobs/"))
        if not (reads_plainly and request.method in ("GET", "HEAD")):
            _check_protocol()
        if request.endpoint not in _OPEN:
            _check_workshop(caller())


def _check_protocol() -> None:
    """The header is also what keeps other sites from writing: a form cannot send it."""
    text = request.headers.get("Bagtrail-Protocol", "")
    if not text.isdecimal() or len(text) > 6:
        raise Malformed("The header Bagtrail-Protocol must say which protocol is spoken: 1.")
    if int(text) < messages.PROTOCOL:
        raise TooOld("Open the app while online, so that it can update; what it holds is kept.")
    if int(text) > messages.PROTOCOL:
        raise Malformed(f"This server speaks protocol {messages.PROTOCOL}: update the server.")


def _check_workshop(who: Caller) -> None:
    """A browser paired anew in another tab must not bring one workshop's work to another."""
    meant = request.headers.get("Bagtrail-Workshop")
    if meant is not None and meant != who.workshop:
        raise OtherWorkshop("This device is now paired to another workshop. Open the app anew.")


def _token() -> str:
    scheme, _, bearer = request.headers.get("Authorization", "").partition(" ")
    token = bearer if scheme.lower() == "bearer" else request.cookies.get(COOKIE, "")
    if not token:
        raise NotPaired(
            "Let a paired device show a pairing code and type it here.",
            claimable=may_claim() and not devices.claimed(),
        )
    return token


def may_claim() -> bool:
    """Whether the request comes straight from a browser on the server's own machine."""
    try:
        local = ipaddress.ip_address(request.remote_addr or "").is_loopback
    except ValueError:
        return False
    host = request.host.rsplit(":", 1)[0] if not request.host.endswith("]") else request.host
    # Browsers have spoken HTTP/1.1 for long; the usual proxies speak 1.0 inwards by themselves.
    passed_on = request.environ.get("SERVER_PROTOCOL") == "HTTP/1.0" or any(
        name in request.headers for name in _PROXIES_ADD
    )
    return local and not passed_on and host in ("localhost", "127.0.0.1", "[::1]")


def _session(workshop: str, device: str) -> dict[str, Any]:
    record = one(workshop, "device", device)
    return {
        "workshop": {"id": workshop, "name": one(workshop, "workshop", workshop).values["name"]},
        "device": {"id": device, "name": record.values["name"], "clock": record.values["clock"]},
        "epoch": epochs.current().epoch,
        "public_url": settings().public_url,
    }


def _let_in(workshop: str, token: str, device: str) -> Response:
    response = jsonify(_session(workshop, device))
    response.status_code = 201
    response.set_cookie(
        COOKIE,
        token,
        max_age=_COOKIE_LASTS_S,
        httponly=True,
        samesite="Lax",
        # Not on http://localhost, where one browser would not send it back.
        secure=request.is_secure
        or (settings().public_url.startswith("https:") and not may_claim()),
    )
    return response


def _arrival(body: dict[str, Any]) -> Arrival:
    return Arrival(body["name"], body["kind"], body["device"], body["clock"])


@blp.route("/session")
class Session(MethodView):
    @blp.response(200, messages.SessionReply)
    def get(self) -> dict[str, Any]:
        """Which workshop and device this is."""
        return _session(caller().workshop, caller().device)


@blp.post("/devices/claim", endpoint="claim")
@blp.arguments(messages.Claim)
@blp.response(201, messages.SessionReply)
def claim(body: dict[str, Any]) -> Response:
    """Takes a new server, from a browser on its own machine."""
    if not may_claim():
        raise NotAllowed("Open http://localhost on the server's own machine for this.")
    workshop, token = devices.claim(body["workshop"], _arrival(body))
    return _let_in(workshop, token, body["device"])


@blp.post("/pairing", endpoint="offer")
@blp.response(201, messages.PairingReply)
def offer() -> dict[str, Any]:
    """A one-time code with which one further device can be paired, within ten minutes."""
    code, expires_ms = devices.offer_pairing(caller().workshop)
    # The code stands behind '#': browsers do not send that part, so no log on the way has it.
    url = f"{settings().public_url}/devices#pair={code}"
    picture = BytesIO()
    qrcode.make(url, image_factory=qrcode.image.svg.SvgPathImage, border=4).save(picture)
    return {
        "code": f"{code[:4]}-{code[4:]}",
        "url": url,
        "svg": picture.getvalue().decode(),
        "expires_at": devices.instant(expires_ms),
    }


@blp.post("/pairing/redeem", endpoint="redeem")
@blp.arguments(messages.Redeem)
@blp.response(201, messages.SessionReply)
def redeem(body: dict[str, Any]) -> Response:
    """Pairs this device by a code that another one shows."""
    workshop, token = devices.redeem(body["code"], _arrival(body))
    return _let_in(workshop, token, body["device"])


@blp.post("/devices/me/clock", endpoint="clock")
@blp.arguments(messages.NewClock)
@blp.response(204)
def clock(body: dict[str, Any]) -> None:
    """Takes a new clock, because this device is a copy of another."""
    devices.take_clock(caller(), body["clock"])


@blp.post("/devices/<uuid:device>/revoke", endpoint="revoke")
@blp.response(204)
def revoke(device: Any) -> None:
    """Takes a device's pairing back."""
    devices.revoke(caller(), str(device))
