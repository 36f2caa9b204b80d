"""Reading hardware: many spellings of one thing, one normal spelling, and questions for the rest.

The spellings are common practice; what a published source says of designations is held by
tests/reference/test_designations_reference.py.
"""

# The signs that people use for a cross and a dash are what is tested here.
# ruff: noqa: RUF001

import re
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bagtrail.trade.designations import Designation, names_hardware, read
from bagtrail.trade.hardware import DRIVE_WORDS, HEAD_WORDS, KIND_WORDS, VARIETY_WORDS
from bagtrail.trade.hardware_words import PHRASES, STANDARDS
from demo.tarn6.catalogue import PARTS

#: Normal spelling: other spellings of the same.
SAME = {
    "M3x12 screw": [
        "M3x12", "M3 × 12", "m3X12mm", "M3*12", "M 3 x 12 mm", "M3 x 0.5 x 12", "M3-0.5x12",
        "Schraube M3x12", "M3x12 machine screw", "Maschinenschrauben M3 x 12", "M3x12 bolts",
    ],
    "M3x12 cap screw, ISO 4762": [
        "M3x12 SHCS", "M3x12 cap screw", "M3x12 socket head cap screw", "socket head cap M3x12",
        "Hexagon socket head cap screw ISO 4762 - M3 x 12", "Zylinderkopfschraube M3x12",
        "M3x12 Zylinderkopf", "Zylinderschraube mit Innensechskant M3x12", "3x12 SHCS",
        "3 x 12 mm cap head", "M3x12 cap screws", "DIN EN ISO 4762 M3x12",
    ],
    "M3x12 cap screw, DIN 912": ["DIN 912 M3x12", "M3x12 DIN912", "Zylinderschraube DIN 912 M3x12"],
    "M3x12 cap screw, DIN 912, class 8.8": ["DIN 912-8.8 M3x12", "DIN 912 M3x12 8.8"],
    "M6x35 cap screw, ISO 4762, class 12.9": ["ISO 4762 - M6 x 35 - 12.9", "M6x35-12.9 SHCS"],
    "M4x20 cap screw, ISO 4762, class A2-70": ["ISO 4762 M4x20 A2-70"],
    "M3x12 button head screw, ISO 7380-1": [
        "M3x12 BHCS", "M3x12 button head", "M3×12 button head cap screw", "BH M3x12",
        "M3x12BHCS", "Linsenkopf mit Innensechskant M3x12", "Halbrundkopfschraube M3x12",
    ],
    "M2x6 button head screw": ["M2x6 BHCS"],  # ISO 7380-1 begins at M3
    "M3x12 flanged button head screw": ["M3x12 button head, flanged", "M3x12 flange button head"],
    "M3x10 countersunk screw": [
        "M3x10 CSK", "M3x10 countersunk", "M3x10 flat head", "M3x10 FH", "Senkkopfschraube M3x10",
        "M3x10 Senkkopf", "Senkschrauben M3 x 10",
    ],
    "M3x10 hexagon socket countersunk screw": [
        "M3x10 FHCS", "Hexagon socket countersunk screw M3x10", "M3x10 flat head cap screw",
        "Senkkopf mit Innensechskant M3x10", "M3x10 countersunk, hex socket",
    ],
    "M3x10 countersunk screw, ISO 10642": ["ISO 10642 M3x10", "M3x10 FHCS ISO 10642"],
    "M3x10 pan head screw": ["M3x10 pan", "M3x10 pan head screw"],
    "M3x10 cross recess pan head screw": [
        "M3x10 pan head, cross recess", "Linsenkopf Kreuzschlitz M3x10",
    ],
    "M3x10 hexagon head screw": ["M3x10 hex head", "M3x10 hex bolt", "Sechskantschraube M3x10"],
    "M4x4 set screw": [
        "grub screw M4x4", "M4 x 4 grub", "M4x4 setscrew", "Madenschraube M4x4", "4x4 set screw",
        "Gewindestift M4x4",
    ],
    "M4x4 set screw, ISO 4029": ["ISO 4029 - M4 x 4", "set screw M4x4 ISO 4029, cup point"],
    "M4x4 set screw, cup point": ["M4x4 set screw, cup point", "Gewindestift M4x4 Ringschneide"],
    "3x10 tapping screw": [
        "3x10 self-tapping screw", "3 x 10 mm self tapping", "3x10 Blechschraube",
    ],
    "ST2.9x9.5 tapping screw": ["ST2.9x9.5", "ST 2,9 x 9,5", "ST2.9x9.5 tapping screw"],
    "M3x10 tapping screw": ["M3x10 tapping"],
    "M8x1x20 screw": ["M8x1x20", "M8 x 1 x 20"],
    "M3x12 LH screw": ["M3x12 LH", "M3x12 left-hand thread", "M3x12 Linksgewinde"],
    "#4-40x3/8 screw": ["4-40 x 3/8", "#4-40x3/8\"", "No. 4-40 x .375", "4-40 UNC x 3/8"],
    "#8-32x1-1/4 cap screw": ["8-32 x 1-1/4 SHCS", "8-32 x 1 1/4 SHCS"],
    "#10-32x5mm screw": ["10-32 x 5 mm"],
    "#10-32 nut": ["10-32 nut"],
    "M4 nut": ["M4 nut", "nut M4", "Mutter M4", "Muttern M4", "4 mm nut"],
    "M4 hexagon nut": ["M4 hex nut", "Sechskantmutter M4"],
    "M4 lock nut": [
        "M4 lock nut", "M4 locknuts", "lock-nut M4", "M4 self-locking nut", "Stoppmutter M4",
        "Stopmutter M4", "M4 stop nut", "4mm lock nut",
    ],
    "M4 insert lock nut": ["M4 nylon insert lock nut", "M4 nylon lock nut", "M4 nylon nut"],
    "M4 lock nut, ISO 10511": ["Hexagon thin nut ISO 10511 - M4", "ISO 10511 M4 lock nut"],
    "M4 flanged lock nut": ["M4 flanged lock nut", "flange locknut M4"],
    "M5 thin nut": ["M5 thin nut", "M5 nut thin", "M5 jam nut", "Mutter flach M5"],
    "M3 washer": ["M3 washer", "3mm washer", "washer M3", "Unterlegscheibe M3", "U-Scheibe M3",
                  "washer for M3 screw"],
    "M3 plain washer, ISO 7089": ["ISO 7089 M3", "3 plain washer, ISO 7089"],
    "3x8x0.5 washer": ["3x8x0.5 washer", "3x8x0,5 washers", "Scheibe 3 x 8 x 0,5"],
    "10x16x0.2 shim": ["Shim 10x16x0.2", "10x16x0,2 Passscheibe"],
    "5x11x4 bearing": [
        "5x11x4 bearing", "5x11x4mm ball bearing", "Kugellager 5x11x4", "bearing 5 x 11 x 4",
        "5*11*4 bearings", "Rillenkugellager 5×11×4",
    ],
    "5x11x4 bearing, 2RS": ["5x11x4 2RS", "bearing 5x11x4-2RS"],
    "MR105-2RS ball bearing": ["MR105-2RS", "ball bearing MR105 2RS"],
    "688-ZZ ball bearing": ["688ZZ", "688 ZZ bearing", "Kugellager 688-ZZ"],
    "5x10x4 flanged bearing": ["flanged bearing 5x10x4", "5x10x4 Bundlager"],
    "10x2 O-ring": ["10x2 O-ring", "O-Ring 10 x 2", "oring 10x2"],
    "E-ring 5": ["E-ring 5", "5 mm E-clip", "E-Clip 5"],
    "5 retaining washer, DIN 6799": ["DIN 6799 - 5", "5 retaining washer, DIN 6799"],
    "2.5x14 pin": ["2.5x14 pin", "Stift 2,5x14", "pin 2.5 x 14 mm"],
    "2.5x14 parallel pin, ISO 8734": ["ISO 8734 - 2.5 x 14 parallel pin"],
    "M5x70 threaded rod": ["M5x70 threaded rod", "Gewindestange M5x70", "M5x70 stud"],
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "normal"), [(text, normal) for normal, texts in SAME.items() for text in texts]
)
def test_spellings_of_one_thing_have_one_normal_spelling(text, normal):
    made = read(text)
    assert made is not None
    assert made.normal == normal
    assert made.asks == ()
    assert made.sure >= 0.8


