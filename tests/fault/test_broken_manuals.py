"""Files that mean harm or are damaged: a plain refusal, a page's own error, and never a crash.

Each file is read in a process of its own with limits on time and memory, as the program does it:
a process that ends by a signal fails the test.
"""

from __future__ import annotations

import io
import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from reportlab.lib.pdfencrypt import StandardEncryption
from reportlab.pdfgen.canvas import Canvas

from bagtrail.domain.intake import manual

ROOT = Path(__file__).parents[2]
SECONDS, BYTES = 60, 1_500_000_000

#: Reads each file named on standard input to its end; one line of JSON for each.
READER = """
import json, resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({bytes}, {bytes}))
resource.setrlimit(resource.RLIMIT_CPU, ({seconds}, {seconds}))
from bagtrail.domain.intake import manual
for path in sys.stdin.read().split("\\n"):
    said = {{"path": path, "refused": None, "pages": [], "errors": 0}}
    try:
        count = manual.look(path, "x.pdf")["pages"]
        for number in range(1, min(count, 8) + 1):
            try:
                page = manual.page(path, number, path + ".picture")
                said["pages"].append({{**json.loads(json.dumps(page)), "number": number}})
            except manual.CannotRead as why:
                said["errors"] += 1
                assert str(why)
        manual.findings(said["pages"])
    except manual.CannotRead as why:
        said["refused"] = str(why)
    said["pages"] = [[p["width_px"], p["height_px"], p["has_text"]] for p in said["pages"]]
    print(json.dumps(said), flush=True)
"""


def read_apart(paths: list[Path]) -> list[dict[str, object]]:
    """What became of each file.  Fails if the process that read them did not end by itself."""
    done = subprocess.run(
        [sys.executable, "-c", READER.format(bytes=BYTES, seconds=SECONDS)],
        input="\n".join(map(str, paths)), capture_output=True, text=True, timeout=2 * SECONDS,
        env={**os.environ, "PYTHONPATH": str(ROOT / "server")},
    )  # fmt: skip
    assert done.returncode == 0, (done.returncode, done.stderr[-2000:], done.stdout[-300:])
    return [json.loads(line) for line in done.stdout.splitlines()]


def sound(pages: int = 3, **options: object) -> bytes:
    """A manual of a few pages."""
    out = io.BytesIO()
    sheet = Canvas(out, invariant=1, **options)
    for number in range(1, pages + 1):
        sheet.setFont("Helvetica-Bold", 16)
        sheet.drawString(60, 700, f"Step {number}  Gearbox")
        sheet.drawString(60, 600, f"{number} x T6-93{number}")
        sheet.rect(200, 300, 200, 200)
        sheet.showPage()
    sheet.save()
    return out.getvalue()


def by_hand(objects: list[str], root: int = 1) -> bytes:
    """A PDF of these objects, numbered from 1, with a right table of references."""
    out = b"%PDF-1.7\n"
    places = []
    for number, text in enumerate(objects, 1):
        places.append(len(out))
        out += f"{number} 0 obj\n{text}\nendobj\n".encode()
    start = len(out)
    out += f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n".encode()
    out += b"".join(f"{place:010d} 00000 n \n".encode() for place in places)
    return out + (
        f"trailer\n<< /Size {len(objects) + 1} /Root {root} 0 R >>\nstartxref\n{start}\n%%EOF\n"
    ).encode()


def page_of(box: str, content: str = "", more: str = "") -> bytes:
    stream = f"<< /Length {len(content)} >>\nstream\n{content}\nendstream"
    return by_hand([
        "<< /Type /Catalog /Pages 2 0 R >>",
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox {box} /Contents 4 0 R {more}"
        " /Resources << /Font << /F 5 0 R >> >> >>",
        stream,
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica-Bold >>",
    ])  # fmt: skip


def locked() -> bytes:
    return sound(encrypt=StandardEncryption("secret", "other", strength=128))


