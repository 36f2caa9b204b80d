"""Every known pitfall of phones and failure of sync has a test that names it, or a stated reason.

The numbers are those by which tests name what they provoke (``pitfall 21``, ``failure 16``).  Short
titles stand here, so that a number means something to whoever reads a test.
"""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

#: Pitfalls of an app on a phone: secure origin 1-5, decoding 6-9, camera 10-13, labels 14-19,
#: worker and server 20-26, storage 27-29, photos 30-33, safety and use 34-39, at the bench 40-45.
PITFALLS = {
    1: "plain HTTP has no workers, camera or crypto",
    2: "a certificate warning clicked away leaves the app without offline use",
    3: "what phones demand of a local certificate",
    4: "which way to HTTPS is offered first; public certificates live ever shorter",
    5: "a spoofed Host gets onto labels and pairing",
    6: "the decoder comes from elsewhere",
    7: "the decoder's glue and binary do not match",
    8: "the decoder's default options are slow",
    9: "the browser's own decoder differs by platform",
    10: "every call for the camera asks again",
    11: "black picture after the app was in the background",
    12: "the wrong lens for what is near",
    13: "torch, refusal and absence of a camera",
    14: "scheme in capitals is not opened by some cameras",
    15: "the host changes, the stickers stay",
    16: "modules too small, quiet zone too narrow",
    17: "glare and creases",
    18: "printers scale and shift",
    19: "seams between runs of a symbol",
    20: "the worker never registers",
    21: "a tag of size and time hides a changed file",
    22: "an update pulls files from under open pages",
    23: "redirects and a shell for what is no screen",
    24: "a sleeping server hangs requests",
    25: "a logout that clears the storage",
    26: "replies of the API are stored",
    27: "tabs are purged, the home screen has its own storage",
    28: "Blobs cannot be kept by some browsers",
    29: "no room",
    30: "the page is killed behind the camera",
    31: "pictures of kinds that nobody reads",
    32: "a canvas that is too large comes out blank",
    33: "pictures that unpack to gigapixels",
    34: "a policy that stops the decoder",
    35: "pairing codes in logs, used twice",
    36: "a manifest without a scope",
    37: "the screen goes dark at the bench",
    38: "targets too small",
    39: "traps of testing: tools that no longer test, policies that stop them",
    40: "greasy hands, gloves, one thumb",
    41: "numbers with comma or point",
    42: "pull to refresh loses what was typed",
    43: "narrow screens, large text, notch",
    44: "object URLs that leak; one action for each sight of a code",
    45: "a captive portal answers 200",
}

#: Failures of offline sync: on the server 1-15, on the device 16-34.
FAILURES = {
    1: "a later sequence commits first",
    2: "a sequence is used again",
    3: "the reply is lost after the commit",
    4: "a batch is cut anew when it is sent again",
    5: "overlapping retries",
    6: "one bad change blocks the queue",
    7: "the server was restored",
    8: "a purged record comes back",
    9: "a revoked device holds the floor down",
    10: "delete beside edit",
    11: "whole records overwrite each other",
    12: "a clock that is ahead",
    13: "a failed batch moves the clock",
    14: "a first read that dies midway",
    15: "a transaction that reads before it writes",
    16: "dequeued before it was acknowledged",
    17: "an edit during a push is taken for sent",
    18: "the cursor is saved before the data",
    19: "two tabs flush",
    20: "two tabs mint one stamp",
    21: "an upgrade is blocked by an old tab",
    22: "an upgrade wipes the outbox",
    23: "no room",
    24: "the browser has cleared the storage",
    25: "Blobs cannot be kept by some browsers",
    26: "the connection to the storage dies",
    27: "killed in the middle of a write",
    28: "no background sync",
    29: "a captive portal",
    30: "a new worker beside an old page",
    31: "401 or another account drops the queue",
    32: "plain HTTP in the house",
    33: "a copied device",
    34: "a photo cut off, orphaned, or deleted while shared",
}

