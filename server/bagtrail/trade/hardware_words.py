"""Words for hardware in English and German, and the standards that name a kind by themselves.

Common practice; the titles of the standards are from memory.  A line of the tables below is
``phrase, phrase = facts``; phrases are in lower case with single spaces, words may be joined by
spaces or hyphens in the text, and plurals are found too.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

Facts = dict[str, str]


def word_set(words: str) -> frozenset[str]:
    """The words of a text, for asking whether one is among them."""
    return frozenset(words.split())


_PHRASES = """
screw, machine screw, bolt, schraube, maschinenschraube, gewindeschraube = kind:screw
cap screw, cap head screw, cap head, cap, shcs, shc, socket head cap screw, socket head cap, \
socket cap screw, socket cap, socket head screw, socket head, hexagon socket head cap screw, \
hex socket head cap screw, hexagon socket cap screw, hex socket cap screw, \
hexagon socket head screw, hex socket head screw, \
zylinderkopf, zylinderkopfschraube, zylinderschraube, innensechskantschraube, \
zylinderkopf schraube, zylinderschraube mit innensechskant = kind:screw head:socket_cap
low head cap screw, low head cap, low profile cap screw, low head = kind:screw head:low_cap
button head screw, button head, button, bhcs, bh, bhs, button head cap screw, button screw, \
button head socket screw, button head socket cap screw, socket button head screw, \
hexagon socket button head screw, hex socket button head screw, \
halbrundkopf, halbrundkopfschraube, halbrundschraube, flachrundkopf, flachrundkopfschraube, \
flachrundschraube = kind:screw head:button
flanged button head screw, flange button head screw, flanged button head, flange button head, \
button flange = kind:screw head:button_flange
countersunk screw, countersunk head screw, countersunk head, countersunk, csk, csk screw, fh, \
flat head screw, flat head, flathead, senkkopf, senkkopfschraube, senkschraube, \
senkkopf schraube, counter sunk = kind:screw head:countersunk
fhcs, flat head cap screw, flat head socket screw, flat head socket cap screw, \
socket countersunk screw, socket flat head screw, hexagon socket countersunk screw, \
hex socket countersunk screw, hexagon socket countersunk head screw, \
hexagon socket countersunk head cap screw, countersunk socket screw = \
kind:screw head:countersunk drive:hex_socket
raised countersunk screw, raised countersunk, linsensenkkopf, linsensenkschraube = \
kind:screw head:raised_countersunk
linsenkopf, linsenkopfschraube, linsenschraube, flachkopf, flachkopfschraube, \
linsenkopf schraube = kind:screw head:linsen
pan head screw, pan head, pan, panhead = kind:screw head:pan
cheese head screw, cheese head, flachkopf zylinder = kind:screw head:cheese
round head screw, round head, rundkopf, rundkopfschraube = kind:screw head:round
truss head screw, truss head = kind:screw head:truss
washer head screw, washer head, pan washer head screw, pan washer head = kind:screw head:washer
hexagon head screw, hex head screw, hexagon head bolt, hex head bolt, hex head, hexagon head, \
hex bolt, hexagon bolt, hex cap screw, hexagon cap screw, hex screw, hexagon screw, \
sechskantschraube, sechskantkopf = kind:screw head:hex
shoulder screw, shoulder bolt, step screw, passschraube, paßschraube = kind:screw head:shoulder
set screw, setscrew, grub screw, grub, grubscrew, headless screw, madenschraube, \
gewindestift, wurmschraube, hexagon socket set screw, hex socket set screw, socket set screw, \
stiftschraube ohne kopf = kind:set_screw
tapping screw, tapping, self tapping screw, self tapping, self tapper, selftapping, selftapper, \
tapper, sheet metal screw, thread forming screw, thread forming, blechschraube, schneidschraube, \
gewindeschneidschraube, selbstschneidend, selbstschneidende = kind:tapping_screw
nut, mutter = kind:nut
hex nut, hexagon nut, sechskantmutter = kind:nut head:hex
thin nut, jam nut, half nut, flachmutter, hexagon thin nut, flache mutter = kind:nut form:thin
flange nut, flanged nut, bundmutter, flanschmutter = kind:nut head:flange
wing nut, flügelmutter = kind:nut head:wing
cap nut, dome nut, domed nut, hutmutter = kind:nut head:dome
square nut, vierkantmutter = kind:nut head:square
t nut, nutenstein = kind:nut head:t
lock nut, locknut, locking nut, self locking nut, stop nut, stopnut, stopmutter, stoppmutter, \
sicherungsmutter, selbstsichernde mutter, mutter selbstsichernd, prevailing torque nut = \
kind:lock_nut
nylon insert lock nut, nylon lock nut, nylon insert nut, nylon nut, insert lock nut, \
lock nut with plastic insert, lock nut with nylon insert, nylon locking nut = \
kind:lock_nut form:insert
flanged lock nut, flange lock nut, flange locknut, flanged locknut, flanged locking nut = \
kind:lock_nut head:flange
washer, plain washer, flat washer, scheibe, unterlegscheibe, u scheibe, beilagscheibe = kind:washer
spring washer, split washer, spring lock washer, federring, federscheibe = kind:washer head:spring
lock washer, lockwasher = kind:washer head:lock
toothed washer, serrated washer, star washer, zahnscheibe, fächerscheibe = kind:washer head:toothed
conical washer, cone washer, conical spring washer, spannscheibe = kind:washer head:conical
shim, shim washer, shim ring, passscheibe, paßscheibe, ausgleichsscheibe, distanzscheibe = \
kind:shim
retaining washer, e ring, e clip, ering, eclip, sicherungsscheibe = kind:ring head:e
circlip, retaining ring, snap ring, sicherungsring, sprengring = kind:ring
o ring, oring = kind:o_ring
bearing, ball bearing, ball race, ballrace, kugellager, rillenkugellager, lager, wälzlager = \
kind:bearing
flanged bearing, flange bearing, flanged ball bearing, flange ball bearing, bundlager, \
flanschlager, bundkugellager, flanschkugellager = kind:bearing head:flanged
thrust bearing, thrust ball bearing, axiallager, drucklager, axialkugellager = \
kind:bearing head:thrust
needle bearing, needle roller bearing, nadellager = kind:bearing head:needle
one way bearing, oneway bearing, freilauf, freilauflager = kind:bearing head:one_way
bush, bushing, buchse, gleitlager, plain bearing, gleitbuchse = kind:bush
flanged bush, flange bush, flanged bushing, bundbuchse = kind:bush head:flanged
spacer, distanzhülse, distanzring, distanzbuchse, spacer ring, spacer sleeve, bearing spacer = \
kind:spacer
pin, stift = kind:pin
parallel pin, zylinderstift = kind:pin head:parallel
dowel pin, dowel, passstift = kind:pin head:dowel
split pin, cotter pin, splint = kind:pin head:split
spring pin, roll pin, spannstift, spannhülse = kind:pin head:spring
threaded rod, stud, stud bolt, gewindestange, gewindebolzen, stiftschraube, all thread = \
kind:threaded_rod
link rod, turnbuckle, track rod, tie rod, spurstange, rod, gestänge = kind:rod
hexagon socket, hex socket, socket, innensechskant = drive:hex_socket
cross recess, cross recessed, cross head, crosshead, kreuzschlitz = drive:cross
slotted, slot, schlitz = drive:slot
hexalobular, hexalobular socket, six lobe, innensechsrund = drive:hexalobular
cup point, ringschneide = point:cup
flat point, kegelkuppe = point:flat
cone point, kegelspitze, spitze = point:cone
dog point, zapfen = point:dog
thin, flach, niedrig = form:thin
flanged, flange, bund, flansch = flange:yes
with plastic insert, with nylon insert, plastic insert, nylon insert, klemmteil, \
mit klemmteil = form:insert
hex, hexagon, sechskant = drive:hex
self locking, selbstsichernd, selbstsichernde, locking = locks:yes
lh, left hand, left hand thread, left thread, linksgewinde, lh thread = hand:left
"""

#: What is said of hardware without making it another thing.
NEUTRAL = word_set(
    "a an and the with for of to in on mm cm long short large small big black silver zinc "
    "plated galvanised galvanized steel stainless brass nylon plastic aluminium aluminum "
    "titanium hardened grade class pcs pc piece pieces stk stück st off ea each x qty quantity "
    "size metric iso din en two seals sealed shielded rubber metal seal zz rs type no nr und "
    "mit für aus schwarz verzinkt stahl edelstahl messing titan kunststoff lang kurz groß "
    "klein set spare spares front rear left right upper lower inner outer vorn vorne hinten "
    "links rechts fine coarse thread pitch gewinde feingewinde special sonder polished "
    "anodised anodized alu pom acetal delivered gray grey red blue gold menge anzahl standard "
    "norm dimension dimensions maße ca about approx"
)
#: Things named for the hardware that they hold or turn: a bearing carrier is no bearing.
OWNERS = word_set(
    "holder carrier plate driver housing seat cover tool press puller case block mount "
    "retainer wrench key support clamp boot guard box halter träger platte gehäuse deckel "
    "schlüssel werkzeug sitz dreher zieher bracket cup bit spanner hole holes post tube trap"
)
#: What follows these words belongs to something else: a washer for an M3 screw is no screw.
FOR = frozenset({"for", "für", "fits", "suits"})

#: Standard -> facts.  Titles from memory, but for ISO 4762, 7380-1, 10642, 4026 to 4029, 4032,
#: 7040, 10511, 7089, 1478 and DIN 985, 7991 that the reference tables name.
_STANDARDS = """
ISO 4762, DIN 912 = kind:screw head:socket_cap drive:hex_socket
DIN 7984, DIN 6912 = kind:screw head:low_cap drive:hex_socket
ISO 7380, ISO 7380-1 = kind:screw head:button drive:hex_socket
ISO 7380-2 = kind:screw head:button_flange drive:hex_socket
ISO 10642, DIN 7991 = kind:screw head:countersunk drive:hex_socket
ISO 14581 = kind:screw head:countersunk drive:hexalobular
ISO 7046, ISO 7046-1, ISO 7046-2, DIN 965 = kind:screw head:countersunk drive:cross
ISO 2009, DIN 963 = kind:screw head:countersunk drive:slot
ISO 7047, DIN 966 = kind:screw head:raised_countersunk drive:cross
ISO 7045, DIN 7985 = kind:screw head:pan drive:cross
ISO 1580 = kind:screw head:pan drive:slot
ISO 1207, DIN 84 = kind:screw head:cheese drive:slot
ISO 4014, ISO 4017, DIN 931, DIN 933 = kind:screw head:hex
ISO 7379 = kind:screw head:shoulder drive:hex_socket
ISO 4026, DIN 913 = kind:set_screw point:flat drive:hex_socket
ISO 4027, DIN 914 = kind:set_screw point:cone drive:hex_socket
ISO 4028, DIN 915 = kind:set_screw point:dog drive:hex_socket
ISO 4029, DIN 916 = kind:set_screw point:cup drive:hex_socket
ISO 7049, ISO 14585 = kind:tapping_screw head:pan
DIN 7981 = kind:tapping_screw head:pan
ISO 7050, DIN 7982 = kind:tapping_screw head:countersunk
ISO 4032, DIN 934 = kind:nut head:hex
ISO 4035, ISO 4036, DIN 439 = kind:nut form:thin
ISO 4161, DIN 6923 = kind:nut head:flange
ISO 7040, ISO 10511, DIN 982, DIN 985 = kind:lock_nut form:insert
ISO 7042, DIN 980 = kind:lock_nut
ISO 7043, DIN 6926 = kind:lock_nut head:flange form:insert
ISO 7089, ISO 7090, ISO 7091, ISO 7092, ISO 7093, ISO 7093-1, DIN 125, DIN 433, DIN 9021 = \
kind:washer
DIN 127, DIN 128, DIN 7980 = kind:washer head:spring
DIN 6797, DIN 6798 = kind:washer head:toothed
DIN 6796 = kind:washer head:conical
DIN 988 = kind:shim
DIN 6799 = kind:ring head:e
DIN 471 = kind:ring head:external
DIN 472 = kind:ring head:internal
ISO 3601, ISO 3601-1, DIN 3771 = kind:o_ring
ISO 15, DIN 625, DIN 625-1 = kind:bearing
ISO 2338, ISO 8734, DIN 7, DIN 6325 = kind:pin head:parallel
ISO 1234, DIN 94 = kind:pin head:split
ISO 8752, DIN 1481 = kind:pin head:spring
DIN 975, DIN 976, DIN 976-1 = kind:threaded_rod
"""


@dataclass(frozen=True)
class Phrase:
    """Words of a text: where they stand, and the facts that they say."""

    start: int
    end: int
    facts: Facts


def _table(block: str) -> Iterator[tuple[str, Facts]]:
    for line in block.strip().splitlines():
        names, _, said = line.partition("=")
        facts = dict(fact.split(":") for fact in said.split())
        for name in names.split(","):
            yield " ".join(name.split()), facts


PHRASES: dict[str, Facts] = dict(_table(_PHRASES))
STANDARDS: dict[str, Facts] = dict(_table(_STANDARDS))
_BEGINNINGS = frozenset(phrase.split()[0] for phrase in PHRASES)
LONGEST = max(len(phrase.split()) for phrase in PHRASES)
_ENDINGS = ("s", "es", "n", "en", "e", "ern")


def facts_of(words: str) -> Facts | None:
    """What a phrase in lower case says, in the singular or plural; None for any other."""
    found = PHRASES.get(words)
    if found is not None:
        return found
    for ending in _ENDINGS:
        if words.endswith(ending) and len(words) > len(ending) + 2:
            found = PHRASES.get(words[: -len(ending)])
            # A plural of one letter more than an abbreviation is another abbreviation.
            if found is not None and "kind" in found and len(words) > 4:
                return found
    if words.endswith("muttern"):
        return PHRASES.get(words[:-1])
    return None


_WORD = re.compile(r"[a-zäöüß]+")


def phrases_in(flat: str) -> tuple[list[Phrase], list[str]]:
    """The phrases of a text in lower case that say something of hardware, and its other words."""
    words = [(found.start(), found.end(), found[0]) for found in _WORD.finditer(flat)]
    phrases: list[Phrase] = []
    others: list[str] = []
    at = 0
    named = for_seen = False
    while at < len(words):
        start, end, word = words[at]
        size, facts = _longest(flat, words, at)
        if facts is None or (for_seen and named):
            for_seen = for_seen or word in FOR
            # Letters of a number, such as the T of T6-114, are no words.
            if not any(beside.isdigit() for beside in flat[max(start - 1, 0) : end + 1]):
                others.append(word)
            at += 1
            continue
        end = words[at + size - 1][1]
        if at + size < len(words):
            following = words[at + size]
            if following[2] in OWNERS and not flat[end : following[0]].strip(" -"):
                others.append(following[2])
                at += size + 1
                continue
        phrases.append(Phrase(start, end, facts))
        named = named or "kind" in facts
        at += size
    return phrases, others


def _longest(flat: str, words: list[tuple[int, int, str]], at: int) -> tuple[int, Facts | None]:
    """The longest phrase that begins with this word: how many words, and what it says."""
    if words[at][2] not in _BEGINNINGS and facts_of(words[at][2]) is None:
        return 0, None
    run = [words[at][2]]
    for place in range(at + 1, min(at + LONGEST, len(words))):
        between = flat[words[place - 1][1] : words[place][0]]
        if len(between) > 2 or between.strip(" -"):
            break
        run.append(words[place][2])
    for size in range(len(run), 0, -1):
        facts = facts_of(" ".join(run[:size]))
        if facts is not None:
            return size, facts
    return 0, None
