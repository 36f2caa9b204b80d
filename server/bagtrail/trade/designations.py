"""Reading how people write hardware: ``M3x12 BHCS``, ``5x11x4 bearing``, ``ISO 4762 - M6 x 35``.

What is certain is read, what is not is asked, nothing is guessed: ``Designation.asks`` holds the
questions, with the spellings that the reader takes to be possible.

Sources: designations of ISO 4762, ISO 7380-1 and ISO 4032 as those standards print them; left
hand after ISO 965-1; tapping screws after ISO 1478; the informal spellings are common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from itertools import islice

from . import threads
from .hardware import (
    LONG,
    NUTS,
    ROUND,
    SCREWS,
    SOCKET_HEADS,
    Designation,
    Question,
    normal,
    settled,
    spelt,
    with_head,
    with_standard,
)
from .hardware_words import NEUTRAL, STANDARDS, Facts, Phrase, phrases_in
from .sizes import Chain, Number, chains, digits, plain, size_of, unified

__all__ = ["Designation", "Question", "read"]

_DIGIT = re.compile(r"[0-9]")
#: Sizes of a text that are looked at; a line with more is no line of a parts list.
_SIZES_MAX = 20
_STANDARD = re.compile(
    r"(?<![a-z0-9])(?:din en iso|din iso|en iso|iso|din)[ -]?([0-9]{1,5})(-[0-9]{1,2})?(?![0-9x])"
)
_CLASS = re.compile(
    r"(?:(?<![\w.,])|(?<=[0-9])(?=-))(?:(?:class|grade|kl\.?|klasse|festigkeitsklasse|- ?) ?)?"
    r"(4\.6|4\.8|5\.6|5\.8|6\.8|8\.8|9\.8|10\.9|12\.9|a[1245]-[5-8]0)(?![\w.,])"
)
_NUT_CLASS = re.compile(
    r"(?:(?<![\w.,])|(?<=[0-9])(?=-))(?:class|grade|kl\.?|klasse|festigkeitsklasse|-) ?"
    r"(04|05|4|5|6|8|10|12|a[1245]-[5-8]0)(?![\w.,])"
)
#: Numbers of deep groove ball bearings and their seals, as makers in common write them.
_BEARING = re.compile(
    r"(?<![\w.,/-])(?P<code>s?f?(?:mr[0-9]{2,3}|6[0-9]{1,4}|16[0-9]{3}))"
    r"(?:[ -]?(?P<seal>2rs1|2rsr|2rsh|2rs|zz|2z|rs|z))?(?![\w]|[.,x][0-9]| ?x ?[0-9])"
)
_SEAL = re.compile(r"(?<![a-z])(?:(?<=[0-9])-?|(?<![0-9]))(2rs|zz|2z)(?![a-z0-9])")

#: The more particular of two kinds that are both said.
_RATHER = (
    ("tapping_screw", "screw"), ("set_screw", "screw"), ("lock_nut", "nut"), ("shim", "washer"),
    ("threaded_rod", "rod"), ("ring", "washer"), ("spacer", "bearing"), ("bush", "bearing"),
    ("threaded_rod", "screw"), ("pin", "rod"), ("screw", "pin"), ("set_screw", "pin"),
    ("screw", "bush"), ("spacer", "shim"), ("o_ring", "ring"),
)  # fmt: skip


def read(text: str) -> Designation | None:
    """The hardware that a text names, None if it names none.

    Only the first ``sizes.TEXT_MAX`` characters are read.
    """
    flat = plain(text)
    if not _DIGIT.search(flat):
        return None
    phrases, others = phrases_in(flat)
    standard, standard_at = _standard_in(flat)
    known = STANDARDS.get(standard or "")
    if known and standard_at:
        # First, as it is decisive where other words say otherwise.
        phrases.insert(0, Phrase(*standard_at, known))
    found = [
        chain for chain in islice(chains(flat), _SIZES_MAX)
        if not standard_at or not standard_at[0] <= chain.numbers[0].start < standard_at[1]
    ]  # fmt: skip
    bearing = _bearing_number(flat, standard_at)
    kinds = _kinds(phrases)
    if not kinds and bearing and bearing["seal"]:
        kinds = ("bearing",)
    seal = _SEAL.search(flat)
    if not kinds and seal and any(len(chain.numbers) == 3 for chain in found):
        kinds = ("bearing",)
    kind = _fitting(kinds, any(chain.mark == "m" for chain in found))
    if known:
        # A standard is about one kind of thing, whatever else the text names.
        kind = known["kind"]
    start, heads = _described(kind, phrases, standard)
    if standard_at and not known:
        start = replace(start, pieces=(*start.pieces, standard_at))

    made = _from_unified(start, flat) or _from_metric(start, found, others)
    made = made or _from_tapping(start, found)
    if made is None and kind == "bearing":
        made = _from_bearing(start, found, flat, bearing)
    elif made is None and kind:
        made = _from_bare(start, found, flat) or _from_single(start, flat, phrases, found)
    elif made is None and not kinds and not standard:
        strange = [word for word in others if word not in NEUTRAL and len(word) > 1]
        sized = [chain for chain in found if chain.mark in ("", "Ø") and len(chain.numbers) > 1]
        made = _nameless(sized[0]) if sized and not strange else None
    if made is None:
        return None
    made = _with_class(settled(made), flat)
    made = _asking(made, kinds, heads, found)
    pieces = tuple(sorted(made.pieces))
    span = (min(start for start, _ in pieces), max(end for _, end in pieces))
    made = with_standard(settled(made))
    return replace(made, normal=normal(made), pieces=pieces, span=span)


def names_hardware(text: str) -> bool:
    """Whether a text says a word for hardware, with or without a size: ``2 E-rings``."""
    return any("kind" in phrase.facts for phrase in phrases_in(plain(text))[0])


# --- What the words say ---------------------------------------------------------------------------


def _standard_in(flat: str) -> tuple[str | None, tuple[int, int] | None]:
    found = _STANDARD.search(flat)
    if found is None:
        return None, None
    body = "ISO" if "iso" in found[0] else "DIN"
    full, base = f"{body} {found[1]}{found[2] or ''}", f"{body} {found[1]}"
    if found[2] and full not in STANDARDS:
        # What follows the number is no part of the standard: ISO 4032-8, DIN 912-8.8.
        return base, (found.start(), found.end(1))
    return full, found.span()


def _kinds(phrases: Iterable[Phrase]) -> tuple[str, ...]:
    """The kinds that the words name, in the order of the text, the general ones left out where a
    particular one is named too."""
    kinds = list(dict.fromkeys(
        phrase.facts["kind"] for phrase in phrases if "kind" in phrase.facts
    ))  # fmt: skip
    for rather, than in _RATHER:
        if rather in kinds and than in kinds:
            kinds.remove(than)
    return tuple(kinds)


def _fitting(kinds: tuple[str, ...], metric: bool) -> str | None:
    """The kind that the size fits, where the words name several."""
    if len(kinds) < 2:
        return kinds[0] if kinds else None
    likely = (SCREWS, NUTS, ROUND, LONG) if metric else (ROUND, LONG)
    return next((kind for group in likely for kind in kinds if kind in group), None)


def _related(said: str | None, kind: str) -> bool:
    return said is None or said == kind or any(
        said in group and kind in group for group in (SCREWS, NUTS)
    )  # fmt: skip


def _described(kind: str | None, phrases: list[Phrase], standard: str | None
               ) -> tuple[Designation, tuple[str, ...]]:  # fmt: skip
    """What the words say of a thing of this kind, and all heads that they name."""
    facts: Facts = {}
    heads: list[str] = []
    for phrase in phrases:
        if kind and not _related(phrase.facts.get("kind"), kind):
            continue
        for key, said in phrase.facts.items():
            if key == "head" and said not in heads:
                heads.append(said)
            elif key not in ("head", "kind"):
                facts.setdefault(key, said)
    if len(heads) > 1 and "linsen" in heads:
        heads.remove("linsen")
    if "button_flange" in heads and "button" in heads:
        heads.remove("button")
    head = heads[0] if heads else None
    drive = facts.get("drive")
    if facts.get("locks") and kind == "nut" and standard not in STANDARDS:
        kind = "lock_nut"
    if facts.get("flange"):
        if head is None:
            head = {"nut": "flange", "lock_nut": "flange", "bearing": "flanged",
                    "bush": "flanged"}.get(kind or "")  # fmt: skip
        elif head == "button":
            head, heads = "button_flange", ["button_flange"]
    if head == "linsen":
        # German lists say it of ISO 7380 (hexagon socket) and of ISO 7045 (cross recess) alike.
        if drive in ("hex_socket", "hex") and kind == "screw":
            head, drive = "button", "hex_socket"
        elif drive or kind == "tapping_screw":
            head = "pan"
        heads = [head]
    if kind == "nut" and drive == "hex" and head is None:
        head = "hex"
    if drive == "hex" and head and kind in ("screw", "tapping_screw"):
        drive = None if head == "hex" else "hex_socket"
    if kind and kind not in SCREWS:
        drive = None
    elif head == "socket_cap" and drive in ("slot", "cross"):
        head = "cheese"
    elif kind == "screw" and head in SOCKET_HEADS and drive in (None, "hex"):
        drive = "hex_socket"
    return Designation(
        kind or "", head=head, drive=drive,
        point=facts.get("point") if kind == "set_screw" else None,
        form=facts.get("form") if kind in NUTS else None, standard=standard,
        left_hand=facts.get("hand") == "left",
        pieces=tuple((phrase.start, phrase.end) for phrase in phrases),
    ), tuple(heads)  # fmt: skip


def _with_class(one: Designation, flat: str) -> Designation:
    """The property class, where one is said outside what has been read."""
    if one.kind not in (*SCREWS, *NUTS, "threaded_rod"):
        return one
    for found in (_NUT_CLASS if one.kind in NUTS else _CLASS).finditer(flat):
        first, last = found.span(1)
        if all(last <= start or first >= end for start, end in one.pieces):
            return replace(one, property_class=found[1].upper(),
                           pieces=(*one.pieces, found.span()))  # fmt: skip
    return one


# --- What the numbers say -------------------------------------------------------------------------


def _plus(one: Designation, start: int, end: int) -> tuple[tuple[int, int], ...]:
    return (*one.pieces, (start, end))


def _ask(one: Designation, sure: float, says: str, options: Iterable[str | None]) -> Designation:
    question = Question("designation", says, tuple(dict.fromkeys(options)))
    return replace(one, sure=min(one.sure, sure), asks=(*one.asks, question))


def _from_unified(start: Designation, flat: str) -> Designation | None:
    if start.kind and start.kind not in (*LONG, *NUTS):
        return None
    for thread in unified(flat):
        if not start.kind and thread.length_mm is None:
            continue
        length = None if start.kind in NUTS else thread.length_mm
        made = replace(
            start, kind=start.kind or "screw", d_mm=thread.d_mm, pitch_mm=thread.pitch_mm,
            length_mm=length, size=thread.size, pieces=_plus(start, *thread.span),
        )  # fmt: skip
        if made.kind in LONG and length is None:
            made = _ask(made, 0.6, "No length is said. How long is it?", [normal(made)])
        return made
    return None


def _from_metric(start: Designation, found: list[Chain], others: list[str]) -> Designation | None:
    """What stands after an ``M``."""
    if start.kind and start.kind not in (*LONG, *NUTS, "washer", "shim"):
        return None
    for chain in found:
        if chain.mark != "m" or not 0.9 <= chain.numbers[0].value <= 64:
            continue
        if not start.kind and len(chain.numbers) == 1 and not chain.dash:
            continue
        if start.kind in ("washer", "shim"):
            return _washer(start, chain)
        made = _thread(replace(start, kind=start.kind or "screw"), chain)
        if made is None:
            continue
        strange = [word for word in others if word not in NEUTRAL and len(word) > 1]
        if made.kind in LONG and made.length_mm is None:
            return _ask_length(made, start.kind)
        if not start.kind and strange:
            # 'Track lever M5x70' may have an M5 thread, or two, and be no screw.
            made = _ask(made, 0.6, f"Is it {_an(normal(made))}?", [normal(made), None])
        return made
    return None


def _washer(start: Designation, chain: Chain) -> Designation:
    d, rest = chain.numbers[0], chain.numbers[1:]
    outer = rest[0] if rest and rest[0].value > d.value else None
    width = rest[1] if outer and len(rest) > 1 else None
    return replace(
        start, d_mm=d.value, metric=True, outer_mm=outer.value if outer else None,
        width_mm=width.value if width else None,
        pieces=_plus(start, chain.start, (width or outer or d).end),
    )  # fmt: skip


def _thread(start: Designation, chain: Chain) -> Designation | None:
    """A metric thread, its pitch and its length; see :func:`threads.is_pitch`."""
    d, rest = chain.numbers[0].value, list(chain.numbers[1:])
    end, pitch, dashed = chain.numbers[0].end, None, None
    if chain.dash and threads.is_pitch(d, chain.dash.value):
        pitch, end = chain.dash.value, chain.dash.end
    elif chain.dash:
        if not start.kind or rest:
            return None
        # M3-12 is met for M3x12; and M12 - 8 is a nut of class 8.
        dashed = chain.dash if start.kind in LONG and chain.dash.value >= d else None
    if pitch is None and rest and threads.is_pitch(d, rest[0].value):
        pitch, end = rest[0].value, rest[0].end
        rest = rest[1:]
    length: Number | None = dashed or (rest[0] if rest and start.kind in LONG else None)
    if length and threads.is_pitch(d, length.value):
        length = None
    made = replace(
        start, d_mm=d, metric=True, pitch_mm=pitch or threads.coarse_pitch(d),
        length_mm=length.value if length else None,
        pieces=_plus(start, chain.start, length.end if length else end),
    )  # fmt: skip
    if length is None:
        return made
    if dashed:
        return _ask(made, 0.6, f"Is {digits(length.value)} mm the length?", [normal(made)])
    if "/" in length.said:
        lengths = [float(part) for part in re.split("[-/ ]", length.said) if float(part) >= d]
        return _ask(replace(made, length_mm=None), 0.4, f"Which length is it, {length.said}?",
                    [spelt(made, length_mm=one) for one in lengths])  # fmt: skip
    if _odd_length(made):
        return _ask(made, 0.5, f"Is it {digits(length.value)} mm long?", [normal(made)])
    return made


def _odd_length(one: Designation) -> bool:
    """A length that no such screw is made in: 10.12 comes of ``M3x10,12``, 1 of a misprint."""
    d, length = one.d_mm or 0, one.length_mm or 0
    if one.kind not in SCREWS or one.size:
        return length <= 0
    shortest = 0.5 * d if one.kind == "set_screw" else 0.6 * d
    return not shortest <= length <= 60 * d or round(length * 2) != length * 2


def _ask_length(one: Designation, kind: str) -> Designation:
    if one.asks:
        return one
    if kind:
        return _ask(one, 0.6, "No length is said. How long is it?", [normal(one)])
    thread = f"M{digits(one.d_mm or 0)}x{digits(one.pitch_mm or 0)}"
    return _ask(
        one, 0.4, f"{thread} is a thread with its pitch, and no length is said. What is it?",
        [normal(one), spelt(one, kind="nut"), spelt(one, kind="threaded_rod")],
    )  # fmt: skip


def _from_tapping(start: Designation, found: list[Chain]) -> Designation | None:
    """ISO 1478: ``ST2.9x9.5``."""
    known = STANDARDS.get(start.standard or "", {}).get("kind", "tapping_screw")
    if start.kind not in ("", "screw", "tapping_screw") or known != "tapping_screw":
        return None
    for chain in found:
        if chain.mark == "st" and len(chain.numbers) > 1 and chain.numbers[1].value > 0:
            d, length = chain.numbers[0].value, chain.numbers[1].value
            if not 1 <= d <= 12:
                continue
            return replace(start, kind="tapping_screw", d_mm=d, length_mm=length,
                           pitch_mm=threads.TAPPING.get(d),
                           pieces=_plus(start, chain.start, chain.numbers[1].end))  # fmt: skip
    return None


def _bearing_number(flat: str, standard_at: tuple[int, int] | None) -> re.Match[str] | None:
    """The number of a bearing that is not the number of a standard, such as DIN 625."""
    for found in _BEARING.finditer(flat):
        # A number alone, such as 6 or 63, is no bearing; MR85 and 688 are.
        apart = not standard_at or found.end() <= standard_at[0] or found.start() >= standard_at[1]
        if len(found["code"]) > 2 and apart:
            return found
    return None


def _from_bearing(
    start: Designation, found: list[Chain], flat: str, code: re.Match[str] | None
) -> Designation | None:
    """A bearing by its size, by its number, or by both."""
    sized = _from_bare(start, found, flat)
    if code and (sized is None or all(
        code.end("code") <= first or code.start("code") >= last
        for first, last in sized.pieces[len(start.pieces) :]
    )):  # fmt: skip
        made = sized or start
        seal = code["seal"].upper() if code["seal"] else None
        return replace(made, code=code["code"].upper(), seal=seal,
                       pieces=_plus(made, *code.span()))  # fmt: skip
    if sized is None:
        return None
    seal_at = _SEAL.search(flat)
    if seal_at:
        return replace(sized, seal=seal_at[1].upper(), pieces=_plus(sized, *seal_at.span(1)))
    return sized


def _from_bare(start: Designation, found: list[Chain], flat: str) -> Designation | None:
    """A size without ``M`` of a thing whose kind the words say."""
    for chain in found:
        if chain.mark not in ("", "Ø") or len(chain.numbers) < 2:
            continue
        if start.kind in LONG:
            made, sure = _long(start, chain)
        elif start.kind == "o_ring":
            numbers, sure = size_of(chain.numbers, 2)
            sure = sure and numbers[-1].gap != " x"
            if numbers[0].value < numbers[1].value and len(chain.numbers) == 3:
                numbers = chain.numbers[:2]
            made = _across(start, numbers)
        elif start.kind in ROUND:
            made, sure = _round(start, chain)
        else:
            return None
        if made is None:
            continue
        if not sure:
            said = flat[chain.start : chain.end].strip()
            made = _ask(made, 0.5, f"Which of the numbers in {said} are the size?", [normal(made)])
        return made
    return None


def _long(start: Designation, chain: Chain) -> tuple[Designation | None, bool]:
    """Diameter and length of a screw, rod or pin."""
    numbers, sure = size_of(chain.numbers, 2)
    d, length = numbers[0].value, numbers[1].value
    # No screw is shorter than half its diameter: 4 x 0.5 is a thread, or a misprint.
    if not 0.9 <= d <= 64 or length <= (d / 2 if start.kind in SCREWS else 0):
        return None, sure
    made = replace(start, d_mm=d, length_mm=length,
                   pieces=_plus(start, numbers[0].start, numbers[1].end))  # fmt: skip
    coarse = threads.coarse_pitch(d)
    metric = replace(made, metric=True, pitch_mm=coarse)
    known = STANDARDS.get(made.standard or "", {})
    if made.kind == "set_screw" or (
        made.kind == "screw" and (made.drive == "hex_socket" or known.get("kind") == "screw")
    ):
        # Nothing else than metric has these heads, where the size is in millimetres.
        if coarse and not _odd_length(metric):
            return metric, sure
        return _ask(metric, 0.5, f"Is it {_an(normal(metric))}?", [normal(metric)]), sure
    if made.kind == "screw":
        heads = ("button", "pan") if made.head == "linsen" else (made.head,)
        options = [spelt(metric, head=head) for head in heads if coarse]
        options.append(spelt(made, kind="tapping_screw", head=heads[-1], drive=None, standard=None))
        said = f"{digits(d)}x{digits(length)}"
        says = f"Is {said} a machine screw with a metric thread, or a tapping screw?"
        return _ask(made, 0.6, says, options), sure
    return made, sure


def _across(start: Designation, numbers: tuple[Number, ...]) -> Designation | None:
    """Bore, outside and width; bore and cord of an O-ring."""
    values = [number.value for number in numbers]
    if min(values) <= 0:
        return None
    one = replace(start, inner_mm=values[0], pieces=_plus(start, numbers[0].start, numbers[-1].end))
    if start.kind == "o_ring":
        return replace(one, width_mm=values[1])
    if values[0] >= values[1]:
        return None
    return replace(one, outer_mm=values[1], width_mm=values[2] if len(values) > 2 else None)


def _round(start: Designation, chain: Chain) -> tuple[Designation | None, bool]:
    numbers, sure = size_of(chain.numbers, 3)
    if len(chain.numbers) == 2 and numbers[1].gap == " x":
        # 'Spacer, 4 mm x12' is twelve of them.
        return None, True
    if len(numbers) == 3:
        values = [number.value for number in numbers]
        apart = numbers[1].gap != numbers[2].gap and len(chain.numbers) == 3
        if (numbers[1].gap, numbers[2].gap) == ("x", " x") and values[0] < values[1]:
            # 4x7 x2: a cross that stands with the last number alone makes it a count.
            return _across(start, numbers[:2]), True
        if values[0] >= values[1]:
            # 4 x 3x8 washer: the first is no bore, so it is a count.
            return _across(start, numbers[1:]), apart and sure
        if apart and values[1] < values[2]:
            # 2 x 5x11 bearing: nothing is wider than it is large.
            return _across(start, numbers[1:]), sure
        sure = sure and not apart
    return _across(start, numbers), sure


def _from_single(start: Designation, flat: str, phrases: list[Phrase], found: list[Chain]
                 ) -> Designation | None:  # fmt: skip
    """One number beside its word: ``E-ring 5``, ``3 mm washer``; ``5 retaining washer, DIN 6799``
    only where a standard says that it is no count of five."""
    if start.kind not in ("ring", "washer", *NUTS):
        return None
    for phrase in phrases:
        if phrase.facts.get("kind") != start.kind:
            continue
        for chain in found:
            number = chain.numbers[0]
            # A ring has one size: what follows a cross is how many, E-ring 5 x2.
            most = 2 if start.kind == "ring" else 1
            if len(chain.numbers) > most or chain.mark not in ("", "Ø"):
                continue
            unit = "mm" in flat[number.start : number.end] or chain.mark == "Ø"
            before = number.end <= phrase.start and not flat[number.end : phrase.start].strip(" -")
            after = phrase.end <= chain.start and not flat[phrase.end : chain.start].strip(" -")
            if not ((before and (unit or start.standard)) or
                    (after and (unit or start.kind == "ring"))):  # fmt: skip
                continue
            if not 0.5 <= number.value <= 200:
                continue
            pieces = _plus(start, chain.start, number.end)
            if start.kind == "ring":
                return replace(start, inner_mm=number.value, sure=0.8, pieces=pieces)
            coarse = threads.coarse_pitch(number.value)
            if coarse:
                return replace(start, d_mm=number.value, metric=True, sure=0.8, pieces=pieces,
                               pitch_mm=coarse if start.kind in NUTS else None)  # fmt: skip
    return None


def _nameless(chain: Chain) -> Designation | None:
    """A size and not a word: what it looks like, and the question what it is."""
    numbers = chain.numbers
    if len(numbers) == 4 or (len(numbers) == 3 and numbers[1].gap != numbers[2].gap):
        numbers = size_of(numbers, len(numbers) - 1)[0]
    values = [number.value for number in numbers]
    said = "x".join(digits(one) for one in values)
    if len(values) == 2:
        d, length = values
        if "/" in numbers[0].said:
            return None
        if not (1 <= d <= 12 and d <= length <= 200):
            return None
        one = Designation("screw", d_mm=d, length_mm=length,
                          pieces=((numbers[0].start, numbers[1].end),))  # fmt: skip
        pitch = threads.coarse_pitch(d)
        options = [
            *([spelt(one, pitch_mm=pitch, metric=True)] if pitch else []),
            spelt(one, kind="tapping_screw"), spelt(one, kind="pin"),
        ]  # fmt: skip
        says = f"Is {said} a screw with a metric thread, a tapping screw or a pin?"
        return _ask(one, 0.4, says, options)
    if len(values) != 3:
        return None
    thin = values[2] < 2 and values[2] < values[0]
    kinds = ("washer", "shim") if thin else ("bearing", "spacer", "bush")
    round_one = _across(Designation(kinds[0]), numbers)
    if round_one is None:
        return None
    says = f"Is {said} (bore x outside x width) a {', a '.join(kinds[:-1])} or a {kinds[-1]}?"
    return _ask(round_one, 0.5, says, [spelt(round_one, kind=kind) for kind in kinds])


# --- What is left open ----------------------------------------------------------------------------


def _an(spelling: str) -> str:
    """With its article: an M3x12 screw, a 3x12 pin."""
    return f"{'an' if spelling[:1] in 'MSFE8' else 'a'} {spelling}"


def _asking(one: Designation, kinds: tuple[str, ...], heads: tuple[str, ...], found: list[Chain]
            ) -> Designation:  # fmt: skip
    """With the questions that the words leave, and the standard if they leave none."""
    if one.kind in ("screw", "tapping_screw"):
        one = _head(one, heads)
    if len(kinds) > 1 and one.kind in kinds and not one.asks:
        named = " or ".join(kind.replace("_", " ") for kind in kinds)
        one = _ask(one, 0.6, f"Is it a {named}?", [normal(one), None])
    if one.metric and one.kind in LONG and one.length_mm is not None and not one.asks:
        others = {
            (chain.numbers[0].value, chain.numbers[1].value): chain for chain in found
            if chain.mark == "m" and len(chain.numbers) == 2 and chain.start >= one.pieces[-1][0]
        }  # fmt: skip
        sizes = [size for size in others if size != (one.d_mm, one.length_mm)
                 and not threads.is_pitch(*size)]  # fmt: skip
        if sizes:
            options = [normal(one)] + [
                spelt(one, d_mm=d, length_mm=length, pitch_mm=threads.coarse_pitch(d))
                for d, length in sizes
            ]
            one = _ask(one, 0.4, "More than one size is said. Which is it?", options)
    return one


def _head(one: Designation, heads: tuple[str, ...]) -> Designation:
    if one.head == "linsen":
        if one.asks:
            return one
        return _ask(
            one, 0.5, "Has it a hexagon socket (button head) or a cross recess (pan head)?",
            [spelt(one, head="button", drive="hex_socket"),
             spelt(one, head="pan", drive="cross")],
        )  # fmt: skip
    if one.drive == "hex":
        one = replace(one, drive=None)
        if one.head is None and one.kind == "screw":
            socket = replace(one, drive="hex_socket")
            if not one.metric and not one.size:
                socket = replace(socket, metric=True, pitch_mm=threads.coarse_pitch(one.d_mm or 0))
            says = "Is the hexagon on the outside of the head, or a socket in it?"
            return _ask(one, 0.5, says, [spelt(one, head="hex"), normal(socket)])
    if len(heads) > 1:
        options = [normal(with_head(one, head)) for head in heads]
        return _ask(one, 0.5, "More than one head is said. Which is it?", options)
    return one
