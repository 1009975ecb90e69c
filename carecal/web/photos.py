"""Photos: decoded, turned upright, made small and written anew, so that nothing of the camera's file is left in them."""

from __future__ import annotations

import io
import re
import warnings
from hashlib import sha256
from typing import TYPE_CHECKING

from PIL import Image, ImageOps
from starlette.responses import FileResponse, PlainTextResponse, Response

from carecal.errors import Refused, StorageError

if TYPE_CHECKING:
    from pathlib import Path
    from threading import Lock

    from carecal.web.visit import Visit

__all__ = ["MOST_BYTES", "cleaned", "keep_cleaned", "show_photo"]

MOST_BYTES = 15_000_000  # our choice, because a phone's photo has 3 to 12 MB [B]
MOST_PIXELS = 60_000_000  # our choice, because that is the largest a phone takes, and 180 MB once decoded
SIDE = 1600  # our choice, because roots are still seen, in some 0.4 MB [px]
QUALITY = 82
FORMATS = ("JPEG", "PNG", "WEBP")
_NAME = re.compile(r"[0-9a-f]{24}\.(jpg|jpeg|png|webp|heic)", re.ASCII)
_TYPES = {"jpg": "image/jpeg", "jpeg": "image/jpeg", "png": "image/png", "webp": "image/webp", "heic": "image/heic"}


def cleaned(data: bytes, lock: Lock) -> bytes:
    """Return a picture as a JPEG of at most 1600 pixels a side that holds its pixels and nothing else.

    Args:
        data: The file as it was sent.
        lock: Held while decoding: Pillow's warnings are those of the whole process, and memory is for one at a time.

    Raises:
        Refused: It is no JPEG, PNG or WebP, damaged, or too large.
    """
    if len(data) > MOST_BYTES:
        raise Refused(f"the picture has {len(data) / 1e6:.0f} MB; allowed are up to {MOST_BYTES / 1e6:.0f} MB")
    with lock, warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            return _rewritten(data)
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
            raise _too_many() from error
        except (OSError, SyntaxError, ValueError, EOFError) as error:
            raise Refused("the picture cannot be read; allowed are whole JPEG, PNG and WebP files") from error


def _rewritten(data: bytes) -> bytes:
    with Image.open(io.BytesIO(data), formats=FORMATS) as sent:
        if sent.width * sent.height > MOST_PIXELS:  # only the header was read until here
            raise _too_many()
        sent.draft("RGB", (SIDE, SIDE))
        upright = ImageOps.exif_transpose(sent).convert("RGB")
        upright.thumbnail((SIDE, SIDE))
        clean = Image.new("RGB", upright.size)
        clean.paste(upright)  # leaves position, comment, preview and colour profile behind
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _too_many() -> Refused:
    return Refused(f"the picture has too many pixels; allowed are up to {MOST_PIXELS // 1_000_000} million")


def keep_cleaned(folder: Path, clean: bytes) -> str:
    """Keep a cleaned picture in a collection's folder and return its name there; the same picture is kept once.

    Raises:
        StorageError: The folder cannot be written.
    """
    name = f"{sha256(clean).hexdigest()[:24]}.jpg"
    target = folder / "photos" / name
    try:
        if not target.exists():
            target.parent.mkdir(exist_ok=True)
            part = target.with_suffix(".part")
            part.write_bytes(clean)
            part.replace(target)
    except OSError as error:
        raise StorageError(f"the picture cannot be kept: {error.strerror or error}") from error
    return name


def show_photo(visit: Visit) -> Response:
    """Answer with a picture of the collection's own folder; only the owner comes here."""
    name = str(visit.request.path_params["name"])
    found = _NAME.fullmatch(name)
    path = visit.home.folder / "photos" / name
    if found is None or path.is_symlink() or not path.is_file():
        return PlainTextResponse("there is no such picture\n", 404)
    headers = {"Cache-Control": "private, max-age=31536000, immutable", "X-Robots-Tag": "noindex"}
    return FileResponse(path, headers=headers, media_type=_TYPES[found[1]])