#: What is asked, and the spellings to choose from.
ASKED = {
    "3x12": ("M3x12 screw", "3x12 tapping screw", "3x12 pin"),
    "3x12 pan head": ("M3x12 pan head screw", "3x12 pan head tapping screw"),
    "3x8x0.5": ("3x8x0.5 washer", "3x8x0.5 shim"),
    "5x11x4": ("5x11x4 bearing", "5x11x4 spacer", "5x11x4 bush"),
    "M8x1": ("M8x1 screw", "M8x1 nut", "M8x1 threaded rod"),
    "M3x10 Linsenkopf": (
        "M3x10 button head screw, ISO 7380-1", "M3x10 cross recess pan head screw",
    ),
    "M3x12 hex": ("M3x12 hexagon head screw", "M3x12 hexagon socket screw"),
    "M3x12 button head, countersunk": (
        "M3x12 button head screw, ISO 7380-1", "M3x12 countersunk screw",
    ),
    "M3x12/16 SHCS": ("M3x12 cap screw, ISO 4762", "M3x16 cap screw, ISO 4762"),
    "M3x12 / M3x16 SHCS": None,
    "M3x10,12 SHCS": None,
    "M3-12 SHCS": None,
    "M3 cap screw": None,
    "M5x70 track lever": ("M5x70 screw", None),
    # A washer is larger than its bore: 10x2 is none, and 4x10x2 may be one.
    "4 x 10x2 washer": ("4x10x2 washer",),
}  # fmt: skip


