"""Lines of parts lists as people copy them.  The spellings are common practice."""

# The signs that people use for a cross and a dash are what is tested here.
# ruff: noqa: RUF001

import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bagtrail.domain.intake import texts
from bagtrail.trade.part_lines import (
    HEADING,
    LINE_MAX,
    LONG,
    NOTHING,
    QUANTITY_MAX,
    SENTENCE,
    PartLine,
    read,
    read_all,
)
from bagtrail.wire.intake import values_of
from demo.tarn6.catalogue import PARTS

BUTTON, CAP = "M3x12 button head screw, ISO 7380-1", "M3x12 cap screw, ISO 4762"

#: Text: quantity, number, name, designation, material.
CERTAIN = {
    "M3x12 button head x8": (8, None, "M3x12 button head", BUTTON, None),
    "M3x12 ×8": (8, None, "M3x12", "M3x12 screw", None),
    "M3x12 x8": (8, None, "M3x12", "M3x12 screw", None),
    "8x M3x12 BHCS": (8, None, "M3x12 BHCS", BUTTON, None),
    "8xM3x12": (8, None, "M3x12", "M3x12 screw", None),
    "8 x 3x12 BHCS": (8, None, "3x12 BHCS", BUTTON, None),
    "x8 M3x12 BHCS": (8, None, "M3x12 BHCS", BUTTON, None),
    "4 M3x12 BHCS": (4, None, "M3x12 BHCS", BUTTON, None),
    "• 4 M3x12 BHCS": (4, None, "M3x12 BHCS", BUTTON, None),
    "1. M3x12 BHCS x8": (8, None, "M3x12 BHCS", BUTTON, None),
    "[ ] M3x12 BHCS x8": (8, None, "M3x12 BHCS", BUTTON, None),
    "M3x12 SHCS (4)": (4, None, "M3x12 SHCS", CAP, None),
    "M3x12 SHCS [x4]": (4, None, "M3x12 SHCS", CAP, None),
    "M3x12 SHCS (4x)": (4, None, "M3x12 SHCS", CAP, None),
    "M3x12 SHCS x 4 pcs": (4, None, "M3x12 SHCS", CAP, None),
    "M3x12 SHCS: 4": (4, None, "M3x12 SHCS", CAP, None),
    "M3x12 SHCS = 4": (4, None, "M3x12 SHCS", CAP, None),
    "Qty: 4 M3x12 SHCS": (4, None, "M3x12 SHCS", CAP, None),
    "M3x12 SHCS, 4 off": (4, None, "M3x12 SHCS", CAP, None),
    "4 pcs of M3x12 SHCS": (4, None, "M3x12 SHCS", CAP, None),
    "4 pcs 5x11x4 bearing": (4, None, "5x11x4 bearing", "5x11x4 bearing", None),
    "4 Stk. Kugellager 5x11x4": (4, None, "Kugellager 5x11x4", "5x11x4 bearing", None),
    "Kugellager 5x11x4, 4 Stück": (4, None, "Kugellager 5x11x4", "5x11x4 bearing", None),
    "Anzahl 4: Kugellager 5x11x4": (4, None, "Kugellager 5x11x4", "5x11x4 bearing", None),
    "(2) part no. T6-114 knuckle": (2, "T6-114", "knuckle", None, None),
    "Part # T6-114 - Knuckle - Qty 2": (2, "T6-114", "Knuckle", None, None),
    "Teilenummer T6-114, Achsschenkel, 2 Stk": (2, "T6-114", "Achsschenkel", None, None),
    "T6-106 Crown gear, 43 teeth  2": (2, "T6-106", "Crown gear, 43 teeth", None, None),
    "T6-106 Crown gear, 43 teeth ..... 2": (2, "T6-106", "Crown gear, 43 teeth", None, None),
    "T6-106 Crown gear, 43 teeth . . . . 2": (2, "T6-106", "Crown gear, 43 teeth", None, None),
    "T6-617 Pivot ball 8  4": (4, "T6-617", "Pivot ball 8", None, None),
    "T6-750 Fuel tank, 700 ml x1": (1, "T6-750", "Fuel tank, 700 ml", None, None),
    "T6-124 Spur gear, 54 teeth, steel; 1": (1, "T6-124", "Spur gear, 54 teeth", None, "steel"),
    "2 T6-114 Knuckle": (2, "T6-114", "Knuckle", None, None),
    "2 x T6-930 15x24x5 bearing": (2, "T6-930", "15x24x5 bearing", "15x24x5 bearing", None),
    "2 × T6-930 bearing for the case": (2, "T6-930", "bearing for the case", None, None),
    "Qty 4 – O-ring 10x2 (T6-108)": (4, "T6-108", "O-ring 10x2", "10x2 O-ring", None),
    "10x2 O-ring x4": (4, None, "10x2 O-ring", "10x2 O-ring", None),
    "2 x 3x8x0.5 washer": (2, None, "3x8x0.5 washer", "3x8x0.5 washer", None),
    "2 E-rings": (2, None, "E-rings", None, None),
    "E-ring 5 x2": (2, None, "E-ring 5", "E-ring 5", None),
    "4-40 x 3/8 BHCS x4": (4, None, "4-40 x 3/8 BHCS", "#4-40x3/8 button head screw", None),
    "T6-901\tCap screw\tM3x12\t4": (4, "T6-901", "Cap screw M3x12", CAP, None),
    "T6-901;Hexagon socket head cap screw M3x12;8": (
        8, "T6-901", "Hexagon socket head cap screw M3x12", CAP, None,
    ),
    "4\tT6-901\tCap screw M3x12\tsteel": (4, "T6-901", "Cap screw M3x12", CAP, "steel"),
    "T6-101 | Differential case | aluminium | 1": (
        1, "T6-101", "Differential case", None, "aluminium",
    ),
    "T6-107 Case gasket (paper)  2": (2, "T6-107", "Case gasket", None, "paper"),
    "T6-301 Chassis plate, stainless steel  1": (
        1, "T6-301", "Chassis plate", None, "stainless steel",
    ),
    "M4 Stoppmutter 10x": (10, None, "M4 Stoppmutter", "M4 lock nut", None),
    "Pin 2x9.8 x2": (2, None, "Pin 2x9.8", "2x9.8 pin", None),
    "T6-870 Preload spacer, 4 mm x12": (12, "T6-870", "Preload spacer, 4 mm", None, None),
    "Receiver box\t1": (1, None, "Receiver box", None, None),
    "Mount cap (T6-703) x1": (1, "T6-703", "Mount cap", None, None),
    "Body clip x4": (4, None, "Body clip", None, None),
    "106523 Knuckle x2": (2, "106523", "Knuckle", None, None),
    "MR105-2RS bearing x2": (2, None, "MR105-2RS bearing", "MR105-2RS ball bearing", None),
    "M4x20 SHCS A2-70 x2": (
        2, None, "M4x20 SHCS A2-70", "M4x20 cap screw, ISO 4762, class A2-70", None,
    ),
    "100000 pcs M3 washer": (100_000, None, "M3 washer", "M3 washer", None),
}  # fmt: skip


