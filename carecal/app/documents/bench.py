"""What is to be potted when, as a list for the bench: plants in order, media and pots to have ready."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.wording.dates import day_month
from carecal.wording.tasks import pot_line

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from carecal.app.door import Collection
    from carecal.plan.model import PlantView, Step

__all__ = ["bench", "bench_lines"]

BENCH = frozenset(
    {
        "potting-on",
        "new-medium-due",
        "taking-the-plug-out",
        "converting-to-a-reservoir",
        "parting-a-keiki",
        "confirming-a-potting",
    }
)
BLADES = (
    "one clean blade for each plant; dusty media are wetted first, sphagnum with gloves, with the window open"
)


def bench(collection: Collection, as_of: date) -> dict[str, Any]:
    """Return what waits for the bench: a row a plant and step, what is safe now first, and what to have ready.

    Args:
        collection: The collection.
        as_of: Day of the plan.
    """
    plan = collection.plan(as_of)
    views = {view.number: view for view in plan.plants}
    steps = [
        step for step in plan.steps if step.status in {"now", "wait"} and step.step in BENCH and step.wanted
    ]
    steps.sort(key=lambda s: (s.status != "now", s.last_safe or date.max, s.opens or date.max, s.plant))
    rows = [_row(step, views[step.plant]) for step in steps]
    return {
        "as_of": as_of.isoformat(),
        "rows": rows,
        "ready": _ready([views[n] for n in dict.fromkeys(s.plant for s in steps)]),
    }


def bench_lines(document: Mapping[str, Any]) -> Iterator[str]:
    """Yield the list in lines to print."""
    if not document["rows"]:
        yield "Nothing waits for the bench."
        return
    for row in document["rows"]:
        yield f"[ ] {row['title']}: {_when(row)}"
        yield f"      {row['pot']}"
    yield ""
    if document["ready"]:
        yield "Have ready, if each goes into what it stands in: " + ", ".join(document["ready"])
    yield f"! {BLADES[:1].upper()}{BLADES[1:]}."


def _row(step: Step, view: PlantView) -> dict[str, Any]:
    return {
        "plant": view.id,
        "name": view.name,
        "place": view.place,
        "step": step.step,
        "status": step.status,
        "title": step.title or step.step.replace("-", " "),
        "pot": pot_line(view),
        "opens": step.opens.isoformat() if step.opens else None,
        "last_safe": step.last_safe.isoformat() if step.last_safe else None,
        "because": step.because[0].text if step.because else "",
    }


def _ready(views: list[PlantView]) -> list[str]:
    """Return media and pots by kind and size with how many, the most first."""
    pots = Counter((view.container, view.size_cm) for view in views if view.container is not None)
    media = Counter(view.medium for view in views if view.medium not in {None, "none"})
    said = [
        f"{many} {name.replace('-', ' ')}{f' of {size:g} cm' if size else ''}"
        for (name, size), many in pots.most_common()
    ]
    return [*said, *(f"{str(name).replace('-', ' ')} for {many}" for name, many in media.most_common())]


def _when(row: Mapping[str, Any]) -> str:
    if row["status"] == "now":
        until = f", until {day_month(date.fromisoformat(row['last_safe']))}" if row["last_safe"] else ""
        return f"safe now{until}"
    if row["opens"]:
        return f"from {day_month(date.fromisoformat(row['opens']))}"
    return f"waits, {row['because']}" if row["because"] else "waits"
