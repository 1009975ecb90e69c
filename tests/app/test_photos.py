"""Pictures that come in: only pixels are kept; oracle: pictures made here by Pillow with traces of a camera in them."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from carecal.app import Collection
from carecal.app.files.photos import MOST_BYTES, clean_photo, keep_photo, photo_file, store_photo
from carecal.errors import Refused

GPS = 0x8825
ORIENTATION = 0x0112
SECRET = b"54.3 N 10.1 E"


@pytest.fixture
def collection(quay_copy: Path) -> Iterator[Collection]:
    """Return a collection."""
    with Collection.open(quay_copy) as opened:
        yield opened


def _picture(kind: str = "JPEG", size: tuple[int, int] = (60, 40), **more: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (30, 90, 60)).save(out, kind, **more)
    return out.getvalue()


def _with_traces() -> bytes:
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # a quarter turn
    exif[0x010E] = SECRET.decode()
    exif.get_ifd(GPS)[1] = "N"
    return _picture(exif=exif, comment=SECRET)


def _bomb() -> bytes:
    """Return a PNG of a few bytes whose header says 20,000 by 20,000 pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", 20_000, 20_000, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0"))
        + chunk(b"IEND", b"")
    )


def test_place_comment_and_turn_of_the_camera_are_left_behind() -> None:
    """The picture stands upright and holds neither EXIF, GPS nor the comment."""
    sent = _with_traces()
    assert SECRET in sent
    clean = clean_photo(sent)
    assert SECRET not in clean
    with Image.open(io.BytesIO(clean)) as picture:
        assert (picture.format, picture.size, dict(picture.getexif())) == ("JPEG", (40, 60), {})
        assert "comment" not in picture.info


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_usual_kinds_are_taken(kind: str) -> None:
    """JPEG, PNG and WebP become JPEG."""
    with Image.open(io.BytesIO(clean_photo(_picture(kind)))) as picture:
        assert picture.format == "JPEG"


def test_a_large_picture_is_made_small() -> None:
    """The longer side has 1600 pixels at most, the shape stays."""
    with Image.open(io.BytesIO(clean_photo(_picture(size=(3200, 2000))))) as picture:
        assert picture.size == (1600, 1000)


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (b"", "cannot be read"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "allowed are whole JPEG, PNG and WebP"),
        (_picture("GIF"), "cannot be read"),
        (_picture()[:300], "cannot be read"),
        (_picture("PNG")[:60], "cannot be read"),
        (_bomb(), "allowed are 60 million"),
        (b"\xff\xd8" + bytes(MOST_BYTES), "allowed are up to 20 MB"),
    ],
    ids=["nothing", "svg", "gif", "half a jpeg", "half a png", "400 million pixels", "too many bytes"],
)
def test_a_hostile_picture_is_refused(data: bytes, match: str) -> None:
    """In one line that says what is allowed."""
    with pytest.raises(Refused, match=match):
        clean_photo(data)


def test_a_picture_is_kept_once_under_a_plain_name(collection: Collection, tmp_path: Path) -> None:
    """Its name is that of its content; a trial keeps nothing."""
    picture = tmp_path / "my plant.JPG"
    picture.write_bytes(_with_traces())
    name = keep_photo(collection, picture, dry=True)
    assert not (collection.folder / "photos" / name).exists()
    assert keep_photo(collection, picture) == store_photo(collection, picture.read_bytes()) == name
    assert [file.name for file in (collection.folder / "photos").iterdir()] == [name]
    assert photo_file(collection, name) == clean_photo(picture.read_bytes())


@pytest.mark.parametrize(
    "name",
    [
        "../collection.db",
        "..%2fcollection.db",
        "collection.db",
        "a/b.jpg",
        ".jpg",
        "",
        "x.svg",
        "none.jpg",
        "ä.jpg",
    ],
)
def test_no_name_leads_out_of_the_folder(collection: Collection, name: str) -> None:
    """A name with a folder in it, or of another kind, is of no picture."""
    assert photo_file(collection, name) is None


@pytest.mark.parametrize(
    ("name", "match"),
    [("none.jpg", "there is no picture"), ("text.txt", "is not a picture; allowed are .jpg")],
)
def test_what_is_no_picture_is_refused(collection: Collection, tmp_path: Path, name: str, match: str) -> None:
    """Missing, or of another kind."""
    (tmp_path / "text.txt").write_text("no picture", encoding="utf-8")
    with pytest.raises(Refused, match=match):
        keep_photo(collection, tmp_path / name)


@pytest.mark.parametrize(
    ("kind", "size", "allowed"),
    [
        ("PNG", (4000, 3001), False),
        ("WEBP", (4000, 3001), False),
        ("PNG", (4000, 3000), True),
        ("JPEG", (4000, 3001), True),
    ],
)
def test_kinds_that_are_unpacked_whole_have_fewer_pixels(
    kind: str, size: tuple[int, int], allowed: bool
) -> None:
    """A JPEG is read at a quarter; the others would take 753 MB for what JPEG does in 80."""
    out = io.BytesIO()
    Image.new("RGB", size, (3, 4, 5)).save(out, kind)
    if allowed:
        assert max(Image.open(io.BytesIO(clean_photo(out.getvalue()))).size) == 1600
        return
    with pytest.raises(Refused, match=f"allowed are 12 million as {kind}"):
        clean_photo(out.getvalue())


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_every_kind_and_mode_is_turned_upright(kind: str, mode: str) -> None:
    """A camera's note that it was held sideways is followed before it is thrown away (EXIF 274, value 6)."""
    exif, out = Image.Exif(), io.BytesIO()
    exif[274] = 6
    Image.new(mode, (60, 20), 7).save(out, kind, exif=exif)
    assert Image.open(io.BytesIO(clean_photo(out.getvalue()))).size == (20, 60)
