"""The drawn pages of the demo kit show what each step fits, and are the same each time."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw

from demo import make
from demo.drawing.figure import FigureMaker, rect_of
from demo.drawing.render import figure_picture
from demo.drawing.shapes import box_of, solids_of
from demo.drawing.solids import Canvas, far_to_near
from demo.model import StepNote
from demo.tarn6.catalogue import LOOKS
from demo.tarn6.kit import tarn_6

STEPS = [step for _, step in tarn_6().steps()]
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    make.main(folder)
    return folder


@pytest.fixture(scope="module")
def records(out: Path) -> list[dict[str, Any]]:
    made: list[dict[str, Any]] = json.loads((out / "tarn-6.json").read_text("utf-8"))["records"]
    return made


def test_pages_are_the_pictures_their_records_name(
    out: Path, records: list[dict[str, Any]]
) -> None:
    pages = [record["set"] for record in records if record["type"] == "page"]
    assert {page["blob"] for page in pages} == {p.stem for p in (out / "pages").iterdir()}
    for page in pages:
        path = out / "pages" / f"{page['blob']}.png"
        data = path.read_bytes()
        assert hashlib.sha256(data).hexdigest() == page["blob"]
        assert len(data) <= 60_000
        with Image.open(path) as picture:
            picture.load()
            assert picture.format == "PNG"
            assert picture.size == (page["width_px"], page["height_px"])
            assert max(picture.size) <= 1600
            assert len(picture.convert("L").getcolors() or []) > 6, "not an empty sheet"
    total = sum(path.stat().st_size for path in out.rglob("*") if path.is_file())
    assert total <= 5_000_000


def test_every_step_points_at_its_own_frame(
    out: Path, records: list[dict[str, Any]]
) -> None:
    pages = {record["id"]: record["set"] for record in records if record["type"] == "page"}
    steps = [record["set"] for record in records if record["type"] == "step"]
    on_page = Counter(step["page"] for step in steps)
    assert set(on_page) == set(pages)
    assert max(on_page.values()) >= 2, "some pages have several frames"
    for page in pages:
        frames = sorted(step["frame"] for step in steps if step["page"] == page)
        tops = sorted(frame[1] for frame in frames)
        ends = sorted(frame[1] + frame[3] for frame in frames)
        assert tops[0] == 0
        assert ends[-1] == pytest.approx(1, abs=1e-4)
        for end, top in zip(ends, tops[1:], strict=False):
            assert end == pytest.approx(top, abs=1e-4)
    for step in steps:
        page = pages[step["page"]]
        high = step["frame"][3] * page["height_px"]
        assert 300 < high <= 900, step["number"]


def test_making_it_again_gives_the_same_bytes(out: Path, tmp_path: Path) -> None:
    """In a process of its own, with other hashes of strings, so that no set's order shows."""
    env = {**os.environ, "PYTHONHASHSEED": "4711", "PYTHONPATH": str(ROOT)}
    subprocess.run([sys.executable, "-m", "demo.make", "--out", str(tmp_path)],
                   check=True, env=env, cwd=ROOT, capture_output=True, timeout=120)  # fmt: skip
    first = {p.relative_to(out): p.read_bytes() for p in out.rglob("*") if p.is_file()}
    second = {p.relative_to(tmp_path): p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    assert first == second


def test_pages_of_an_earlier_run_are_cleared_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kit = tarn_6()
    small = type(kit)(**{**vars(kit), "sections": kit.sections[:1], "order": ()})
    monkeypatch.setattr(make, "tarn_6", lambda: small)
    (tmp_path / "pages").mkdir()
    (tmp_path / "pages" / f"{'0' * 64}.png").write_bytes(b"old")
    make.main(tmp_path)
    assert not (tmp_path / "pages" / f"{'0' * 64}.png").exists()
    assert any((tmp_path / "pages").iterdir())


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.number)
def test_the_figure_shows_each_part_as_often_as_the_step_fits_it(step: StepNote) -> None:
    """Figures and part lines are written apart, so that each checks the other."""
    wanted: Counter[str] = Counter()
    for line in step.lines:
        wanted[line.part] += line.quantity
    scene = FigureMaker(LOOKS.__getitem__).scene(step.figure)
    assert scene.drawn(step.sets) == wanted
    assert all(len(item.places) == item.count for item in scene.items)


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_every_shape_leaves_ink_inside_its_own_box(axis: str) -> None:
    for key, look in LOOKS.items():
        solids = solids_of(look.shape, axis, 1, look.material)
        left, top, right, bottom = rect_of(box_of(solids))
        scale = 300 / max(right - left, bottom - top)
        picture = Image.new("L", (400, 400), 255)
        origin = (200 - (left + right) / 2 * scale, 200 - (top + bottom) / 2 * scale)
        canvas = Canvas(ImageDraw.Draw(picture), scale, origin, 2)
        for solid in solids:
            solid.paint(canvas)
        ink = picture.point(lambda value: 0 if value > 250 else 255).getbbox()
        assert ink is not None, key
        half, slack = ((right - left) * scale / 2, (bottom - top) * scale / 2), 14
        assert ink[0] >= 200 - half[0] - slack, key
        assert ink[2] <= 200 + half[0] + slack, key
        assert ink[1] >= 200 - half[1] - slack, key
        assert ink[3] <= 200 + half[1] + slack, key


def test_things_nearer_to_the_viewer_are_painted_later() -> None:
    """The viewer looks from (+, +, +): a box further along any axis hides the one behind it."""
    far = ((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    for axis in range(3):
        low, high = [0.0] * 3, [1.0] * 3
        low[axis], high[axis] = 2.0, 3.0
        near = ((low[0], low[1], low[2]), (high[0], high[1], high[2]))
        assert far_to_near([near, far]) == [1, 0]
        assert far_to_near([far, near]) == [0, 1]


def test_a_part_hidden_behind_another_is_an_error_not_a_label_in_the_air() -> None:
    maker = FigureMaker(LOOKS.__getitem__)
    counts = {"pin2.5x14": 1, "T860": 1}
    beside = ("x: T860", "x+0,120,0: pin2.5x14")
    within = ("x: T860", "x+-20,-20,30: pin2.5x14")
    figure_picture(maker, beside, "0", "seen", "", counts, frozenset())
    with pytest.raises(ValueError, match=r"pin2\.5x14 cannot be seen"):
        figure_picture(maker, within, "0", "hidden", "", counts, frozenset())
