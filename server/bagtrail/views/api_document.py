"""The OpenAPI document: what is in it beside the calls themselves."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView
from flask_smorest import Api, Blueprint

from ..wire import problems
from ..wire.messages import PROBLEM, ProblemMessage
from ..wire.problems import NotFound, Problem
from ..wire.records import RECORDS, field_kinds

blp = Blueprint("document", __name__, url_prefix="/api", description="About this API")


class Document(Api):  # type: ignore[misc]
    """The API whose errors are problems."""

    ERROR_SCHEMA = ProblemMessage


def say_problems(api: Api) -> None:
    """Errors travel as RFC 9457 problems; called when every call has been described."""
    for response in api.spec.components.responses.values():
        content = response.get("content", {})
        if "application/json" in content:
            content[PROBLEM] = content.pop("application/json")


def describe(api: Api) -> None:
    """Adds the record types with what a client has to know of them."""
    for type_, schema in RECORDS.items():
        required = [name for name, kind in field_kinds(type_).items() if kind.required]
        api.spec.components.schema(schema.__name__, schema=schema)
        api.spec.components.schemas[schema.__name__] |= {
            "x-record": type_,
            "x-collection": schema.collection,
            "x-scope": schema.scope,
            "x-quiet": sorted(schema.quiet),
            "x-derived": list(schema.derived),
            "x-required": required,
        }


def problem_kinds() -> dict[str, type[Problem]]:
    """Every kind of problem this server can answer with, by its slug."""
    kinds = vars(problems).values()
    return {
        kind.slug: kind
        for kind in kinds
        if isinstance(kind, type) and issubclass(kind, Problem) and kind is not Problem
    }


@blp.route("/problems/<slug>", endpoint="problem_kinds")
class ProblemKind(MethodView):
    @blp.response(200)
    def get(self, slug: str) -> dict[str, Any]:
        """What a problem type means: its title and status."""
        kind = problem_kinds().get(slug)
        if kind is None:
            raise NotFound("There is no such kind of problem.")
        return {"slug": slug, "status": kind.status, "title": kind.title, "about": kind.__doc__}
