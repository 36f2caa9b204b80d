"""Films for a browser's fake camera: a label as a phone sees it at the bench.

A picture of a label is laid on a bench top, turned, tilted, lit, shaken and photographed into
1280 x 720 px frames.  The fixture ``launch`` starts a Chromium whose camera plays such a file in a
loop.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

WIDTH_PX, HEIGHT_PX = 1280, 720
Picture = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class Scene:
    """How the label lies and how it is lit.

    ``height``: of the label as a fraction of the frame's height; ``turn_deg``: in the plane of
    the picture; ``tilt_deg``: away from the camera about the horizontal; ``blur_px``: sigma;
    ``noise``: sigma in grey levels of 255; ``light``: factor; ``shadow``: light left in the
    shaded half, 1 for none; ``glare``: diameter of a blown-out spot as a fraction of the label,
    at ``glare_at`` (fractions of the label from its top left); ``crinkle``: amplitude of the
    folds as a fraction of the label's height; ``shake_px``: how far frames differ.
    """

    height: float = 0.6
    turn_deg: float = 4.0
    tilt_deg: float = 12.0
    blur_px: float = 0.8
    noise: float = 5.0
    light: float = 0.92
    shadow: float = 1.0
    glare: float = 0.0
    glare_at: tuple[float, float] = (0.72, 0.72)
    crinkle: float = 0.0
    shake_px: float = 3.0


def _damage(label: Picture, scene: Scene) -> Picture:
    """Folds and glare, which belong to the label's surface."""
    high, wide = label.shape[:2]
    if scene.crinkle:
        rows, columns = np.mgrid[0:high, 0:wide].astype(np.float32)
        fold = scene.crinkle * high
        right = columns + fold * np.sin(rows / high * 9.0 + columns / wide * 4.0)
        down = rows + fold * np.sin(columns / wide * 11.0 - rows / high * 3.0)
        label = cv2.remap(
            label,
            right.astype(np.float32),
            down.astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        ).astype(np.uint8)
        # Folds catch the light on one side and lose it on the other.
        shade = 1.0 - 0.25 * np.sin(columns / wide * 11.0 - rows / high * 3.0) ** 2
        label = (label * shade[..., None]).astype(np.uint8)
    if scene.glare:
        spot = np.zeros((high, wide), np.float32)
        centre = (int(scene.glare_at[0] * wide), int(scene.glare_at[1] * high))
        cv2.circle(spot, centre, int(scene.glare * min(high, wide) / 2), 1.0, -1)
        spot = cv2.GaussianBlur(spot, (0, 0), min(high, wide) * 0.01)[..., None]
        label = (label * (1 - spot) + 255 * spot).astype(np.uint8)
    return label


def photograph(label: Image.Image, scene: Scene, *, seed: int = 0) -> Picture:
    """One frame: RGB, ``HEIGHT_PX`` x ``WIDTH_PX`` x 3.  The same seed gives the same frame."""
    chance = np.random.default_rng(seed)
    flat = _damage(np.asarray(label.convert("RGB"), np.uint8), scene)
    high, wide = flat.shape[:2]
    scale = scene.height * HEIGHT_PX / high
    corners = np.array(
        [[-wide / 2, -high / 2], [wide / 2, -high / 2], [wide / 2, high / 2], [-wide / 2, high / 2]]
    )
    turn, tilt = np.radians([scene.turn_deg, scene.tilt_deg])
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    flat_corners = corners * scale @ spin.T
    # Pinhole camera 1.4 frame heights away.
    depth = 1.0 + flat_corners[:, 1] * np.sin(tilt) / (1.4 * HEIGHT_PX)
    seen = np.stack([flat_corners[:, 0], flat_corners[:, 1] * np.cos(tilt)], 1) / depth[:, None]
    seen += np.array([WIDTH_PX / 2, HEIGHT_PX / 2]) + chance.normal(0, scene.shake_px, 2)
    source = (corners + np.array([wide / 2, high / 2])).astype(np.float32)
    matrix = cv2.getPerspectiveTransform(source, seen.astype(np.float32))

    bench = np.full((HEIGHT_PX, WIDTH_PX, 3), (70, 58, 46), np.float32)
    grain = np.random.default_rng(7).normal(0, 1, (HEIGHT_PX // 8, WIDTH_PX // 8, 1))
    bench += cv2.resize(grain, (WIDTH_PX, HEIGHT_PX))[..., None] * 9
    size = (WIDTH_PX, HEIGHT_PX)
    shrunk = cv2.warpPerspective(flat, matrix, size, flags=cv2.INTER_AREA).astype(np.float32)
    mask = cv2.warpPerspective(np.ones((high, wide), np.float32), matrix, size)[..., None]
    frame = bench * (1 - mask) + shrunk * mask
    # A lamp to the left above; the hand's or the shelf's shadow on the right.
    across = np.linspace(1.04, 0.9, WIDTH_PX)[None, :, None]
    frame *= scene.light * across
    if scene.shadow < 1.0:
        edge = 1 / (1 + np.exp(-(np.arange(WIDTH_PX) - WIDTH_PX / 2) / 6.0))
        frame *= (1 - (1 - scene.shadow) * edge)[None, :, None]
    if scene.blur_px:
        frame = cv2.GaussianBlur(frame, (0, 0), scene.blur_px)
    frame += chance.normal(0, scene.noise, frame.shape) if scene.noise else 0
    return np.clip(frame, 0, 255).astype(np.uint8)


def bare_bench(*, seed: int = 0) -> Picture:
    """A frame without any label."""
    return photograph(Image.new("RGB", (8, 8), (70, 58, 46)), Scene(height=0.02), seed=seed)


def write_mjpeg(frames: Iterable[Picture], path: Path) -> Path:
    """Motion JPEG as Chromium's fake camera reads it: baseline 4:2:0 JPEGs one after another."""
    with path.open("wb") as out:
        for frame in frames:
            one = io.BytesIO()
            Image.fromarray(frame).save(one, "JPEG", quality=90, subsampling="4:2:0")
            out.write(one.getvalue())
    return path


def write_y4m(frames: Iterable[Picture], path: Path, *, per_second: int = 30) -> Path:
    """YUV4MPEG2, planar 4:2:0, uncompressed (1.4 MB a frame)."""
    with path.open("wb") as out:
        out.write(f"YUV4MPEG2 W{WIDTH_PX} H{HEIGHT_PX} F{per_second}:1 Ip A1:1 C420jpeg\n".encode())
        for frame in frames:
            out.write(b"FRAME\n" + cv2.cvtColor(frame, cv2.COLOR_RGB2YUV_I420).tobytes())
    return path


def film(label: Image.Image, path: Path, scene: Scene | None = None, *, frames: int = 10) -> Path:
    """A film of one label, ``.mjpeg`` or ``.y4m`` by the ending of ``path``."""
    taken = [photograph(label, scene or Scene(), seed=seed) for seed in range(frames)]
    writer = write_y4m if path.suffix == ".y4m" else write_mjpeg
    return writer(taken, path)
