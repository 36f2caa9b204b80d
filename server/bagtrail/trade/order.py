"""Fractional order keys: text over 0-9A-Za-z that sorts a record among its siblings.

One record can be put between two others without touching them.  A key is read as the digits of a
fraction to base 62, so it never ends in 0.  Twin: ``client/src/core/order.ts``;
tests/contract/order.json holds the two together.
"""

from __future__ import annotations

import re

#: In the order of their code points, so that keys sort as text everywhere.
DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
KEY_MAX = 64
#: Digits in which whole lists are spread and ends are stepped over: room for 62**4 siblings.
_WIDTH = 4
_SPAN = 62**_WIDTH
SPREAD_MAX = 100_000
_KEY = re.compile(r"[0-9A-Za-z]{1,64}")


def between(a: str | None, b: str | None) -> str:
    """A key that sorts after ``a`` and before ``b``; None is the end of the list on that side.

    Raises ValueError if ``a`` is not below ``b``, a key has other characters, or there is no room
    left (after some 300 insertions at one and the same place): then spread the siblings anew.
    """
    for key in (a, b):
        if key is not None and not _KEY.fullmatch(key):
            raise ValueError(f"not an order key: {key!r}")
    if a is None:
        key = "V" if b is None else _before(b)
    else:
        key = _after(a) if b is None else _middle(a, b)
    if (a is not None and key <= a) or (b is not None and key >= b) or len(key) > KEY_MAX:
        raise ValueError(f"no room between {a or 'the start'} and {b or 'the end'}")
    return key


def spread(n: int) -> list[str]:
    """``n`` keys in rising order, evenly spread.  ValueError unless 0 <= n <= 100,000."""
    if not 0 <= n <= SPREAD_MAX:
        raise ValueError(f"can spread 0 to {SPREAD_MAX} keys, not {n}")
    return [_digits((i + 1) * _SPAN // (n + 1)).rstrip("0") for i in range(n)]


def _after(a: str) -> str:
    """The next four-digit step above: appending makes keys longer only after 62**4 times."""
    step = _chunk(a) + 1
    return _digits(step).rstrip("0") if step < _SPAN else a[:_WIDTH] + _after(a[_WIDTH:])


def _before(b: str) -> str:
    """The next four-digit step below."""
    step = _chunk(b) - 1
    if step > 0:
        return _digits(step).rstrip("0")
    rest = b[_WIDTH:]
    return "0" * _WIDTH + (_before(rest) if step < 0 and rest else "V")


def _middle(a: str, b: str) -> str:
    """The middle of two fractions, with no more digits than it takes."""
    same = 0
    while same < len(b) and (a[same : same + 1] or "0") == b[same]:
        same += 1
    if same:
        return b[:same] + _middle(a[same:], b[same:])
    low = DIGITS.index(a[0]) if a else 0
    high = DIGITS.index(b[0]) if b else len(DIGITS)
    if high - low > 1:
        return DIGITS[(low + high) // 2]
    return b[0] if len(b) > 1 else DIGITS[low] + _middle(a[1:], "")


def _chunk(key: str) -> int:
    value = 0
    for digit in key[:_WIDTH].ljust(_WIDTH, "0"):
        value = value * 62 + DIGITS.index(digit)
    return value


def _digits(value: int) -> str:
    text = ""
    for _ in range(_WIDTH):
        value, digit = divmod(value, 62)
        text = DIGITS[digit] + text
    return text
