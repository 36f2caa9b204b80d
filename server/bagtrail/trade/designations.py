"""Reading how people write hardware: ``M3x12 BHCS``, ``5x11x4 bearing``, ``ISO 4762 - M6 x 35``.

What is certain is read, what is not is asked, nothing is guessed: :attr:`Designation.asks` holds
the questions, with the spellings that the reader takes to be possible.

Sources: designations of ISO 4762, ISO 7380-1 and ISO 4032 as those standards print them; left
hand after ISO 965-1; tapping screws after ISO 1478; the informal spellings are common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from . import threads
from .hardware_words import LONGEST, NEUTRAL, STANDARDS, Facts, Phrase, facts_of

#: Characters of a text that are looked at; the rest is left alone.
TEXT_MAX = 500


@dataclass(frozen=True, slots=True)
class Question:
    """What a reader could not know.  ``field``: of the part line (``designation``, ``quantity``,
    ``number``, …); ``options``: values that it takes to be possible, likeliest first."""

    field: str
    says: str
    options: tuple[str | int | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Designation:
    """A piece of hardware.

    ``kind``: screw, set_screw, tapping_screw, threaded_rod, rod, nut, lock_nut, washer, shim,
    ring, o_ring, bearing, bush, spacer or pin.  ``head``: of a screw (socket_cap, button,
    countersunk, pan, hex, …), or the variety of another kind (flange, spring, e, parallel, …).
    Lengths in millimetres: ``d_mm`` thread or shank, ``inner_mm`` bore, ``outer_mm`` outside,
    ``width_mm`` width or thickness (of an O-ring its cord).  ``normal``: the one spelling that
    this program uses, which reads back to itself.  ``sure``: 0 to 1.  ``span``: first and last
    character (exclusive) of the text that it was read from; ``pieces``: which parts of that span.
    """

    kind: str
    normal: str
    head: str | None = None
    drive: str | None = None
    point: str | None = None
    form: str | None = None
    d_mm: float | None = None
    pitch_mm: float | None = None
    length_mm: float | None = None
    inner_mm: float | None = None
    outer_mm: float | None = None
    width_mm: float | None = None
    size: str | None = None
    property_class: str | None = None
    standard: str | None = None
    left_hand: bool = False
    sure: float = 1.0
    asks: tuple[Question, ...] = ()
    span: tuple[int, int] = (0, 0)
    pieces: tuple[tuple[int, int], ...] = ()


# --- The text, character for character ------------------------------------------------------------

_SAME = str.maketrans({
    "×": "x", "✕": "x", "✖": "x", "⨯": "x", "*": "x", "–": "-", "—": "-", "‐": "-", "‑": "-",
    "−": "-", "″": '"', "“": '"', "”": '"', "„": '"', "\u00a0": " ", "\u2009": " ",
    "\u202f": " ", "\t": " ", "ø": "Ø", "⌀": "Ø", "∅": "Ø", "Φ": "Ø",
})  # fmt: skip


def plain(text: str) -> str:
    """The text in lower case with one spelling of signs; every character keeps its place."""
    return "".join(
        low if len(low := character.lower()) == 1 else character
        for character in text[:TEXT_MAX].translate(_SAME)
    )


# --- Numbers and sizes ----------------------------------------------------------------------------

_FRACTION = r"(?:[0-9]{1,2}[- ][0-9]{1,2}/[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2})(?![0-9/])"
_NUMBER = rf"(?:{_FRACTION}|[0-9]{{1,4}}(?:[.,][0-9]{{1,4}})?|[.,][0-9]{{1,4}})(?![0-9/])"
_UNIT = r'(?: ?mm(?![a-z])| ?")?'
_TIMES = r" {0,2}x {0,2}"
_CHAIN = re.compile(
    rf"(?:(?<![\w.,/#-])|(?<=[-,])(?=m ?[0-9])|(?<=[0-9]x)(?=m)|(?<= -))"
    rf"(?P<mark>m ?|st ?|Ø ?)?(?P<first>{_NUMBER}){_UNIT}"
    rf"(?(mark)(?: ?- ?(?P<dash>{_NUMBER}))?)"
    rf"(?P<rest>(?:{_TIMES}{_NUMBER}{_UNIT}){{0,4}})(?![0-9])"
)
_EACH = re.compile(rf"(?P<times>{_TIMES})(?P<number>{_NUMBER}){_UNIT}")
_UNIFIED = re.compile(
    rf"(?<![\w.,/-])(?P<size>(?:#|no\.? ?)?[0-9]{{1,2}}|[0-9]/[0-9]{{1,2}})\"?"
    rf"-(?P<tpi>[0-9]{{2}})(?![0-9])(?: ?(?P<series>unc|unf)(?![a-z]))?"
    rf"(?:{_TIMES}(?P<length>{_NUMBER}){_UNIT})?(?![0-9/])"
)
_STANDARD = re.compile(
    r"(?<![a-z0-9])(?:din en iso|din iso|en iso|iso|din)[ -]?([0-9]{1,5})(-[0-9]{1,2})?(?![0-9x])"
)
_CLASS = re.compile(
    r"(?<![\w.,])(?:(?:class|grade|kl\.?|klasse|festigkeitsklasse|- ?) ?)?"
    r"(4\.6|4\.8|5\.6|5\.8|6\.8|8\.8|9\.8|10\.9|12\.9|a[124]-[5-8]0)(?![\w.,])"
)
_NUT_CLASS = re.compile(
    r"(?<![\w.,])(?:class|grade|kl\.?|klasse|festigkeitsklasse|-) ?(04|05|4|5|6|8|10|12)(?![\w.,])"
)
_WORD = re.compile(r"[a-zäöüß]+")


@dataclass(frozen=True, slots=True)
class _Number:
    value: float
    start: int
    end: int
    #: What stands between it and the number before it.
    gap: str = ""


@dataclass(frozen=True, slots=True)
class _Chain:
    """Numbers joined by crosses: ``M3x12``, ``2 x 5x11x4``; ``mark``: ``m``, ``st`` or nothing."""

    mark: str
    numbers: tuple[_Number, ...]
    start: int
    dash: _Number | None = None


def _value(text: str) -> float:
    """``12``, ``2,5``, ``.7``, ``3/8``, ``1-1/4``; a fraction is in inches, the rest is as said."""
    if "/" in text:
        whole, _, part = text.replace("-", " ").rpartition(" ")
        over, _, under = part.partition("/")
        if int(under) == 0:
            return 0.0
        return (int(whole or 0) + int(over) / int(under)) * threads.MM_PER_INCH
    return float(text.replace(",", "."))


def _chains(text: str) -> Iterator[_Chain]:
    for found in _CHAIN.finditer(text):
        numbers = [_Number(_value(found["first"]), found.start("first"), found.end("first"))]
        for each in _EACH.finditer(text, *found.span("rest")):
            numbers.append(_Number(_value(each["number"]), each.start("number"), each.end(),
                                   each["times"]))  # fmt: skip
        dash = None
        if found["dash"]:
            dash = _Number(_value(found["dash"]), *found.span("dash"))
        if len(numbers) == 1 and dash is None:
            numbers[0] = replace(numbers[0], end=found.end())
        yield _Chain((found["mark"] or "").strip(), tuple(numbers), found.start(), dash)


def _n(value: float) -> str:
    """A number as it is written in a designation: at most four decimals, none that say nothing."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _inches(mm: float) -> str:
    """A length as inches are written: ``3/8``, ``1-1/4``, ``2``; decimals if it is no 64th."""
    parts = mm / threads.MM_PER_INCH * 64
    if abs(parts - round(parts)) > 1e-6 or round(parts) == 0:
        return _n(mm / threads.MM_PER_INCH)
    whole, over = divmod(round(parts), 64)
    under = 64
    while over and over % 2 == 0:
        over, under = over // 2, under // 2
    if not over:
        return str(whole)
    return f"{whole}-{over}/{under}" if whole else f"{over}/{under}"


