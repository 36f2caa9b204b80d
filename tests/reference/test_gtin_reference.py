"""Trade item numbers against GS1's own example and python-stdnum.

Sources: ``gtin.json`` (GS1 General Specifications mod 10; 6291041500213 is GS1's example);
python-stdnum (``stdnum.ean``) for the check digits; for UPC-E the zero-suppression table of the GS1
General Specifications, its pairs below from memory, each full number checked by python-stdnum;
zxing-cpp, which writes symbols from the eight digits and says the full number.
"""

import json
import random
from pathlib import Path

import pytest
import zxingcpp
from stdnum import ean

from bagtrail.trade import gtin

CASES = json.loads(Path(__file__).with_name("gtin.json").read_text("utf-8"))["cases"]
#: UPC-E and UPC-A; the last digit of the six says which zeros were left out.
UPC_E = [
    ("01234505", "012000003455"), ("01234514", "012100003454"), ("01234523", "012200003453"),
    ("01234531", "012300000451"), ("01234543", "012340000053"), ("01234558", "012345000058"),
    ("01234565", "012345000065"), ("01234596", "012345000096"), ("16543214", "165100004324"),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=[case["full"] for case in CASES])
def test_check_digits_of_published_numbers(case):
    assert gtin.check_digit(case["data"]) == case["check"]
    assert gtin.is_valid(case["full"])
    assert gtin.normal(case["full"]) == case["full"].zfill(14)
    assert ean.is_valid(case["full"])


@pytest.mark.parametrize("length", gtin.LENGTHS)
def test_check_digits_agree_with_python_stdnum(length):
    rng = random.Random(length)
    for _ in range(5000):
        data = "".join(rng.choices("0123456789", k=length - 1))
        assert gtin.check_digit(data) == ean.calc_check_digit(data)
        number = data + rng.choice("0123456789")
        assert gtin.is_valid(number) == ean.is_valid(number), number


def test_each_wrong_digit_is_caught():
    """GS1 promises it of mod 10; python-stdnum agrees on each."""
    for case in CASES:
        for place, digit in enumerate(case["full"]):
            for other in "0123456789".replace(digit, ""):
                wrong = case["full"][:place] + other + case["full"][place + 1 :]
                assert not gtin.is_valid(wrong)
                assert not ean.is_valid(wrong)


@pytest.mark.parametrize(("short", "full"), UPC_E)
def test_upc_e_is_expanded(short, full):
    assert ean.is_valid(full)
    assert gtin.expand_upc_e(short) == full
    assert gtin.normal(short) == gtin.normal(full) == "00" + full


def test_zxing_writes_the_same_numbers_as_upc_e():
    """zxing-cpp makes the check digit itself, and refuses zeros that another rule leaves out."""
    rng = random.Random(7)
    written = refused = 0
    for _ in range(400):
        body = rng.choice("01") + "".join(rng.choices("0123456789", k=6))
        try:
            symbol = zxingcpp.create_barcode(body, zxingcpp.BarcodeFormat.UPCE).text
        except ValueError:
            refused += 1
            assert not any(gtin.expand_upc_e(body + digit) for digit in "0123456789"), body
        else:
            written += 1
            expanded = gtin.expand_upc_e(body + symbol[-1])
            assert expanded is not None
            assert expanded.zfill(13) == symbol
    assert written > 300
    assert refused > 20


def test_eight_digits_that_fit_both_go_by_what_the_reader_saw_else_by_the_first_digit():
    both = [
        number for number in (f"{n:08d}" for n in range(0, 20_000_000, 997))
        if gtin.is_valid(number) and gtin.expand_upc_e(number)
    ]  # fmt: skip
    assert both
    for number in both[:50] + both[-50:]:
        as_upc_e = gtin.expand_upc_e(number).zfill(14)
        assert gtin.normal(number, upc_e=True) == as_upc_e
        assert gtin.normal(number, upc_e=False) == number.zfill(14)
        assert gtin.normal(number) == (as_upc_e if number[0] == "0" else number.zfill(14))


@pytest.mark.parametrize(
    "text",
    ["", "4006381333932", "400638133393", "12345", "96385075", "21234565", "٤٠٠٦٣٨١٣٣٣٩٣١",
     "4006381333931x", "https://example.org/4006381333931"],
)  # fmt: skip
def test_what_is_no_number_has_no_normal_form(text):
    assert gtin.normal(text) is None


def test_blanks_and_hyphens_are_ignored():
    assert gtin.normal(" 4 006381-333931 ") == "04006381333931"


def test_a_check_digit_of_no_digits_is_refused():
    with pytest.raises(ValueError, match="0 to 9"):
        gtin.check_digit("12a")