@pytest.mark.parametrize("text", CERTAIN)
def test_line_is_read(text):
    made = read(text)
    assert made is not None
    assert (made.quantity, made.number, made.name, made.designation, made.material) == CERTAIN[text]
    assert made.asks == ()
    assert made.sure >= 0.8
    assert made.text == text


#: How lists write a line.
STYLES = (
    "{n} x {number} {name}", "{n}x {number} {name}", "{n} {number} {name}, {material}",
    "{n} pcs {number} {name}",
    "{number} {name} x{n}", "{number} {name} ×{n}", "{number} {name}  {n}", "{number} {name} ({n})",
    "{number} {name} ........ {n}", "{number}\t{name}\t{n}", "{number};{name};{n}",
    "{number} | {name} | {material} | {n}", "{name} ({number}) x{n}",
    "• {number} – {name} – {n} pcs",
    "{name}, part no. {number}, qty {n}", "{n} Stk. {name} ({number})", "- {n} × {number}: {name}",
    "{number}\t{n}\t{name}\t{material}", "[ ] {number} {name}, {n} off", "{name}\t{number}\t{n}",
)  # fmt: skip


@pytest.mark.parametrize("style", STYLES)
def test_every_part_of_the_demo_kit_is_read_in_every_style(style):
    for part in PARTS.values():
        for n in (1, 12):
            text = style.format(n=n, number=part.number, name=part.name, material=part.material)
            made = read(text)
            assert made is not None, text
            assert (made.quantity, made.number) == (n, part.number), text
            if "{material}" in style:
                assert made.material == part.material, text
            if made.material and "{material}" not in style:
                assert made.material in part.name, text
            else:
                assert made.name == part.name, text
            assert made.asks == (), text