# --- Words ----------------------------------------------------------------------------------------

#: Things that are named for the hardware which they hold or turn.
_OWNERS = frozenset(
    """holder carrier plate driver housing seat cover tool press puller case block mount retainer
    wrench key support clamp boot guard box halter träger platte gehäuse deckel schlüssel werkzeug
    sitz dreher zieher bracket cup bit spanner insert hole holes post tube""".split()
)
_FOR = frozenset({"for", "für", "fits", "suits"})


def _phrases(text: str) -> tuple[list[Phrase], list[tuple[int, int, str]]]:
    """The phrases that say something of hardware, and the other words."""
    words = [(found.start(), found.end(), found[0]) for found in _WORD.finditer(text)]
    phrases: list[Phrase] = []
    others: list[tuple[int, int, str]] = []
    at = 0
    for_seen = False
    while at < len(words):
        start, end, word = words[at]
        run = [word]
        stop = at + 1
        while stop < len(words) and stop - at < LONGEST:
            between = text[words[stop - 1][1] : words[stop][0]]
            if len(between) > 2 or between.strip(" -"):
                break
            run.append(words[stop][2])
            stop += 1
        facts = None
        for size in range(len(run), 0, -1):
            facts = facts_of(" ".join(run[:size]))
            if facts is not None:
                break
        if facts is None or (for_seen and any("kind" in one.facts for one in phrases)):
            for_seen = for_seen or word in _FOR
            others.append((start, end, word))
            at += 1
            continue
        end = words[at + size - 1][1]
        following = words[at + size][2] if at + size < len(words) else ""
        between = text[end : words[at + size][0]] if following else "."
        if following in _OWNERS and not between.strip(" -"):
            others += words[at : at + size + 1]
            at += size + 1
            continue
        phrases.append(Phrase(start, end, facts, text[start:end]))
        at += size
    return phrases, others


