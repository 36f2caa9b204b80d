"""Labels as they come out of the printer: read by other decoders, measured on the rendered page.

Pages are rendered by PDFium and read by zxing-cpp and OpenCV; nothing here uses the program's own
knowledge of where a symbol lies, but for the sheet's geometry.
"""

from __future__ import annotations

import io
import itertools
import random
import re
from functools import lru_cache

import cv2
import numpy as np
import pypdfium2 as pdfium
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFilter

from bagtrail.domain.paper import lettering
from bagtrail.domain.paper.geometry import PRESETS, Box, Placing, Sheet
from bagtrail.domain.paper.labels import LabelBag, label_pages, single_label
from bagtrail.domain.paper.lettering import font_for
from bagtrail.domain.paper.marks import Modules, Outline, Page, Ring, Words
from bagtrail.domain.paper.pdf import pages_to_pdf
from bagtrail.domain.paper.png import page_to_png
from bagtrail.domain.paper.symbol import QUIET_MODULES, label_text
from bagtrail.domain.paper.tag import MODULE_MIN_MM, steps_in_words
from bagtrail.trade import codes
from bagtrail.wire.problems import Invalid

WORKSHOP = "018f3d5c-9a2b-7c41-8d6e-2f1a0b3c4d5e"
ADDRESS = "https://192.168.1.20:8443"
DPI = 300
DOT_MM = 25.4 / DPI
TITLES = ["Front gearbox and differential", "", "Steering", "A very long title of a bag " * 4]
STEPS = [["1.1", "1.2", "1.3"], [], ["2.1"], [f"3.{n}" for n in range(1, 60, 2)]]


def bags(count: int) -> list[LabelBag]:
    rng = random.Random(5)
    taken: set[str] = set()
    made = []
    for n in range(count):
        code = codes.issue(WORKSHOP, lambda: rng.getrandbits(25), taken)
        taken.add(code)
        made.append(LabelBag(code, str(n + 1), TITLES[n % 4], STEPS[n % 4]))
    return made


@lru_cache
def job(name: str, count: int, start: int = 1, dx: float = 0.0, dy: float = 0.0) -> bytes:
    placing = Placing(start, dx, dy)
    pages = label_pages(bags(count), "Tarn 6", ADDRESS, PRESETS[name], placing)
    return pages_to_pdf(pages, "Labels")


@lru_cache
def rendered(name: str, count: int, start: int = 1, dx: float = 0.0, dy: float = 0.0) -> np.ndarray:
    """First page in grey at 300 dpi."""
    page = pdfium.PdfDocument(job(name, count, start, dx, dy))[0]
    return np.asarray(page.render(scale=DPI / 72).to_pil().convert("L"))


def cut(image: np.ndarray, box: Box) -> np.ndarray:
    """The part of a page within a box in mm."""
    left, top = round(box.x / DOT_MM), round(box.y / DOT_MM)
    right, bottom = round((box.x + box.width) / DOT_MM), round((box.y + box.height) / DOT_MM)
    return image[top:bottom, left:right]


def measured(label: np.ndarray) -> tuple[zxingcpp.Barcode, Box, int, float]:
    """Symbol on a picture of one label: what zxing read, the box of its dark modules in mm, its
    modules along a side, and the side of one in mm.  Found from the finder patterns outward."""
    (found,) = zxingcpp.read_barcodes(label)
    dark = label < 128
    corners = found.position
    left, top = corners.top_left.x, corners.top_left.y
    right, bottom = corners.bottom_right.x, corners.bottom_right.y
    # The corners are good to a pixel or two: the true edges are the last dark rows and columns
    # before the white of the quiet zone.
    centre = dark[top + 3 : bottom - 3, left + 3 : right - 3]
    assert centre.any()

    def edge(line: int, step: int, column: bool) -> int:
        line -= step * 6
        rows, columns = slice(top + 6, bottom - 6), slice(left + 6, right - 6)
        while (dark[rows, line] if column else dark[line, columns]).any():
            line += step
        return line - step

    x0, x1 = edge(left, -1, True), edge(right, 1, True)
    y0, y1 = edge(top, -1, False), edge(bottom, 1, False)
    # The upper left finder pattern is seven modules wide (ISO/IEC 18004, 6.3.3).
    row = dark[(y0 + 2), x0:x1]
    seven = int(np.argmin(row)) if not row.all() else len(row)
    size = (x1 - x0 + 1) * DOT_MM
    count = 17 + 4 * round((size / (seven * DOT_MM / 7) - 17) / 4)
    box = Box(x0 * DOT_MM, y0 * DOT_MM, size, (y1 - y0 + 1) * DOT_MM)
    return found, box, count, size / count


