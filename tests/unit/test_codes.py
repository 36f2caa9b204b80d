"""Label codes: the vectors that the client runs too, and what they cannot show."""

import json
import random
import re
import uuid
from pathlib import Path

import pytest

from bagtrail.trade import codes
from bagtrail.wire.fields import CODE_PATTERN

VECTORS = json.loads((Path(__file__).parents[1] / "contract" / "codes.json").read_text("utf-8"))
WORKSHOP = "018f3d5c-9a2b-7c41-8d6e-2f1a0b3c4d5e"


def test_both_sides_use_one_alphabet_and_forgive_the_same_separators():
    assert VECTORS["alphabet"] == codes.ALPHABET
    assert VECTORS["separators"] == codes.SEPARATORS


@pytest.mark.parametrize("case", VECTORS["tags"], ids=str)
def test_tag_of_a_workshop(case):
    assert codes.workshop_tag(case["workshop"]) == case["tag"]


@pytest.mark.parametrize("case", VECTORS["issued"], ids=str)
def test_code_from_random_bits(case):
    assert codes.code_from(case["workshop"], case["random"]) == case["code"]


@pytest.mark.parametrize("case", VECTORS["valid"], ids=str)
def test_valid_code_is_taken_as_it_is_and_printed_in_two_groups(case):
    assert codes.normalise(case["code"]) == case["code"]
    assert codes.in_clear(case["code"]) == case["clear"]
    assert codes.normalise(case["clear"]) == case["code"]


@pytest.mark.parametrize("case", VECTORS["forgiven"], ids=str)
def test_typed_code_is_forgiven(case):
    assert codes.normalise(case["text"]) == case["code"]


@pytest.mark.parametrize("case", VECTORS["slips"], ids=str)
def test_slip_is_caught_and_named(case):
    slip = codes.normalise(case["text"])
    assert isinstance(slip, codes.Slip)
    assert slip.reason == case["reason"]
    assert (slip.character is not None) == (case["reason"] == "character")


@pytest.mark.parametrize("case", VECTORS["scanned"], ids=str)
def test_pitfall_15_code_is_read_from_any_host_or_alone(case):
    assert codes.code_of(case["text"]) == case["code"]


@pytest.mark.parametrize("text", VECTORS["foreign"], ids=ascii)
def test_pitfall_15_other_texts_are_foreign(text):
    assert codes.code_of(text) == codes.Slip("foreign")


@pytest.mark.parametrize("case", VECTORS["same_workshop"], ids=str)
def test_workshop_of_a_code(case):
    assert codes.same_workshop(case["code"], case["workshop"]) is case["same"]


def test_issued_codes_are_new_fit_the_wire_and_can_be_read_back():
    rng = random.Random(1)
    taken: set[str] = set()
    for _ in range(5000):
        code = codes.issue(WORKSHOP, lambda: rng.getrandbits(codes.RANDOM_BITS), taken)
        assert code not in taken
        assert re.fullmatch(CODE_PATTERN, code)
        assert not set(code) & set("ILOU")
        assert codes.normalise(code) == code
        assert codes.same_workshop(code, WORKSHOP)
        taken.add(code)


def test_issue_draws_again_when_the_check_character_is_unusable_or_the_code_is_taken():
    unusable = next(r for r in range(1000) if codes.code_from(WORKSHOP, r) is None)
    usable = [r for r in range(1000) if codes.code_from(WORKSHOP, r) is not None][:2]
    first = codes.code_from(WORKSHOP, usable[0])
    draws = iter([unusable, usable[0], usable[1]])
    assert codes.issue(WORKSHOP, lambda: next(draws), {first}) == codes.code_from(
        WORKSHOP, usable[1]
    )


def test_issue_gives_up_on_a_source_that_is_not_random():
    unusable = next(r for r in range(1000) if codes.code_from(WORKSHOP, r) is None)
    with pytest.raises(RuntimeError):
        codes.issue(WORKSHOP, lambda: unusable)


@pytest.mark.parametrize("bits", [-1, 1 << 25])
def test_random_out_of_range_is_an_error(bits):
    with pytest.raises(ValueError, match="random must be 0 to 33554431"):
        codes.code_from(WORKSHOP, bits)


def test_workshop_that_is_no_uuid_is_an_error():
    with pytest.raises(ValueError, match="hexadecimal"):
        codes.workshop_tag("not-a-uuid")


def test_workshop_tag_takes_a_uuid_in_any_spelling():
    assert codes.workshop_tag(uuid.UUID(WORKSHOP)) == codes.workshop_tag(WORKSHOP.upper())