# --- Putting it together --------------------------------------------------------------------------

_SCREWS = ("screw", "set_screw", "tapping_screw")
_LONG = (*_SCREWS, "threaded_rod", "rod", "pin")
_FLAT = ("washer", "shim", "bearing", "bush", "spacer")
_NUTS = ("nut", "lock_nut")
#: The more particular kind of two that are both said.
_RATHER = (
    ("tapping_screw", "screw"), ("set_screw", "screw"), ("lock_nut", "nut"), ("shim", "washer"),
    ("threaded_rod", "rod"), ("ring", "washer"), ("spacer", "bearing"), ("bush", "bearing"),
    ("threaded_rod", "screw"), ("pin", "rod"), ("screw", "pin"), ("set_screw", "pin"),
    ("screw", "bush"), ("spacer", "shim"), ("o_ring", "ring"),
)  # fmt: skip
#: Sizes in mm that ISO 7380-1 has.
_BUTTON_SIZES = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0)


def _kind_of(phrases: list[Phrase]) -> tuple[str | None, tuple[str, ...]]:
    """The kind that the words name, and all that they could name."""
    kinds: list[str] = []
    for phrase in phrases:
        kind = phrase.facts.get("kind")
        if kind and kind not in kinds:
            kinds.append(kind)
    for rather, than in _RATHER:
        if rather in kinds and than in kinds:
            kinds.remove(than)
    return (kinds[0] if len(kinds) == 1 else None), tuple(kinds)


def _facts(kind: str, phrases: list[Phrase]) -> tuple[Facts, tuple[str, ...]]:
    """What the words say of a thing of this kind, and the heads if they name several."""
    facts: Facts = {}
    heads: list[str] = []
    for phrase in phrases:
        said = phrase.facts
        own = said.get("kind")
        related = own is None or own == kind or (own in _SCREWS and kind in _SCREWS) or (
            own in _NUTS and kind in _NUTS)  # fmt: skip
        if not related:
            continue
        for key, value in said.items():
            if key == "head":
                if value not in heads:
                    heads.append(value)
            elif key != "kind":
                facts.setdefault(key, value)
    if "linsen" in heads and len(heads) > 1:
        heads.remove("linsen")
    if heads:
        facts["head"] = heads[0]
    return facts, tuple(heads)


_SCREW_WORDS = {
    "socket_cap": "cap screw", "low_cap": "low head cap screw", "button": "button head screw",
    "button_flange": "flanged button head screw", "countersunk": "countersunk screw",
    "raised_countersunk": "raised countersunk screw", "pan": "pan head screw",
    "cheese": "cheese head screw", "round": "round head screw", "truss": "truss head screw",
    "washer": "washer head screw", "hex": "hexagon head screw", "shoulder": "shoulder screw",
    "linsen": "linsenkopf screw",
}  # fmt: skip
_DRIVE_WORDS = {
    "hex_socket": "hexagon socket ", "cross": "cross recess ", "slot": "slotted ",
    "hexalobular": "hexalobular ",
}  # fmt: skip
_VARIETY_WORDS = {
    ("nut", "hex"): "hexagon nut", ("nut", "flange"): "flange nut", ("nut", "wing"): "wing nut",
    ("nut", "dome"): "dome nut", ("nut", "square"): "square nut", ("nut", "t"): "T-nut",
    ("lock_nut", "flange"): "flanged lock nut",
    ("washer", "spring"): "spring washer", ("washer", "lock"): "lock washer",
    ("washer", "toothed"): "toothed washer", ("washer", "conical"): "conical washer",
    ("bearing", "flanged"): "flanged bearing", ("bearing", "thrust"): "thrust bearing",
    ("bearing", "needle"): "needle bearing", ("bearing", "one_way"): "one-way bearing",
    ("bush", "flanged"): "flanged bush",
    ("pin", "parallel"): "parallel pin", ("pin", "dowel"): "dowel pin",
    ("pin", "split"): "split pin", ("pin", "spring"): "spring pin",
}  # fmt: skip
_KIND_WORDS = {
    "screw": "screw", "set_screw": "set screw", "tapping_screw": "tapping screw",
    "threaded_rod": "threaded rod", "rod": "rod", "nut": "nut", "lock_nut": "lock nut",
    "washer": "washer", "shim": "shim", "o_ring": "O-ring", "bearing": "bearing", "bush": "bush",
    "spacer": "spacer", "pin": "pin",
}  # fmt: skip


