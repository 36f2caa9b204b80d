"""A piece of hardware and the one spelling that this program has for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from . import threads
from .hardware_words import STANDARDS
from .sizes import digits, inches

SCREWS = ("screw", "set_screw", "tapping_screw")
NUTS = ("nut", "lock_nut")
#: Kinds whose size is diameter and length.
LONG = (*SCREWS, "threaded_rod", "rod", "pin")
#: Kinds whose size is bore, outside and width.
ROUND = ("washer", "shim", "bearing", "bush", "spacer")
#: Sizes in mm that ISO 7380-1 has.
BUTTON_SIZES = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0)


@dataclass(frozen=True, slots=True)
class Question:
    """What a reader could not know.  ``field``: of the part line (``designation``, ``quantity``,
    ``number``, ...); ``options``: values that it takes to be possible, likeliest first."""

    field: str
    says: str
    options: tuple[str | int | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Designation:
    """A piece of hardware.

    ``kind``: screw, set_screw, tapping_screw, threaded_rod, rod, nut, lock_nut, washer, shim,
    ring, o_ring, bearing, bush, spacer or pin.  ``head``: of a screw (socket_cap, button,
    countersunk, pan, hex, ...), or the variety of another kind (flange, spring, e, parallel, ...).
    Lengths in millimetres: ``d_mm`` thread or shank, ``inner_mm`` bore, ``outer_mm`` outside,
    ``width_mm`` width or thickness (of an O-ring its cord).  ``metric``: it has a metric thread.
    ``size``: a Unified thread as it is called.  ``code`` and ``seal``: of a bearing, as makers in
    common write them (``MR105``, ``2RS``).  ``normal``: the one spelling that this program uses,
    which reads back to itself.  ``sure``: 0 to 1.  ``span``: first and last character (exclusive)
    of what it was read from; ``pieces``: which parts of that span.
    """

    kind: str
    normal: str = ""
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
    metric: bool = False
    size: str | None = None
    code: str | None = None
    seal: str | None = None
    property_class: str | None = None
    standard: str | None = None
    left_hand: bool = False
    sure: float = 1.0
    asks: tuple[Question, ...] = ()
    span: tuple[int, int] = (0, 0)
    pieces: tuple[tuple[int, int], ...] = ()


HEAD_WORDS = {
    "socket_cap": "cap", "low_cap": "low head cap", "button": "button head",
    "button_flange": "flanged button head", "countersunk": "countersunk",
    "raised_countersunk": "raised countersunk", "pan": "pan head", "cheese": "cheese head",
    "round": "round head", "truss": "truss head", "washer": "washer head",
    "hex": "hexagon head", "shoulder": "shoulder", "linsen": "linsenkopf",
}  # fmt: skip
DRIVE_WORDS = {
    "hex_socket": "hexagon socket ", "cross": "cross recess ", "slot": "slotted ",
    "hexalobular": "hexalobular ",
}  # fmt: skip
#: Heads that have a hexagon socket unless another drive is said.
SOCKET_HEADS = ("socket_cap", "low_cap", "button", "button_flange")
VARIETY_WORDS = {
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
KIND_WORDS = {
    "screw": "screw", "set_screw": "set screw", "tapping_screw": "tapping screw",
    "threaded_rod": "threaded rod", "rod": "rod", "nut": "nut", "lock_nut": "lock nut",
    "washer": "washer", "shim": "shim", "o_ring": "O-ring", "bearing": "bearing", "bush": "bush",
    "spacer": "spacer", "pin": "pin",
}  # fmt: skip


def with_standard(one: Designation) -> Designation:
    """With the standard that the head alone makes certain."""
    if one.standard or one.kind != "screw" or not one.metric:
        return one
    if one.drive not in (None, "hex_socket"):
        return one
    if one.head == "socket_cap" and threads.coarse_pitch(one.d_mm or 0):
        return replace(one, standard="ISO 4762", drive="hex_socket")
    if one.head == "button" and one.d_mm in BUTTON_SIZES:
        return replace(one, standard="ISO 7380-1", drive="hex_socket")
    return one


def settled(one: Designation) -> Designation:
    """Without facts that are no facts of its kind, or that go without saying."""
    head, drive, form = one.head, one.drive, one.form
    if one.kind == "set_screw":
        head, drive = None, None if drive in ("hex", "hex_socket") else drive
    elif one.kind == "tapping_screw" and head == "shoulder":
        head = None
    elif one.kind == "tapping_screw" and head == "linsen":
        head = "pan"
    elif one.kind == "nut":
        form = form if form == "thin" else None
        head = None if form else head
    elif one.kind == "lock_nut":
        form = form if form == "insert" else None
    if one.kind not in (*SCREWS, "ring") and (one.kind, head) not in VARIETY_WORDS:
        head = None
    hand = one.left_hand and one.kind in (*SCREWS, *NUTS, "threaded_rod", "rod")
    if (head, drive, form, hand) == (one.head, one.drive, one.form, one.left_hand):
        return one
    return replace(one, head=head, drive=drive, form=form, left_hand=hand)


def with_head(one: Designation, head: str | None) -> Designation:
    """The same screw with another head, and with what follows from it."""
    if head == one.head:
        return one
    known = STANDARDS.get(one.standard or "", {}).get("head")
    one = replace(one, head=head, drive=None, standard=None if known else one.standard)
    coarse = threads.coarse_pitch(one.d_mm or 0)
    if one.kind == "screw" and head in SOCKET_HEADS:
        one = replace(one, drive="hex_socket")
        if not one.metric and not one.size:
            one = replace(one, metric=True, pitch_mm=coarse)
    return one


def spelt(one: Designation, **changes: Any) -> str:
    """The normal spelling of it, some facts changed."""
    return normal(replace(one, **changes))


def normal(one: Designation) -> str:
    """The one spelling: ``M3x12 cap screw, ISO 4762``, ``5x11x4 bearing``, ``E-ring 5``."""
    one = with_standard(settled(one))
    standard = f", {one.standard}" if one.standard else ""
    if one.kind == "ring":
        bore = digits(one.inner_mm or 0)
        if one.standard == "DIN 6799":
            return f"{bore} retaining washer, DIN 6799"
        word = "E-ring" if one.head == "e" else "Retaining ring"
        return f"{word} {bore}{standard}"
    if one.kind == "bearing" and one.code:
        seal = f"-{one.seal}" if one.seal else ""
        word = "ball bearing" if one.head is None else _words(one)
        return f"{one.code}{seal} {word} {_size(one)}".strip() + standard
    seal = f", {one.seal}" if one.seal else ""
    hand = " LH" if one.left_hand else ""
    grade = f", class {one.property_class}" if one.property_class else ""
    return f"{_size(one)}{hand} {_words(one)}{seal}{standard}{grade}".strip()


def _size(one: Designation) -> str:
    def joined(*lengths: float | None) -> str:
        return "x".join(digits(length) for length in lengths if length is not None)

    if one.kind in ("washer", "shim") and one.d_mm is not None:
        return "M" + joined(one.d_mm, one.outer_mm, one.width_mm)
    if one.kind == "o_ring" or one.kind in ROUND:
        return joined(one.inner_mm, one.outer_mm, one.width_mm)
    if one.d_mm is None:
        return ""
    if one.size is not None:
        return one.size + (f"x{inches(one.length_mm)}" if one.length_mm is not None else "")
    if one.kind == "tapping_screw" and one.pitch_mm is not None and not one.metric:
        return "ST" + joined(one.d_mm, one.length_mm)
    if not one.metric:
        return joined(one.d_mm, one.length_mm)
    fine = one.pitch_mm if one.pitch_mm != threads.coarse_pitch(one.d_mm) else None
    return "M" + joined(one.d_mm, fine, one.length_mm)


def _words(one: Designation) -> str:
    """The words, without size and standard; what the standard says is not said again."""
    standard = STANDARDS.get(one.standard or "", {})
    kind, head = one.kind, one.head
    drive = DRIVE_WORDS.get(one.drive or "", "")
    if kind == "screw":
        implied = standard.get("drive") or ("hex_socket" if head in SOCKET_HEADS else None)
        drive = "" if one.drive == implied else drive
        return drive + (f"{HEAD_WORDS[head]} screw" if head in HEAD_WORDS else "screw")
    if kind == "set_screw":
        drive = "" if standard.get("drive") == one.drive else drive
        point = f", {one.point} point" if one.point and standard.get("point") != one.point else ""
        return f"{drive}set screw{point}"
    if kind == "tapping_screw":
        said = f"{HEAD_WORDS[head]} " if head in HEAD_WORDS and standard.get("head") != head else ""
        return f"{drive}{said}tapping screw"
    if kind == "nut" and one.form == "thin":
        return "thin nut"
    if kind == "lock_nut" and one.form == "insert" and standard.get("form") != "insert":
        return "flanged insert lock nut" if head == "flange" else "insert lock nut"
    if kind == "washer" and head is None and one.standard:
        return "plain washer"
    return VARIETY_WORDS.get((kind, head or ""), KIND_WORDS.get(kind, kind))