#: Why no test names a number; each says when that will change, or what stands in for a test.
REASONS = {
    ("pitfall", 3): "belongs to a later part: the local certificate authority",
    ("pitfall", 4): "belongs to a later part: the guide to certificates; nothing runs",
}

_NAMED = re.compile(r"\b(pitfall|failure)s?[ _]+((?:\d+(?:\s*(?:,|-|to|and)\s*(?:and )?)?)+)", re.I)
_RANGE = re.compile(r"(\d+)\s*(?:-|to)\s*(\d+)")


def numbers_in(text: str) -> dict[str, set[int]]:
    """Which numbers a text names: single ones, lists and ranges."""
    found: dict[str, set[int]] = defaultdict(set)
    for kind, list_ in _NAMED.findall(text.lower().replace("_", " ")):
        for low, high in _RANGE.findall(list_):
            found[kind].update(range(int(low), int(high) + 1))
        found[kind].update(map(int, re.findall(r"\d+", list_)))
    return found


def test_lists_and_ranges_are_understood() -> None:
    text = "Pitfalls 6, 8 and 44; failures 3, 16; def test_failure_27_what; pitfalls 10 to 13"
    assert numbers_in(text) == {"pitfall": {6, 8, 44, 10, 11, 12, 13}, "failure": {3, 16, 27}}


def python_tests(source: str) -> str:
    """Tests and state machines of a module, docstrings and all; its header proves nothing."""
    lines = source.splitlines()
    return "\n".join(
        "\n".join(lines[one.lineno - 1 : one.end_lineno])
        for one in ast.walk(ast.parse(source))
        if (isinstance(one, ast.FunctionDef) and one.name.startswith("test_"))
        or (isinstance(one, ast.ClassDef) and "Machine" in ast.unparse(one))
    )


def script_tests(source: str) -> str:
    """What stands below the header's comment and the imports."""
    return source.rpartition("\nimport ")[2]


def found_in_tests() -> dict[tuple[str, int], set[str]]:
    """The files of tests by what they name, this one left out."""
    found: dict[tuple[str, int], set[str]] = defaultdict(set)
    files = [(path, python_tests) for path in sorted((ROOT / "tests").rglob("test_*.py"))]
    files += [(path, script_tests) for path in sorted((ROOT / "client/test").glob("*.test.ts*"))]
    for path, tests_of in files:
        if path == Path(__file__).resolve():
            continue
        for kind, numbers in numbers_in(tests_of(path.read_text(encoding="utf-8"))).items():
            for number in numbers:
                found[kind, number].add(str(path.relative_to(ROOT)))
    return found


TABLE = [("pitfall", number, title) for number, title in PITFALLS.items()]
TABLE += [("failure", number, title) for number, title in FAILURES.items()]


@pytest.fixture(scope="module")
def named() -> dict[tuple[str, int], set[str]]:
    return found_in_tests()


@pytest.mark.parametrize(("kind", "number", "title"), TABLE, ids=lambda one: str(one))
def test_a_test_names_it_or_a_reason_is_given(
    kind: str, number: int, title: str, named: dict[tuple[str, int], set[str]]
) -> None:
    reason = REASONS.get((kind, number))
    if named.get((kind, number)):
        assert reason is None, f"{kind} {number} has a test now: take its reason out"
    else:
        assert reason, f"no test names {kind} {number}: {title}"


def test_no_test_names_a_number_that_does_not_exist(
    named: dict[tuple[str, int], set[str]],
) -> None:
    known = {(kind, number) for kind, number, _ in TABLE}
    assert {key: files for key, files in named.items() if key not in known} == {}


def test_the_table_is_whole() -> None:
    assert list(PITFALLS) == list(range(1, 46))
    assert list(FAILURES) == list(range(1, 35))
    assert set(REASONS) <= {(kind, number) for kind, number, _ in TABLE}