#: Text: the fields that are asked, the first one's options.
ASKED = {
    "M3x12": (["quantity"], (1,)),
    "T6-114": (["quantity"], (1,)),
    "T6-114 Knuckle": (["quantity"], (1,)),
    "10x2 O-ring": (["quantity"], (1,)),
    "3x12": (["quantity", "designation"], (1,)),
    "3x12 x8": (["designation"], ("M3x12 screw", "3x12 tapping screw", "3x12 pin")),
    "4 x 5x11x4": (["designation"], ("5x11x4 bearing", "5x11x4 spacer", "5x11x4 bush")),
    "M3 x 12 x 8": (["quantity"], (8, 1)),
    "M3x8x2": (["quantity"], (2, 1)),
    "T6-617 Pivot ball 8": (["quantity"], (8, 1)),
    "T6-101 Differential case, aluminium 1": (["quantity"], (1,)),
    "2 Body clips": (["quantity"], (2, 1)),
    "1 T6-101 Case 2": (["quantity"], (1, 2)),
    "2 pcs M3x12 BHCS x8": (["quantity"], (2, 8)),
    "100001 pcs M3 washer": (["quantity"], ()),
    "0 x M3 washer": (["quantity"], ()),
    "T6-420 / T6-421 Knuckles x2": (["number"], ("T6-420", "T6-421")),
    "Front gearbox ......... 12": (["quantity"], (12,)),
}  # fmt: skip


@pytest.mark.parametrize("text", ASKED)
def test_what_a_line_leaves_open_is_asked_and_not_guessed(text):
    made = read(text)
    assert made is not None
    fields, options = ASKED[text]
    assert [question.field for question in made.asks] == fields
    assert made.asks[0].options == options
    for field in fields:
        assert getattr(made, field) is None
    assert made.sure <= 0.6


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("Press the bearing onto the neck of the case until it sits flat.", SENTENCE),
        ("Fix the gasket with four M3x12 screws.", SENTENCE),
        ("Tighten 4 x M3x12 BHCS evenly.", SENTENCE),
        ("2 screws M3x12 hold the plate to the case.", SENTENCE),
        ("Das Lager auf den Hals des Gehäuses drücken, bis es aufliegt.", SENTENCE),
        ("Insert 2 x T6-114 and turn.", SENTENCE),
        ("Bag 3", HEADING), ("Step 2.1", HEADING), ("Page 12", HEADING), ("Abb. 3", HEADING),
        ("Time: 20 minutes", HEADING),
        ("Front axle", NOTHING), ("", NOTHING), ("   ", NOTHING), ("---", NOTHING),
        ("43 teeth", NOTHING), ("No. 12 Front axle", NOTHING), ("x" * 501, LONG),
    ],
)  # fmt: skip
def test_line_that_is_no_part_line_is_none_and_says_why(text, reason):
    assert read(text) is None
    rows = read_all("M3x12 x8\n" + text + "\nBag 9")
    if text.strip() and not rows[1].places:
        assert (rows[1].line, rows[1].reason) == (None, reason)


LIST = """Parts of the front axle

Bag 3: Front gearbox
T6-101 Differential case, aluminium 1
T6-102 Outdrive, short 2
T6-617 Pivot ball 8 4
M3x12 BHCS 8
Beutel 4 / Schritt 2.1
4 pcs 5x11x4 bearing
Press the bearing onto the neck of the case until it sits flat.
Step 2.2 - Close it
2 x M4 lock nut
Bag 5
2 Body clips
Bag 6: M3x12 SHCS x4
3 x M4 lock nut
"""


