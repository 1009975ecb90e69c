"""Style and script, read once from the package; nothing else of the disk can be asked for."""

from __future__ import annotations

from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse, Response

if TYPE_CHECKING:
    from starlette.requests import Request

__all__ = ["address_of", "static"]

TYPES = {
    "style.css": "text/css; charset=utf-8",
    "pictures.css": "text/css; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "queue.js": "text/javascript; charset=utf-8",
    "taps.js": "text/javascript; charset=utf-8",
    "icon.svg": "image/svg+xml",
    "icon-192.png": "image/png",
    "icon-512.png": "image/png",
    "icon-mask.png": "image/png",
}
_FILES = {name: (files("carecal.web") / "static" / name).read_bytes() for name in TYPES}
_MARKS = {name: sha256(body).hexdigest()[:12] for name, body in _FILES.items()}


def address_of(name: str) -> str:
    """Return the address of a file; it changes with the file, so browsers may keep it for ever."""
    return f"/static/{name}?v={_MARKS[name]}"


def static(request: Request) -> Response:
    """Answer with a file of the package."""
    name = str(request.path_params["name"])
    if name not in _FILES:
        return PlainTextResponse("there is no such file\n", 404)
    headers = {"Cache-Control": "public, max-age=31536000, immutable", "ETag": f'"{_MARKS[name]}"'}
    if _MARKS[name] in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(_FILES[name], headers=headers, media_type=TYPES[name])