def seen_at(
    label: np.ndarray, module_mm: float, pixels: float, turn: float, noise: float
) -> np.ndarray:
    """What a phone sees: so many pixels a module, turned by degrees, grainy, grey."""
    rng = np.random.default_rng(int(turn * 10 + pixels * 100))
    image = Image.fromarray(label)
    image = image.rotate(turn, Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    scale = pixels * DOT_MM / module_mm
    size = (round(image.width * scale), round(image.height * scale))
    image = image.resize(size, Image.Resampling.BOX, reducing_gap=None)
    image = image.filter(ImageFilter.GaussianBlur(0.35))
    grey = np.asarray(image, dtype=float) * 0.7 + 40
    return np.clip(grey + rng.normal(0, noise, grey.shape), 0, 255).astype(np.uint8)


ALL = sorted(PRESETS)


@pytest.mark.parametrize("name", ALL)
def test_pitfall_16_every_label_of_a_rendered_page_reads_in_zxing_and_opencv(name):
    sheet = PRESETS[name]
    image = rendered(name, sheet.per_page)
    detector = cv2.QRCodeDetector()
    for place, bag in enumerate(bags(sheet.per_page)):
        label = cut(image, sheet.label(place))
        text = label_text(ADDRESS, bag.code)
        (found,) = zxingcpp.read_barcodes(label)
        assert found.text == text
        opencv, *_ = detector.detectAndDecode(label)
        assert opencv == text, (name, place)


@pytest.mark.parametrize("name", ["a4-3x7", "letter-3x10", "a4-2x5"])
@pytest.mark.parametrize("pixels", [2.5, 3.0, 4.0])
@pytest.mark.parametrize(("turn", "noise"), [(0, 0), (0, 12), (8, 6), (33, 6), (90, 12), (171, 6)])
def test_pitfall_16_labels_read_at_a_phones_distance_turned_and_grainy(name, pixels, turn, noise):
    sheet = PRESETS[name]
    image = rendered(name, sheet.per_page)
    for place in range(0, 6):
        label = cut(image, sheet.label(place))
        _, _, _, module = measured(label)
        far = seen_at(label, module, pixels, turn, noise)
        text = label_text(ADDRESS, bags(6)[place].code)
        assert {found.text for found in zxingcpp.read_barcodes(far)} == {text}
        # OpenCV's own detector reads fewer, but must never read another text; see below.
        if place < 2:
            opencv, *_ = cv2.QRCodeDetector().detectAndDecode(far)
            assert opencv in ("", text)


@pytest.mark.parametrize(("turn", "noise"), [(0, 0), (0, 6), (8, 6), (90, 6)])
def test_opencv_reads_labels_from_a_distance_too(turn, noise):
    sheet = PRESETS["a4-3x7"]
    image = rendered("a4-3x7", sheet.per_page)
    read = 0
    for place, bag in enumerate(bags(sheet.per_page)):
        label = cut(image, sheet.label(place))
        _, _, _, module = measured(label)
        far = seen_at(label, module, 4.0, turn, noise)
        text, *_ = cv2.QRCodeDetector().detectAndDecode(far)
        read += text == label_text(ADDRESS, bag.code)
    assert read >= 0.9 * sheet.per_page, read


@pytest.mark.parametrize("name", ALL)
def test_pitfall_16_module_and_quiet_zone_measured_on_the_page(name):
    """Module at least 0.6 mm, and white for 4 modules around (ISO/IEC 18004, quiet zone)."""
    sheet = PRESETS[name]
    image = rendered(name, sheet.per_page)
    for place in (0, sheet.columns - 1, sheet.per_page - 1):
        label = cut(image, sheet.label(place))
        _, box, count, module = measured(label)
        assert count == 25
        assert module >= MODULE_MIN_MM - 0.005
        assert abs(box.width - box.height) <= 2 * DOT_MM
        quiet = QUIET_MODULES * module - DOT_MM
        around = cut(label, Box(box.x - quiet, box.y - quiet, *(2 * [box.width + 2 * quiet])))
        # Nothing is cut off: the whole quiet zone lies on the label.
        assert min(around.shape) >= (box.width + 2 * quiet) / DOT_MM - 2
        within = Image.fromarray(around).copy()
        edge = round(quiet / DOT_MM)
        within.paste(
            255, (edge - 1, edge - 1, around.shape[1] - edge + 1, around.shape[0] - edge + 1)
        )
        assert np.asarray(within).min() > 250, (name, place)


@pytest.mark.parametrize("name", ["a4-3x7", "letter-3x10", "a4-3x8-edge"])
def test_pitfall_17_label_reads_on_a_dark_bag_even_when_cut_half_a_millimetre_off(name):
    sheet = PRESETS[name]
    image = rendered(name, sheet.per_page)
    for place in range(3):
        box = sheet.label(place).inset(0.5, 0.5)
        label = np.pad(cut(image, box), 120, constant_values=15)
        (found,) = zxingcpp.read_barcodes(label)
        assert found.text == label_text(ADDRESS, bags(3)[place].code)


def test_pitfall_17_most_labels_survive_a_torn_or_glaring_spot():
    """A white spot over 3 % of the symbol, away from the finder patterns."""
    sheet, rng = PRESETS["a4-3x7"], random.Random(9)
    image = rendered("a4-3x7", sheet.per_page)
    read = 0
    for place, bag in enumerate(bags(sheet.per_page)):
        label = cut(image, sheet.label(place)).copy()
        _, box, count, module = measured(label)
        side = round(box.width * 0.17 / DOT_MM)
        x = round((box.x + rng.uniform(9, count - 6) * module) / DOT_MM)
        y = round((box.y + rng.uniform(9, count - 6) * module) / DOT_MM)
        label[y : y + side, x : x + side] = 255
        found = zxingcpp.read_barcodes(label)
        assert all(one.text == label_text(ADDRESS, bag.code) for one in found)
        read += len(found)
    assert read >= sheet.per_page // 2, read


def ruler_mm(image: np.ndarray, strip: slice) -> tuple[float, float, float]:
    """Longest dark row in a strip of the page: (left, top, length) in mm."""
    best = (0.0, 0.0, 0.0)
    for y in range(strip.start, strip.stop):
        dark = np.flatnonzero(np.diff(np.concatenate(([0], image[y] < 128, [0]))))
        for start, end in zip(dark[::2], dark[1::2], strict=True):
            if (end - start) * DOT_MM > best[2]:
                best = (start * DOT_MM, y * DOT_MM, (end - start) * DOT_MM)
    return best


@pytest.mark.parametrize("name", [name for name in ALL if PRESETS[name].bottom_mm >= 9.5])
def test_pitfall_18_ruler_is_100_mm_and_within_what_printers_reach(name):
    image = rendered(name, 2)
    margin = slice(round((PRESETS[name].height_mm - 9.5) / DOT_MM), image.shape[0])
    left, top, length = ruler_mm(image, margin)
    assert length == pytest.approx(100, abs=0.2)
    assert left > 4
    assert top < PRESETS[name].height_mm - 4.2


@pytest.mark.parametrize("name", [name for name in ALL if PRESETS[name].bottom_mm < 9.5])
def test_pitfall_18_sheets_without_margin_get_a_page_for_the_ruler(name):
    document = pdfium.PdfDocument(job(name, 2))
    assert len(document) == 2
    image = np.asarray(document[1].render(scale=DPI / 72).to_pil().convert("L"))
    assert ruler_mm(image, slice(0, image.shape[0]))[2] == pytest.approx(100, abs=0.2)
    assert zxingcpp.read_barcodes(image) == []


def test_pitfall_18_true_size_is_asked_for_and_pages_are_a4_and_letter():
    for name, size in (("a4-3x7", (210, 297)), ("letter-3x10", (215.9, 279.4))):
        pdf = job(name, 2)
        assert pdf.startswith(b"%PDF-1.6")
        (number,) = re.findall(rb"/ViewerPreferences (\d+) 0 R", pdf)
        assert re.search(rb"\n" + number + rb" 0 obj\s*<<\s*/PrintScaling /None\s*>>", pdf)
        width, height = pdfium.PdfDocument(pdf)[0].get_size()
        assert (width * 25.4 / 72, height * 25.4 / 72) == pytest.approx(size, abs=0.01)


def test_pitfall_18_offset_moves_symbol_and_ruler_by_what_was_measured():
    sheet = PRESETS["a4-3x7"]
    here = measured(cut(rendered("a4-3x7", 3), sheet.label(0)))[1]
    label = sheet.label(0)
    moved = Box(label.x + 1.6, label.y - 0.9, label.width, label.height)
    image = rendered("a4-3x7", 3, 1, 1.6, -0.9)
    there = measured(cut(image, moved))[1]
    assert (there.x, there.y) == pytest.approx((here.x, here.y), abs=0.2)
    before = ruler_mm(rendered("a4-3x7", 3), slice(3300, 3508))
    after = ruler_mm(image, slice(3300, 3508))
    assert after[0] - before[0] == pytest.approx(1.6, abs=0.2)
    assert after[1] - before[1] == pytest.approx(-0.9, abs=0.2)


def test_pitfall_18_printing_starts_at_any_label_and_goes_on_on_the_next_page():
    sheet = PRESETS["a4-3x7"]
    document = pdfium.PdfDocument(job("a4-3x7", 4, 20))
    assert len(document) == 2
    found = []
    for page in document:
        image = np.asarray(page.render(scale=DPI / 72).to_pil().convert("L"))
        for place in range(sheet.per_page):
            for one in zxingcpp.read_barcodes(cut(image, sheet.label(place))):
                found.append((place, one.text[-8:]))
    assert found == list(zip([19, 20, 0, 1], [bag.code for bag in bags(4)], strict=True))


@pytest.mark.parametrize("scale", [97 / 72, 211 / 72, 600 / 72])
def test_pitfall_19_modules_are_black_without_hairlines_at_any_resolution(scale):
    """The 3 x 3 core of a finder pattern is one black square, however the page is rendered."""
    sheet = PRESETS["a4-3x7"]
    image = pdfium.PdfDocument(job("a4-3x7", 1))[0].render(scale=scale).to_pil()
    assert all(channel.tobytes() == image.getchannel(0).tobytes() for channel in image.split()[1:3])
    grey = np.asarray(image.convert("L"))
    _, box, _, module = measured(cut(rendered("a4-3x7", 1), sheet.label(0)))
    per_mm = scale * 72 / 25.4
    left, top = sheet.label(0).x + box.x + 2.2 * module, sheet.label(0).y + box.y + 2.2 * module
    side = 2.6 * module
    core = grey[
        int(top * per_mm) + 1 : int((top + side) * per_mm),
        int(left * per_mm) + 1 : int((left + side) * per_mm),
    ]
    assert core.size
    assert core.max() == 0


def test_pitfall_19_symbols_are_vectors_in_runs_and_no_pictures():
    document = pdfium.PdfDocument(job("a4-3x7", 21))
    kinds = [obj.type for obj in document[0].get_objects()]
    assert pdfium.raw.FPDF_PAGEOBJ_IMAGE not in kinds
    # One path a symbol, and a few lines for tag and ruler.
    paths = kinds.count(pdfium.raw.FPDF_PAGEOBJ_PATH)
    assert paths < 21 * 5 + 60
    assert len(job("a4-3x7", 21)) < 120_000


def test_pitfall_15_code_stands_on_the_label_in_clear_and_passes_its_check():
    text = pdfium.PdfDocument(job("a4-3x7", 12))[0].get_textpage().get_text_bounded()
    printed = re.findall(r"[0-9A-Z]{4}-[0-9A-Z]{4}", text)
    assert [codes.normalise(code) for code in printed] == [bag.code for bag in bags(12)]
    assert not set("".join(printed)) & set("ILOU")


def test_same_job_gives_the_same_bytes():
    pages = label_pages(bags(3), "Tarn 6", ADDRESS, PRESETS["a4-3x7"], Placing())
    assert pages_to_pdf(pages, "Labels") == pages_to_pdf(pages, "Labels")


def test_picture_of_a_page_shows_the_same_as_the_pdf():
    sheet = PRESETS["a4-3x7"]
    (page,) = label_pages(bags(21), "Tarn 6", ADDRESS, sheet, Placing())
    picture = Image.open(io.BytesIO(page_to_png(page)))
    assert picture.size == (2480, 3508)
    assert picture.info["dpi"] == pytest.approx((300, 300), abs=0.1)
    grey, printed = np.asarray(picture), rendered("a4-3x7", 21)
    for place, bag in enumerate(bags(21)):
        mine, box, count, module = measured(cut(grey, sheet.label(place)))
        _, other, *_ = measured(cut(printed, sheet.label(place)))
        assert mine.text == label_text(ADDRESS, bag.code)
        assert (box.x, box.y, box.width) == pytest.approx((other.x, other.y, other.width), abs=0.2)
        assert count * module == pytest.approx(box.width)


def test_single_label_is_a_page_of_its_own():
    bag = bags(1)[0]
    page = single_label(bag, "Tarn 6", ADDRESS, 50, 30)
    assert (page.width, page.height) == (50, 30)
    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(page_to_png(page))))
    assert found.text == label_text(ADDRESS, bag.code)


