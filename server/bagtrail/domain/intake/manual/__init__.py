"""A maker's PDF manual as pages, and what its pages say: steps, bags, operations, part lines.

:func:`look` and :func:`page` read the file and may be slow, large or end badly with a file that
means harm: they are called in a process of their own.  :func:`findings` is arithmetic on what
they gave.
"""

from __future__ import annotations

from typing import Any

from ..findings import Found, Unfit
from . import pdf, whole
from .pdf import CannotRead

__all__ = ["CannotRead", "findings", "look", "page"]


def look(path: str, name: str) -> dict[str, Any]:  # noqa: ARG001
    """``{"pages": n, "title": str | None}``; ``name`` of the file as it was sent.

    Raises CannotRead.
    """
    return pdf.look(path)


def page(path: str, number: int, picture: str) -> dict[str, Any]:
    """Render page ``number`` (from 1) into the file ``picture`` and say what stands on it.

    See :func:`pdf.page`.  Raises CannotRead.
    """
    return pdf.page(path, number, picture)


def findings(pages: list[dict[str, Any]]) -> tuple[list[Found], list[Unfit]]:
    """What the pages say, in the order of the manual; ``pages``: as :func:`page` gave them, each
    with its ``number``.

    A finding that is certain asks nothing; its values then are those of ``wire.intake``.  Unfit
    ones name the page as their ``sheet`` and count its findings in ``row``.
    """
    return whole.read(pages)
