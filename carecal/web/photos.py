"""Photos over HTTP: the owner alone gets them; taking one in is `carecal.app.files.photos`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse, Response

from carecal.app.files.photos import photo_file

if TYPE_CHECKING:
    from carecal.web.visit import Visit

__all__ = ["show_photo"]

TYPES = {"jpg": "image/jpeg", "jpeg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
HEADERS = {"Cache-Control": "private, max-age=31536000, immutable", "X-Robots-Tag": "noindex"}


def show_photo(visit: Visit) -> Response:
    """Answer with a picture of the collection's own folder; its name is made of its bytes, so it may be kept."""
    name = str(visit.request.path_params["name"])
    body = photo_file(visit.collection, name)
    if body is None:
        return PlainTextResponse("there is no such picture\n", 404)
    return Response(body, headers=HEADERS, media_type=TYPES[name.rpartition(".")[2]])
