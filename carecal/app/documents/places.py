"""What is known of places: their climate, readings and plants, and what of a place does not suit them."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from carecal.app.command_context import CommandContext, named
from carecal.app.sensors.addresses import sensors_of, silent_since
from carecal.app.store import zone_of
from carecal.planning.places.climates import monthly_of
from carecal.planning.places.suits import MONTHS, cool_months, unsuitable
from carecal.wording.dates import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.facts import CollectionFacts, PlaceFacts
    from carecal.collection.plants import PlantState

LIGHT_DAYS = 14  # as readings shift a climate (models W) [d]

__all__ = ["misfits", "moved_remarks", "place_of", "places_of", "sensor_of", "suits"]


def places_of(collection: Collection, now: Now) -> list[dict[str, Any]]:
    """Return every place as it stands on the day, with the plants that stand there."""
    timeline = collection.timeline(now.day)
    return [
        _document(
            place,
            timeline.facts,
            collection.catalog,
            [line.id for line in timeline.living() if line.latest.place == name],
        )
        for name, place in sorted(timeline.facts.places.items())
    ]


def place_of(collection: Collection, now: Now, place: str) -> dict[str, Any]:
    """Return one place as it stands on the day, with its twelve months and what does not suit its plants.

    Raises:
        UnknownName: No place has that id.
    """
    rows = {row["place"]: row for row in places_of(collection, now)}
    named("place", place, rows)
    facts = collection.timeline(now.day, plants=set()).facts
    normals = monthly_of(facts.places[place].specs[-1], facts, collection.catalog)
    months: list[dict[str, Any]] = []
    if normals is not None:
        months = [
            {
                "month": i + 1,
                "name": MONTHS[i],
                "day_c": round(normals.day_c[i], 1),
                "night_c": round(normals.night_c[i], 1),
                "rh_pct": round(normals.rh_pct[i], 1),
                "air": normals.air[i],
                "light_mol_m2_d": round(normals.light_mol[i], 2),
                "light_source": normals.light_source[i],
            }
            for i in range(12)
        ]
    timeline = collection.timeline(now.day)
    standing = [line for line in timeline.living() if line.latest.place == place]
    remarks = [line for plant in standing for line in suits(collection, now, plant.id, plant.latest)]
    return {
        **rows[place],
        "months": months,
        "light_read": _light_read(facts.places[place], now),
        "sensor": sensor_of(collection, now, place),
        "does_not_suit": list(dict.fromkeys(remarks)),
    }


def _light_read(place: PlaceFacts, now: Now) -> dict[str, Any] | None:
    """Return the light that was measured in the last days, as the mean of a day; None where none was."""
    today = now.day.toordinal()
    days = [place.readings[day] for day in range(today - LIGHT_DAYS, today + 1) if day in place.readings]
    measured = [row.light_mol for row in days if row.light_mol is not None]
    if not measured:
        return None
    return {"mol_m2_d": round(sum(measured) / len(measured), 1), "days": len(measured)}


def sensor_of(collection: Collection, now: Now, place: str) -> dict[str, Any] | None:
    """Return a place's sensor: when it was last heard, since when it is silent, what was wrong; None without one."""
    zone = ZoneInfo(zone_of(collection.journal.connection))
    silent = {row["place"]: row["since"] for row in silent_since(collection, now.day)}
    for sensor in sensors_of(collection):
        if sensor.place == place:
            heard = f"{sensor.heard.astimezone(zone):%Y-%m-%d %H:%M}" if sensor.heard else None
            return {"heard": heard, "silent_since": silent.get(place), "note": sensor.note or None}
    return None


def _document(
    place: PlaceFacts, facts: CollectionFacts, catalog: Catalog, plants: Sequence[str]
) -> dict[str, Any]:
    spec = place.specs[-1]
    newest = max(place.readings, default=None)
    return {
        "place": place.id,
        "name": spec.name,
        "kind": spec.place_kind,
        "aspect": spec.aspect,
        "winter": _pair(spec.winter_day_c, spec.winter_night_c),
        "summer": _pair(spec.summer_day_c, spec.summer_night_c),
        "lamp_ppfd": spec.lamp_ppfd,
        "lamp_hours": spec.lamp_hours,
        "climate": "own"
        if spec.climate is not None
        else "kind"
        if monthly_of(spec, facts, catalog)
        else None,
        "readings": len(place.readings),
        "readings_until": date.fromordinal(newest).isoformat() if newest else None,
        "plants": list(plants),
    }


def _pair(day: float | None, night: float | None) -> str | None:
    return None if day is None or night is None else f"{day:g}/{night:g}"


def suits(
    collection: Collection, now: Now, plant: str, state: PlantState, place: str | None = None
) -> list[str]:
    """Return what of a place does not suit a plant, one line a quantity; none where nothing is known (models W5).

    Args:
        collection: The collection.
        now: The moment of the command.
        plant: Id of the plant.
        state: What it is.
        place: The place; None: where it stands.
    """
    where = place or state.place
    return [
        f"{where} does not suit {plant}: {line}" for line in misfits(collection, now, plant, state, place)
    ]


def misfits(
    collection: Collection, now: Now, plant: str, state: PlantState, place: str | None = None
) -> list[str]:
    """Return what of a place does not suit a plant, without naming either; as `suits`."""
    facts = collection.timeline(now.day, plants=set()).facts
    where = facts.places.get(place or state.place or "")
    profile = collection.catalog.profiles.get(state.profile)
    normals = monthly_of(where.specs[-1], facts, collection.catalog) if where is not None else None
    if where is None or profile is None or normals is None:
        return []
    cool = cool_months(profile, facts.latitude, collection.catalog)
    side = _yardstick(facts, collection.catalog, profile.profile, collection.journal.ids().get(plant, 0))
    return list(unsuitable(profile, normals, cool, side))


def _yardstick(facts: CollectionFacts, catalog: Catalog, profile: str, plant: int) -> str:
    """Return the side of light-yardstick that is taken for a plant."""
    default = catalog.sides["light-yardstick"].default
    return facts.side("light-yardstick", default, plant=plant, profile=profile)


def moved_remarks(collection: Collection, now: Now, plants: Sequence[str], place: str) -> tuple[str, ...]:
    """Return what of a place does not suit the plants that go there, once a quantity with all names (models W5)."""
    found: dict[str, list[str]] = {}
    facts = collection.timeline(now.day, plants=set()).facts
    where = facts.places.get(place)
    normals = monthly_of(where.specs[-1], facts, collection.catalog) if where is not None else None
    for line in CommandContext(collection, now, plants).lines if normals is not None else ():
        profile = collection.catalog.profiles.get(line.latest.profile)
        if profile is None or normals is None:
            continue
        cool = cool_months(profile, facts.latitude, collection.catalog)
        side = _yardstick(facts, collection.catalog, profile.profile, line.number)
        for text in unsuitable(profile, normals, cool, side):
            found.setdefault(text, []).append(line.name)
    name = where.specs[-1].name if where is not None else place
    return tuple(
        f"{name[:1].upper()}{name[1:]} does not suit {listed(names)}: {text}" for text, names in found.items()
    )