def _words(one: Designation) -> str:
    """The words of the normal spelling, without size and standard."""
    standard = STANDARDS.get(one.standard or "", {})
    kind, head = one.kind, one.head
    if kind == "screw":
        word = _SCREW_WORDS.get(head or "", "screw")
        implied = standard.get("drive") or (
            "hex_socket" if head in ("socket_cap", "low_cap", "button", "button_flange") else None)
        drive = _DRIVE_WORDS.get(one.drive or "", "") if one.drive != implied else ""
        return drive + word
    if kind == "set_screw":
        drive = _DRIVE_WORDS.get(one.drive or "", "") if "drive" not in standard else ""
        point = f", {one.point} point" if one.point and "point" not in standard else ""
        return f"{drive}set screw{point}"
    if kind == "tapping_screw":
        drive = _DRIVE_WORDS.get(one.drive or "", "")
        said = _SCREW_WORDS[head].removesuffix(" screw") + " " if head in _SCREW_WORDS else ""
        if standard.get("head") == head:
            said = ""
        return f"{drive}{said}tapping screw"
    if kind == "nut" and one.form == "thin":
        return "thin nut"
    if kind == "lock_nut" and one.form == "insert" and "form" not in standard:
        return "flanged insert lock nut" if head == "flange" else "insert lock nut"
    if kind == "washer" and head is None and one.standard:
        return "plain washer"
    return _VARIETY_WORDS.get((kind, head or ""), _KIND_WORDS.get(kind, kind))


def _normal(one: Designation) -> str:
    hand = " LH" if one.left_hand else ""
    size = ""
    if one.size is not None:
        length = f"x{_inches(one.length_mm)}" if one.length_mm is not None else ""
        size = one.size + length
    elif one.kind == "tapping_screw" and one.d_mm is not None:
        mark = "ST" if one.pitch_mm is not None else ""
        size = mark + _n(one.d_mm) + (f"x{_n(one.length_mm)}" if one.length_mm else "")
    elif one.kind in ("washer", "shim") and one.d_mm is not None:
        size = "x".join(
            ["M" + _n(one.d_mm), *(_n(v) for v in (one.outer_mm, one.width_mm) if v is not None)]
        )
    elif one.kind == "o_ring" or one.kind in _FLAT:
        dims = (one.inner_mm, one.outer_mm, one.width_mm)
        size = "x".join(_n(value) for value in dims if value is not None)
    elif one.kind == "ring":
        inner = _n(one.inner_mm or 0)
        if one.standard == "DIN 6799":
            return f"{inner} retaining washer, DIN 6799"
        word = "E-ring" if one.head == "e" else "Retaining ring"
        return f"{word} {inner}" + (f", {one.standard}" if one.standard else "")
    elif one.d_mm is not None and one.pitch_mm is None and one.kind in (*_LONG, *_NUTS) and not (
        threads.coarse_pitch(one.d_mm) is None and one.kind in _NUTS
    ):
        size = _n(one.d_mm) + (f"x{_n(one.length_mm)}" if one.length_mm is not None else "")
    elif one.d_mm is not None:
        size = "M" + _n(one.d_mm)
        coarse = threads.coarse_pitch(one.d_mm)
        if one.pitch_mm is not None and one.pitch_mm != coarse:
            size += f"x{_n(one.pitch_mm)}"
        if one.length_mm is not None:
            size += f"x{_n(one.length_mm)}"
    standard = f", {one.standard}" if one.standard else ""
    grade = f", class {one.property_class}" if one.property_class else ""
    return f"{size}{hand} {_words(one)}{standard}{grade}".strip()


