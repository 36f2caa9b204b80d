"""Which column of a table is what: by its heading, English or German, and by what stands in it."""

from __future__ import annotations

import hashlib
import itertools
import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ....trade import designations, part_lines
from ....wire.intake import COLUMNS
from . import figures

#: Headings, as :func:`normal` writes them, and what they say.  Where one can mean several things,
#: what stands in the column decides.  ``-`` is a column that is none of the fields.
_WORDS = """
section.title = section, section title, section name, chapter, assembly, sub assembly, \
subassembly, module, group, baugruppe, abschnitt, kapitel, gruppe, unterbaugruppe, abschnitt titel
bag.number = bag, bag nr, bag id, bags, bag code, beutel, beutel nr, tuete, tueten, tueten nr, \
tuete nr, pouch, pouch nr, packet, packet nr, sachet, polybag, polybag nr, in bag, from bag, \
aus beutel, package, packung, pack nr
bag.title = bag title, bag name, bag contents, bag description, contents of bag, beutelinhalt, \
beutel inhalt, beutelname, beutel name, beutel titel, inhalt, contents, tueteninhalt, \
beutel bezeichnung, tuete bezeichnung
step.number = step, step nr, steps, schritt, schritt nr, schritte, bauschritt, bauschritt nr, \
baustufe, baustufe nr, arbeitsschritt, arbeitsschritt nr, montageschritt, figure, figure nr, fig, \
fig nr, bild, bild nr, abb, abb nr, abbildung, at step, used in step, for step, in schritt, \
bei schritt, stage, manual step, nr
step.title = step title, title of step, name of step, step name, step description, \
schritt titel, schritttitel, schrittname, \
schritt name, schritt bezeichnung, bauschritt titel, bauschritt bezeichnung, title, titel, \
was gebaut wird, ueberschrift
step.text = step text, text, instruction, instructions, anweisung, anleitung, anleitungstext, \
schritt text, schritttext, step instructions, manual text, hinweis, hinweise, remark, remarks, \
note, notes, bemerkung, bemerkungen, anmerkung
step.minutes = minutes, min, mins, minuten, time, time min, time minutes, minutes expected, \
expected minutes, duration, duration min, dauer, dauer min, zeit, zeit min, zeit minuten, \
zeitbedarf, bauzeit, planned minutes, step minutes
step.bags = step bags, bags, bags needed, needed bags, bags used, open bags, benoetigte beutel, \
beutel benoetigt, tueten, beutel liste
operation.text = operation, operations, operation text, action, actions, task, what to do, \
taetigkeit, arbeitsgang, handgriff, vorgang, arbeit
part.number = part nr, partno, partnr, part number, p n, pn, part id, part code, item nr, item id, \
item code, article, article nr, article code, art nr, artikel, artikel nr, teile nr, teil nr, \
teilenr, sach nr, bestell nr, best nr, order nr, order code, sku, code, spare nr, ersatzteil nr, \
catalogue nr, material nr, ident nr, reference, ref, nr, part, parts, teil, ref nr, stock nr
part.name = name, part name, part, parts, part description, description, desc, bezeichnung, \
benennung, teil, teile, teilename, teil name, teilebezeichnung, teil bezeichnung, beschreibung, \
item, item name, item description, artikelbezeichnung, artikel bezeichnung, artikel, component, \
bauteil, what, was, gegenstand, text, title
part.designation = designation, norm, standard, normbezeichnung, norm bezeichnung, size, \
abmessung, abmessungen, groesse, dimension, dimensions, spec, specification, spezifikation, \
hardware, thread, gewinde, din, iso, din iso, din en iso, norm groesse, standard size, \
normteil, fastener, mass, masse, bezeichnung nach norm, screw
part.material = material, mat, werkstoff, made of, stoff
part.quantity = qty, quantity, quan, qnty, count, pcs, pieces, amount, nr off, nr of, off, number \
off, menge, anzahl, stk, stck, stueck, stueckzahl, anz, st, needed, required, units, how many, \
total qty, qty total, x, quantity per kit, qty per kit, qty per step, je bausatz, ben menge
part.text = part line, parts line, line, parts list, partslist, stueckliste, teileliste, \
parts needed, parts and quantities, teile, parts, packing list, packliste, was drin ist, contents, \
inhalt, item, description, bezeichnung
- = pos, position, pos nr, lfd nr, row, zeile, line nr, index, price, preis, unit price, \
einzelpreis, gesamtpreis, cost, kosten, weight, gewicht, page, seite, picture, photo, foto, done, \
erledigt, ok, checked, supplier, lieferant, shop, haendler, link, url, currency, waehrung, unit, \
einheit, me, colour, color, farbe, stock, bestand, location, lagerort, date, datum
"""
#: Fields that a heading names only in need: another that fits as well goes first.
_SECOND = {
    "step.text": {"text", "hinweis", "hinweise", "remark", "remarks", "note", "notes",
                  "bemerkung", "bemerkungen", "anmerkung"},
    "part.text": {"contents", "inhalt", "item", "description", "bezeichnung", "parts", "teile"},
    "part.name": {"part", "parts", "teil", "teile", "artikel", "text", "title", "what", "was"},
    "part.number": {"part", "parts", "teil", "code", "ref", "reference", "nr", "artikel"},
    "part.quantity": {"x", "st", "off", "amount"},
    "part.designation": {"screw", "mass", "masse", "size", "dimension", "dimensions"},
    "bag.number": {"bags", "package", "packung"},
    "bag.title": {"contents", "inhalt"},
    "step.title": {"title", "titel"},
    "step.number": {"nr"},
}  # fmt: skip