def test_lines_belong_to_the_bag_and_step_above_them():
    rows = read_all(LIST)
    assert [row.row for row in rows] == list(range(1, 18))
    got = [(row.row, row.line.bag, row.line.step) for row in rows if row.line]
    assert got == [
        (4, "3", None), (5, "3", None), (6, "3", None), (7, "3", None), (9, "4", "2.1"),
        (12, "4", "2.2"), (14, "5", None), (15, "6", None), (16, "5", None),
    ]  # fmt: skip
    named = [(place.what, place.number, place.title) for row in rows for place in row.places]
    assert named == [
        ("bag", "3", "Front gearbox"), ("bag", "4", ""), ("step", "2.1", ""),
        ("step", "2.2", "Close it"), ("bag", "5", ""), ("bag", "6", ""),
    ]  # fmt: skip
    assert (rows[0].reason, rows[9].reason) == (HEADING, SENTENCE)
    assert rows[1].reason == ""


def test_lines_of_one_bag_tell_that_their_last_number_is_the_quantity():
    lines = [row.line for row in read_all(LIST)][3:7]
    assert [line.quantity for line in lines] == [1, 2, 4, 8]
    assert [line.asks for line in lines] == [(), (), (), ()]
    assert [line.name for line in lines] == [
        "Differential case", "Outdrive, short", "Pivot ball 8", "M3x12 BHCS",
    ]  # fmt: skip
    assert lines[0].material == "aluminium"


@pytest.mark.parametrize(
    ("text", "quantities"),
    [
        ("1 T6-101 Case 2\n2 T6-102 Cup 1\n3 T6-103 Pin 4", [2, 1, 4]),
        ("1\tT6-101\tCase\t2\n2\tT6-102\tCup\t1\n3\tT6-103\tPin\t4", [2, 1, 4]),
        ("2 Body clips\n4 Ball ends\n1 Aerial", [2, 4, 1]),
        ("T6-101, Case, 2\nT6-103, Cup, 43 teeth, 3\nT6-108, O-ring 10x2, 4", [2, 3, 4]),
        # Three lines that do not agree tell nothing, and neither do two.
        ("T6-101 Case 2\nT6-102 Cup\nT6-103 Pin 4", [None, None, None]),
        ("T6-101 Case 2\nT6-102 Cup 1", [None, None]),
        ("5 T6-101 Case 2\n1 T6-102 Cup 1\n7 T6-103 Pin 4", [None, None, None]),
        # Running numbers without another number may be either.
        ("1 Body clip\n2 Ball end\n3 Aerial", [None, None, None]),
    ],
)
def test_a_list_tells_what_its_lines_leave_open(text, quantities):
    assert [row.line.quantity for row in read_all(text)] == quantities


def test_a_line_that_only_begins_like_a_bag_names_none():
    for text in ("Bag 3 is empty", "Step 2 of the manual shows it", "Bagger 3", "Steps"):
        assert read_all(text)[0].places == ()


# --- As findings of an intake ---------------------------------------------------------------------


def test_findings_name_bags_and_steps_once_and_keep_rows():
    found, unfit = texts.findings(LIST, "list.txt")
    assert [(one.what, one.values["number"]) for one in found if one.what != "part_line"] == [
        ("bag", "3"), ("bag", "4"), ("step", "2.1"), ("step", "2.2"), ("bag", "5"), ("bag", "6"),
    ]  # fmt: skip
    step = next(one for one in found if one.values["number"] == "2.2")
    assert step.values == {"number": "2.2", "title": "Close it", "bags": ["4"]}
    line = next(one for one in found if one.row == 9)
    assert line.values == {
        "quantity": 4, "number": None, "name": "5x11x4 bearing", "designation": "5x11x4 bearing",
        "material": None, "bag": "4", "step": "2.1",
    }  # fmt: skip
    assert [(one.file, one.row, one.reason) for one in unfit] == [
        ("list.txt", 1, HEADING), ("list.txt", 10, SENTENCE),
    ]  # fmt: skip


