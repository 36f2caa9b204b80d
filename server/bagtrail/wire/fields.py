"""Field kinds of the wire.

Each value has exactly one spelling in JSON, so that two devices that mean the same write the
same bytes and values can be compared without interpretation.  None of these fields converts:
what is loaded is what was sent, once it has been found well formed.
"""

from __future__ import annotations

import math
import re
from datetime import datetime
from typing import Any

from marshmallow import ValidationError, fields, validate

UUID_PATTERN = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
CLOCK_PATTERN = r"^[0-9a-f]{16}$"
STAMP_PATTERN = r"^[0-9a-f]{32}$"
CHANGE_PATTERN = r"^[0-9a-f]{16}\.[1-9][0-9]{0,14}$"
INSTANT_PATTERN = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z$"
SHA256_PATTERN = r"^[0-9a-f]{64}$"
ORDER_PATTERN = r"^[0-9A-Za-z]{1,64}$"
CODE_PATTERN = r"^[0-9A-HJKMNP-TV-Z]{8}$"

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def is_finite(number: float) -> bool:
    """Whether every reader of JSON has this number: 1e400 is an infinity to most of them."""
    try:
        return math.isfinite(number)
    except OverflowError:
        return False


class _Shaped(fields.String):
    """Text of one fixed shape, given by a regular expression that JSON Schema shares."""

    pattern = ""
    length = 0
    what = ""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("allow_none", not kwargs.get("required", False))
        metadata = {"pattern": self.pattern, "maxLength": self.length, **kwargs.pop("metadata", {})}
        super().__init__(metadata=metadata, **kwargs)
        self._shape = re.compile(self.pattern)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str) or not self._shape.match(value) or value.endswith("\n"):
            raise ValidationError(f"Must be {self.what}.")
        return value


class Ref(_Shaped):
    """The id of another record: a lower-case UUID.  ``kind`` names the record type meant."""

    pattern, length, what = UUID_PATTERN, 36, "the id of a record (a lower-case UUID)"

    def __init__(self, kind: str, **kwargs: Any) -> None:
        self.kind = kind
        super().__init__(metadata={"x-ref": kind}, **kwargs)


class Clock(_Shaped):
    """Identity of a device's clock: 64 random bits as 16 lower-case hex digits."""

    pattern, length, what = CLOCK_PATTERN, 16, "16 lower-case hex digits"


class Instant(_Shaped):
    """A moment in UTC with milliseconds, as ``2026-05-04T18:30:00.000Z``; sorts as text."""

    pattern, length = INSTANT_PATTERN, 24
    what = "a moment in UTC such as 2026-05-04T18:30:00.000Z"

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            datetime.fromisoformat(text)
        except ValueError:
            raise ValidationError(f"{text} is not a date and time that exists.") from None
        return text


class Sha256(_Shaped):
    """SHA-256 of a picture's bytes, lower-case hex."""

    pattern, length, what = SHA256_PATTERN, 64, "a SHA-256 as 64 lower-case hex digits"


class OrderKey(_Shaped):
    """Fractional key: text over 0-9A-Za-z that sorts its record among its siblings."""

    pattern, length, what = ORDER_PATTERN, 64, "an order key of 1 to 64 digits and letters"


class LabelCode(_Shaped):
    """Code of a label, eight characters with its check character, in capitals, no separator."""

    pattern, length, what = CODE_PATTERN, 8, "a label code of eight characters"


class Text(fields.String):
    """Free text of at most ``most`` characters, without control characters."""

    def __init__(self, most: int, *, least: int = 0, **kwargs: Any) -> None:
        kwargs.setdefault("allow_none", not kwargs.get("required", False))
        self.most = most
        self.least = least
        super().__init__(validate=validate.Length(min=least or None, max=most), **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise ValidationError("Must be text.")
        if _CONTROL.search(value):
            raise ValidationError("Must not contain control characters.")
        try:
            value.encode("utf-8")
        except UnicodeEncodeError:
            raise ValidationError("Must be valid Unicode.") from None
        if self.least and not value.strip():
            raise ValidationError("Must not be empty.")
        return value


class Word(Text):
    """One of a few words."""

    def __init__(self, *words: str, **kwargs: Any) -> None:
        self.words = words
        metadata = {"enum": [*words] if kwargs.get("required") else [*words, None]}
        super().__init__(32, metadata=metadata, **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if value not in self.words:
            raise ValidationError(f"Must be one of: {', '.join(self.words)}.")
        return str(value)


class Whole(fields.Integer):
    """A whole number within bounds; a fraction or a text of digits is refused."""

    def __init__(self, least: int, most: int, **kwargs: Any) -> None:
        kwargs.setdefault("allow_none", not kwargs.get("required", False))
        super().__init__(strict=True, validate=validate.Range(least, most), **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValidationError("Must be a whole number.")
        return int(value)


class Number(fields.Float):
    """A finite number within bounds; its unit is said by the field that uses it."""

    def __init__(self, least: float, most: float, **kwargs: Any) -> None:
        kwargs.setdefault("allow_none", not kwargs.get("required", False))
        super().__init__(validate=validate.Range(least, most), **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError("Must be a number.")
        if not is_finite(value):
            raise ValidationError("Must be a finite number.")
        # As it was sent: 4 stays 4, so that it is written again as it came.
        number: float = value
        return number


class YesNo(fields.Boolean):
    """true or false; no other spelling."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("allow_none", not kwargs.get("required", False))
        super().__init__(**kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise ValidationError("Must be true or false.")
        return value


class Several(fields.List):  # type: ignore[type-arg]
    """A list of at most ``most`` values of one kind."""

    def __init__(self, inner: fields.Field[Any], most: int, **kwargs: Any) -> None:
        kwargs.setdefault("allow_none", not kwargs.get("required", False))
        super().__init__(inner, validate=validate.Length(max=most), **kwargs)


class Frame(Several):
    """A rectangle on a page: [left, top, width, height], each a fraction 0 to 1 of the page."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Number(0, 1, required=True), 4, **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> list[Any]:
        frame: list[Any] = super()._deserialize(value, attr, data, **kwargs)
        if len(frame) != 4 or frame[0] + frame[2] > 1.0001 or frame[1] + frame[3] > 1.0001:
            raise ValidationError("Must be left, top, width, height within the page (0 to 1).")
        return frame