_NUMBER_WORDS = {"number", "nummer", "num", "nr", "no", "nos"}
_COMPOUND = re.compile(r"(\w{3,})(?:nummer|nr)$")
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "#": " nr ", "№": " nr "})
_TOKEN = re.compile(r"[a-z0-9]+")

#: Rows among which the headings are looked for, and cells of a column that are looked at.
HEADING_ROWS = 40
_CELLS = 400
_LOOKED_INTO = 60
_LEAST = 0.4
#: From which score on a second column adds to what another says: norm and size of hardware.
_SECOND_LEAST = 0.6


def normal(heading: str) -> str:
    """A heading in the one spelling in which headings are compared: ``Art.-Nr.`` is ``art nr``."""
    text = unicodedata.normalize("NFC", heading).casefold().translate(_UMLAUTS)
    text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    words = []
    for word in _TOKEN.findall(text):
        if word in _NUMBER_WORDS:
            words.append("nr")
        elif found := _COMPOUND.fullmatch(word):
            words += [found[1].removesuffix("s") if found[1] == "tuetens" else found[1], "nr"]
        else:
            words.append(word)
    return " ".join(words)


def _vocabulary() -> dict[str, dict[str, float]]:
    made: dict[str, dict[str, float]] = {}
    for line in _WORDS.strip().splitlines():
        name, _, words = line.partition(" = ")
        for said in words.split(","):
            phrase = normal(said)
            second = phrase in _SECOND.get(name, ())
            made.setdefault(phrase, {})[name] = 0.7 if second else 1.0
    return made


_VOCABULARY = _vocabulary()
_PHRASES = sorted(_VOCABULARY, key=len, reverse=True)


def said_by(heading: str) -> dict[str, float]:
    """What a heading can mean, each from 0 to 1; ``-`` for none of the fields."""
    key = normal(heading)
    if not key:
        return {}
    if key in _VOCABULARY:
        return _VOCABULARY[key]
    if any(character.isdigit() for character in key) or len(key) > 60:
        return {}
    padded = f" {key} "
    for phrase in _PHRASES:
        # A single letter or two within other words say nothing.
        if len(phrase) > 2 and f" {phrase} " in padded:
            part = 0.45 + 0.4 * len(phrase) / len(key)
            return {name: weight * part for name, weight in _VOCABULARY[phrase].items()}
    return {}


def shape_of(headings: Sequence[str], width: int) -> str:
    """Fingerprint of the headings, by which an earlier file of the same kind is known again.

    64 hex digits.  A table without headings goes by its number of columns.
    """
    keys = [normal(heading) for heading in headings]
    while keys and not keys[-1]:
        keys.pop()
    said = "\x1f".join(keys) if any(keys) else f"\x1e{width}"
    return hashlib.sha256(said.encode()).hexdigest()


# What stands in a column

