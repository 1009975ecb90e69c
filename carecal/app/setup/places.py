"""Entries about places: their climate, readings, rain. They are checked here, not written."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from carecal.app.command_context import CommandContext, named, one_of
from carecal.app.make_entries import make_entry
from carecal.collection.climate_file import read_climate
from carecal.collection.entries import Done, Forecast, PlaceAdded, PlaceChanged, PlaceShaded, Readings
from carecal.collection.logger_files import read_logger
from carecal.collection.records import effective
from carecal.errors import Refused, option, options

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry, MonthRow

__all__ = [
    "add_place",
    "change_place",
    "climate_doubt",
    "forecast",
    "rain",
    "readings",
    "shade",
    "stands_already",
]

ASPECTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW", "none")
COMPASS = {"north": "n", "south": "s", "east": "e", "west": "w"}
Pair = tuple[float, float]
FORECAST_DAYS = (
    16  # our choice, because no weather forecast says more of a night so far ahead than its normals [d]
)


def add_place(
    collection: Collection,
    now: Now,
    place: str,
    kind: str,
    *,
    name: str | None = None,
    aspect: str | None = None,
    winter: Pair | None = None,
    summer: Pair | None = None,
    lamp_ppfd: float | None = None,
    lamp_hours: float | None = None,
    climate: Path | None = None,
) -> Entry:
    """Return the entry of a place.

    Args:
        collection: The collection.
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
    facts = collection.timeline(now.day, plants=set()).facts
    if place in facts.places:
        raise Refused(
            f"a place '{place}' exists already", command=f"place change {place}", how="change it with carecal"
        )
    named("kind of place", kind, collection.catalog.place_kinds)
    rows = read_climate(climate, place if _has_places(climate) else None) if climate is not None else None
    values = _values(aspect, winter, summer, lamp_ppfd, lamp_hours, rows)
    entry = make_entry(PlaceAdded, on=now.day, place=place, place_kind=kind, name=name, **values)
    doubt = climate_doubt(collection.catalog, entry)
    if doubt:
        raise Refused(doubt)
    return entry


def change_place(
    collection: Collection,
    now: Now,
    place: str,
    *,
    kind: str | None = None,
    name: str | None = None,
    aspect: str | None = None,
    winter: Pair | None = None,
    summer: Pair | None = None,
    lamp_ppfd: float | None = None,
    lamp_hours: float | None = None,
    climate: Path | None = None,
    on: date | None = None,
) -> Entry:
    """Return the entry of what changed at a place; what is not named stays. The arguments are those of `add_place`.

    Raises:
        UnknownName: The place or the kind is not known.
        DataFault: The climate file has faults.
        Refused: Nothing was named, a value is out of range, or the day does not fit.
    """
    context = CommandContext(collection, now, ())
    context.place(place)
    day = context.fact_day(on)
    added = date.fromordinal(context.timeline.facts.places[place].specs[0].day)
    if day < added:
        raise Refused(f"{day} lies before {place} was added, {added}; allowed are {added} to {now.day}")
    if kind is not None:
        named("kind of place", kind, collection.catalog.place_kinds)
    rows = read_climate(climate, place if _has_places(climate) else None) if climate is not None else None
    values = _values(aspect, winter, summer, lamp_ppfd, lamp_hours, rows)
    if not any(value is not None for value in (kind, name, *values.values())):
        raise Refused(
            "nothing was named to change; give at least one of "
            + options("kind", "name", "aspect", "winter", "summer", "lamp", "climate")
        )
    return make_entry(PlaceChanged, on=day, place=place, place_kind=kind, name=name, **values)


def readings(
    collection: Collection, now: Now, place: str, file: Path, columns: Mapping[str, str] | None = None
) -> tuple[Readings, tuple[str, ...]]:
    """Return the entry of a logger's days at a place, and its columns as they were understood.

    Raises:
        UnknownName: The place is not known.
        DataFault: The file has faults; names all of them.
        Refused: A day lies ahead, or the same readings stand already.
    """
    context = CommandContext(collection, now, ())
    context.place(place)
    found = read_logger(file, columns or None, zone=ZoneInfo(context.timeline.facts.timezone))
    ahead = [row.day for row in found.days if row.day > now.day]
    if ahead:
        raise Refused(f"readings of {ahead[0]} lie ahead; allowed are days up to today, {now.day}")
    entry = found.entry(place, now.day)
    if stands_already(collection, now, entry):
        raise Refused(
            f"these readings of {place} stand already, from {file.name} or its like; nothing was written"
        )
    return entry, found.columns


def stands_already(collection: Collection, now: Now, entry: Readings) -> bool:
    """Return whether the same readings were written down before."""
    said = entry.model_dump(mode="json", exclude_none=True, exclude={"on"})
    return any(
        record.kind == "readings" and {**record.data} == said
        for record in effective(collection.journal.records(()), now.day)
    )


