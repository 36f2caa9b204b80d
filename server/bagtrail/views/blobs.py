"""Bytes of photos and pages."""

from __future__ import annotations

from typing import Any

from flask import Response, request
from flask.views import MethodView
from marshmallow import EXCLUDE, Schema

from ..domain import photos, pictures
from ..storage.blobs import BlobStore
from ..wire.fields import Word
from ..wire.messages import PROBLEM, BlobReply, ProblemMessage
from ..wire.problems import NotAPicture, TooLarge
from .auth import caller, settings
from .bodies import Calls

blp = Calls("blobs", __name__, url_prefix="/api/blobs", description="Bytes of pictures")


class SizeQuery(Schema):
    class Meta:
        unknown = EXCLUDE

    size = Word(*pictures.SIZES)


def store() -> BlobStore:
    return BlobStore(settings().blob_folder)


@blp.route("/<string(length=64):sha256>")
class Blob(MethodView):
    @blp.arguments(SizeQuery, location="query")
    @blp.response(200, content_type="image/*")
    @blp.alt_response(404, schema=ProblemMessage, content_type=PROBLEM)
    def get(self, query: dict[str, Any], sha256: str) -> Response:
        """A picture, or a smaller version of it."""
        size = query.get("size", "")
        content, media_type = photos.fetch(store(), caller().workshop, sha256, size)
        response = Response(content, content_type=media_type)
        response.headers["Cache-Control"] = "private, max-age=31536000, immutable"
        response.set_etag(f"{sha256}.{size}")
        response.make_conditional(request)
        return response

    @blp.response(200, BlobReply)
    @blp.alt_response(415, schema=ProblemMessage, content_type=PROBLEM)
    @blp.alt_response(422, schema=ProblemMessage, content_type=PROBLEM)
    def put(self, sha256: str) -> tuple[dict[str, Any], int]:
        """Takes in the bytes of a picture; they must hash to its name."""
        limit = settings().photo_max_bytes
        if (request.content_length or 0) > limit:
            raise TooLarge(f"A picture may have {limit // 1_000_000} MB at most.")
        if request.mimetype not in ("image/jpeg", "image/png", "image/webp"):
            raise NotAPicture("Send it as image/jpeg, image/png or image/webp.")
        content = request.get_data(cache=False)
        if len(content) > limit:
            raise TooLarge(f"A picture may have {limit // 1_000_000} MB at most.")
        kept, new = photos.keep(
            store(), caller().workshop, sha256, content, settings().photo_max_pixels
        )
        body = {
            "blob": kept.sha256,
            "width_px": kept.width_px,
            "height_px": kept.height_px,
            "size_bytes": kept.size_bytes,
        }
        return body, 201 if new else 200