def _finish(one: Designation, text: str) -> Designation:
    """With its normal spelling, and its span over all pieces."""
    pieces = tuple(sorted(one.pieces))
    span = (min(start for start, _ in pieces), max(end for _, end in pieces))
    return replace(one, normal=_normal(one), pieces=pieces, span=span)


def _spelt(one: Designation, **changes: object) -> str:
    return _normal(replace(one, **changes))  # type: ignore[arg-type]


def _standard_of(text: str) -> tuple[str | None, tuple[int, int] | None]:
    found = _STANDARD.search(text)
    if found is None:
        return None, None
    body = "ISO" if "iso" in found[0] else "DIN"
    full, base = f"{body} {found[1]}{found[2] or ''}", f"{body} {found[1]}"
    if found[2] and full not in STANDARDS and base in STANDARDS:
        return base, (found.start(), found.end(1))
    return full, found.span()


def _metric(one: Designation, chain: _Chain) -> Designation | None:
    """The thread after ``M``: pitch and length from the numbers that follow."""
    d, rest = chain.numbers[0].value, list(chain.numbers[1:])
    if not 0.9 <= d <= 64:
        return None
    end = chain.numbers[0].end
    pitch = None
    if chain.dash and threads.is_pitch(d, chain.dash.value):
        pitch, end = chain.dash.value, chain.dash.end
    elif chain.dash:
        rest = []
    if one.kind in ("washer", "shim"):
        outer = rest[0] if rest and rest[0].value > d else None
        width = rest[1] if outer and len(rest) > 1 else None
        end = (width or outer or chain.numbers[0]).end
        return replace(one, d_mm=d, outer_mm=outer.value if outer else None,
                       width_mm=width.value if width else None,
                       pieces=(*one.pieces, (chain.start, end)))  # fmt: skip
    length = None
    if pitch is None and rest and threads.is_pitch(d, rest[0].value):
        # M2x2.5 and the like cannot be: no pitch is half as large as its diameter.
        pitch, end = rest[0].value, rest[0].end
        rest = rest[1:]
    if rest and one.kind in _LONG:
        length, end = rest[0].value, rest[0].end
    said = pitch if pitch is not None else threads.coarse_pitch(d)
    return replace(one, d_mm=d, pitch_mm=said, length_mm=length,
                   pieces=(*one.pieces, (chain.start, end)))  # fmt: skip


def _run(numbers: tuple[_Number, ...], need: int) -> tuple[tuple[_Number, ...], bool]:
    """The numbers of a chain that are the size when ``need`` of them are wanted, and whether that
    is certain: ``2 x 5x11x4`` has a count before it, ``10x2 x4`` behind it."""
    if len(numbers) <= need:
        return numbers, True
    gaps = [number.gap for number in numbers[1:]]
    inner = set(gaps[1:])
    if len(numbers) == need + 1:
        if gaps[0] not in inner and len(inner) == 1:
            return numbers[1:], True
        if gaps[-1] not in set(gaps[:-1]) and len(set(gaps[:-1])) == 1:
            return numbers[:-1], True
        if len(gaps) == 2 and gaps[0] != gaps[1]:
            return (numbers[1:], True) if gaps[0].count(" ") > gaps[1].count(" ") else (
                numbers[:-1], True)  # fmt: skip
        return numbers[1:], False
    return numbers[:need], False


def _dims(one: Designation, numbers: tuple[_Number, ...]) -> Designation:
    values = [number.value for number in numbers]
    end = numbers[-1].end
    pieces = (*one.pieces, (numbers[0].start, end))
    if one.kind == "o_ring":
        return replace(one, inner_mm=values[0], width_mm=values[1], pieces=pieces)
    width = values[2] if len(values) > 2 else None
    return replace(one, inner_mm=values[0], outer_mm=values[1], width_mm=width, pieces=pieces)