@pytest.mark.parametrize("text", ASKED)
def test_what_is_ambiguous_is_asked(text):
    made = read(text)
    assert [question.field for question in made.asks] == ["designation"]
    question = made.asks[0]
    assert question.says.endswith("?")
    assert made.sure <= 0.6
    if ASKED[text]:
        assert question.options == ASKED[text]
    for option in question.options:
        if option is not None:
            again = read(option)
            assert again is not None
            assert again.kind in KIND_WORDS


@pytest.mark.parametrize(
    "text",
    ["", "Knuckle", "T6-114", "43 teeth", "M3", "Wheel nut, 24 mm", "Bearing carrier 5",
     "Nut driver 5.5", "Pinion 17T", "Steps 4-40", "1/10", "x", "12 x", "3x", "Anti-roll bar 2.8",
     "Rear arm 3x12", "0x0", "M0x0", "M999x3", "3x2x1 bearing", "2 E-rings", "Fuel line, 400 mm",
     "T6-750 Fuel tank, 700 ml", "Piston, 6 holes 1.3"],
)  # fmt: skip
def test_what_names_no_hardware_is_none(text):
    assert read(text) is None


def test_demo_kit_designations_read_to_themselves():
    designations = [part.designation for part in PARTS.values() if part.designation]
    assert len(designations) > 25
    for said in designations:
        made = read(said)
        assert made is not None, said
        assert (made.normal, made.asks) == (said, ())


def test_names_of_the_demo_kits_own_parts_give_no_screws():
    """A name with a size in it, such as 'Shaft, rear 4x72', is a name."""
    for part in PARTS.values():
        if part.designation is None:
            made = read(part.name)
            assert made is None or made.kind in ("pin", "shim", "bush", "o_ring", "rod"), part.name


def test_span_and_pieces_are_what_was_read():
    text = "Front hinge, M3x12 button head, left side"
    made = read(text)
    assert [text[start:end] for start, end in made.pieces] == ["M3x12", "button head"]
    assert text[slice(*made.span)] == "M3x12 button head"


def test_a_count_beside_a_size_is_left_alone():
    for text, used in [
        ("2 x 3x8x0.5 washer", ["3x8x0.5", "washer"]), ("10x2 x4 O-ring", ["10x2", "O-ring"]),
        ("M3x12 x8", ["M3x12"]), ("8xM3x12", ["M3x12"]), ("4 x 3x8 washer", ["3x8", "washer"]),
    ]:  # fmt: skip
        made = read(text)
        assert [text[start:end] for start, end in made.pieces] == used, text


def test_words_for_hardware_are_known_without_a_size():
    assert names_hardware("2 E-rings")
    assert names_hardware("Kugellager")
    assert not names_hardware("Body clips")