STEP = re.compile(r"\d{1,3}(?:[.\-]\d{1,3}){1,2}[a-z]?|[A-Z]{1,2}-?\d{1,3}(?:\.\d{1,2})?")
BAG_WORDS = "bag|beutel|tüte|tuete|pouch|packet|polybag|sachet"
STEP_WORDS = "step|schritt|bauschritt|arbeitsschritt|baustufe|figure|fig\\.?|bild|abb\\.?"
SECTION_WORDS = "section|chapter|abschnitt|kapitel|baugruppe|assembly|sub-?assembly"
_BAG = re.compile(rf"(?:{BAG_WORDS})\b.*", re.IGNORECASE)
_STEP = re.compile(rf"(?:{STEP_WORDS})\b.*", re.IGNORECASE)
_SECTION = re.compile(rf"(?:{SECTION_WORDS})\b.*", re.IGNORECASE)
_PART_NUMBER = re.compile(
    r"(?=[^\d]*\d)(?=.{3,25}$)(?:[A-Z]{1,5}[ \-.]?)?[A-Z0-9]+(?:[\-./][A-Z0-9]+)*"
)
_POINTED = re.compile(r"\d{1,3}(?:[.\-]\d{1,3}){1,2}[a-z]?")


@dataclass(slots=True)
class Content:
    """What the filled cells of a column have in common: shares from 0 to 1."""

    count: int = 0
    blank: float = 0.0
    distinct: float = 0.0
    numbers: float = 0.0
    whole: float = 0.0
    counter: bool = False
    grouped: float = 0.0
    changes: float = 0.0
    steps: float = 0.0
    pointed: float = 0.0
    bag_words: float = 0.0
    step_words: float = 0.0
    section_words: float = 0.0
    part_numbers: float = 0.0
    hardware: float = 0.0
    lines: float = 0.0
    length: float = 0.0
    spaced: float = 0.0
    samples: list[str] = field(default_factory=list)


def content_of(cells: Sequence[str]) -> Content:
    """Look at up to 400 filled cells of a column."""
    filled = [cell for cell in cells if cell][:_CELLS]
    made = Content(count=len(filled))
    if not filled:
        return made
    count = len(filled)
    made.blank = 1 - sum(map(bool, cells)) / len(cells)
    distinct = dict.fromkeys(filled)
    made.samples = [cell[:80] for cell in list(distinct)[:5]]
    made.distinct = len(distinct) / count

    def share(tests: Iterable[object]) -> float:
        return sum(1 for test in tests if test) / count

    values = [figures.quantity(cell, ".") for cell in filled]
    made.numbers = share(value is not None for value in values)
    small = [value for value in values if value is not None and value == int(value) and value > 0]
    made.whole = sum(1 for value in small if value <= 1000) / count
    made.counter = count > 3 and values == list(range(1, count + 1))
    runs = 1 + sum(1 for a, b in itertools.pairwise(filled) if a != b)
    made.changes = (runs - 1) / (count - 1) if count > 1 else 0.0
    # Each value stands in one run, or the runs are few: as bags and steps stand in a list.
    made.grouped = len(distinct) / runs if made.distinct < 0.9 or made.blank > 0.3 else 0.5
    made.steps = share(STEP.fullmatch(cell) for cell in filled)
    made.pointed = share(_POINTED.fullmatch(cell) for cell in filled)
    made.bag_words = share(_BAG.fullmatch(cell) for cell in filled)
    made.step_words = share(_STEP.fullmatch(cell) for cell in filled)
    made.section_words = share(_SECTION.fullmatch(cell) for cell in filled)
    made.part_numbers = share(
        _PART_NUMBER.fullmatch(cell.upper()) and not _POINTED.fullmatch(cell) for cell in filled
    )
    made.length = sum(map(len, filled)) / count
    made.spaced = share(" " in cell for cell in filled)
    # Rows that head others stand among part lines.
    heads = (_BAG, _STEP, _SECTION)
    looked = [one for one in distinct if not any(head.fullmatch(one) for head in heads)]
    looked = (looked or list(distinct))[:_LOOKED_INTO]
    made.hardware = sum(1 for cell in looked if designations.read(cell)) / len(looked)
    if made.spaced > 0.3:
        found = [part_lines.read(cell) for cell in looked]
        made.lines = sum(1 for one in found if one and one.quantity is not None) / len(looked)
    return made