def test_page_too_large_for_a_picture_is_refused():
    with pytest.raises(Invalid, match="Ask for the PDF"):
        page_to_png(Page(1200, 1200, ()))


def box_of(mark: Modules | Outline | Ring | Words) -> Box:
    if isinstance(mark, Modules):
        side = mark.module * mark.symbol.modules
        return Box(mark.x, mark.y, side, side)
    if isinstance(mark, Ring):
        return Box(mark.x - mark.radius, mark.y - mark.radius, 2 * mark.radius, 2 * mark.radius)
    if isinstance(mark, Words):
        width = font_for(mark.text, mark.bold).width(mark.text, mark.size)
        return Box(mark.x, mark.y - 0.75 * mark.size, width, 0.75 * mark.size)
    xs, ys = [x for x, _ in mark.points], [y for _, y in mark.points]
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def apart(one: Box, other: Box) -> bool:
    return (
        one.x + one.width <= other.x + 1e-6
        or other.x + other.width <= one.x + 1e-6
        or one.y + one.height <= other.y + 1e-6
        or other.y + other.height <= one.y + 1e-6
    )


def lines_of(mark: Outline) -> list[Box]:
    points = [*mark.points, *(mark.points[:1] if mark.closed else ())]
    return [
        Box(min(ax, bx), min(ay, by), abs(ax - bx), abs(ay - by))
        for (ax, ay), (bx, by) in itertools.pairwise(points)
    ]