def every_normal() -> list[str]:
    """A normal spelling of every kind, head, drive, variety and standard that there is."""
    made = []
    for head in (None, *HEAD_WORDS):
        for drive in (None, *DRIVE_WORDS):
            said = f"{HEAD_WORDS.get(head, '')} screw {DRIVE_WORDS.get(drive, '')}"
            made.append(f"M3x12 {said}")
            made.append(f"3x12 tapping {said}")
    for word in (*VARIETY_WORDS.values(), *KIND_WORDS.values()):
        made += [f"{size} {word}" for size in ("M4x10", "5x11x4", "M4", "10x2", "#4-40x1/2")]
    for standard in STANDARDS:
        made += [f"{standard} {size}" for size in ("M4x10", "5x11x4", "M4 class 8", "10x2", "- 5")]
    for phrase in PHRASES:
        made += [f"M4x10 {phrase}", f"5x11x4 {phrase}", f"{phrase} 10x2", f"{phrase} 5",
                 f"M4 LH {phrase}", f"ST2.9x13 {phrase}", f"{phrase} 1/4-20 x 3/4"]  # fmt: skip
    return made


def holds_round_trip(text: str) -> bool:
    made = read(text)
    if made is None:
        return False
    assert len(made.normal) <= 120
    again = read(made.normal)
    assert again is not None, (text, made.normal)
    assert again.normal == made.normal, text
    for field in ("kind", "head", "d_mm", "pitch_mm", "length_mm", "inner_mm", "outer_mm",
                  "width_mm", "property_class", "standard", "left_hand"):  # fmt: skip
        assert getattr(again, field) == pytest.approx(getattr(made, field), abs=1e-3), (text, field)
    if not made.asks:
        assert not again.asks, (text, made.normal, again.asks)
    for question in made.asks:
        for option in question.options:
            assert option is None or read(option).normal == option, (text, option)
    return True


def test_every_kind_of_normal_spelling_reads_back_to_itself():
    assert sum(holds_round_trip(text) for text in every_normal()) > 900


PIECES = st.lists(
    st.one_of(
        st.sampled_from(sorted(PHRASES)),
        st.sampled_from(sorted(STANDARDS)),
        st.sampled_from(
            [
                "M3",
                "x",
                "×",
                " x ",
                "3",
                "12",
                "0.5",
                "2,5",
                ".7",
                "1/2",
                "1-1/4",
                "-",
                " - ",
                "mm",
                '"',
                "#4-40",
                "10-32",
                "ST2.9",
                "8.8",
                "LH",
                "2RS",
                "MR105",
                "for",
                "T6-114",
                ",",
                "5",
            ]
        ),
        st.integers(0, 10_000).map(str),
        st.decimals(0, 100, places=2).map(str),
    ),
    max_size=9,
).flatmap(lambda parts: st.sampled_from([joint.join(parts) for joint in (" ", "", "x")]))


@settings(max_examples=400, deadline=None, derandomize=True)
@given(PIECES)
def test_normal_spelling_reads_back_to_itself(text):
    holds_round_trip(text)


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.text(max_size=600))
@example("İM3x12")
@example("M3x12" * 200)
@example("\ud800M3x12\x00")
def test_any_text_is_read_without_an_error(text):
    made = read(text)
    assert made is None or isinstance(made, Designation)
    if made is not None:
        start, end = made.span
        assert 0 <= start < end <= len(text)
        assert 0 <= made.sure <= 1


@pytest.mark.parametrize(
    "unit",
    ["1x", "x1 ", "1 ", "m3x", "(", "1-1/4 ", ".", " ", "3x8x0.5 ", "lock ", "cap head ", "no. ",
     "4-40 x ", "1/2-", "iso 4762 ", "1", "m3 x 12 x 8 x", "666-2rs ", "hexagon socket ", ",5"],
)  # fmt: skip
def test_hostile_texts_are_read_in_time(unit):
    """A pattern that tries all ways grows without bound; these take milliseconds."""
    text = (unit * 500)[:500]
    began = time.process_time()
    for _ in range(5):
        read(text)
    assert time.process_time() - began < 1


def test_words_are_in_the_table_as_they_are_looked_up():
    for phrase in PHRASES:
        assert re.fullmatch(r"[a-zäöüß]+( [a-zäöüß]+)*", phrase), phrase