def _fits(name: str, content: Content) -> float:
    """How well a column's content goes with a field, 0 to 1; 0.5 where it says nothing."""
    wordy = content.spaced * min(1.0, content.length / 12)
    plain = content.numbers
    match name:
        case "part.quantity":
            if content.counter and content.count > 5:
                return 0.1
            return 0.15 + 0.85 * content.whole if plain > 0.5 else 0.1
        case "step.minutes":
            return 0.5 if plain > 0.5 else 0.1
        case "step.number":
            if content.counter and content.blank < 0.1:
                return 0.6
            return max(content.steps, content.step_words, 0.5 * content.whole, 0.1)
        case "bag.number":
            short = 0.6 * content.whole + 0.3 * (content.length < 8)
            return max(content.bag_words, short * content.grouped, 0.2)
        case "part.number":
            few = content.part_numbers * (0.4 + 0.6 * content.distinct) * (content.length > 2.5)
            return max(0.0, few - 0.5 * content.hardware)
        case "part.designation":
            return max(0.1, content.hardware) if content.spaced or content.hardware else 0.1
        case "part.text":
            return content.lines
        case "part.name":
            words = 0.35 * (plain < 0.5) * (content.part_numbers < 0.8)
            return max(0.0, words, wordy) - 0.6 * content.lines * (content.lines > 0.5)
        case "section.title":
            return max(content.section_words, 0.5 * wordy * content.grouped, 0.3 * (plain < 0.5))
        case "step.bags":
            return 0.6 if content.length < 12 and plain < 0.95 else 0.45
        case "step.text" | "operation.text":
            return min(1.0, content.length / 40) if plain < 0.3 else 0.0
        case "step.title" | "bag.title":
            return 0.3 + 0.3 * wordy if plain < 0.5 else 0.05
        case "part.material":
            return 0.5 if plain < 0.3 and content.length < 25 else 0.1
    raise KeyError(name)


#: Fields that content alone can give away, in a column whose heading says nothing.
_BY_CONTENT = (
    "part.text", "part.designation", "part.number", "part.quantity", "step.number", "bag.number",
    "part.name",
)  # fmt: skip


def _alone(name: str, content: Content, taken: set[str]) -> float:
    """How sure the content alone makes of a field, 0 to 0.6."""
    if content.count < 2:
        return 0.0
    fits = _fits(name, content)
    if name == "part.quantity":
        # Bags, steps and minutes stay the same over several rows; quantities change.
        steady = content.count > 11 and content.changes < 0.3
        good = content.whole > 0.9 and not content.counter and content.distinct < 0.7
        if steady or not (good or (content.count < 6 and content.whole > 0.9)):
            return 0.0
        return fits * (0.42 + 0.1 * content.changes)
    if name == "step.number":
        found = max(content.pointed, content.step_words)
        return 0.58 * found if found > 0.8 else 0.0
    if name == "bag.number":
        good = content.whole > 0.9 and content.grouped > 0.95 and content.distinct < 0.6
        if content.bag_words > 0.8:
            return 0.6
        return 0.45 if good and not content.counter and "bag.number" not in taken else 0.0
    if name == "part.designation":
        return 0.5 * fits if fits > 0.8 and content.lines < 0.5 else 0.0
    if name == "part.name":
        return 0.45 * fits if fits > 0.6 else 0.0
    return 0.6 * fits if fits > 0.75 else 0.0


