"""Documents of looking back and around: hindsight, tonight, outing, pots compared; they word nothing for a terminal."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.documents.why_parts import forecast_rows
from carecal.app.near.shelf import told_rows
from carecal.catalog.names import near
from carecal.errors import Refused, UnknownName
from carecal.horticulture.rounding import significant
from carecal.planning.comparison.compare import compare
from carecal.planning.hindsight.departures import hindsight
from carecal.planning.places.outing import outing
from carecal.planning.places.tonight import night_row, tonight

if TYPE_CHECKING:
    from collections.abc import Collection as Set

    from carecal.app.door import Collection
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["compared_pots", "forecasts_document", "hindsight_document", "outing_document", "tonight_document"]


def hindsight_document(collection: Collection, as_of: date, plant: str) -> dict[str, Any]:
    """Return what may have led to a plant's loss, the heaviest departure first.

    Raises:
        UnknownName: No plant has that id.
        Refused: It was not there on that day.
    """
    found = hindsight(_desk(collection, as_of, plant))
    return {
        "plant": plant,
        "name": found.name,
        "loss": found.loss.isoformat() if found.loss else None,
        "what": found.what,
        "since": found.since.isoformat() if found.since else None,
        "departures": [
            {
                "code": each.code,
                "weight": each.weight,
                "from": each.first.isoformat(),
                "until": each.last.isoformat(),
                "text": each.text,
                "entries": list(each.entries),
            }
            for each in found.departures
        ],
    }


def tonight_document(
    collection: Collection, as_of: date, low_c: float | None = None, place: str | None = None
) -> dict[str, Any]:
    """Return the plants that are under a limit tonight.

    Raises:
        UnknownName: No place has that name.
        Refused: The low is no temperature of a night.
    """
    return {"as_of": as_of.isoformat(), "low_c": low_c, "plants": _cold_rows(collection, as_of, low_c, place)}


def _cold_rows(
    collection: Collection, as_of: date, low_c: float | None, place: str | None
) -> list[dict[str, Any]]:
    if low_c is None and place is None:  # each plant's own is kept beside what it gives to the round
        kept = [row["cold"] for row in told_rows(collection, as_of) if row.get("cold")]
        return [cold["told"] for cold in sorted(kept, key=lambda cold: cold["order"])]
    planner = collection.planner(as_of)
    places = planner.context.facts.places
    if place is not None and place not in places:
        raise UnknownName("place", place, near(place, places))
    ids = {number: line.id for number, line in planner.timeline.plants.items()}
    return [night_row(row, ids[row.plant]) for row in tonight(planner.plant_planners.values(), low_c, place)]


def outing_document(
    collection: Collection, as_of: date, temp_c: float, rh_pct: float, air: str
) -> dict[str, Any]:
    """Return who may go out in given air, the weakest first, and back by when.

    Raises:
        Refused: A value is no air of the open.
    """
    planner = collection.planner(as_of)
    ids = {number: line.id for number, line in planner.timeline.plants.items()}
    return {
        "as_of": as_of.isoformat(),
        "temp_c": temp_c,
        "rh_pct": rh_pct,
        "air": air,
        "plants": [
            {
                "plant": ids[row.plant],
                "name": row.name,
                "stage": row.stage or None,
                "may_go": row.may_go,
                "back_in_minutes": row.back_in_minutes if row.may_go else None,
                "medium_c": row.medium_c,
                "why": row.why,
            }
            for row in outing(planner.plant_planners.values(), temp_c, rh_pct, air)
        ],
    }


def compared_pots(
    collection: Collection,
    as_of: date,
    plant: str,
    media: Set[str] = (),
    containers: Set[str] = (),
    place: str | None = None,
) -> dict[str, Any]:
    """Return the allowed pairs of medium and container for a plant, the best for its stage first.

    Raises:
        UnknownName: A plant, medium, container or place does not exist.
        Refused: No pair is left, or something is missing for the comparison.
    """
    plant_planner = _desk(collection, as_of, plant)
    if plant_planner.line.retired is not None:
        raise Refused(f"{plant} has left; pots are compared for a plant that is there")
    rows = compare(plant_planner, media, containers, place)
    return {
        "plant": plant,
        "name": plant_planner.line.name,
        "as_of": as_of.isoformat(),
        "place": place or plant_planner.line.state_at(as_of.toordinal()).place,
        "stage": plant_planner.line.state_at(as_of.toordinal()).stage,
        "pairs": [
            {
                "medium": row.medium,
                "container": row.container,
                "present": row.is_present,
                "days": dict(row.days),
                "technique": row.technique,
                "coldest_night_c": _number(row.coldest_c),
                "coldest_on": row.coldest_on.isoformat(),
                "safe": row.safe,
                "opens": row.opens.isoformat() if row.opens else None,
                "last_safe": row.last_safe.isoformat() if row.last_safe else None,
                "litres": row.litres,
                "life_months": list(row.life_months) if row.life_months else None,
                "reason": row.reason,
            }
            for row in rows
        ],
    }


def forecasts_document(collection: Collection, as_of: date, plant: str) -> list[dict[str, Any]]:
    """Return what a plant is heading for by its own pace.

    Raises:
        UnknownName: No plant has that id.
        Refused: It was not there on that day.
    """
    return forecast_rows(_desk(collection, as_of, plant))


def _desk(collection: Collection, as_of: date, plant: str) -> PlantPlanner:
    number = collection.number_of(plant)
    plant_planner = collection.planner(as_of, plants={number}).plant_planners.get(number)
    if plant_planner is None:
        raise Refused(f"'{plant}' was not in the collection on {as_of}; it was added later")
    return plant_planner


def _number(value: float) -> float:
    return significant(value, 4)


def _iso(day: int | None) -> str | None:
    return None if day is None else date.fromordinal(day).isoformat()
