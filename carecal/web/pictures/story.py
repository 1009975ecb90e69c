"""A plant's story as one picture: stages, pots, flowers and photos along one line of time, roots and leaves above."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.web.pictures.frame import shown
from carecal.web.pictures.scale import Scale, month_ticks, nice_ticks, path_of
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Mapping

    from markupsafe import Markup

__all__ = ["story_picture"]

WIDTH, LEFT, RIGHT = 360, 30, 350  # [px]
TOP, BOTTOM = 16, 120  # of what was counted [px]
ROW = 22  # of a band [px]
LETTER = 5.4  # of a band's name [px]


def story_picture(story: Mapping[str, Any]) -> Markup:
    """Return the picture of a story.

    Args:
        story: What `story_of` returned.
    """
    first, last = date.fromisoformat(story["from"]), date.fromisoformat(story["until"])
    last = max(last, first + timedelta(days=28))
    x = Scale(first.toordinal(), last.toordinal(), LEFT, RIGHT)
    lines = {what: _points(story, what) for what in ("roots", "leaves")}
    most = max((value for points in lines.values() for _, value in points), default=0)
    ticks = nice_ticks(0, most, 4) if most else ()
    top = BOTTOM if most else 6
    y = Scale(0, ticks[-1].value if ticks else 1, BOTTOM, TOP)
    bands = [
        (name, [_box(span, x) for span in story[key]])
        for name, key in (("stage", "stages"), ("pot", "pots"), ("flower", "flowers"))
        if story[key]
    ]
    marks = [(x.at(date.fromisoformat(p["on"]).toordinal()), p["on"]) for p in story["photos"]]
    return shown(
        "pictures_story.html",
        key=f"story-{story['plant']}",
        title=f"{story['name']}: its time here",
        text=_text(story),
        width=WIDTH,
        left=LEFT,
        right=RIGHT,
        top=top,
        row=ROW,
        bands=bands,
        photos=marks,
        ticks=[(x.at(t.value), t.text) for t in month_ticks(first, last)],
        y_ticks=[(y.at(t.value), t.text) for t in ticks],
        lines=[(what, path_of(points, x, y)) for what, points in lines.items() if len(points) > 1],
        dots=[(what, [(x.at(a), y.at(b)) for a, b in points]) for what, points in lines.items()],
        height=top + ROW * (len(bands) + bool(marks)) + 30,
    )


def _points(story: Mapping[str, Any], what: str) -> list[tuple[int, float]]:
    return [
        (date.fromisoformat(c["on"]).toordinal(), float(c["value"]))
        for c in story["counts"]
        if c["what"] == what
    ]


def _box(span: Mapping[str, str], x: Scale) -> tuple[float, float, str, str]:
    """Return where a span lies, how wide, its look, and its name where that fits into it."""
    a, b = (x.at(date.fromisoformat(span[key]).toordinal()) for key in ("from", "until"))
    wide = max(round(b - a, 1), 2.0)
    name = span["what"].replace("-", " ")
    short = name if len(name) * LETTER < wide - 6 else name.partition(" in ")[0]
    return a, wide, span["what"], short if len(short) * LETTER < wide - 6 else ""


def _text(story: Mapping[str, Any]) -> str:
    begun = day_month(date.fromisoformat(story["from"]))
    stages = ", then ".join(span["what"].replace("-", " ") for span in story["stages"])
    return f"Here since {begun}: {stages}"
