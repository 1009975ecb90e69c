"""Entries about places, and what is known of them: climate, readings, rain. They are checked here, not written."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from carecal.app.checks import Ground, named, one_of
from carecal.app.models import made
from carecal.collection.climate_file import read_climate
from carecal.collection.entries import Done, PlaceAdded, PlaceChanged, Readings
from carecal.collection.logger_files import read_logger
from carecal.errors import Refused, UnknownName
from carecal.planning.climates import monthly_of
from carecal.planning.suits import MONTHS, unsuitable

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry, MonthRow
    from carecal.collection.facts import CollectionFacts, PlaceFacts
    from carecal.collection.plants import PlantState

__all__ = ["add_place", "change_place", "climate_doubt", "place_of", "places_of", "rain", "readings", "suits"]

ASPECTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW", "none")
Pair = tuple[float, float]


def add_place(
    home: Collection, now: Now, place: str, kind: str, *, name: str | None = None, aspect: str | None = None,
    winter: Pair | None = None, summer: Pair | None = None, lamp_ppfd: float | None = None,
    lamp_hours: float | None = None, climate: Path | None = None,
) -> Entry:  # fmt: skip
    """Return the entry of a place.

    Args:
        home: The collection.
        now: The moment of the command.
        place: Its id.
        kind: One of the kinds of place.
        name: Name people read.
        aspect: Compass point of its window.
        winter: Temperatures of day and night in winter. [°C]
        summer: The same in summer. [°C]
        lamp_ppfd: Light of its lamp at the plants. [µmol m⁻² s⁻¹]
        lamp_hours: Hours of it a day. [h]
        climate: File of its twelve months.

    Raises:
        UnknownName: The kind is not known.
        DataFault: The climate file has faults.
        Refused: The place exists, a value is out of range, or its climate would not be known.
    """
    facts = home.timeline(now.day, plants=set()).facts
    if place in facts.places:
        raise Refused(f"a place '{place}' exists already; change it with carecal place change {place}")
    named("kind of place", kind, home.catalog.place_kinds)
    rows = read_climate(climate, place if _has_places(climate) else None) if climate is not None else None
    values = _values(aspect, winter, summer, lamp_ppfd, lamp_hours, rows)
    entry = made(PlaceAdded, on=now.day, place=place, place_kind=kind, name=name, **values)
    doubt = climate_doubt(home.catalog, entry)
    if doubt:
        raise Refused(doubt)
    return entry


def change_place(
    home: Collection, now: Now, place: str, *, kind: str | None = None, name: str | None = None,
    aspect: str | None = None, winter: Pair | None = None, summer: Pair | None = None,
    lamp_ppfd: float | None = None, lamp_hours: float | None = None, climate: Path | None = None,
    on: date | None = None,
) -> Entry:  # fmt: skip
    """Return the entry of what changed at a place; what is not named stays. The arguments are those of `add_place`.

    Raises:
        UnknownName: The place or the kind is not known.
        DataFault: The climate file has faults.
        Refused: Nothing was named, a value is out of range, or the day does not fit.
    """
    ground = Ground(home, now, ())
    ground.place(place)
    day = ground.fact_day(on)
    added = date.fromordinal(ground.timeline.facts.places[place].specs[0].day)
    if day < added:
        raise Refused(f"{day} lies before {place} was added, {added}; allowed are {added} to {now.day}")
    if kind is not None:
        named("kind of place", kind, home.catalog.place_kinds)
    rows = read_climate(climate, place if _has_places(climate) else None) if climate is not None else None
    values = _values(aspect, winter, summer, lamp_ppfd, lamp_hours, rows)
    if not any(value is not None for value in (kind, name, *values.values())):
        raise Refused(
            "nothing was named to change; give --kind, --name, --aspect, --winter, --summer, --lamp or --climate"
        )
    return made(PlaceChanged, on=day, place=place, place_kind=kind, name=name, **values)


def readings(
    home: Collection, now: Now, place: str, file: Path, columns: Mapping[str, str] | None = None
) -> tuple[Readings, tuple[str, ...]]:
    """Return the entry of a logger's days at a place, and its columns as they were understood.

    Raises:
        UnknownName: The place is not known.
        DataFault: The file has faults; names all of them.
        Refused: A day lies ahead.
    """
    ground = Ground(home, now, ())
    ground.place(place)
    found = read_logger(file, columns or None, zone=ZoneInfo(ground.timeline.facts.timezone))
    ahead = [row.day for row in found.days if row.day > now.day]
    if ahead:
        raise Refused(f"readings of {ahead[0]} lie ahead; allowed are days up to today, {now.day}")
    return found.entry(place, now.day), found.columns


def rain(home: Collection, now: Now, place: str, *, on: date | None = None) -> list[Entry]:
    """Return the entries of a rain that wetted every plant of a place outdoors.

    Raises:
        UnknownName: The place is not known.
        Refused: It is not outdoors, nothing stands there, or the day does not fit.
    """
    ground = Ground(home, now, None)
    ground.place(place)
    day = ground.fact_day(on)
    kind = ground.timeline.facts.places[place].spec_at(day.toordinal()).place_kind
    if not home.catalog.place_kinds[kind].outdoors:
        raise Refused(f"no rain falls at {place}, a {kind}; allowed are places outdoors")
    wet = [
        line for line in ground.lines
        if line.entered <= day.toordinal() and (state := line.state_at(day.toordinal())).place == place
        and state.mother is None and not state.is_wrapped
    ]  # fmt: skip
    if not wet:
        raise Refused(f"nothing that rain would wet stands at {place} on {day}")
    return [made(Done, on=day, plant=line.id, care="watering", rain=True) for line in wet]


def _values(
    aspect: str | None, winter: Pair | None, summer: Pair | None, lamp_ppfd: float | None,
    lamp_hours: float | None, rows: tuple[MonthRow, ...] | None,
) -> dict[str, Any]:  # fmt: skip
    """Return the fields of a place entry."""
    if aspect is not None:
        one_of("aspect", aspect, ASPECTS)
    if (lamp_ppfd is None) != (lamp_hours is None):
        raise Refused("a lamp needs both its light and its hours; give --lamp and --hours")
    for what, pair in (("winter", winter), ("summer", summer)):
        if pair is not None and pair[1] > pair[0]:
            raise Refused(f"{what} {pair[0]:g}/{pair[1]:g} has a night warmer than its day; write day/night")
    return {
        "aspect": aspect,
        "winter_day_c": winter[0] if winter else None,
        "winter_night_c": winter[1] if winter else None,
        "summer_day_c": summer[0] if summer else None,
        "summer_night_c": summer[1] if summer else None,
        "lamp_ppfd": lamp_ppfd,
        "lamp_hours": lamp_hours,
        "climate": rows,
    }


def _has_places(climate: Path | None) -> bool:
    """Return whether a climate file parts several places by a column."""
    if climate is None or not climate.is_file():
        return False
    with climate.open(encoding="utf-8-sig", errors="replace") as file:
        return "place" in {
            cell.strip().strip('"').casefold() for cell in file.readline().replace(";", ",").split(",")
        }


def climate_doubt(catalog: Catalog, entry: PlaceAdded) -> str:
    """Return why nobody could know a new place's climate from its kind and what was named, or ''."""
    kind = entry.place_kind
    row = catalog.place_kinds[kind]
    if entry.climate is not None or kind == "elsewhere":
        return ""
    blanks = [
        f"--{season}"
        for season in ("winter", "summer")
        for part in ("day", "night")
        if getattr(row, f"{part}_{season}_c") is None and getattr(entry, f"{season}_{part}_c") is None
    ]
    if blanks:
        return (
            f"a {kind} has no temperatures of its own; give {' and '.join(dict.fromkeys(blanks))} as day/night in °C, "
            f"or --climate with a file of twelve months"
        )
    if row.light_fraction == 0 and entry.lamp_ppfd is None:
        return f"a {kind} is lit by its lamp alone; give --lamp in µmol/m²/s and --hours, or --climate"
    return ""


