"""What the desk does with whole kits: the demo kit, and finding a bag by its label."""

from __future__ import annotations

from typing import Any

from marshmallow import Schema, fields

from .. import resources
from ..domain import bags, demo
from ..wire.messages import PROBLEM, ProblemMessage
from .auth import caller, settings
from .blobs import store
from .bodies import Calls

blp = Calls("kits", __name__, url_prefix="/api", description="Whole kits")


class DemoReply(Schema):
    kit = fields.String(required=True)
    build = fields.String(required=True)


class CodeReply(Schema):
    bags = fields.List(fields.Dict(), required=True)


@blp.post("/demo", endpoint="demo")
@blp.response(201, DemoReply)
def install_demo() -> dict[str, Any]:
    """Puts the demo kit into this workshop, with a build of it; again changes nothing."""
    kit, build = demo.install(
        store(), caller().workshop, resources.demo_folder(), settings().photo_max_pixels
    )
    return {"kit": kit, "build": build}


@blp.get("/codes/<code>", endpoint="code")
@blp.response(200, CodeReply)
@blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
def bags_of_code(code: str) -> dict[str, Any]:
    """The bag with this label (more than one if two devices happened on the same code)."""
    return {"bags": bags.bags_of(caller().workshop, code)}