def _bare(one: Designation, chain: _Chain, whole: str) -> Designation | None:
    """A size without ``M``, of a thing whose kind the words say."""
    kind = one.kind
    if kind in _LONG:
        numbers, sure = _run(chain.numbers, 2)
        if len(numbers) < 2:
            return None
        d, length = numbers[0].value, numbers[1].value
        if not (0.5 <= d <= 64 and length > 0):
            return None
        one = replace(one, d_mm=d, length_mm=length,
                      pieces=(*one.pieces, (numbers[0].start, numbers[1].end)))  # fmt: skip
        if kind == "set_screw" or one.drive == "hex_socket":
            one = replace(one, pitch_mm=threads.coarse_pitch(d))
        elif kind == "screw":
            metric = replace(one, pitch_mm=threads.coarse_pitch(d))
            options = [_normal(metric)] if metric.pitch_mm else []
            options.append(_spelt(one, kind="tapping_screw"))
            says = f"Is {_n(d)}x{_n(length)} a machine screw with metric thread, or a tapping screw?"
            one = replace(one, sure=0.6, asks=(*one.asks, Question("designation", says,
                                                                   tuple(options))))  # fmt: skip
    elif kind == "o_ring":
        numbers, sure = _run(chain.numbers, 2)
        if len(numbers) < 2:
            return None
        one = _dims(one, numbers)
    elif kind in _FLAT:
        numbers, sure = _run(chain.numbers, 3)
        values = [number.value for number in numbers]
        if len(values) == 3 and values[0] >= values[1] and len(numbers) == len(chain.numbers):
            if values[1] >= values[2]:
                return None
            numbers, sure = numbers[1:], numbers[1].gap != numbers[2].gap
        elif len(values) == 3 and numbers[1].gap != numbers[2].gap and numbers[0].value == int(
            numbers[0].value) and values[1] < values[2]:  # fmt: skip
            numbers, sure = numbers[1:], True
        elif len(values) == 3 and numbers[1].gap != numbers[2].gap:
            sure = False
        if len(numbers) < 2 or numbers[0].value >= numbers[1].value:
            return None
        one = _dims(one, numbers)
    else:
        return None
    if not sure:
        says = f"Which of the numbers in {whole[chain.start:chain.numbers[-1].end].strip()} are the size?"
        one = replace(one, sure=0.5, asks=(*one.asks, Question("designation", says,
                                                               (_normal(one),))))  # fmt: skip
    return one


def _single(one: Designation, text: str, phrases: list[Phrase], chains: list[_Chain]
            ) -> Designation | None:  # fmt: skip
    """One number beside its word: ``E-ring 5``, ``3 mm washer``, ``5 retaining washer, DIN 6799``."""
    for phrase in phrases:
        if phrase.facts.get("kind") != one.kind:
            continue
        for chain in chains:
            if len(chain.numbers) != 1 or chain.mark not in ("", "Ø"):
                continue
            number = chain.numbers[0]
            unit = "mm" in text[number.start : number.end] or chain.mark == "Ø"
            before = not text[number.end : phrase.start].strip(" -") and number.end <= phrase.start
            after = not text[phrase.end : number.start].strip(" -Ø") and phrase.end <= number.start
            fits = (before and (unit or one.standard)) or (
                after and (unit or one.kind == "ring"))  # fmt: skip
            if not fits or not 0.5 <= number.value <= 200:
                continue
            pieces = (*one.pieces, (chain.start, number.end))
            if one.kind == "ring":
                return replace(one, inner_mm=number.value, sure=0.8, pieces=pieces)
            if threads.coarse_pitch(number.value):
                pitch = threads.coarse_pitch(number.value) if one.kind in _NUTS else None
                return replace(one, d_mm=number.value, pitch_mm=pitch, sure=0.8, pieces=pieces)
    return None


def _nameless(chain: _Chain) -> Designation | None:
    """A size and not a word: what it looks like, and the question what it is."""
    numbers = chain.numbers
    if len(numbers) == 4 or (len(numbers) == 3 and numbers[1].gap != numbers[2].gap):
        numbers = _run(numbers, len(numbers) - 1)[0]
    said = "x".join(_n(number.value) for number in numbers)
    values = [number.value for number in numbers]
    if len(values) == 2:
        d, length = values
        if not (1 <= d <= 12 and length >= d and length <= 200):
            return None
        one = Designation("screw", "", d_mm=d, length_mm=length, sure=0.4,
                          pieces=((numbers[0].start, numbers[1].end),))  # fmt: skip
        pitch = threads.coarse_pitch(d)
        options = (
            *((_spelt(one, pitch_mm=pitch),) if pitch else ()),
            _spelt(one, kind="tapping_screw"), _spelt(one, kind="pin"),
        )  # fmt: skip
        says = f"Is {said} a screw with metric thread, a tapping screw or a pin?"
        return replace(one, asks=(Question("designation", says, options),))
    if len(values) == 3 and values[0] < values[1] and values[2] > 0:
        thin = values[2] < 2 and values[2] < values[0]
        one = _dims(Designation("washer" if thin else "bearing", "", sure=0.5), numbers)
        kinds = ("washer", "shim") if thin else ("bearing", "spacer", "bush")
        says = f"Is {said} (bore x outside x width) a {', a '.join(kinds[:-1])} or a {kinds[-1]}?"
        options = tuple(_spelt(one, kind=kind) for kind in kinds)
        return replace(one, asks=(Question("designation", says, options),))
    return None


