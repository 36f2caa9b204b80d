"""Perspective of a photographed page, against OpenCV and numpy.

``straighten.json`` beside this file is what they say; the client's ``core.straighten.test.ts``
compares its own map and its own drawing with it.

- ``maps``: four places, their counterparts, the 3 x 3 matrix of ``cv2.getPerspectiveTransform``
  (which ``numpy.linalg.solve`` confirms), and where it takes some further places.
- ``drawn``: a small grey picture, four corners, and the sheet between them as
  ``cv2.warpPerspective`` draws it (bilinear).  OpenCV has the middle of a pixel at whole numbers,
  the client at halves: corners are shifted here.

    python tests/reference/test_straighten_reference.py      writes straighten.json
"""

import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

PATH = Path(__file__).with_name("straighten.json")


def quads(rng: np.random.Generator, count: int) -> np.ndarray:
    """Sheets of some 600 x 800 px, each corner up to 150 px out of place: all of them convex."""
    upright = np.array([[200, 200], [800, 200], [800, 1000], [200, 1000]], float)
    return upright + rng.uniform(-150, 150, (count, 4, 2))


def rounded(values: Any) -> Any:
    return np.round(np.asarray(values, float), 9).tolist()


def maps() -> list[dict[str, Any]]:
    rng = np.random.default_rng(20261125)
    made = []
    for quad in quads(rng, 8):
        sheet = np.array([[0, 0], [595, 0], [595, 842], [0, 842]], float)
        for before, after in ((sheet, quad), (quad, sheet)):
            matrix = cv2.getPerspectiveTransform(
                before.astype(np.float32), after.astype(np.float32)
            )
            before, after = before.astype(np.float32), after.astype(np.float32)
            asked = rng.uniform(100, 600, (5, 2))
            told = cv2.perspectiveTransform(asked[None], matrix)[0]
            made.append(
                {
                    "from": rounded(before),
                    "to": rounded(after),
                    "matrix": matrix.ravel().tolist(),
                    "asked": rounded(asked),
                    "told": rounded(told),
                }
            )
    return made


def drawn() -> dict[str, Any]:
    high, wide = 60, 80
    rows, columns = np.mgrid[0:high, 0:wide]
    picture = 120 + 60 * np.sin(columns / 9) + 50 * np.cos(rows / 7) + columns / 4
    picture = np.clip(picture, 0, 255).astype(np.uint8)
    corners = np.array([[12, 9], [70, 4], [75, 54], [6, 49]], np.float32)
    width, height = 48, 36
    sheet = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    matrix = cv2.getPerspectiveTransform(corners - 0.5, sheet - 0.5)
    straight = cv2.warpPerspective(picture, matrix, (width, height), flags=cv2.INTER_LINEAR)
    return {
        "width": wide,
        "height": high,
        "picture": picture.ravel().tolist(),
        "corners": corners.tolist(),
        "straight": {"width": width, "height": height, "light": straight.ravel().tolist()},
    }


def test_the_maps_are_what_opencv_says_and_numpy_confirms():
    kept = json.loads(PATH.read_text("utf-8"))
    assert len(kept["maps"]) == len(maps())
    for one, again in zip(kept["maps"], maps(), strict=True):
        assert one["from"] == again["from"]
        assert one["matrix"] == pytest.approx(again["matrix"], rel=1e-9, abs=1e-12)
        # Eight equations with eight unknowns, solved another way.
        rows, right = [], []
        for (x, y), (u, v) in zip(one["from"], one["to"], strict=True):
            rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
            right += [u, v]
        solved = [*np.linalg.solve(np.array(rows), np.array(right)), 1.0]
        assert one["matrix"] == pytest.approx(solved, rel=1e-6, abs=1e-9)


def test_the_drawing_is_what_opencv_draws():
    kept = json.loads(PATH.read_text("utf-8"))["drawn"]
    again = drawn()
    assert kept["picture"] == again["picture"]
    light = np.abs(np.subtract(kept["straight"]["light"], again["straight"]["light"]))
    assert light.max() <= 1


if __name__ == "__main__":
    PATH.write_text(json.dumps({"maps": maps(), "drawn": drawn()}) + "\n", encoding="utf-8")
