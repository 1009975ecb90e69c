"""Pictures of plants: taken in as pixels alone, so that no place, time or comment of a camera is kept."""

from __future__ import annotations

import io
import threading
import warnings
from functools import lru_cache
from hashlib import sha256
from typing import TYPE_CHECKING

from carecal.errors import Refused, StorageError

if TYPE_CHECKING:
    from pathlib import Path

    from carecal.app.door import Collection

__all__ = ["MOST_BYTES", "MOST_PIXELS", "clean_photo", "keep_photo", "photo_file", "smaller", "store_photo"]

MOST_BYTES = 20_000_000  # our choice, because the largest phones write some 12 MB a picture
MOST_PIXELS = 60_000_000  # our choice, because phones take up to 50 million
MOST_PIXELS_UNPACKED = (
    12_000_000  # of kinds that are unpacked whole; our choice, because twice that takes 480 MB
)
SIDE_PX = 1600  # our choice, because that fills a screen and takes some 0.5 MB
QUALITY = 85
SIDES_PX = (
    48,
    96,
    144,
    320,
    640,
    960,
)  # sizes that pages ask for; our choice, because few sizes are kept long
SQUARE_PX = 144  # up to here a picture is a face in a list: square
KEPT = 400  # small pictures kept in memory, some 4 kB each
FORMATS = ("JPEG", "PNG", "WEBP")
SUFFIXES = (".jpg", ".jpeg", ".png", ".webp")

_one_at_a_time = threading.Lock()  # warning filters are those of the whole process


def clean_photo(data: bytes) -> bytes:
    """Return a picture as a JPEG of at most 1600 pixels a side, turned upright, without anything but its pixels.

    Raises:
        Refused: It is no picture of a known kind, is damaged, or has too many bytes or pixels.
    """
    if len(data) > MOST_BYTES:
        raise Refused(f"the picture is {len(data) / 1e6:.0f} MB; allowed are up to {MOST_BYTES / 1e6:.0f} MB")
    from PIL import Image  # noqa: PLC0415 - takes 17 ms and is needed where a picture comes in

    with _one_at_a_time, warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            return _pixels(data)
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
            raise Refused(
                f"the picture has too many pixels; allowed are {MOST_PIXELS / 1e6:.0f} million"
            ) from error
        except (OSError, ValueError, SyntaxError, EOFError) as error:
            raise Refused(
                "the picture cannot be read; allowed are whole JPEG, PNG and WebP pictures"
            ) from error


def _pixels(data: bytes) -> bytes:
    from PIL import Image, ImageOps  # noqa: PLC0415 - takes 17 ms and is needed where a picture comes in

    with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
        most = MOST_PIXELS if picture.format == "JPEG" else MOST_PIXELS_UNPACKED
        if picture.width * picture.height > most:
            raise Refused(
                f"the picture has {picture.width * picture.height / 1e6:.0f} million pixels; "
                f"allowed are {most / 1e6:.0f} million as {picture.format}"
            )
        picture.draft("RGB", (SIDE_PX, SIDE_PX))
        small = picture if picture.mode == "RGB" else picture.convert("RGB")
        small.thumbnail((SIDE_PX, SIDE_PX))  # first of all, so that nothing large is copied
        upright = ImageOps.exif_transpose(small)
        clean = Image.new("RGB", upright.size)
        clean.paste(upright)  # leaves place, time, comment and colour profile behind
        out = io.BytesIO()
        clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def store_photo(collection: Collection, data: bytes, *, dry: bool = False) -> str:
    """Keep a picture in the collection's folder, cleaned, and return its name there; the same picture is kept once.

    Raises:
        Refused: It is no picture, or too large.
        StorageError: The folder cannot be written.
    """
    clean = clean_photo(data)
    name = f"{sha256(clean).hexdigest()[:24]}.jpg"
    target = collection.folder / "photos" / name
    try:
        if not dry and not target.exists():
            target.parent.mkdir(exist_ok=True)
            part = target.with_suffix(".part")
            part.write_bytes(clean)
            part.replace(target)
    except OSError as error:
        raise StorageError(f"the picture cannot be kept: {error.strerror or error}") from error
    return name


def keep_photo(collection: Collection, file: Path, *, dry: bool = False) -> str:
    """Keep a picture of a file, cleaned, and return its name in the collection's folder.

    Args:
        collection: The collection.
        file: The picture.
        dry: Only tell the name.

    Raises:
        Refused: There is no such file, it is no picture, or too large.
        StorageError: The file cannot be read, or the folder not be written.
    """
    if not file.is_file():
        raise Refused(f"there is no picture {file}")
    if file.suffix.lower() not in SUFFIXES:
        raise Refused(f"'{file.name}' is not a picture; allowed are {', '.join(SUFFIXES)}")
    try:
        with file.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except OSError as error:
        raise StorageError(f"the picture {file} cannot be read: {error.strerror or error}") from error
    return store_photo(collection, data, dry=dry)


def photo_file(collection: Collection, name: str) -> bytes | None:
    """Return a picture that is kept; None: there is none of that name."""
    stem, _, suffix = name.rpartition(".")
    if not stem.isalnum() or not stem.isascii() or f".{suffix}" not in SUFFIXES:
        return None
    try:
        return (collection.folder / "photos" / name).read_bytes()
    except OSError:
        return None


@lru_cache(maxsize=KEPT)
def smaller(data: bytes, side: int) -> bytes:
    """Return a picture in the least of a few sizes that holds some pixels a side; the picture itself if none does.

    Args:
        data: The picture as it is kept.
        side: Pixels that it is shown at. [px]
    """
    from PIL import Image, ImageOps  # noqa: PLC0415 - takes 17 ms and is needed where a picture is made smaller

    size = next((s for s in SIDES_PX if s >= side), None)
    if size is None:
        return data
    with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
        picture.draft("RGB", (size * 2, size * 2))
        found = picture.convert("RGB")
        if size <= SQUARE_PX:
            found = ImageOps.fit(found, (size, size))
        else:
            found.thumbnail((size, size * 2))
        out = io.BytesIO()
        found.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()
