"""The QR symbol of a label: the text it carries and its modules, by ISO/IEC 18004."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from urllib.parse import urlsplit

import qrcode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_L, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.exceptions import DataOverflowError
from qrcode.util import ALPHA_NUM, QRData

from ...wire.problems import Invalid

#: Light modules that have to surround a symbol (ISO/IEC 18004, quiet zone).
QUIET_MODULES = 4

#: The library says ValueError, not DataOverflowError, when even version 40 is too small.
_OVERFLOW = (DataOverflowError, ValueError)
_STRONGEST_FIRST = {"H": ERROR_CORRECT_H, "Q": ERROR_CORRECT_Q, "M": ERROR_CORRECT_M}


@dataclass(frozen=True)
class Symbol:
    """A QR symbol.  ``rows``: from the top, True is dark, without the quiet zone."""

    text: str
    version: int
    level: str
    rows: tuple[tuple[bool, ...], ...]

    @property
    def modules(self) -> int:
        """Modules along one side, without the quiet zone."""
        return len(self.rows)

    @property
    def modules_with_quiet_zone(self) -> int:
        return self.modules + 2 * QUIET_MODULES

    def runs(self) -> list[tuple[int, int, int]]:
        """Dark modules merged along each row: (row, first column, how many)."""
        runs = []
        for y, row in enumerate(self.rows):
            x = 0
            while x < len(row):
                end = x
                while end < len(row) and row[end]:
                    end += 1
                if end > x:
                    runs.append((y, x, end - x))
                x = end + 1
        return runs


def label_text(public_url: str, code: str) -> str:
    """What a label says: ``https://HOST/B/CODE``.

    The scheme stays in lower case because some phone cameras do not open ``HTTPS://``; the rest
    is in capitals because QR's alphanumeric mode, which is smaller, has no others.
    Raises Invalid if ``public_url`` is not the bare address of a server.
    """
    try:
        parts = urlsplit(public_url)
        port = parts.port
        host = (parts.hostname or "").encode("idna").decode("ascii")
    except ValueError:  # UnicodeError of a host name that cannot be one is a ValueError too
        raise _bad_address(public_url) from None
    if (
        parts.scheme not in ("http", "https")
        or not host
        or parts.path not in ("", "/")
        or parts.query
        or parts.fragment
        or "@" in parts.netloc
    ):
        raise _bad_address(public_url)
    if ":" in host:
        host = f"[{host}]"
    where = host if port is None else f"{host}:{port}"
    return f"{parts.scheme}://{where.upper()}/B/{code}"


def _bad_address(public_url: str) -> Invalid:
    return Invalid(
        f"The server's public address {public_url!r} cannot be printed on labels. It has to look "
        "like https://bench.example:8443, with nothing after the name and port. "
        "Whoever runs the server sets it.",
        errors={"public_url": ["Not the bare address of a server."]},
    )


@lru_cache(maxsize=2048)
def symbol_of(text: str) -> Symbol:
    """The smallest symbol that holds ``text``, then the strongest level which that one holds.

    Big modules read better from a crinkled bag than strong correction does, so version comes
    before level.  Raises Invalid if no symbol holds the text.
    """
    try:
        level, chosen = "L", _symbol(text, ERROR_CORRECT_L)
    except _OVERFLOW:
        raise Invalid("The text of the label is too long for a QR symbol.") from None
    for name, correction in _STRONGEST_FIRST.items():
        try:
            stronger = _symbol(text, correction)
        except _OVERFLOW:
            continue
        if stronger.version == chosen.version:
            level, chosen = name, stronger
            break
    # fit=False: the version is known; the mask is the one with the least penalty (ISO/IEC 18004).
    chosen.make(fit=False)
    rows = tuple(tuple(map(bool, row)) for row in chosen.modules)
    return Symbol(text=text, version=chosen.version, level=level, rows=rows)


def _symbol(text: str, correction: int) -> qrcode.QRCode[Any]:
    symbol = qrcode.QRCode(error_correction=correction, border=QUIET_MODULES)
    scheme, colon, rest = text.partition(":")
    rest_bytes = (colon + rest).encode("utf-8")
    if rest_bytes and all(byte in ALPHA_NUM for byte in rest_bytes):
        # Two segments, however short the host: the library splits from 20 characters on only.
        symbol.add_data(QRData(scheme), optimize=0)
        symbol.add_data(QRData(colon + rest), optimize=0)
    else:
        symbol.add_data(text, optimize=20)
    symbol.best_fit()
    return symbol
