"""Labels to print, and the sheets they can be printed on."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from flask import Response

from ..domain.labelling import label_of_bag, labels_of_kit
from ..domain.paper.geometry import PRESETS, Placing, Sheet, preset
from ..domain.paper.labels import label_pages, single_label
from ..domain.paper.marks import Page
from ..domain.paper.pdf import pages_to_pdf
from ..domain.paper.png import page_to_png
from ..wire.labels import (
    MEASURES,
    LabelsPictureQuery,
    LabelsQuery,
    OneLabelQuery,
    SheetList,
)
from ..wire.messages import PROBLEM, ProblemMessage
from ..wire.problems import NotFound
from .auth import caller, settings
from .bodies import Calls

blp = Calls("labels", __name__, description="Labels of bags")

_DEFAULT_SHEET = "a4-3x7"


@blp.get("/api/sheets", endpoint="sheets")
@blp.response(200, SheetList)
def sheets() -> dict[str, Any]:
    """Sheets of labels by their geometry."""
    return {"sheets": [asdict(sheet) for sheet in PRESETS.values()]}


@blp.get("/labels/kits/<uuid:kit>.pdf", endpoint="kit_pdf")
@blp.arguments(LabelsQuery, location="query", unknown=None)
@blp.response(200, content_type="application/pdf")
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
def kit_pdf(query: dict[str, Any], kit: Any) -> Response:
    """The labels of a kit's bags, to print at true size."""
    name, pages = _pages(query, str(kit))
    return _file(pages_to_pdf(pages, f"Labels of {name}"), "application/pdf", "labels.pdf")


@blp.get("/labels/kits/<uuid:kit>.png", endpoint="kit_png")
@blp.arguments(LabelsPictureQuery, location="query", unknown=None)
@blp.response(200, content_type="image/png")
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
def kit_png(query: dict[str, Any], kit: Any) -> Response:
    """One page of the same, as a picture at 300 dpi."""
    number = query.pop("page")
    _, pages = _pages(query, str(kit))
    if number > len(pages):
        raise NotFound(f"This job has pages 1 to {len(pages)}; there is no page {number}.")
    return _file(page_to_png(pages[number - 1]), "image/png", f"labels-{number}.png")


@blp.get("/labels/bags/<uuid:bag>.png", endpoint="bag_png")
@blp.arguments(OneLabelQuery, location="query", unknown=None)
@blp.response(200, content_type="image/png")
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
@blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
def bag_png(query: dict[str, Any], bag: Any) -> Response:
    """The label of one bag, as a picture at 300 dpi."""
    kit, label = label_of_bag(caller().workshop, str(bag))
    page = single_label(label, kit, settings().public_url, **query)
    return _file(page_to_png(page), "image/png", "label.png")


def _pages(query: dict[str, Any], kit: str) -> tuple[str, list[Page]]:
    placing = Placing(query["start"], query["dx"], query["dy"])
    sheet = _sheet(query)
    placing.check(sheet)
    name, bags = labels_of_kit(caller().workshop, kit, query.get("bags"))
    # The address comes from the settings alone: whoever asks could send any Host.
    return name, label_pages(bags, name, settings().public_url, sheet, placing)


def _sheet(query: dict[str, Any]) -> Sheet:
    sheet = preset(query.get("sheet", _DEFAULT_SHEET))
    own = {name: query[name] for name in MEASURES if name in query}
    return replace(sheet, name="your own", **own) if own else sheet


def _file(content: bytes, media_type: str, name: str) -> Response:
    response = Response(content, content_type=media_type)
    response.headers["Content-Disposition"] = f'inline; filename="{name}"'
    response.headers["Cache-Control"] = "private, no-store"
    return response
