"""Small files to take in: what is in them is plain to see."""

from __future__ import annotations

import io

from reportlab.pdfgen.canvas import Canvas

#: Two bags; one line does not say how many.
LIST = """Bag 1
M3x12 button head x8
4 pcs 5x11x4 bearing
(2) part no. T6-114 knuckle

Bag 2
O-ring 10x2 (T6-108)
"""


def manual(steps: int) -> bytes:
    """A manual of one step on each page, with a figure and a part list, bags of five steps each."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(420, 595))
    for step in range(1, steps + 1):
        canvas.setFont("Helvetica-Bold", 20)
        canvas.drawString(30, 550, f"Step {step}")
        canvas.setFont("Helvetica", 11)
        canvas.drawString(30, 520, f"Bag {(step + 4) // 5}")
        canvas.drawString(30, 500, f"2 x T6-{100 + step}")
        canvas.drawString(30, 485, "4 x M3x12")
        canvas.rect(60, 120, 300, 300)
        canvas.line(60, 120, 360, 420)
        canvas.showPage()
    canvas.save()
    return out.getvalue()