def matched(headings: Sequence[str], contents: Sequence[Content]) -> list[tuple[str | None, float]]:
    """For each column its field and how sure that is.

    Each field is given once, but for designations: norm and size often stand apart.
    """
    said = [said_by(heading) for heading in headings]
    named = {name for words in said for name in words}
    # 'Title' and 'description' speak of steps where no parts are listed.
    clear = {name for words in said for name, weight in words.items() if weight > 0.8}
    of_parts = bool(clear & {"part.quantity", "part.number", "part.designation"}) or any(
        content.lines > 0.6 for content in contents
    )
    offers: list[tuple[float, int, str]] = []
    for at, (words, content) in enumerate(zip(said, contents, strict=True)):
        for name, weight in words.items():
            if name == "-" or not content.count:
                continue
            fits = _fits(name, content)
            score = 0.7 * weight + 0.3 * fits
            # A heading that can only mean this is believed, so that what is wrong below is told.
            if fits <= 0.1 and not (weight == 1.0 and len(words) == 1):
                score *= 0.5
            if name.startswith("part.") and not of_parts and "step.number" in named:
                score *= 0.6
            if name == "step.bags" and of_parts:
                score *= 0.6
            if name == "part.text" and content.lines < 0.4:
                score *= 0.5
            if weight < 1 and of_parts and name in ("step.text", "step.number"):
                # Remarks and running numbers of a parts list say nothing of steps.
                score *= 0.5
            if weight < 1 and name == "step.number" and not named & _STEP_COLUMNS:
                score *= 0.5
            if _hopeless(name, content):
                score *= 0.5
            offers.append((score, at, name))
        if "-" in words:
            continue
        if of_parts is False and "step.number" in named and _second_title(words):
            offers.append((0.6, at, "step.title"))
        for name in _BY_CONTENT:
            # A heading that says something else is believed more than the content.
            offers.append((_alone(name, content, named) * (0.6 if words else 1), at, name))
    fields: dict[int, tuple[str, float]] = {}
    given: set[str] = set()
    for score, at, name in sorted(offers, key=lambda one: (-one[0], one[1], COLUMNS.index(one[2]))):
        if score < _LEAST:
            break
        if at in fields or _hides(name, given):
            continue
        if name in given and not (name == "part.designation" and score > _SECOND_LEAST):
            continue
        fields[at] = (name, round(min(score, 0.99), 2))
        given.add(name)
    return [fields.get(at, (None, 0.0)) for at in range(len(headings))]


#: Columns beside which a column 'No.' numbers steps.
_STEP_COLUMNS = {"step.title", "step.text", "step.minutes", "operation.text"}


def _hopeless(name: str, content: Content) -> bool:
    """Whether none of several cells can be what the heading says."""
    if content.count < 5:
        return False
    if name in ("part.quantity", "step.minutes"):
        return content.numbers == 0
    if name == "step.number":
        return max(content.steps, content.step_words, content.whole, content.pointed) == 0
    return False


def _second_title(words: dict[str, float]) -> bool:
    return "part.name" in words and "step.title" not in words


def _hides(name: str, given: set[str]) -> bool:
    """A column of whole part lines and columns of their pieces do not go together."""
    if name == "part.text":
        return bool(given & {"part.name", "part.quantity"})
    return name in ("part.name", "part.designation") and "part.text" in given


def width_of(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> int:
    """The number of columns: that of the headings, unless most rows have more.

    Without headings it is that of all but a few rows.  A longer row is no wider table: a cell of
    it holds the delimiter.
    """
    lengths = sorted(len(row) for row in rows if row)
    if not lengths:
        return len(headings)
    share = 0.5 if headings else 0.95
    return max(len(headings), lengths[math.ceil(share * len(lengths)) - 1])


def heading_row_of(rows: Sequence[Sequence[str]]) -> int:
    """The row with the headings, from 1; 0 if there is none."""
    best, found = 0.0, 0
    filled = 0
    for number, row in enumerate(rows, 1):
        cells = [cell for cell in row if cell]
        if not cells:
            continue
        filled += 1
        if filled > HEADING_ROWS:
            break
        if any(len(cell) > 60 for cell in cells):
            continue
        names = [said_by(cell) for cell in cells]
        fields = {max(words, key=lambda one: words[one]) for words in names if words}
        hits = sum(max(words.values()) for words in names if words)
        if len(fields) < 2 and len(cells) > 2:
            continue
        score = hits * (0.5 + 0.5 * hits / len(cells))
        # A row of prose holds such words too; the first row that says as much is the heading.
        if score > best * 1.25 and score >= 0.8:
            best, found = score, number
    return found or _unlike_the_rest(rows)


def _unlike_the_rest(rows: Sequence[Sequence[str]]) -> int:
    """The first filled row, if it has words where those below it have numbers."""
    filled = [(number, row) for number, row in enumerate(rows, 1) if any(row)][:20]
    if len(filled) < 3:
        return 0
    number, first = filled[0]
    if any(figures.number(cell, ".") is not None for cell in first):
        return 0
    for at, cell in enumerate(first):
        below = [row[at] for _, row in filled[1:] if at < len(row) and row[at]]
        numeric = sum(1 for one in below if figures.quantity(one, ".") is not None)
        if cell and not any(c.isdigit() for c in cell) and len(below) > 1 and numeric == len(below):
            return number
    return 0
