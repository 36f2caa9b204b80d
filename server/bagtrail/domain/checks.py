"""Is a change well formed?  Pure; decided before any transaction begins."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import ValidationError

from ..wire.fields import is_finite
from ..wire.problems import Invalid
from ..wire.records import RECORDS, field_kinds

FIELDS_MAX = 64
UNKNOWN_VALUE_MAX_BYTES = 8_192
UNKNOWN_VALUE_MAX_DEPTH = 16

_FIELD_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")


def fields_problem(type_: str, fields: Mapping[str, Any]) -> Invalid | None:
    """Why these fields cannot be written to a record of this type, or None.

    Fields and types that this version does not know are let through within bounds, so that
    a newer device's work is kept and passed on.
    """
    if not 1 <= len(fields) <= FIELDS_MAX:
        return Invalid(f"A change sets between 1 and {FIELDS_MAX} fields, this one {len(fields)}.")
    known = field_kinds(type_) if type_ in RECORDS else {}
    errors: dict[str, Any] = {}
    for name, value in fields.items():
        kind = known.get(name)
        try:
            if kind is not None:
                kind.deserialize(value)
            else:
                _check_unknown(name, value)
        except ValidationError as error:
            errors[name] = error.messages
    if known and RECORDS[type_].lasting and fields.get("deleted") is not None:
        errors["deleted"] = [f"A {type_} cannot be deleted."]
    if not errors:
        return None
    names = ", ".join(errors)
    return Invalid(f"{type_}: {names} cannot be written like this.", errors=errors)


def _check_unknown(name: str, value: Any) -> None:
    if not _FIELD_NAME.fullmatch(name):
        raise ValidationError("Is not the name of a field.")
    levels = [*_levels(value)]
    if len(levels) > UNKNOWN_VALUE_MAX_DEPTH:
        raise ValidationError(f"Must be nested at most {UNKNOWN_VALUE_MAX_DEPTH} deep.")
    numbers = (item for level in levels for item in level if isinstance(item, int | float))
    if not all(map(is_finite, numbers)):
        # It would be no JSON on its way to other devices, and they could read nothing any more.
        raise ValidationError("Must hold finite numbers only.")
    if len(json.dumps(value)) > UNKNOWN_VALUE_MAX_BYTES:
        raise ValidationError(f"Must be at most {UNKNOWN_VALUE_MAX_BYTES} bytes of JSON.")


def _levels(value: Any) -> Iterator[list[Any]]:
    """What stands at each depth of lists and objects; level by level, whatever the depth."""
    level = [value]
    while level:
        yield level
        lists = [item for item in level if isinstance(item, list)]
        objects = [item.values() for item in level if isinstance(item, Mapping)]
        level = [inner for outer in (*lists, *objects) for inner in outer]