def _unified(text: str) -> Iterator[tuple[Designation, tuple[int, int]]]:
    for found in _UNIFIED.finditer(text):
        said = found["size"]
        number = said if "/" in said else "#" + said.lstrip("#no. ")
        tpi = int(found["tpi"])
        if tpi not in threads.UNIFIED.get(number, ()):
            continue
        length = None
        if found["length"]:
            value = _value(found["length"])
            inches = "/" in found["length"]
            unit_mm = "mm" in text[found.start("length") : found.end()]
            length = value if inches or unit_mm else value * threads.MM_PER_INCH
        yield Designation("screw", "", d_mm=threads.unified_diameter(number),
                          pitch_mm=threads.MM_PER_INCH / tpi, length_mm=length,
                          size=f"{number}-{tpi}", sure=0.95 if length or said[0] in "#n" else 0.5,
                          ), found.span()  # fmt: skip


def _ask_heads(one: Designation, heads: tuple[str, ...]) -> Designation:
    """Questions about the head of a screw; the words may leave it open."""
    if one.kind not in _SCREWS:
        return one
    options: tuple[str, ...] = ()
    says = ""
    if one.head == "linsen":
        if one.drive == "hex_socket":
            return _with_standard(replace(one, head="button"))
        if one.drive in ("cross", "slot", "hexalobular") or one.kind == "tapping_screw":
            return replace(one, head="pan")
        options = (_spelt(_with_standard(replace(one, head="button"))), _spelt(one, head="pan"))
        says = "Has it a hexagon socket (button head) or a cross recess (pan head)?"
    elif one.drive == "hex":
        if one.head:
            return replace(one, drive="hex_socket" if one.head != "hex" else None)
        if one.kind == "set_screw":
            return replace(one, drive="hex_socket")
        options = (_spelt(one, head="hex", drive=None), _spelt(one, drive="hex_socket"))
        says = "Is the hexagon on the outside of the head, or a socket in it?"
        one = replace(one, drive=None)
    elif len(heads) > 1:
        options = tuple(_spelt(_with_standard(replace(one, head=head))) for head in heads)
        says = "Which head has it?"
    if not says:
        return one
    return replace(one, sure=min(one.sure, 0.5),
                   asks=(*one.asks, Question("designation", says, options)))  # fmt: skip


def _with_standard(one: Designation) -> Designation:
    """The standard that the head alone makes certain."""
    if one.standard or one.kind != "screw" or one.size or one.pitch_mm is None:
        return one
    if one.drive not in (None, "hex_socket"):
        return one
    if one.head == "socket_cap" and threads.coarse_pitch(one.d_mm or 0):
        return replace(one, standard="ISO 4762", drive="hex_socket")
    if one.head == "button" and one.d_mm in _BUTTON_SIZES:
        return replace(one, standard="ISO 7380-1", drive="hex_socket")
    return one


