"""Trade item numbers as barcodes on bags carry them: GTIN-8, -12, -13, -14 and UPC-E.

Source: GS1 General Specifications, check digit calculation (mod 10 with weights 3 and 1 from the
right) and the rules by which UPC-E leaves zeros out.
"""

from __future__ import annotations

LENGTHS = (8, 12, 13, 14)
_SEPARATORS = str.maketrans("", "", " -\u00a0\u2009\u202f")


def check_digit(data: str) -> str:
    """The digit that follows ``data`` (digits of any length, without their check digit).

    Raises ValueError for a text that is not made of the digits 0 to 9.
    """
    if not (data.isascii() and data.isdigit()):
        raise ValueError("A check digit is made of the digits 0 to 9 alone.")
    weighted = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(data[::-1]))
    return str(-weighted % 10)


def is_valid(digits: str) -> bool:
    """Whether these are 8, 12, 13 or 14 digits of which the last is the right check digit."""
    return (
        len(digits) in LENGTHS
        and digits.isascii()
        and digits.isdigit()
        and check_digit(digits[:-1]) == digits[-1]
    )


def expand_upc_e(digits: str) -> str | None:
    """The twelve digits of UPC-A that eight digits of UPC-E stand for, their check digit checked.

    None if these are no eight digits, the first is neither 0 nor 1, the check digit is wrong, or
    another spelling of UPC-E should have been used for the same number.
    """
    if len(digits) != 8 or not (digits.isascii() and digits.isdigit()) or digits[0] not in "01":
        return None
    system, body, check = digits[0], digits[1:7], digits[7]
    last = body[5]
    if last in "012":
        full = body[:2] + last + "0000" + body[2:5]
    elif last == "3":
        full = body[:3] + "00000" + body[3:5]
        if body[2] in "012":
            return None
    elif last == "4":
        full = body[:4] + "00000" + body[4]
        if body[3] == "0":
            return None
    else:
        full = body[:5] + "0000" + last
        if body[4] == "0":
            return None
    made = system + full + check
    return made if is_valid(made) else None


def normal(text: str, upc_e: bool | None = None) -> str | None:
    """The number as 14 digits with leading zeros, the one form in which all compare; None if the
    text is none or its check digit is wrong.  Blanks and hyphens between digits are ignored.

    Eight digits can be GTIN-8 or UPC-E.  ``upc_e`` says which, if the reader of the symbol knew;
    without it the check digit decides, and where both fit the first digit: GS1 keeps GTIN-8 that
    begin with 0 for use inside a company, so that a maker's number is UPC-E.
    """
    digits = text.strip().translate(_SEPARATORS)
    short = is_valid(digits)
    long = expand_upc_e(digits) if upc_e is not False else None
    if upc_e:
        short = False
    if long and (not short or digits[0] == "0"):
        return long.zfill(14)
    return digits.zfill(14) if short else None
