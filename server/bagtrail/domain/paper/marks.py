"""What stands on a page, before it is PDF or PNG.

Millimetres from the page's top left corner, y downwards; black on white only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .symbol import Symbol

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Modules:
    """A QR symbol; ``x``, ``y``: its first module (inside the quiet zone), ``module``: one side."""

    x: float
    y: float
    module: float
    symbol: Symbol


@dataclass(frozen=True)
class Outline:
    """A thin line through ``points``, closed or not."""

    points: tuple[tuple[float, float], ...]
    width: float
    closed: bool = True


@dataclass(frozen=True)
class Ring:
    x: float
    y: float
    radius: float
    width: float


@dataclass(frozen=True)
class Words:
    """One line of text; ``y`` is its baseline, ``size`` the height of the em."""

    x: float
    y: float
    size: float
    text: str
    bold: bool = False
    anchor: Anchor = "start"


Mark = Modules | Outline | Ring | Words


@dataclass(frozen=True)
class Page:
    width: float
    height: float
    marks: tuple[Mark, ...]
