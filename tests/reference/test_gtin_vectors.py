"""GTINs against GS1's own examples, python-stdnum and zxing-cpp.

``tests/contract/gtin.json`` is what they say; the client's ``core.gtin.test.ts`` runs it, too.

- ``check``: data and check digit. The first is GS1's own worked example (General Specifications);
  the others are numbers that stand in public examples of EAN-8, UPC-A, EAN-13 and
  GTIN-14, or are drawn by chance; python-stdnum says the digit of each.
- ``upc_e``: eight digits and the GTIN-13 that zxing-cpp reads out of the symbol drawn of them.
- ``wrong``: one digit changed, or two neighbours swapped, where that can be seen (swapped digits
  that differ by 5 cannot be told).

    python tests/reference/test_gtin_vectors.py      writes gtin.json
"""

import json
import random
from pathlib import Path
from typing import Any

import zxingcpp
from stdnum import ean

from bagtrail.trade import gtin

PATH = Path(__file__).parents[1] / "contract" / "gtin.json"
PRINTED = ["629104150021", "9638507", "03600029145", "400638133393", "1061414100041"]


def _by_zxing(digits: str) -> str:
    symbol = zxingcpp.create_barcode(digits, zxingcpp.BarcodeFormat.UPCE).to_image(scale=3)
    (read,) = zxingcpp.read_barcodes(symbol, zxingcpp.BarcodeFormat.UPCE)
    return read.text


def _suppressed(rng: random.Random, last: int) -> str:
    """A UPC-E whose last suppressing digit is ``last``; by trial, so that no rule is built in."""
    while True:
        body = f"0{rng.randrange(10**5):05d}{last}"
        for check in "0123456789":
            try:
                symbol = zxingcpp.create_barcode(body + check, zxingcpp.BarcodeFormat.UPCE)
            except ValueError:
                continue
            if zxingcpp.read_barcodes(symbol.to_image(scale=3)):
                return body + check


def answers() -> dict[str, Any]:
    rng = random.Random(20261125)
    drawn = [
        "".join(rng.choice("0123456789") for _ in range(length))
        for length in (7, 11, 12, 13)
        for _ in range(12)
    ]
    check = [[data, ean.calc_check_digit(data)] for data in PRINTED + drawn]
    upc_e = [[each, _by_zxing(each)] for last in range(10) for each in [_suppressed(rng, last)]]
    wrong = []
    for data, digit in check:
        full = data + digit
        at = rng.randrange(len(full))
        wrong.append(full[:at] + str((int(full[at]) + rng.randrange(1, 10)) % 10) + full[at + 1 :])
        for at in range(len(full) - 1):
            a, b = full[at], full[at + 1]
            if (int(a) - int(b)) % 5:
                wrong.append(full[:at] + b + a + full[at + 2 :])
                break
    return {"check": check, "upc_e": upc_e, "wrong": wrong}


KEPT = json.loads(PATH.read_text("utf-8")) if PATH.exists() else {}


def test_the_vectors_are_what_stdnum_and_zxing_say():
    assert answers() == KEPT
    assert KEPT["check"][0] == ["629104150021", "3"], "GS1's own example"
    for data, digit in KEPT["check"]:
        if len(data) in (7, 11, 12, 13):
            assert ean.is_valid(data + digit)
    assert not any(ean.is_valid(each) for each in KEPT["wrong"])
    assert {each[6] for each, _ in KEPT["upc_e"]} == set("0123456789")


def test_the_server_reads_them_as_the_client_does():
    for data, digit in KEPT["check"]:
        # Eight digits can also be a UPC-E: the scanner says which, as here.
        assert gtin.normal(data + digit, upc_e=False) == (data + digit).zfill(14)
    for eight, full in KEPT["upc_e"]:
        assert gtin.normal(eight, upc_e=True) == full.zfill(14)
    assert {gtin.normal(each, upc_e=False) for each in KEPT["wrong"]} == {None}


if __name__ == "__main__":
    PATH.write_text(json.dumps(answers(), indent=1) + "\n", encoding="utf-8")