def read(text: str) -> Designation | None:
    """The hardware that a text names, None if it names none.

    Only the first :data:`TEXT_MAX` characters are read.
    """
    flat = plain(text)
    phrases, others = _phrases(flat)
    standard, standard_at = _standard_of(flat)
    known = STANDARDS.get(standard or "")
    if known and standard_at:
        phrases = [*phrases, Phrase(*standard_at, known, flat[slice(*standard_at)])]
    kind, kinds = _kind_of(phrases)
    chains = [chain for chain in _chains(flat)
              if standard_at is None or not standard_at[0] <= chain.numbers[0].start < standard_at[1]
              ]  # fmt: skip
    metric = [chain for chain in chains if chain.mark == "m"]
    tapping = [chain for chain in chains if chain.mark == "st" and len(chain.numbers) > 1]
    bare = [chain for chain in chains if chain.mark in ("", "Ø") and len(chain.numbers) > 1]

    if kind is None and kinds:
        likely = (_SCREWS, _NUTS, _FLAT) if metric else (_FLAT, _LONG)
        fitting = [one for group in likely for one in kinds if one in group]
        kind = fitting[0] if fitting else None
    unknown = [word for _, _, word in others if word not in NEUTRAL and len(word) > 1]
    facts, heads = _facts(kind, phrases) if kind else ({}, ())
    if facts.get("locks") and kind == "nut":
        kind = "lock_nut"
    head = facts.get("head")
    if facts.get("flange") and not head and kind in ("nut", "lock_nut", "bearing", "bush"):
        head = "flanged" if kind in ("bearing", "bush") else "flange"
    if facts.get("flange") and head == "button":
        head = "button_flange"
    drive = facts.get("drive")
    if kind in _NUTS:
        if drive == "hex" and kind == "nut" and not head:
            head = "hex"
        drive = None
    if kind == "screw" and head == "socket_cap" and drive in ("slot", "cross"):
        head = "cheese"
    if kind == "screw" and head in ("low_cap", "button_flange") and drive is None:
        drive = "hex_socket"
    if kind == "screw" and head in ("socket_cap", "button") and drive is None:
        drive = "hex_socket"
    related = tuple((phrase.start, phrase.end) for phrase in phrases)
    start = Designation(
        kind or "", "", head=head, drive=drive, point=facts.get("point"),
        form=facts.get("form") if kind in _NUTS else None, standard=standard,
        left_hand=any(phrase.facts.get("hand") == "left" for phrase in phrases),
        pieces=related + ((standard_at,) if standard_at and not known else ()),
    )  # fmt: skip

    made: Designation | None = None
    for unified, span in _unified(flat):
        if (kind is None or kind in (*_LONG, *_NUTS)) and (unified.length_mm or kind or
                                                           unified.sure > 0.9):  # fmt: skip
            if kind is None and unified.length_mm is None:
                continue
            made = replace(start, kind=kind or "screw", d_mm=unified.d_mm,
                           pitch_mm=unified.pitch_mm, size=unified.size, sure=unified.sure,
                           length_mm=None if kind in _NUTS else unified.length_mm,
                           pieces=(*start.pieces, span))  # fmt: skip
            break
    if made is None and metric and (kind is None or kind in (*_LONG, *_NUTS, "washer", "shim")):
        for chain in metric:
            if kind is None:
                made = _metric(replace(start, kind="screw"), chain)
                if made and len(chain.numbers) == 1:
                    made = None
            else:
                made = _metric(start, chain)
            if made:
                break
        if made and made.kind in _LONG and made.length_mm is None and not made.asks:
            made = _ask_length(made, kind)
        elif made and kind is None and unknown:
            says = f"Is it {_normal(made)}?"
            made = replace(made, sure=0.6, asks=(Question("designation", says,
                                                          (_normal(made), None)),))  # fmt: skip
    if made is None and tapping and kind in (None, *_SCREWS):
        chain = tapping[0]
        d, length = chain.numbers[0].value, chain.numbers[1].value
        made = replace(start, kind="tapping_screw", d_mm=d, pitch_mm=threads.TAPPING.get(d),
                       length_mm=length,
                       pieces=(*start.pieces, (chain.start, chain.numbers[1].end)))  # fmt: skip
    if made is None and kind:
        for chain in bare:
            made = _bare(start, chain, flat)
            if made:
                break
    if made is None and kind in ("ring", "washer", *_NUTS):
        made = _single(start, flat, phrases, chains)
    if made is None and not kinds and bare and not unknown and not standard:
        made = _nameless(bare[0])
    if made is None:
        return None
    made = _classes(made, flat)
    made = _with_standard(made) if not made.head == "linsen" else made
    made = _ask_heads(made, heads)
    return _finish(made, text)


def _ask_length(one: Designation, kind: str | None) -> Designation:
    thread = f"M{_n(one.d_mm or 0)}x{_n(one.pitch_mm or 0)}"
    if kind is None:
        says = f"{thread} is a thread with its pitch, and no length is said. What is it?"
        options = (_normal(one), _spelt(one, kind="nut"), _spelt(one, kind="threaded_rod"))
        return replace(one, sure=0.4, asks=(Question("designation", says, options),))
    says = "No length is said. How long is it?"
    return replace(one, sure=0.6, asks=(Question("designation", says, (_normal(one),)),))


def _classes(one: Designation, text: str) -> Designation:
    """The property class, where one is said outside what has been read."""
    pattern = _NUT_CLASS if one.kind in _NUTS else _CLASS
    for found in pattern.finditer(text):
        span = found.span(1)
        if all(span[1] <= start or span[0] >= end for start, end in one.pieces):
            return replace(one, property_class=found[1].upper(),
                           pieces=(*one.pieces, found.span()))  # fmt: skip
    return one
