"""The list of plants: faces, stage, trouble first; narrowed to a place, sorted by trouble, place, next care or name."""

from __future__ import annotations

from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING, Any

from carecal.app.documents.today import today
from carecal.app.setup import plants as setup_plants
from carecal.web.pages.faces import faces_of, place_names
from carecal.web.templating import day_short
from carecal.wording.weak import LEVELS

if TYPE_CHECKING:
    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["show_plants"]

SORTS = (("trouble", "trouble first"), ("place", "place"), ("next", "next care"), ("name", "name"))
DAYS = 21  # of the rounds that tell the next care
FRAIL = {"rootless": 3, "new-tips": 2}
LOSING = {LEVELS["losing"]: 4, LEVELS["go-on"]: 5}  # the warning counts as soft leaves do


def show_plants(visit: Visit) -> Response:
    """Show every plant; `?by=` sorts, `?at=` narrows to a place, `?left=1` shows those that left."""
    asked = visit.request.query_params
    everyone, by, at = asked.get("left") == "1", asked.get("by", "trouble"), asked.get("at", "")
    rows = setup_plants.plants_of(visit.collection, visit.now, everyone=everyone)
    living = [row for row in rows if row["left"] is None]
    faces, names = faces_of(visit), place_names(visit)
    coming = _coming(visit)
    shown = [
        {
            **row,
            "face": faces[row["id"]],
            "trouble": _trouble(row, coming.get(row["id"])),
            "next": coming.get(row["id"]),
            "where": names.get(row["place"] or "", "At no place yet"),
        }
        for row in living
        if not at or row["place"] == at
    ]
    return visit.page(
        "plants.html",
        groups=_groups(shown, by),
        gone=[row for row in rows if row["left"] is not None],
        everyone=everyone,
        by=by,
        at=at,
        sorts=SORTS,
        places=names,
        many=len(living),
    )


def _coming(visit: Visit) -> dict[str, dict[str, Any]]:
    """Return the next line of each plant within the coming weeks, what was carried over first."""
    document = today(visit.collection, visit.now.day, DAYS)
    found = {
        row["plant"]: {"on": row["due"], "text": row["head"], "late": True} for row in document["carried"]
    }
    for round_ in document["rounds"]:
        for row in round_["tasks"]:
            found.setdefault(row["plant"], {"on": round_["on"], "text": row["head"], "late": False})
    return found


def _trouble(row: dict[str, Any], coming: dict[str, Any] | None) -> tuple[int, list[str]]:
    """Return how much a plant is in trouble, and why in words."""
    found = [(FRAIL[row["stage"]], "")] if row["stage"] in FRAIL else []  # the stage is named anyway
    found += [(3, "in quarantine")] if row["quarantine"] else []
    found += [(3, "EMPTY ON PURPOSE")] if row["reservoir"] == "empty" else []
    found += [(2, f"leaves {row['firmness']}")] if row["firmness"] not in {None, "firm"} else []
    found += [(LOSING.get(row["losing"], 2), row["losing"])] if row["losing"] else []
    found += [(2, "wrapped")] if "wrap" in row["aids"] else []
    found += [(1, "overdue")] if coming is not None and coming["late"] else []
    return sum(weight for weight, _ in found), [text for _, text in found if text]


def _groups(rows: list[dict[str, Any]], by: str) -> list[tuple[str, list[dict[str, Any]]]]:
    """Return the rows under headings, in the order asked for."""
    last = date.max.isoformat()
    if by == "place":
        rows = sorted(rows, key=lambda r: (r["where"], r["name"].casefold()))
        return [(head, list(found)) for head, found in groupby(rows, key=lambda r: str(r["where"]))]
    if by == "next":
        rows = sorted(rows, key=lambda r: (r["next"]["on"] if r["next"] else last, r["name"].casefold()))
        return [
            ("Later" if on == last else day_short(on), list(found))
            for on, found in groupby(rows, key=lambda r: str(r["next"]["on"]) if r["next"] else last)
        ]
    rows = sorted(rows, key=lambda r: r["name"].casefold())
    if by == "name":
        return [("", rows)] if rows else []
    ill = sorted((r for r in rows if r["trouble"][0]), key=lambda r: -r["trouble"][0])
    well = [r for r in rows if not r["trouble"][0]]
    return [(head, found) for head, found in (("Keep an eye on these", ill), ("Doing well", well)) if found]
