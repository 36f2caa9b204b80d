"""The one door to the PDF library: what stands on a page, where, and how it looks.

Everything is given as the page is shown, its rotation and crop box (ISO 32000-1, 14.11.2) done.
"""

from __future__ import annotations

import base64
import ctypes
import math
import os
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdfium2
import pypdfium2.raw as raw
from PIL import Image

PAGES_MAX = 300
BYTES_MAX = 100_000_000
#: Long side of a page's picture, in pixels.
PICTURE_PX = 2000
#: A drawing that needs more as PNG is kept as JPEG.
PNG_BYTES = 400_000
#: Letters, lines and drawn objects looked at on one page; more would be no manual.
LETTERS_MAX = 40_000
LINES_MAX = 1200
OBJECTS_MAX = 20_000
#: Cells across and down a page, in which there is ink or none.
GRID = (96, 128)
#: Parts of the em above and below the base line that a line of text is taken to fill.
ABOVE, BELOW = 0.76, 0.22
#: Parts of the em between letters: more than the widest room beside a letter of one word; more
#: than between words; between words of different looks.
_SPACE, _GAP, _GAP_OF_LOOKS = 0.42, 1.15, 0.5
#: An em of less than this part of the page's long side cannot be read.
_SMALLEST = 0.0008


class CannotRead(ValueError):
    """The manual, or a page of it, cannot be read; says why, and how to mend it."""


@dataclass(slots=True)
class Letter:
    """``x0``, ``x1``, ``base`` in points along and across the direction of reading."""

    sign: str
    x0: float
    x1: float
    base: float
    size: float
    bold: bool
    spaced: bool


@contextmanager
def opened(path: str) -> Iterator[Any]:
    """The document.  Raises CannotRead."""
    file = Path(path)
    try:
        size = file.stat().st_size
        with file.open("rb") as stream:
            start = stream.read(1024)
    except OSError:
        raise CannotRead("The file is no longer there. Send it again.") from None
    if size > BYTES_MAX:
        raise CannotRead(
            f"The file has {size // 1_000_000} MB; {BYTES_MAX // 1_000_000} MB are the most that"
            " can be read. Split it, or save it with smaller pictures."
        )
    if size == 0:
        raise CannotRead("The file is empty. Send it again.")
    if b"%PDF-" not in start:
        raise CannotRead("This is not a PDF file. Save or print the manual as PDF first.")
    try:
        document = pypdfium2.PdfDocument(path)
    except pypdfium2.PdfiumError:
        raise CannotRead(_why_closed(path)) from None
    try:
        count = len(document)
        if count > PAGES_MAX:
            raise CannotRead(
                f"The PDF has {count} pages; {PAGES_MAX} are the most that can be read. Split it."
            )
        yield document
    finally:
        document.close()


def _why_closed(path: str) -> str:
    # Opened once more: a document without pages is an error only to the layer above.
    document = raw.FPDF_LoadDocument(os.fsencode(path), None)
    if document:
        raw.FPDF_CloseDocument(document)
        return "The PDF has no pages. Save or download it again."
    error = raw.FPDF_GetLastError()
    if error == raw.FPDF_ERR_PASSWORD:
        return "The PDF is locked with a password. Save it without one first."
    if error == raw.FPDF_ERR_SECURITY:
        return "The PDF is locked in a way that cannot be opened. Save or print it as PDF anew."
    return "The PDF is damaged or cut off. Save or download it again."


def look(path: str) -> dict[str, Any]:
    """``{"pages": n, "title": str | None}``.  Raises CannotRead."""
    with opened(path) as document:
        title = document.get_metadata_dict().get("Title", "")
        title = " ".join("".join(c if c.isprintable() else " " for c in title).split())[:160]
        return {"pages": len(document), "title": title or None}


def page(path: str, number: int, picture: str) -> dict[str, Any]:
    """Render page ``number`` (from 1) into the file ``picture`` and say what stands on it.

    Gives ``width_px``, ``height_px``, ``media_type``, ``has_text``, ``lines``, and for the layout
    ``points`` (width and height of the page), ``turn`` (degrees clockwise by which the text is
    turned on the page as shown: 0, 90, 180, 270) and ``ink`` (see :func:`ink_of`); ``cut`` if there
    is more on it than is looked at.  A line is ``{"text", "box", "size"}`` with ``bold`` and
    ``boxed`` where true.  ``box``: left, top, width, height as fractions of the page as shown;
    ``size``: of the em, as fraction of the page's height (of its width if the text is turned by 90
    or 270 degrees).  Raises CannotRead.
    """
    with opened(path) as document:
        if not 1 <= number <= len(document):
            raise CannotRead(f"The PDF has no page {number}.")
        try:
            sheet = document[number - 1]
        except pypdfium2.PdfiumError:
            raise CannotRead(f"Page {number} is damaged.") from None
        try:
            wide, high = sheet.get_size()
            if not (0 < wide < math.inf and 0 < high < math.inf):
                raise CannotRead(f"Page {number} has no size.")
            image = _rendered(sheet, wide, high)
            media_type = _save(image, picture)
            said: dict[str, Any] = {
                "width_px": image.width,
                "height_px": image.height,
                "points": [round(wide, 1), round(high, 1)],
                "media_type": media_type,
                "ink": ink_of(image),
            }
            said.update(_text(sheet, wide, high))
            return said
        finally:
            sheet.close()


