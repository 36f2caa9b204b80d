"""Codes of labels: short texts that a person can read, type and check.

A code is eight characters of Crockford's base 32: two say which workshop printed it, five are
random, one is a check character by ISO/IEC 7064, MOD 37,36.  ``tests/contract/codes.json`` holds
this module and ``client/src/core/codes.ts`` together.
"""

from __future__ import annotations

import hashlib
import re
import uuid
from collections.abc import Callable, Container
from dataclasses import dataclass
from typing import Literal

#: Crockford's base 32: digits and capitals without I, L, O (look like 1, 1, 0) and U.
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 8
RANDOM_BITS = 25
TAG_BITS = 10

#: ISO/IEC 7064 MOD 37,36 works over digits and all capitals, so a check character can be one
#: that base 32 has not; such a code is never issued, which is what lets O, I and L be forgiven.
_CHECK_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_LOOKS_LIKE = {"O": "0", "I": "1", "L": "1"}
#: Blanks and dashes that keyboards, clipboards and 'smart' punctuation put into a code.
SEPARATORS = (
    "\t\n\r \u00a0\u00ad\u2007\u200b\u202f\ufeff-\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
)

# Scheme and host may be missing and are never believed: a sticker outlives its server's address.
_LABEL_TEXT = re.compile(
    r"(?:(?:[a-z][a-z0-9+.-]*:)?//)?[^/?#\s]*/b/([^/?#]+)/?(?:[?#].*)?", re.ASCII | re.IGNORECASE
)

Reason = Literal["length", "character", "check", "foreign"]


@dataclass(frozen=True)
class Slip:
    """Why a text is no code.  ``character``: the first one that no code has, if that is why."""

    reason: Reason
    character: str | None = None


def check_character(text: str) -> str:
    """Check character of ``text`` (digits and capitals) by ISO/IEC 7064:2003, MOD 37,36.

    It catches every single wrong character and nearly every swap of two neighbours.
    Raises ValueError for other characters.
    """
    product = 36
    for character in text:
        total = (product + _CHECK_ALPHABET.index(character)) % 36 or 36
        product = total * 2 % 37
    return _CHECK_ALPHABET[(37 - product) % 36]


def workshop_tag(workshop_id: str | uuid.UUID) -> str:
    """Two characters: the first 10 bits of SHA-256 of the id as canonical lower-case text.

    Raises ValueError if ``workshop_id`` is not a UUID.
    """
    digest = hashlib.sha256(str(uuid.UUID(str(workshop_id))).encode("ascii")).digest()
    bits = int.from_bytes(digest[:2], "big") >> (16 - TAG_BITS)
    return ALPHABET[bits >> 5] + ALPHABET[bits & 31]


def code_from(workshop_id: str | uuid.UUID, random: int) -> str | None:
    """The code that ``random`` (0 to 2**25 - 1) makes, or None if its check character is unusable.

    Raises ValueError if ``random`` is out of range or ``workshop_id`` is not a UUID.
    """
    if not 0 <= random < 1 << RANDOM_BITS:
        raise ValueError(f"random must be 0 to {(1 << RANDOM_BITS) - 1}, not {random}")
    middle = "".join(ALPHABET[random >> shift & 31] for shift in (20, 15, 10, 5, 0))
    body = workshop_tag(workshop_id) + middle
    check = check_character(body)
    return body + check if check in ALPHABET else None


def issue(
    workshop_id: str | uuid.UUID, draw: Callable[[], int], taken: Container[str] = frozenset()
) -> str:
    """A code that is not ``taken``, drawing 25 random bits from ``draw`` until one will do.

    Raises RuntimeError after 1,000 draws: ``draw`` is not random, or the workshop is full.
    """
    for _ in range(1000):
        code = code_from(workshop_id, draw())
        if code is not None and code not in taken:
            return code
    raise RuntimeError("1,000 draws gave no free code")


def in_clear(code: str) -> str:
    """As printed beside the symbol: two groups of four, ``7K3Q-XWMW``."""
    return f"{code[:4]}-{code[4:]}"


def normalise(text: str) -> str | Slip:
    """The code that a person typed, or why it is none.

    Forgives lower case, blanks, dashes, and O for 0, I and L for 1.  A character that no code
    has is reported before a wrong length, so that typing can be corrected on the way.
    """
    code = ""
    for character in text:
        if character in SEPARATORS:
            continue
        # Only ASCII has capitals here: a dotless i or a long s must not become part of a code.
        capital = character.upper() if character.isascii() else character
        capital = _LOOKS_LIKE.get(capital, capital)
        if capital not in ALPHABET:
            return Slip("character", character)
        code += capital
    if len(code) != LENGTH:
        return Slip("length")
    return code if check_character(code[:-1]) == code[-1] else Slip("check")


def code_of(text: str) -> str | Slip:
    """The code in a scanned text, or the slip ``foreign``.

    A label says ``https://HOST/B/CODE``; scheme and host may be any or missing, and the code may
    stand alone.  Nothing else of the text is used.
    """
    text = text.strip(SEPARATORS)
    match = _LABEL_TEXT.fullmatch(text)
    code = normalise(match[1] if match else text)
    return code if isinstance(code, str) else Slip("foreign")


def same_workshop(code: str, workshop_id: str | uuid.UUID) -> bool:
    """Whether a code was printed by this workshop; one in 1,024 of another's looks like ours."""
    return code[:2] == workshop_tag(workshop_id)