@settings(max_examples=250, deadline=None)
@given(
    width=st.floats(20, 130),
    height=st.floats(20, 110),
    number=st.text("0123456789ABCW-\u00c5", min_size=1, max_size=20),
    title=st.text("abcW \u00e9\u6f22\u0416", max_size=160),
    steps=st.lists(st.text("0123456789.K", min_size=1, max_size=20), max_size=40),
    kit=st.text("abW ", max_size=120),
    host=st.text("abcdef", min_size=1, max_size=60),
)
def test_any_label_is_refused_or_whole(width, height, number, title, steps, kit, host):
    """Whatever the size and the words: symbol with its quiet zone, code and number are on the
    label, nothing overlaps the quiet zone, no words run over each other or over the edge."""
    bag = LabelBag("7K3QXWMW", number, title, steps)
    try:
        page = single_label(bag, kit, f"https://{host}.example", width, height)
    except Invalid as problem:
        refused = problem.detail
    else:
        refused = ""
    if refused:
        assert "too small" in refused
        # An ordinary label (63.5 x 38.1 mm) holds whatever is asked for here.
        assert width < 63.5 or height < 38.1
        return
    label = Box(0, 0, width, height)
    (symbol,) = (mark for mark in page.marks if isinstance(mark, Modules))
    assert symbol.module >= MODULE_MIN_MM - 1e-9
    quiet = QUIET_MODULES * symbol.module
    zone = box_of(symbol).inset(-quiet, -quiet)
    words = [mark for mark in page.marks if isinstance(mark, Words)]
    for box in [zone, *(box_of(mark) for mark in page.marks)]:
        assert min(box.x, box.y) >= 1, box
        assert box.x + box.width <= width - 1 + 1e-6, box
        assert box.y + box.height <= height - 1 + 1e-6, box
    for mark in page.marks:
        if isinstance(mark, Outline):
            assert all(apart(line, zone) for line in lines_of(mark)), label
        elif not isinstance(mark, Modules):
            assert apart(box_of(mark), zone), mark
    for i, one in enumerate(words):
        for other in words[i + 1 :]:
            assert apart(box_of(one), box_of(other)), (one, other)
    assert "7K3Q-XWMW" in [mark.text for mark in words]


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        (["1"], "1"),
        (["1", "2"], "1, 2"),
        (["1", "2", "3"], "1\u20133"),
        (["1.8", "1.9", "1.10", "2.1"], "1.8\u20131.10, 2.1"),
        (["K1", "K2", "K3", "7"], "K1\u2013K3, 7"),
        (["1", "3", "5"], "1, 3, 5"),
        (["9a", "10a"], "9a, 10a"),
        ([], ""),
    ],
)
def test_steps_in_words(steps, words):
    assert steps_in_words(steps) == words


