"""Label codes against ISO/IEC 7064 as python-stdnum implements it, and against its own claims."""

import hashlib
import json
import random
from pathlib import Path

import pytest
from stdnum.iso7064 import mod_37_36

from bagtrail.trade import codes

VECTORS = json.loads((Path(__file__).parents[1] / "contract" / "codes.json").read_text("utf-8"))
DIGITS_AND_CAPITALS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

# Source: ISO/IEC 7064 MOD 37,36; the first is the example printed in the documentation of
# python-stdnum (module iso7064.mod_37_36), the others were computed with python-stdnum 2.2.
STANDARD_VALUES = [
    ("A12425GABC1234002", "M"),
    ("A", "H"),
    ("0", "2"),
    ("KIT0001", "K"),
    ("BAG12", "A"),
    ("Z9", "P"),
    ("STEP042", "Y"),
]


@pytest.mark.parametrize(("data", "check"), STANDARD_VALUES)
def test_check_character_of_published_values(data, check):
    assert codes.check_character(data) == check


def test_check_character_agrees_with_python_stdnum_on_random_texts():
    rng = random.Random(20)
    for _ in range(20_000):
        text = "".join(rng.choices(DIGITS_AND_CAPITALS, k=rng.randint(1, 24)))
        assert codes.check_character(text) == mod_37_36.calc_check_digit(text), text


def test_codes_in_the_vectors_are_valid_for_python_stdnum_and_slips_are_not():
    for case in VECTORS["valid"]:
        assert mod_37_36.is_valid(case["code"])
    for case in VECTORS["issued"]:
        if case["code"] is not None:
            assert mod_37_36.is_valid(case["code"])
    wrong = [case["text"] for case in VECTORS["slips"] if case["reason"] == "check"]
    assert wrong
    assert not any(mod_37_36.is_valid(text) for text in wrong)


def test_tags_in_the_vectors_are_the_first_ten_bits_of_sha_256():
    for case in VECTORS["tags"]:
        bits = bin(int(hashlib.sha256(case["workshop"].lower().encode()).hexdigest(), 16))[2:]
        bits = bits.zfill(256)[:10]
        high, low = int(bits[:5], 2), int(bits[5:], 2)
        assert case["tag"] == codes.ALPHABET[high] + codes.ALPHABET[low]


def test_every_single_wrong_character_is_caught():
    """ISO/IEC 7064 promises it; python-stdnum agrees on each of the wrong texts."""
    rng = random.Random(21)
    tried = 0
    for _ in range(150):
        code = codes.issue(VECTORS["tags"][0]["workshop"], lambda: rng.getrandbits(25))
        for place in range(len(code)):
            for other in codes.ALPHABET.replace(code[place], ""):
                wrong = code[:place] + other + code[place + 1 :]
                assert codes.normalise(wrong) == codes.Slip("check"), (code, wrong)
                assert not mod_37_36.is_valid(wrong)
                tried += 1
    assert tried == 150 * 8 * 31


def test_swaps_of_neighbours_are_nearly_all_caught():
    """72 of 45,360 adjacent swaps pass by python-stdnum too: the system's own limit."""
    rng = random.Random(22)
    tried = missed = 0
    for _ in range(4000):
        code = codes.issue(VECTORS["tags"][0]["workshop"], lambda: rng.getrandbits(25))
        for place in range(len(code) - 1):
            if code[place] == code[place + 1]:
                continue
            swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
            tried += 1
            passes = isinstance(codes.normalise(swapped), str)
            assert passes == mod_37_36.is_valid(swapped)
            missed += passes
    assert missed / tried < 0.005
