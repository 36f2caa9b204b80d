"""Make the demo kits: ``python -m demo.make`` writes their records and pages to demo/out.

``python -m demo.make --manuals`` writes the kit's PDF manuals to demo/out/manuals instead, which
are for trying out how manuals are read and not a part of what the program carries.
"""

from __future__ import annotations

import argparse
import dataclasses
import hashlib
import io
import json
from pathlib import Path

from PIL import Image

from .drawing.figure import WIDTH, FigureMaker
from .drawing.render import figure_picture
from .model import SectionNote, StepNote
from .records import KitNote, PageNote, make_records
from .tarn6.catalogue import LOOKS
from .tarn6.kit import tarn_6

OUT = Path(__file__).parent / "out"
PAGE_HIGH = 1584
#: Ends of the sixteen greys of a page: warm ink to paper.
INK_RGB, PAPER_RGB = (30, 27, 24), (253, 251, 246)


def figure_of(maker: FigureMaker, step: StepNote) -> Image.Image:
    """The figure of a step."""
    counts: dict[str, int] = {}
    for line in step.lines:
        counts[line.part] = counts.get(line.part, 0) + line.quantity
    # A fastener that goes into metal here and plastic there is left to the list of joints.
    words: dict[str, set[str]] = {}
    for joint in step.joints:
        words.setdefault(joint.part, set()).add(joint.thread_lock)
    locked = frozenset(part for part, said in words.items() if said == {"use"})
    return figure_picture(maker, step.figure, step.number, step.title, step.sets_word, counts,
                          locked)  # fmt: skip


def pages_of(kit: KitNote, out: Path) -> tuple[PageNote, ...]:
    """Draw all pages into ``out``: figures of one section stacked while a page has room."""
    maker = FigureMaker(LOOKS.__getitem__)
    pages: list[PageNote] = []
    for section in kit.sections:
        sheet: list[tuple[StepNote, Image.Image]] = []
        for step in section.steps:
            picture = figure_of(maker, step)
            if sheet and sum(p.height for _, p in sheet) + picture.height > PAGE_HIGH:
                pages.append(_page(len(pages) + 1, section, sheet, out))
                sheet = []
            sheet.append((step, picture))
        if sheet:
            pages.append(_page(len(pages) + 1, section, sheet, out))
    return tuple(pages)


def _page(
    number: int, section: SectionNote, sheet: list[tuple[StepNote, Image.Image]], out: Path
) -> PageNote:
    high = sum(picture.height for _, picture in sheet)
    page = Image.new("L", (WIDTH, high), 255)
    frames = {}
    top = 0
    for step, picture in sheet:
        page.paste(picture, (0, top))
        if top:
            page.paste(160, (0, top, WIDTH, top + 2))
        frames[step.number] = (0.0, round(top / high, 5), 1.0, round(picture.height / high, 5))
        top += picture.height
    data = _png(page)
    name = hashlib.sha256(data).hexdigest()
    (out / f"{name}.png").write_bytes(data)
    steps = " ".join(step.number for step, _ in sheet)
    return PageNote(str(number), f"{section.title}: {steps}", name, WIDTH, high, frames)


def _png(picture: Image.Image) -> bytes:
    """PNG of sixteen greys between ink and paper; no times or names in it."""
    steps = picture.point(lambda value: round(value / 17))
    made = Image.frombytes("P", picture.size, steps.tobytes())
    palette = []
    for k in range(16):
        palette += [round(a + (b - a) * k / 15) for a, b in zip(INK_RGB, PAPER_RGB, strict=True)]
    made.putpalette(palette)
    held = io.BytesIO()
    made.save(held, "PNG", optimize=True, bits=4)
    return held.getvalue()


def main(out: Path = OUT) -> Path:
    """Write ``tarn-6.json`` and ``pages/<sha256>.png`` under ``out``; gives the JSON's path.

    Pages of an earlier run that are no longer used are removed.
    """
    pages = out / "pages"
    pages.mkdir(parents=True, exist_ok=True)
    kit = tarn_6()
    made = pages_of(kit, pages)
    records = make_records(dataclasses.replace(kit, pages=made))
    path = out / "tarn-6.json"
    path.write_text(json.dumps(records, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    kept = {page.blob for page in made}
    for old in pages.glob("*.png"):
        if old.stem not in kept:
            old.unlink()
    return path


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=OUT, help="folder to write to")
    parser.add_argument("--manuals", action="store_true", help="write the PDF manuals instead")
    asked = parser.parse_args()
    if asked.manuals:
        # Asks for reportlab and pypdfium2, which the kit itself does without.
        from .manuals.write import write

        print(*write(asked.out / "manuals"), sep="\n")
    else:
        print(main(asked.out))