def test_presets_are_named_by_their_geometry_and_fit_a4_or_letter():
    for name, sheet in PRESETS.items():
        page, grid = name.split("-")[:2]
        assert (sheet.width_mm, sheet.height_mm) == {"a4": (210, 297), "letter": (215.9, 279.4)}[
            page
        ]
        assert grid == f"{sheet.columns}x{sheet.rows}"
        last = sheet.label(sheet.per_page - 1)
        assert last.x + last.width <= sheet.width_mm + 0.05
        assert last.y + last.height <= sheet.height_mm + 0.05


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"columns": 0}, "at least one"),
        ({"columns": 4}, "4 columns of 60 mm with these margins and gaps need 250.0 mm"),
        ({"rows": 8}, "8 rows of 40 mm"),
        ({"label_width_mm": 0}, "label width has to be more than 0"),
        ({"left_mm": -1}, "left cannot be less than 0"),
        ({"gap_x_mm": float("nan")}, "has to be a number"),
        ({"width_mm": 5000}, "20 to 1200"),
    ],
)
def test_sheet_that_cannot_be_is_refused_with_what_is_wrong(change, says):
    good = {
        "name": "own", "width_mm": 210, "height_mm": 297, "columns": 3, "rows": 7,
        "label_width_mm": 60, "label_height_mm": 40, "left_mm": 10, "top_mm": 8,
    }  # fmt: skip
    Sheet(**good)
    with pytest.raises(Invalid) as refused:
        Sheet(**{**good, **change})
    assert says in refused.value.detail
    assert set(refused.value.extra["errors"]) & set(change)


