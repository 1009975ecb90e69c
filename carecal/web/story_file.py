"""A plant's story as one file to give away: HTML with its look and pictures inside, asking nobody for anything."""

from __future__ import annotations

from base64 import b64encode
from importlib.resources import files
from typing import TYPE_CHECKING

from markupsafe import Markup
from starlette.responses import Response

from carecal.app.documents.story import story_of
from carecal.app.files.photos import photo_file, smaller
from carecal.web.pictures.story import story_picture
from carecal.web.templating import environment
from carecal.web.visit import PRIVATE

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.web.visit import Visit

__all__ = ["show_story_file", "story_file"]

SIDE_PX = (
    960  # of a picture in the file; our choice, because that fills a screen and ten of them stay under 2 MB
)


def story_file(collection: Collection, now: Now, plant: str) -> str:
    """Return a plant's story as one page of HTML.

    Raises:
        UnknownName: No plant has that id.
    """
    story = story_of(collection, now, plant, is_given=True)
    photos = []
    for photo in story["photos"]:
        body = photo_file(collection, photo["name"])
        if body is not None:
            data = b64encode(smaller(body, SIDE_PX)).decode()
            photos.append((photo["on"], f"data:image/jpeg;base64,{data}"))
    style = "".join(
        (files("carecal.web") / "static" / name).read_text("utf-8") for name in ("style.css", "pictures.css")
    )
    return (
        environment()
        .get_template("story_file.html")
        .render(
            story=story,
            photos=photos,
            picture=story_picture(story),
            style=Markup(style),  # noqa: S704 - of the package
        )
    )


def show_story_file(visit: Visit) -> Response:
    """Answer with the file, to be kept or given away."""
    plant = str(visit.request.path_params["plant"])
    headers = {**PRIVATE, "Content-Disposition": f'attachment; filename="{plant}.html"'}
    return Response(story_file(visit.collection, visit.now, plant), headers=headers, media_type="text/html")
