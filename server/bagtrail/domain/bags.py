"""Finding a bag by the code on its label."""

from __future__ import annotations

from typing import Any

from ..trade import codes
from ..wire.problems import Invalid, NotFound, OtherWorkshop
from . import records

_SLIPS = {
    "length": "A label's code has eight characters.",
    "character": "A label's code has digits and letters only, and no U.",
    "check": "The check character does not fit: one character is misread or mistyped.",
    "foreign": "This is not a code of a label.",
}


def bags_of(workshop: str, text: str) -> list[dict[str, Any]]:
    """Bags with this code, as {bag, kit}; more than one if two devices drew the same code.

    Raises Invalid if it is no code, OtherWorkshop if another workshop printed it, NotFound.
    """
    code = codes.normalise(text)
    if isinstance(code, codes.Slip):
        raise Invalid(_SLIPS[code.reason])
    found, _ = records.page(workshop, "bag", {"code": code}, None, 50)
    if not found and not codes.same_workshop(code, workshop):
        raise OtherWorkshop("This label was printed by another workshop.")
    if not found:
        raise NotFound("No bag of this workshop has this label.")
    return [{"bag": bag.id, "kit": bag.values["kit"]} for bag in found]
