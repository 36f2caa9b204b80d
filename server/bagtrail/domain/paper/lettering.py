"""Letters on paper: which font has them, how wide they are, how they fit.  Sizes in mm.

The font that comes with reportlab covers Latin scripts.  For other scripts a font of the machine
is used where there is one; a letter that no font here has is printed as '?', so that nothing is
dropped unseen.  Scripts that need shaping (joined or right-to-left letters) are set plainly.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import reportlab
from PIL import ImageFont
from reportlab.pdfbase.ttfonts import TTFError, TTFont

ELLIPSIS = "\u2026"

_OWN = Path(reportlab.__file__).parent / "fonts"
#: Regular and bold files, tried in this order by name in the machine's font folders.
_MACHINE = (
    ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf"),
    ("NotoSans-Regular.ttf", "NotoSans-Bold.ttf"),
    ("LiberationSans-Regular.ttf", "LiberationSans-Bold.ttf"),
    ("arial.ttf", "arialbd.ttf"),
    ("Arial Unicode.ttf", "Arial Unicode.ttf"),
)


@dataclass(frozen=True)
class Font:
    """A TrueType font.  ``name`` is its name in the PDF, ``path`` its file."""

    name: str
    path: str
    face: TTFont

    def has(self, text: str) -> bool:
        return all(ord(letter) in self.face.face.charToGlyph for letter in text)

    def width(self, text: str, size: float) -> float:
        """Width of ``text`` at ``size`` (height of the em), in the unit of ``size``."""
        return float(self.face.stringWidth(text, size))


@lru_cache(maxsize=1)
def fonts() -> tuple[tuple[Font, ...], tuple[Font, ...]]:
    """The fonts at hand, best first: (regular, bold)."""
    regular = [_font("Tag", str(_OWN / "Vera.ttf"))]
    bold = [_font("TagBold", str(_OWN / "VeraBd.ttf"))]
    for number, (regular_file, bold_file) in enumerate(_MACHINE):
        for kind, file, found in (("Tag", regular_file, regular), ("TagBold", bold_file, bold)):
            try:
                # Pillow knows where each system keeps its fonts.
                path = ImageFont.truetype(file, 10).path
                found.append(_font(f"{kind}{number}", str(path)))
            except (OSError, TTFError):
                continue
    return tuple(regular), tuple(bold)


def _font(name: str, path: str) -> Font:
    return Font(name, path, TTFont(name, path))


def font_for(text: str, bold: bool) -> Font:
    """The first font that has every letter of ``text``; else the one that has most."""
    candidates = fonts()[bold]
    for font in candidates:
        if font.has(text):
            return font
    return max(candidates, key=lambda font: sum(font.has(letter) for letter in text))


def printable(text: str, bold: bool = False) -> str:
    """``text`` in letters that can be printed: no control or direction marks, one blank between
    words; a letter that no font has becomes its base letter if there is one, else '?'."""
    kept = "".join(
        " " if letter.isspace() else letter
        for letter in unicodedata.normalize("NFC", text)
        if letter.isspace() or unicodedata.category(letter)[0] != "C"
    )
    kept = re.sub(r" {2,}", " ", kept).strip()
    font = font_for(kept, bold)
    return "".join(_letter(letter, font) for letter in kept)


def _letter(letter: str, font: Font) -> str:
    if font.has(letter):
        return letter
    base = "".join(
        part for part in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(part)
    )
    if not base:  # a mark over the letter before it, which stands
        return ""
    return base if font.has(base) else "?"


def fit(
    text: str, width: float, most: float, least: float, bold: bool = False
) -> tuple[str, float]:
    """``text`` on one line of ``width``: as large as it fits from ``least`` to ``most``, cut with
    an ellipsis if even the least is too large.  Returns the line and its size."""
    font = font_for(text, bold)
    natural = font.width(text, 1.0)
    size = min(most, width / natural) if natural else most
    if size >= least:
        return text, size
    while text and font.width(text + ELLIPSIS, least) > width:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS, least


def wrap(text: str, width: float, size: float, lines: int, bold: bool = False) -> list[str]:
    """``text`` on at most ``lines`` lines of ``width``, broken between words; if it needs more,
    the last ends in an ellipsis."""
    font = font_for(text, bold)

    def fits(words: list[str], tail: str = "") -> bool:
        return font.width(" ".join(words) + tail, size) <= width

    rest, wrapped = text.split(), list[str]()
    while rest and len(wrapped) < lines:
        count, tail = len(rest), ""
        while count > 1 and not fits(rest[:count], tail):
            count -= 1
            tail = f" {ELLIPSIS}" if len(wrapped) == lines - 1 else ""
        # A single word that is longer than the line is cut by its letters.
        wrapped.append(fit(" ".join(rest[:count]) + tail, width, size, size, bold)[0])
        rest = rest[count:]
    return wrapped
