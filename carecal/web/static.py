"""Style and script, read once from the package; nothing else of the disk can be asked for."""

from __future__ import annotations

import json
from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse, Response

if TYPE_CHECKING:
    from starlette.requests import Request

__all__ = ["address_of", "manifest", "static", "worker"]

TYPES = {
    "style.css": "text/css; charset=utf-8",
    "pictures.css": "text/css; charset=utf-8",
    "month.js": "text/javascript; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "queue.js": "text/javascript; charset=utf-8",
    "sw.js": "text/javascript; charset=utf-8",
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


def worker(_: Request) -> Response:
    """Answer with the service worker; it changes with any file it keeps, so that a new version is taken up whole."""
    kept = [address_of(name) for name in TYPES if name not in {"sw.js", "icon-512.png", "icon-mask.png"}]
    version = sha256("".join(sorted(_MARKS.values())).encode()).hexdigest()[:12]
    text = (
        _FILES["sw.js"].decode().replace("__QUEUE__", address_of("queue.js")).replace("__VERSION__", version)
    )
    body = text.replace("__FIRST__", json.dumps(kept))
    return Response(body, headers={"Cache-Control": "no-cache"}, media_type=TYPES["sw.js"])


def manifest(_: Request) -> Response:
    """Answer with what a phone needs to keep the page like a program of its own."""
    icons = [
        {"src": address_of("icon.svg"), "sizes": "any", "type": "image/svg+xml"},
        {"src": address_of("icon-192.png"), "sizes": "192x192", "type": "image/png"},
        {"src": address_of("icon-512.png"), "sizes": "512x512", "type": "image/png"},
        {"src": address_of("icon-mask.png"), "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
    ]
    found = {
        "name": "carecal",
        "short_name": "carecal",
        "id": "/",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#f3f4ee",
        "theme_color": "#1f4a3d",
        "icons": icons,
        "shortcuts": [{"name": "Plants", "url": "/plants"}, {"name": "Add a plant", "url": "/add"}],
    }
    return Response(
        json.dumps(found), headers={"Cache-Control": "no-cache"}, media_type="application/manifest+json"
    )


def static(request: Request) -> Response:
    """Answer with a file of the package."""
    name = str(request.path_params["name"])
    if name not in _FILES:
        return PlainTextResponse("there is no such file\n", 404)
    headers = {"Cache-Control": "public, max-age=31536000, immutable", "ETag": f'"{_MARKS[name]}"'}
    if _MARKS[name] in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(_FILES[name], headers=headers, media_type=TYPES[name])
