"""Photos by the form of a plant's page: cleaned, for the owner alone, then and now side by side."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from PIL import Image

from tests.web.pages_grower import Grower, text_of
from tests.web.visitors import Clock, client_of


def photo(colour: tuple[int, int, int] = (90, 120, 60), size: tuple[int, int] = (400, 300)) -> bytes:
    """Return a JPEG with a position, a camera and a comment in it."""
    out = io.BytesIO()
    picture = Image.new("RGB", size, colour)
    exif = picture.getexif()
    exif[0x010F], exif[0x0132] = "A camera", "2026:10:20 08:00:00"
    exif.get_ifd(0x8825).update({1: "N", 2: (54.0, 18.0, 0.0)})
    picture.save(out, "JPEG", exif=exif, comment=b"taken at home")
    return out.getvalue()


def test_photo_is_kept_without_what_the_camera_wrote(grower: Grower) -> None:
    """The picture is served to the owner as a JPEG that holds neither position nor camera nor comment."""
    answer = grower.send("/plants/tide", "observe", files={"photo": ("IMG.jpg", photo(), "image/jpeg")})
    assert answer.status_code == 303
    name = grower.newest().data["photo"]
    served = grower.client.get(f"/photos/{name}")
    assert (served.status_code, served.headers["content-type"]) == (200, "image/jpeg")
    assert b"camera" not in served.content
    assert b"taken at home" not in served.content
    with Image.open(io.BytesIO(served.content)) as kept:
        assert not kept.getexif()
        assert kept.size == (400, 300)


def test_then_and_now_stand_side_by_side(grower: Grower) -> None:
    """The oldest and the newest photo are shown beside each other, with their days; any other two can be chosen."""
    for day, colour in (("2026-09-02", (1, 99, 1)), ("2026-09-20", (99, 1, 1)), ("2026-10-20", (1, 1, 99))):
        file = {"photo": ("p.jpg", photo(colour), "image/jpeg")}
        assert grower.send("/plants/tide", "observe", files=file, on=day).status_code == 303
    page = grower.read("/plants/tide/story")
    shown = page[page.index("Then and now") :]
    assert re.findall(r"ide on (\d+ \w+ \d+)", shown)[:2] == ["2 September 2026", "20 October 2026"]
    names = re.findall(r'<option value="(\w+\.jpg)"', shown)
    other = grower.read(f"/plants/tide/story?then={names[1]}&now={names[2]}")
    shown = other[other.index("Then and now") :]
    assert re.findall(r"ide on (\d+ \w+ \d+)", shown)[:2] == ["20 September 2026", "20 October 2026"]


def test_photo_is_for_the_owner_alone(grower: Grower) -> None:
    """A stranger who knows a picture's name is led to the login."""
    grower.send("/plants/tide", "observe", files={"photo": ("p.jpg", photo(), "image/jpeg")})
    name = grower.newest().data["photo"]
    with client_of(grower.folder, Clock()) as stranger:
        assert stranger.get(f"/photos/{name}").status_code == 303


@pytest.mark.parametrize(
    "name", ["..%2Fcollection.db", "%2e%2e%2fcollection.db", "x.svg", "a" * 300 + ".jpg", ".jpg", "%00.jpg"]
)
def test_photos_lead_to_no_other_file(grower: Grower, name: str) -> None:
    """A name that is none of a picture of ours is not found."""
    assert grower.client.get(f"/photos/{name}").status_code == 404


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "a drawing with a script"),
        (b"GIF89a" + bytes(40), "a kind that is not allowed"),
        (photo()[:400], "cut off"),
        (b"\xff\xd8\xff" + b"\x00" * 100, "a head without a body"),
        (b"x", "no picture at all"),
    ],
)
def test_hostile_picture_is_refused(grower: Grower, body: bytes, reason: str) -> None:
    """What is no whole JPEG, PNG or WebP is refused in words, and nothing is kept or written."""
    before = grower.records()
    answer = grower.send("/plants/tide", "observe", files={"photo": ("p.jpg", body, "image/jpeg")})
    assert answer.status_code == 422, reason
    assert "picture" in text_of(answer.text)
    assert grower.records() == before
    photos: Path = grower.folder / "photos"
    assert not photos.is_dir() or not list(photos.iterdir())


def test_photo_survives_the_question_about_a_count(grower: Grower) -> None:
    """A picture sent with an unusual count is written with it once the count was confirmed."""
    answer = grower.send(
        "/plants/gable", "observe", roots="90", files={"photo": ("p.jpg", photo(), "image/jpeg")}
    )
    assert answer.status_code == 409
    sent = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', answer.text))
    assert grower.client.post("/plants/gable", data=sent).status_code == 303
    assert (grower.newest().data["roots"], bool(grower.newest().data["photo"])) == (90, True)
