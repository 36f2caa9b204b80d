"""Where the reader says that text stands, against two others who know it.

Sources: pdfium's own search (FPDFText_FindStart, FPDFText_CountRects), which is other code than
the reader's letters; and the coordinates at which reportlab was told to write.
"""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from PIL import Image
from reportlab.pdfbase.pdfmetrics import stringWidth

from bagtrail.domain.intake import manual
from tests.manual_sheets import Book

WORDS = [(50, 80, "Step 12 Gearbox", 16), (300, 300, "4 x T6-930", 9),
         (90, 700, "Öffne Beutel 3", 11), (400, 790, "M3x12 cap screw", 7)]  # fmt: skip


def lines_of(path: Path) -> dict[str, list[float]]:
    said = manual.page(str(path), 1, str(path.with_suffix(".picture")))
    return {line["text"]: line["box"] for line in said["lines"]}


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_lines_stand_where_they_were_written(tmp_path: Path, turned: int) -> None:
    book = Book(tmp_path / "manual.pdf", (595, 842), turned)
    for x, y, text, size in WORDS:
        book.words(x, y, text, size)
    found = lines_of(book.save())
    assert set(found) == {text for *_, text, _ in WORDS}
    for x, y, text, size in WORDS:
        left, top, wide, high = found[text]
        assert left * 595 == pytest.approx(x, abs=0.12 * size), text
        assert (left + wide) * 595 == pytest.approx(
            x + stringWidth(text, "Helvetica", size), abs=0.12 * size
        )
        # The box is set round the base line: 0.76 of the em above it, 0.22 below.
        assert (top + high) * 842 == pytest.approx(y + 0.22 * size, abs=0.02 * size)
        assert high * 842 == pytest.approx(0.98 * size, abs=0.02 * size)


def test_lines_stand_where_the_librarys_own_search_finds_them(tmp_path: Path) -> None:
    book = Book(tmp_path / "manual.pdf", (700, 900))
    for x, y, text, size in WORDS:
        book.words(x, y, text, size)
    path = book.save()
    found = lines_of(path)
    document = pypdfium2.PdfDocument(path)
    try:
        text_page = document[0].get_textpage()
        for *_, text, size in WORDS:
            index, count = text_page.search(text).get_next()
            rects = [
                text_page.get_rect(k) for k in range(text_page.count_rects(index, count))
            ]
            left, top, wide, high = found[text]
            assert left * 700 == pytest.approx(min(r[0] for r in rects), abs=0.1 * size)
            assert (left + wide) * 700 == pytest.approx(max(r[2] for r in rects), abs=0.1 * size)
            middle = 900 - (min(r[1] for r in rects) + max(r[3] for r in rects)) / 2
            assert (top + high / 2) * 900 == pytest.approx(middle, abs=0.25 * size)
        text_page.close()
    finally:
        document.close()


def test_the_picture_has_ink_where_the_lines_are(tmp_path: Path) -> None:
    """Pixels are the last judge: each box holds ink, and outside there is none but for accents."""
    book = Book(tmp_path / "manual.pdf", (842, 595), 90)
    for x, y, text, size in WORDS:
        book.words(x, y * 0.7, text, size)
    path = book.save()
    boxes = lines_of(path)
    with Image.open(path.with_suffix(".picture")) as picture:
        grey = picture.convert("L")
    assert max(grey.size) == 2000
    for left, top, wide, high in boxes.values():
        box = [round(v) for v in (
            (left - 0.001) * grey.width, (top - 0.2 * high) * grey.height,
            (left + wide + 0.001) * grey.width, (top + high + 0.001) * grey.height,
        )]  # fmt: skip
        assert grey.crop(tuple(box)).getextrema()[0] < 100
        grey.paste(255, tuple(box))
    assert grey.getextrema() == (255, 255)