def test_findings_are_bounded():
    text = "\n".join(["M3x12 x8"] * 5003) + "\n\n"
    found, unfit = texts.findings(text, "long.txt")
    assert len(found) == 5000
    assert [one.row for one in unfit] == [5001]
    assert "3 more" in unfit[0].reason
    found, unfit = texts.findings("M3x12 x8 " + "z" * LINE_MAX, "wide.txt")
    assert (found, [one.reason for one in unfit]) == ([], [LONG])
    assert len(unfit[0].text) <= LINE_MAX


def test_a_name_longer_than_a_record_takes_is_asked():
    found, _ = texts.findings("T6-114 " + "knuckle " * 30 + "x2", "a.txt")
    assert found[0].values["name"] is None
    assert [ask.field for ask in found[0].asks] == ["name"]
    assert len(found[0].asks[0].options[0]) <= 160


def test_rows_count_as_an_editor_counts_them():
    text = "M3x12 x8\r\n\r\nM4 nut x2\rM5 nut x\u20282\x0bx3\nM6 nut x4"
    found, _ = texts.findings(text, "")
    assert [one.row for one in found] == [1, 3, 4, 5]


def check(text: str) -> None:
    found, unfit = texts.findings(text, "any.txt")
    for one in found:
        assert 0 <= one.sure <= 1
        assert one.row >= 1
        quantity = one.values.get("quantity")
        assert quantity is None or 0 < quantity <= QUANTITY_MAX
        if not one.asks:
            values_of(one.what, one.values)
        for ask in one.asks:
            assert ask.says.endswith(("?", "."))
            if ask.field == "quantity":
                assert all(0 < option <= QUANTITY_MAX for option in ask.options)
    for gone in unfit:
        assert gone.reason
    rows = {one.row for one in found} | {gone.row for gone in unfit}
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for row, line in enumerate(lines, start=1):
        # Nothing of the text is passed over in silence.
        named = any(place for place in read_all(line)[0].places)
        said = any(character.isalnum() and character.isprintable() for character in line)
        if said and not named:
            assert row in rows, line


PIECES = st.lists(
    st.one_of(
        st.sampled_from(list(CERTAIN) + list(ASKED) + LIST.splitlines()),
        st.sampled_from(
            [
                "Bag 3",
                "Step 2.1",
                " / ",
                "\n",
                "\t",
                ";",
                " ",
                "...",
                "(",
                ")",
                "x",
                "8",
                "pcs",
                "Qty",
                ":",
                "T6-114",
                "M3x12",
                "\r\n",
                "•",
                "\x00",
                "\ud800",
            ]
        ),
        st.text(max_size=8),
        st.integers(0, 10**12).map(str),
    ),
    max_size=12,
).flatmap(lambda parts: st.sampled_from([joint.join(parts) for joint in (" ", "", "\n")]))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(PIECES)
@example("Bag 3: Bag 4: M3x12 x8")
@example("x" * 600)
@example("Bag abc1234.123.123.123a")
def test_any_text_is_read_without_an_error(text):
    check(text)
    made = read(text)
    assert made is None or isinstance(made, PartLine)


def test_five_thousand_lines_are_read_in_time():
    lines = [line for line in LIST.splitlines() if line] + list(CERTAIN)
    text = "\n".join((lines * 200)[:5000])
    began = time.process_time()
    found, _ = texts.findings(text, "big.txt")
    # Half a second on a machine of its own; the rest is for others that use it too.
    assert time.process_time() - began < 3
    assert len(found) > 4000


@pytest.mark.parametrize(
    "unit",
    ["1x", "x1 ", "1 ", "(", "( ", ". ", " ", "[x", "bag 1 / ", "a-1", "-", "x ( 1 ", "T6-114 ",
     "no. 1 ", "qty ", "1 pcs ", ",", ", ", "steel, ", "x1 x2 "],
)  # fmt: skip
def test_hostile_lines_are_read_in_time(unit):
    text = (unit * 500)[:500]
    began = time.process_time()
    for _ in range(5):
        read_all(text)
    assert time.process_time() - began < 1