def forecast(
    collection: Collection,
    now: Now,
    place: str,
    *,
    night_c: float | None = None,
    day_c: float | None = None,
    on: date | None = None,
) -> Forecast:
    """Return the entry of what was forecast for one day at a place.

    Args:
        collection: The collection.
        now: The moment of the command.
        place: The place.
        night_c: Lowest of the night that begins on that day. [°C]
        day_c: Highest of the day. [°C]
        on: The day; None: today.

    Raises:
        UnknownName: The place is not known.
        Refused: Nothing was forecast, the night is warmer than the day, or the day lies behind or too far ahead.
    """
    CommandContext(collection, now, ()).place(place)
    day = on or now.day
    last = now.day + timedelta(days=FORECAST_DAYS)
    if day < now.day:
        raise Refused(
            f"{day} has passed; what was measured is told by carecal place readings, not as a forecast"
        )
    if day > last:
        raise Refused(f"{day} is too far ahead for a forecast; allowed are {now.day} to {last}")
    if night_c is None and day_c is None:
        raise Refused(f"nothing was forecast; give {option('night')}, {option('day')} or both in °C")
    if night_c is not None and day_c is not None and night_c > day_c:
        raise Refused(f"a night of {night_c:g} °C is warmer than its day of {day_c:g} °C; which is which?")
    return make_entry(Forecast, on=now.day, place=place, day=day, night_c=night_c, day_c=day_c)


def shade(collection: Collection, now: Now, place: str, *, to: str, on: date | None = None) -> PlaceShaded:
    """Return the entry of shade that was put up at a window, or taken down.

    Args:
        collection: The collection.
        now: The moment of the command.
        place: The place.
        to: 'up' or 'down'.
        on: The day; None: today.

    Raises:
        UnknownName: The place is not known.
        Refused: It is so already, no sun shines into the place through a window, or the day does not fit.
    """
    context = CommandContext(collection, now, ())
    context.place(place)
    day, facts = context.fact_day(on), context.timeline.facts
    if day.toordinal() < facts.places[place].specs[0].day:
        raise Refused(f"{day} lies before {place} was added; say a later day")
    kind = collection.catalog.place_kinds[facts.places[place].spec_at(day.toordinal()).place_kind]
    if kind.outdoors or not kind.light_fraction:
        raise Refused(f"no sun comes to {place} through a window; nothing to shade there")
    told = [is_up for since, is_up in facts.places[place].shades if since <= day.toordinal()]
    if told and told[-1] == (to == "up"):
        raise Refused(f"the shade at {place} is {to} already; nothing was written")
    return make_entry(PlaceShaded, on=day, place=place, to=to)


def rain(collection: Collection, now: Now, place: str, *, on: date | None = None) -> list[Entry]:
    """Return the entries of a rain that wetted every plant of a place outdoors.

    Raises:
        UnknownName: The place is not known.
        Refused: It is not outdoors, nothing stands there, or the day does not fit.
    """
    context = CommandContext(collection, now, None)
    context.place(place)
    day = context.fact_day(on)
    kind = context.timeline.facts.places[place].spec_at(day.toordinal()).place_kind
    if not collection.catalog.place_kinds[kind].outdoors:
        raise Refused(f"no rain falls at {place}, a {kind}; allowed are places outdoors")
    wet = [
        line
        for line in context.lines
        if line.entered <= day.toordinal()
        and (state := line.state_at(day.toordinal())).place == place
        and state.mother is None
        and not state.is_wrapped
    ]
    if not wet:
        raise Refused(f"nothing that rain would wet stands at {place} on {day}")
    return [make_entry(Done, on=day, plant=line.id, care="watering", rain=True) for line in wet]


def aspect_named(word: str) -> str:
    """Return a compass point as the entries have it, from its name or letters in any case; else the word itself."""
    parts = word.casefold().replace("-", "").replace(" ", "").replace("facing", "")
    for name, letter in COMPASS.items():
        parts = parts.replace(name, letter)
    return parts if parts == "none" else parts.upper() if parts else word


def _values(
    aspect: str | None,
    winter: Pair | None,
    summer: Pair | None,
    lamp_ppfd: float | None,
    lamp_hours: float | None,
    rows: tuple[MonthRow, ...] | None,
) -> dict[str, Any]:
    """Return the fields of a place entry."""
    if aspect is not None:
        aspect = one_of("aspect", aspect_named(aspect), ASPECTS)
    if (lamp_ppfd is None) != (lamp_hours is None):
        raise Refused(
            f"a lamp needs both its light and its hours; give {option('lamp')} and {option('hours')}"
        )
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
            f"or {option('climate')} with a file of twelve months"
        )
    if row.light_fraction == 0 and entry.lamp_ppfd is None:
        lamp = f"{option('lamp')} in µmol/m²/s and {option('hours')}"
        return f"a {kind} is lit by its lamp alone; give {lamp}, or {option('climate')}"
    return ""