def test_label_too_small_for_its_symbol_is_refused_with_the_size_it_needs():
    sheet = Sheet("own", 210, 297, 8, 20, 20, 10, 10, 10)
    with pytest.raises(Invalid, match=r"20 x 10 mm is too small.*19\.8 x 19\.8 mm"):
        label_pages(bags(1), "Tarn 6", ADDRESS, sheet, Placing())


def test_jobs_that_cannot_be_are_refused():
    sheet = PRESETS["a4-3x7"]
    one = bags(1)[0]
    twin = LabelBag(one.code, "99", "", [])
    for job_bags, placing, says in (
        ([], Placing(), "no bags"),
        ([one] * 1001, Placing(), "too many"),
        ([one, twin], Placing(), "Bag 1 and bag 99 have the same code"),
        ([one], Placing(start=22), "labels 1 to 21"),
        ([one], Placing(dx_mm=float("nan")), "offset"),
        ([one], Placing(dy_mm=-16), "offset"),
    ):
        with pytest.raises(Invalid, match=says):
            label_pages(job_bags, "Tarn 6", ADDRESS, sheet, placing)


def test_titles_in_other_scripts_are_printed_or_marked_never_dropped():
    titles = [
        "Gr\u00f6\u00dfe \u00e9 \u00e5",
        "\u041e\u0441\u044c",
        "\u0394\u03af\u03c3\u03ba\u03bf\u03c2",
        "\u8f66\u8f6e",
        "x\u0302y",
    ]
    made = [
        LabelBag(bag.code, bag.number, title, [])
        for bag, title in zip(bags(5), titles, strict=True)
    ]
    pages = label_pages(made, "Tarn 6", ADDRESS, PRESETS["a4-3x7"], Placing())
    words = [mark.text for mark in pages[0].marks if isinstance(mark, Words) and mark.bold]
    assert titles[0] in words
    assert len(words) == 15  # number, title and code of each
    for text in words:
        assert text
        assert font_for(text, True).has(text), text
    text = pdfium.PdfDocument(pages_to_pdf(pages, "x"))[0].get_textpage().get_text_bounded()
    assert titles[0] in text
    assert all(bag.code[:4] in text for bag in made)


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        (
            "Gr\u00f6\u00dfe \u00b1 \u00bd \u2013 \u2026 \u0142",
            "Gr\u00f6\u00dfe \u00b1 \u00bd \u2013 \u2026 \u0142",
        ),
        ("\u017b\u00f3\u0142ta \u0105", "Z\u00f3\u0142ta a"),
        ("x\u0302y", "xy"),
        ("\u041e\u0441\u044c", "???"),
        ("a\u202eb\u200fc\x00\x1b[m\ud800", "abc[m"),
        ("  two\n\tlines\u00a0\u2003", "two lines"),
        ("", ""),
    ],
)
def test_without_fonts_of_the_machine_letters_are_replaced_by_their_base(
    monkeypatch, text, printed
):
    monkeypatch.setattr(lettering, "_MACHINE", ())
    lettering.fonts.cache_clear()
    try:
        assert lettering.printable(text) == printed
    finally:
        lettering.fonts.cache_clear()