WORDS = "BT /F 20 Tf 50 50 Td (Step 1 Gearbox) Tj ET"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"<!doctype html><title>Not found</title><p>404</p>", "not a PDF"),
        (b"PK\x03\x04 a zip", "not a PDF"),
        (sound()[:400], "damaged"),
        (b"%PDF-1.7\n" + b"\0" * 3000, "damaged"),
        (locked(), "password"),
        (by_hand(["<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [] /Count 0 >>"]),
         "no pages"),
        (sound(301), "301 pages"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_in_plain_words(
    tmp_path: Path, content: bytes, says: str
) -> None:
    path = tmp_path / "manual.pdf"
    path.write_bytes(content)
    with pytest.raises(manual.CannotRead, match=says):
        manual.look(str(path), "manual.pdf")
    with pytest.raises(manual.CannotRead, match=says):
        manual.page(str(path), 1, str(tmp_path / "picture"))


def test_a_file_of_too_many_bytes_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "manual.pdf"
    with path.open("wb") as stream:
        stream.write(b"%PDF-1.7\n")
        stream.truncate(100_000_001)
    with pytest.raises(manual.CannotRead, match="100 MB are the most"):
        manual.look(str(path), "manual.pdf")
    with pytest.raises(manual.CannotRead, match="no longer there"):
        manual.look(str(tmp_path / "gone.pdf"), "gone.pdf")


def test_a_page_that_is_not_there_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "manual.pdf"
    path.write_bytes(sound(2))
    for number in (0, 3, -1):
        with pytest.raises(manual.CannotRead, match=f"no page {number}"):
            manual.page(str(path), number, str(tmp_path / "picture"))


def test_a_manual_locked_only_against_changes_is_read(tmp_path: Path) -> None:
    path = tmp_path / "manual.pdf"
    path.write_bytes(sound(encrypt=StandardEncryption("", "other", canModify=0, strength=128)))
    assert manual.look(str(path), "manual.pdf")["pages"] == 3


HOSTILE = {
    "huge page": page_of("[0 0 1000000000 1000000000]", WORDS),
    "endless page": page_of("[0 0 1e38 1e38]", WORDS),
    "long page": page_of("[0 0 100000000 1]", WORDS),
    "page without size": page_of("[0 0 0 0]", WORDS),
    "page turned inside out": page_of("[600 800 0 0]", WORDS),
    "page far away": page_of("[-1e9 -1e9 -999999400 -999999200]", WORDS),
    "page with no box": page_of("null", WORDS),
    "odd rotation": page_of("[0 0 600 800]", WORDS, "/Rotate 45"),
    "crop box elsewhere": page_of("[0 0 600 800]", WORDS, "/CropBox [9000 9000 9100 9100]"),
    "letters of no size": page_of("[0 0 600 800]", "BT /F 0 Tf 50 50 Td (Step 1) Tj ET"),
    "letters of endless size": page_of("[0 0 600 800]", "BT /F 1e30 Tf 50 50 Td (Step 1) Tj ET"),
    "letters pressed flat": page_of("[0 0 600 800]", "BT /F 9 Tf 0 0 0 0 50 50 Tm (Step 1) Tj ET"),
    "unknown font": page_of("[0 0 600 800]", "BT /G 9 Tf 50 50 Td (Step 1) Tj ET"),
    "many letters": page_of("[0 0 600 800]", f"BT /F 1 Tf {'(1 2 3 4 5 6 7 8) Tj ' * 12_000} ET"),
    "many objects": page_of("[0 0 600 800]", "0 0 m 9 9 l S " * 60_000),
    "deep nesting": page_of("[0 0 600 800]", "q " * 30_000 + WORDS),
    "deep arrays": page_of("[0 0 600 800]", "[" * 30_000),
    "tree in a circle": by_hand([
        "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [2 0 R 3 0 R] /Count 5 >>",
        "<< /Type /Pages /Parent 2 0 R /Kids [2 0 R] /Count 5 >>",
    ]),
    "more pages said than there": by_hand([
        "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 200 >>",
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] >>",
    ]),
    "fewer than none": by_hand([
        "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count -5 >>",
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] >>",
    ]),
    "form in itself": by_hand([
        "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] /Contents 4 0 R"
        " /Resources << /XObject << /X 5 0 R >> >> >>",
        "<< /Length 5 >>\nstream\n/X Do\nendstream",
        "<< /Type /XObject /Subtype /Form /BBox [0 0 9 9] /Length 5"
        " /Resources << /XObject << /X 5 0 R >> >> >>\nstream\n/X Do\nendstream",
    ]),
    "content that is not there": by_hand([
        "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] /Contents 99 0 R >>",
    ]),
}  # fmt: skip


def test_hostile_pages_end_as_pages_or_as_refusals(tmp_path: Path) -> None:
    paths = []
    for name, content in HOSTILE.items():
        path = tmp_path / f"{name.replace(' ', '-')}.pdf"
        path.write_bytes(content)
        paths.append(path)
    told = {Path(str(one["path"])).stem.replace("-", " "): one for one in read_apart(paths)}
    assert set(told) == set(HOSTILE)
    for name, one in told.items():
        assert one["refused"] or one["pages"] or one["errors"], name
        pages: list[list[int]] = one["pages"]  # type: ignore[assignment]
        for wide, high, _ in pages:
            assert 1 <= wide <= 2000, name
            assert 1 <= high <= 2000, name
    assert told["huge page"]["pages"] == [[2000, 2000, False]]


@pytest.mark.parametrize("seed", range(2))
def test_damaged_files_never_end_the_reader(tmp_path: Path, seed: int) -> None:
    """Cut off anywhere, or with bits turned over; the seed is in the test's name."""
    chance = random.Random(seed)
    whole = sound(pageCompression=seed % 2)
    paths = []
    for number in range(40):
        content = bytearray(whole)
        if number % 3 == 0:
            del content[chance.randrange(len(content)) :]
        else:
            for _ in range(chance.choice((1, 3, 20))):
                content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        path = tmp_path / f"{number}.pdf"
        path.write_bytes(content)
        paths.append(path)
    told = read_apart(paths)
    assert len(told) == len(paths)
    assert any(one["pages"] for one in told), "some damage does no harm"
    assert any(one["refused"] for one in told)