# -- The picture ----------------------------------------------------------------------------------


def _rendered(sheet: Any, wide: float, high: float) -> Image.Image:
    scale = PICTURE_PX / max(wide, high)
    size = [max(1, min(PICTURE_PX, round(side * scale))) for side in (wide, high)]
    bitmap = pypdfium2.PdfBitmap.new_native(size[0], size[1], raw.FPDFBitmap_BGR)
    try:
        raw.FPDFBitmap_FillRect(bitmap, 0, 0, size[0], size[1], 0xFFFFFFFF)
        raw.FPDF_RenderPageBitmap(bitmap, sheet, 0, 0, size[0], size[1], 0, raw.FPDF_ANNOT)
        image: Image.Image = bitmap.to_pil().copy()
    finally:
        bitmap.close()
    return image.convert("RGB")


def _save(image: Image.Image, picture: str) -> str:
    """PNG with a palette for what has few colours, else JPEG."""
    # Every fourth pixel as it is: the mean of several would hide a scan's grain.
    small = image.resize([max(1, side // 4) for side in image.size], Image.Resampling.NEAREST)
    grey = _is_grey(small)
    if _has_few_colours(small):
        if grey:
            flat = image.convert("L").point([round(v / 17) for v in range(256)])
            made = Image.frombytes("P", flat.size, flat.tobytes())
            made.putpalette([v for k in range(16) for v in (k * 17,) * 3])
            made.save(picture, "PNG", bits=4)
        else:
            image.quantize(48, Image.Quantize.FASTOCTREE).save(picture, "PNG")
        if Path(picture).stat().st_size <= PNG_BYTES:
            return "image/png"
    (image.convert("L") if grey else image).save(picture, "JPEG", quality=80)
    return "image/jpeg"


def _is_grey(image: Image.Image) -> bool:
    _, cb, cr = image.convert("YCbCr").split()
    return not any(sum(hues.histogram()[:122]) + sum(hues.histogram()[135:]) for hues in (cb, cr))


def _has_few_colours(image: Image.Image) -> bool:
    """Most of it in a few flat colours, as drawings are; smooth edges do not count."""
    pixels = image.width * image.height
    counts = sorted(count for count, _ in image.getcolors(pixels) or [])
    return sum(counts[-8:]) >= 0.7 * pixels


def ink_of(image: Image.Image) -> str:
    """Which cells of the page have ink: GRID bits, row by row, packed, deflated, base64."""
    grey = image.convert("L")
    histogram = grey.histogram()
    paper = max(range(256), key=histogram.__getitem__)
    marked = grey.point([255 if abs(v - paper) > 48 else 0 for v in range(256)])
    cells = marked.resize(GRID, Image.Resampling.BOX)
    bits = cells.point([255 if v >= 2 else 0 for v in range(256)]).convert("1")
    return base64.b64encode(zlib.compress(bits.tobytes(), 9)).decode("ascii")


def cells_of(ink: str) -> list[list[bool]]:
    """Rows of cells, from the top, as :func:`ink_of` packed them."""
    data = zlib.decompress(base64.b64decode(ink))
    wide, high = GRID
    row = (wide + 7) // 8
    return [
        [bool(data[y * row + x // 8] >> (7 - x % 8) & 1) for x in range(wide)] for y in range(high)
    ]


# -- The text -------------------------------------------------------------------------------------


def _text(sheet: Any, wide: float, high: float) -> dict[str, Any]:
    text = sheet.get_textpage()
    try:
        shown = _as_shown(sheet, wide, high)
        letters, cut = _letters(text.raw, shown, _SMALLEST * max(wide, high))
    finally:
        text.close()
    by_turn: dict[int, list[Letter]] = {0: [], 90: [], 180: [], 270: []}
    for turn, letter in letters:
        by_turn[turn].append(letter)
    turn = max(by_turn, key=lambda key: len(by_turn[key]))
    lines = _lines(by_turn[turn], turn, wide, high)
    cut = cut or len(lines) > LINES_MAX
    del lines[LINES_MAX:]
    if lines:
        _mark_boxed(sheet, shown, lines, wide, high)
    count = sum(c.isalnum() for line in lines for c in line["text"])
    said: dict[str, Any] = {"has_text": count >= 2, "turn": turn, "lines": lines}
    if cut:
        said["cut"] = True
    return said


def _as_shown(sheet: Any, wide: float, high: float) -> tuple[float, ...]:
    """Coefficients a..f of (x, y) of the page's space to points from the left top as shown."""
    across, down = ctypes.c_int(), ctypes.c_int()
    # The library's own transform, on a very fine grid; the grid has the page's ratio.
    fine = 2_000_000 / max(wide, high)
    size = max(1, round(wide * fine)), max(1, round(high * fine))

    def at(x: float, y: float) -> tuple[float, float]:
        raw.FPDF_PageToDevice(sheet, 0, 0, size[0], size[1], 0, x, y, across, down)
        return across.value * wide / size[0], down.value * high / size[1]

    far = max(wide, high)
    origin, right, up = at(0, 0), at(far, 0), at(0, far)
    return (
        (right[0] - origin[0]) / far, (up[0] - origin[0]) / far, origin[0],
        (right[1] - origin[1]) / far, (up[1] - origin[1]) / far, origin[1],
    )  # fmt: skip


def _letters(
    text: Any, shown: tuple[float, ...], smallest: float
) -> tuple[list[tuple[int, Letter]], bool]:
    """Letters of ``smallest`` points or more with the direction they run in, in the order of the
    file; whether some were left."""
    a, b, c, d, e, f = shown
    left, right, bottom, top = (ctypes.c_double() for _ in range(4))
    x, y = ctypes.c_double(), ctypes.c_double()
    matrix = raw.FS_MATRIX()
    name = ctypes.create_string_buffer(128)
    flags = ctypes.c_int()
    found: list[tuple[int, Letter]] = []
    spaced = False
    total = raw.FPDFText_CountChars(text)
    for index in range(min(total, LETTERS_MAX)):
        code = raw.FPDFText_GetUnicode(text, index)
        if code in (2, 0xFFFE, 0xAD):
            code = 0x2D
        if code <= 32 or code == 0xA0 or 0x2000 <= code <= 0x200B:
            spaced = True
            continue
        if 0xD800 <= code <= 0xDFFF or code >= 0xFFFE or 0x7F <= code < 0xA0:
            continue
        raw.FPDFText_GetMatrix(text, index, matrix)
        em = raw.FPDFText_GetFontSize(text, index)
        run_x = a * matrix.a + b * matrix.b
        run_y = d * matrix.a + e * matrix.b
        length = math.hypot(run_x, run_y)
        size = em * math.hypot(a * matrix.c + b * matrix.d, d * matrix.c + e * matrix.d)
        if not (0 < length < math.inf and smallest < size < math.inf):
            continue
        run_x, run_y = run_x / length, run_y / length
        turn = next(
            (t for t, (p, q) in _RUNS.items() if p * run_x + q * run_y > 0.99), None
        )
        if turn is None:
            continue
        raw.FPDFText_GetCharBox(text, index, left, right, bottom, top)
        raw.FPDFText_GetCharOrigin(text, index, x, y)
        corners = [
            (a * u + b * v + c, d * u + e * v + f)
            for u in (left.value, right.value)
            for v in (bottom.value, top.value)
        ]
        p, q = _RUNS[turn]
        along = [p * u + q * v for u, v in corners]
        base = p * (d * x.value + e * y.value + f) - q * (a * x.value + b * y.value + c)
        raw.FPDFText_GetFontInfo(text, index, name, 128, flags)
        bold = bool(flags.value & _FORCE_BOLD or _BOLD.search(name.value))
        if not all(map(math.isfinite, (*along, base))):
            continue
        sign = _LIGATURES.get(code) or chr(code)
        found.append((turn, Letter(sign, min(along), max(along), base, size, bold, spaced)))
        spaced = False
    return found, total > LETTERS_MAX


#: Direction of reading on the page as shown, y downwards, by the turn of the text.
_RUNS = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}
_BOLD = re.compile(rb"bold|black|heavy|demi|[-,]bd\b", re.IGNORECASE)
#: ISO 32000-1, table 123.
_FORCE_BOLD = 1 << 18
_LIGATURES = {0xFB00: "ff", 0xFB01: "fi", 0xFB02: "fl", 0xFB03: "ffi", 0xFB04: "ffl"}


def _lines(letters: list[Letter], turn: int, wide: float, high: float) -> list[dict[str, Any]]:
    """Runs of letters on one base line without a gap, from the top."""
    rows: list[list[Letter]] = []
    for letter in sorted(letters, key=lambda one: one.base):
        for row in reversed(rows[-6:]):
            if abs(row[-1].base - letter.base) <= 0.16 * min(row[-1].size, letter.size):
                row.append(letter)
                break
        else:
            rows.append([letter])
    made = []
    for row in rows:
        row.sort(key=lambda one: (one.x0, one.x1))
        run: list[Letter] = []
        for letter in row:
            if run:
                before = run[-1]
                # Drawn twice, a little shifted, to look bold.
                if letter.sign == before.sign and letter.x0 - before.x0 < 0.08 * before.size:
                    before.bold = True
                    continue
                if _parts(before, letter):
                    made.append(_line(run, turn, wide, high))
                    run = []
            run.append(letter)
        made.append(_line(run, turn, wide, high))
    return made


def _parts(before: Letter, letter: Letter) -> bool:
    """Whether a new line begins between two letters beside each other."""
    em = min(max(before.size, letter.size), 2 * before.size)
    most = _GAP_OF_LOOKS if _looks_other(before, letter) else _GAP
    return letter.x0 - before.x1 > most * em


def _looks_other(before: Letter, letter: Letter) -> bool:
    return letter.bold != before.bold or not 0.85 < letter.size / before.size < 1.18


def _line(run: list[Letter], turn: int, wide: float, high: float) -> dict[str, Any]:
    text = run[0].sign
    for before, letter in pairwise(run):
        gap = letter.x0 - before.x1
        if (letter.spaced and gap > 0) or gap > _SPACE * min(before.size, letter.size):
            text += " "
        text += letter.sign
    first = run[0]
    tall = max(letter.size for letter in run)
    x0, x1 = first.x0, max(letter.x1 for letter in run)
    y0, y1 = first.base - ABOVE * tall, first.base + BELOW * tall
    box = to_page((x0, y0, x1, y1), turn, wide, high)
    across = high if turn in (0, 180) else wide
    line: dict[str, Any] = {
        "text": text,
        "box": [round(v, 5) for v in box],
        "size": round(first.size / across, 5),
    }
    if first.bold:
        line["bold"] = True
    return line


def to_page(
    rect: tuple[float, float, float, float], turn: int, wide: float, high: float
) -> list[float]:
    """From left, top, right, bottom in the direction of reading (points; the origin is the page's
    left top corner as shown) to left, top, width, height as fractions, kept within the page."""
    p, q = _RUNS[turn]
    corners = [(p * u - q * v, q * u + p * v) for u in rect[::2] for v in rect[1::2]]
    xs = [min(1.0, max(0.0, u / wide)) for u, _ in corners]
    ys = [min(1.0, max(0.0, v / high)) for _, v in corners]
    return [min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)]


def _mark_boxed(
    sheet: Any, shown: tuple[float, ...], lines: list[dict[str, Any]], wide: float, high: float
) -> None:
    """Say of short lines whether a drawn shape stands closely round them."""
    by_place: dict[int, list[dict[str, Any]]] = {}
    for line in lines:
        if len(line["text"]) <= 10:
            by_place.setdefault(int(_middle(line) * _BANDS), []).append(line)
    if not by_place:
        return
    for x0, y0, x1, y1 in _shapes(sheet, shown, wide, high):
        if y1 - y0 > 0.2:
            continue
        for band in range(int(y0 * _BANDS), int(y1 * _BANDS) + 1):
            for line in by_place.get(band, ()):
                left, top, w, h = line["box"]
                # Letters seldom fill their em: a close box may cut into it.
                if (
                    x0 <= left + 0.002 and left + w <= x1 + 0.002
                    and y0 <= top + 0.25 * h and top + 0.75 * h <= y1
                    and x1 - x0 <= w + 4 * h * high / wide and y1 - y0 <= 3 * h
                ):  # fmt: skip
                    line["boxed"] = True


_BANDS = 100


def _middle(line: dict[str, Any]) -> float:
    return float(line["box"][1] + line["box"][3] / 2)


def _shapes(
    sheet: Any, shown: tuple[float, ...], wide: float, high: float
) -> Iterator[tuple[float, float, float, float]]:
    """Left, top, right, bottom of drawn paths, as fractions of the page."""
    a, b, c, d, e, f = shown
    left, right, bottom, top = (ctypes.c_float() for _ in range(4))
    for index in range(min(raw.FPDFPage_CountObjects(sheet), OBJECTS_MAX)):
        shape = raw.FPDFPage_GetObject(sheet, index)
        if raw.FPDFPageObj_GetType(shape) != raw.FPDF_PAGEOBJ_PATH:
            continue
        if not raw.FPDFPageObj_GetBounds(shape, left, bottom, right, top):
            continue
        xs = [(a * u + b * v + c) / wide for u in (left.value, right.value)
              for v in (bottom.value, top.value)]  # fmt: skip
        ys = [(d * u + e * v + f) / high for u in (left.value, right.value)
              for v in (bottom.value, top.value)]  # fmt: skip
        if all(map(math.isfinite, (*xs, *ys))) and max(ys) > 0 and min(ys) < 1:
            yield min(xs), max(0.0, min(ys)), max(xs), min(1.0, max(ys))
