"""A manual as it comes from a copier: pictures of pages, a little turned, grey, no text."""

from __future__ import annotations

import io
import random

import pypdfium2
from PIL import Image, ImageChops
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

DPI = 100


def scanned(manual: bytes, pages: int = 12) -> bytes:
    """The first ``pages`` pages of a PDF as grey JPEG pictures with grain, each turned a little."""
    chance = random.Random(6)
    out = io.BytesIO()
    document = pypdfium2.PdfDocument(manual)
    grain = Image.effect_noise((1200, 1700), 26)
    try:
        sheet = Canvas(out, invariant=1)
        sheet.setTitle("Tarn 6 (copy)")
        for number in range(min(pages, len(document))):
            page = document[number]
            wide, high = page.get_size()
            picture = page.render(scale=DPI / 72, grayscale=True).to_pil().convert("L")
            page.close()
            picture = picture.rotate(
                chance.uniform(-0.9, 0.9), Image.Resampling.BILINEAR, fillcolor=244
            )
            picture = ImageChops.add(picture, grain.crop((0, 0, *picture.size)), 1, -128)
            held = io.BytesIO()
            picture.save(held, "JPEG", quality=55)
            sheet.setPageSize((wide, high))
            sheet.drawImage(ImageReader(held), 0, 0, wide, high)
            sheet.showPage()
        sheet.save()
    finally:
        document.close()
    return out.getvalue()