def places_of(home: Collection, now: Now) -> list[dict[str, Any]]:
    """Return every place as it stands on the day, with the plants that stand there."""
    timeline = home.timeline(now.day)
    return [_document(place, timeline.facts, home.catalog, [
        line.id for line in timeline.living() if line.latest.place == name
    ]) for name, place in sorted(timeline.facts.places.items())]  # fmt: skip


def place_of(home: Collection, now: Now, place: str) -> dict[str, Any]:
    """Return one place as it stands on the day, with its twelve months and what does not suit its plants.

    Raises:
        UnknownName: No place has that id.
    """
    found = [row for row in places_of(home, now) if row["place"] == place]
    if not found:
        Ground(home, now, ()).place(place)
        raise UnknownName("place", place)
    facts = home.timeline(now.day, plants=set()).facts
    normals = monthly_of(facts.places[place].specs[-1], facts, home.catalog)
    months: list[dict[str, Any]] = []
    if normals is not None:
        months = [
            {
                "month": i + 1, "name": MONTHS[i], "day_c": round(normals.day_c[i], 1),
                "night_c": round(normals.night_c[i], 1), "rh_pct": round(normals.rh_pct[i], 1),
                "air": normals.air[i], "light_mol_m2_d": round(normals.light_mol[i], 2),
                "light_source": normals.light_source[i],
            }
            for i in range(12)
        ]  # fmt: skip
    timeline = home.timeline(now.day)
    standing = [line for line in timeline.living() if line.latest.place == place]
    remarks = [line for plant in standing for line in suits(home, now, plant.id, plant.latest)]
    return {**found[0], "months": months, "does_not_suit": list(dict.fromkeys(remarks))}


def _document(
    place: PlaceFacts, facts: CollectionFacts, catalog: Catalog, plants: Sequence[str]
) -> dict[str, Any]:
    spec = place.specs[-1]
    newest = max(place.readings, default=None)
    return {
        "place": place.id, "name": spec.name, "kind": spec.place_kind, "aspect": spec.aspect,
        "winter": _pair(spec.winter_day_c, spec.winter_night_c),
        "summer": _pair(spec.summer_day_c, spec.summer_night_c),
        "lamp_ppfd": spec.lamp_ppfd, "lamp_hours": spec.lamp_hours,
        "climate": "own" if spec.climate is not None else "kind" if monthly_of(spec, facts, catalog) else None,
        "readings": len(place.readings), "readings_until": date.fromordinal(newest).isoformat() if newest else None,
        "plants": list(plants),
    }  # fmt: skip


def _pair(day: float | None, night: float | None) -> str | None:
    return None if day is None or night is None else f"{day:g}/{night:g}"


def suits(home: Collection, now: Now, plant: str, state: PlantState, place: str | None = None) -> list[str]:
    """Return what of a place does not suit a plant, one line a quantity; none where nothing is known (models W5).

    Args:
        home: The collection.
        now: The moment of the command.
        plant: Id of the plant.
        state: What it is.
        place: The place; None: where it stands.
    """
    facts = home.timeline(now.day, plants=set()).facts
    where = facts.places.get(place or state.place or "")
    profile = home.catalog.profiles.get(state.profile)
    normals = monthly_of(where.specs[-1], facts, home.catalog) if where is not None else None
    if where is None or profile is None or normals is None:
        return []
    return [f"{where.id} does not suit {plant}: {line}" for line in unsuitable(profile, normals)]
