"""Photos over HTTP: the owner alone gets them; taking one in is `carecal.app.files.photos`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse, Response

from carecal.app.files.photos import photo_file, smaller

if TYPE_CHECKING:
    from carecal.web.visit import Visit

__all__ = ["show_photo"]

TYPES = {"jpg": "image/jpeg", "jpeg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
MOST_DIGITS = 4
HEADERS = {"Cache-Control": "private, max-age=31536000, immutable", "X-Robots-Tag": "noindex"}


def show_photo(visit: Visit) -> Response:
    """Answer with a picture of the collection's own folder; its name is made of its bytes, so it may be kept.

    `?w=` asks for one of about that many pixels a side, so that a list of faces stays light.
    """
    name = str(visit.request.path_params["name"])
    body = photo_file(visit.collection, name)
    if body is None:
        return PlainTextResponse("there is no such picture\n", 404)
    width = visit.request.query_params.get("w", "")
    if width.isdecimal() and len(width) <= MOST_DIGITS:
        return Response(smaller(body, int(width)), headers=HEADERS, media_type="image/jpeg")
    return Response(body, headers=HEADERS, media_type=TYPES[name.rpartition(".")[2]])
