"""What the journal says of the collection as a whole: places, settings, pauses, absences, supplies, sides.

Days are ordinals (`date.toordinal`), so that a planner can count with them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.collection.fact_types import (
    Absence,
    CareDates,
    Fertiliser,
    ForecastOfDay,
    Pause,
    PlaceFacts,
    PlaceSpec,
    ReadingsOfDay,
    Resume,
    Water,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from carecal.collection.records import Record

__all__ = [
    "ASK",
    "CARE_DAYS",
    "FEED_PPM",
    "KEEP",
    "NOTES_SHOWN",
    "Absence",
    "CareDates",
    "CollectionFacts",
    "Fertiliser",
    "ForecastOfDay",
    "Pause",
    "PlaceFacts",
    "PlaceSpec",
    "ReadingsOfDay",
    "Resume",
    "Water",
]

CARE_DAYS = "care-days"  # a setting: whether a new collection is asked once for days that fit together
ASK, KEEP = "ask", "keep"
NOTES_SHOWN = "notes-in-calendars"  # a setting: a note is private unless it says yes
FEED_PPM = "feed-ppm"  # key of the setting
_PLACE_KEYS = (
    "place_kind",
    "name",
    "aspect",
    "winter_day_c",
    "winter_night_c",
    "summer_day_c",
    "summer_night_c",
    "lamp_ppfd",
    "lamp_hours",
    "climate",
)


@dataclass(slots=True)
class CollectionFacts:
    """The fold of all collection-wide entries that count on a day."""

    name: str = ""
    latitude: float = 0.0
    longitude: float = 0.0
    elevation_m: float = 0.0
    timezone: str = "UTC"
    started: int = 0
    settings: dict[str, list[tuple[int, str]]] = field(default_factory=dict)
    places: dict[str, PlaceFacts] = field(default_factory=dict)
    pauses: list[Pause] = field(default_factory=list)
    resumes: list[Resume] = field(default_factory=list)
    absences: list[Absence] = field(default_factory=list)
    fertilisers: dict[str, Fertiliser] = field(default_factory=dict)
    waters: dict[str, Water] = field(default_factory=dict)
    moved_rounds: dict[int, int] = field(default_factory=dict)
    care_dates: list[CareDates] = field(default_factory=list)
    brought_over: dict[int, tuple[int, int]] = field(default_factory=dict)  # plant: told on, its early day
    sides: list[tuple[str, str, str | None, frozenset[int] | None]] = field(default_factory=list)
    newest_written: str = ""

    def setting(self, key: str, default: str, day: int | None = None) -> str:
        """Return a setting as it stands on a day, or now."""
        value = default
        for since, text in self.settings.get(key, ()):
            if day is None or since <= day:
                value = text
        return value

    def side(self, key: str, default: str, *, plant: int, profile: str) -> str:
        """Return the side taken in a conflict of the trade: plant's before profile's before all."""
        best, rank = default, 0
        for name, side, of_profile, plants in self.sides:
            level = 3 if plants and plant in plants else 2 if of_profile == profile else 1
            if name == key and level >= rank and (not plants or plant in plants):
                if of_profile is not None and of_profile != profile:
                    continue
                best, rank = side, level
        return best

    def take(self, record: Record) -> None:
        """Fold one collection-wide record into the facts; others are ignored."""
        handler = _HANDLERS.get(record.kind)
        if handler is not None:
            handler(self, record, record.data)


def _plants(data: Mapping[str, Any]) -> frozenset[int] | None:
    return frozenset(data["plants"]) if data.get("plants") is not None else None


def _climate(
    rows: Sequence[Mapping[str, Any]] | None,
) -> tuple[tuple[float, float, float, str, float, str], ...] | None:
    if not rows:
        return None
    ordered = sorted(rows, key=lambda row: row["month"])
    return tuple(
        (
            r["day_c"],
            r["night_c"],
            r["rh_pct"],
            r["air"],
            r["light_mol_m2_d"],
            r.get("light_source", "daylight"),
        )
        for r in ordered
    )


def _start(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    facts.name, facts.timezone = data["name"], data.get("timezone", "UTC")
    facts.latitude, facts.longitude = float(data["latitude"]), float(data["longitude"])
    facts.elevation_m, facts.started = float(data.get("elevation_m", 0.0)), record.on.toordinal()


def _setting(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    facts.settings.setdefault(data["key"], []).append((record.on.toordinal(), data["value"]))
    if data["key"] == "weekdays":
        facts.care_dates.append(CareDates(record.on.toordinal(), frozenset()))


def _place(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    values = {key: data[key] for key in _PLACE_KEYS if data.get(key) is not None}
    values["climate"] = _climate(values.get("climate"))
    values.setdefault("name", data["place"])
    spec = PlaceSpec(day=record.on.toordinal(), **values)
    facts.places[data["place"]] = PlaceFacts(data["place"], [spec])


def _place_changed(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    place = facts.places[data["place"]]
    values = {key: data[key] for key in _PLACE_KEYS if data.get(key) is not None}
    if "climate" in values:
        values["climate"] = _climate(values["climate"])
    elif {"winter_day_c", "summer_day_c"} & values.keys():
        values["climate"] = None  # two numbers typed now override an older file
    place.specs.append(place.specs[-1]._replace(day=record.on.toordinal(), **values))


def _readings(facts: CollectionFacts, _: Record, data: Mapping[str, Any]) -> None:
    place = facts.places[data["place"]]
    for row in data["days"]:
        place.readings[date.fromisoformat(row["day"]).toordinal()] = ReadingsOfDay(
            row.get("temp_min_c"),
            row.get("temp_mean_c"),
            row.get("temp_max_c"),
            row.get("rh_mean_pct"),
            row.get("medium_min_c"),
            row.get("medium_mean_c"),
            row.get("light_mol_m2_d"),
        )


def _forecast(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    """Take what was forecast; what is told later of the same day counts, and leaves the rest of it."""
    forecasts = facts.places[data["place"]].forecasts
    day = date.fromisoformat(data["day"]).toordinal()
    old = forecasts.get(day)
    night = data.get("night_c") if data.get("night_c") is not None else old and old.night_c
    high = data.get("day_c") if data.get("day_c") is not None else old and old.day_c
    forecasts[day] = ForecastOfDay(night, high, record.on.toordinal())


def _shaded(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    shades = facts.places[data["place"]].shades
    shades.append((record.on.toordinal(), data["to"] == "up"))
    shades.sort(key=lambda told: told[0])  # told of one day, the last word counts


def _fertiliser(facts: CollectionFacts, _: Record, data: Mapping[str, Any]) -> None:
    facts.fertilisers.pop(data["name"], None)  # told anew, it is the newest
    facts.fertilisers[data["name"]] = Fertiliser(
        data["name"],
        data["n_pct"],
        data["p2o5_pct"],
        data["k2o_pct"],
        data.get("label_rate_g_per_l"),
        data.get("ec_per_100_ppm"),
    )


def _water(facts: CollectionFacts, _: Record, data: Mapping[str, Any]) -> None:
    facts.waters.pop(data["name"], None)  # told anew, it is the newest
    facts.waters[data["name"]] = Water(
        data["name"], data["ec_ms_cm"], data.get("alkalinity_mg_l"), data.get("ph"), data.get("water_kind")
    )


def _side(facts: CollectionFacts, _: Record, data: Mapping[str, Any]) -> None:
    facts.sides.append((data["key"], data["side"], data.get("profile"), _plants(data)))


def _paused(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    until = date.fromisoformat(data["until"]) if data.get("until") else None
    facts.pauses.append(
        Pause(
            record.n,
            data["care"],
            _plants(data),
            data.get("place"),
            date.fromisoformat(data["start"]),
            until,
            bool(data.get("every_year")),
            data.get("start_month_day") or "",
            data.get("until_month_day") or "",
        )
    )


def _resumed(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    facts.resumes.append(
        Resume(
            record.n,
            data["care"],
            _plants(data),
            data.get("place"),
            (date.fromisoformat(data["day"]) if data.get("day") else record.on).toordinal(),
            bool(data.get("for_good")),
        )
    )


def _away(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    start, until = date.fromisoformat(data["start"]), date.fromisoformat(data["until"])
    facts.absences.append(Absence(record.n, start.toordinal(), until.toordinal()))
    facts.absences.sort(key=lambda a: (a.start, a.entry))


def _away_ended(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    last = record.on.toordinal() - 1
    kept = []
    for absence in facts.absences:
        if absence.entry == int(data["entry"]):
            absence = absence._replace(until=min(absence.until, last))
        if absence.start <= absence.until:
            kept.append(absence)
    facts.absences = kept


def _round_moved(facts: CollectionFacts, _: Record, data: Mapping[str, Any]) -> None:
    start, to = date.fromisoformat(data["start"]), date.fromisoformat(data["to"])
    facts.moved_rounds[start.toordinal()] = to.toordinal()


def _rounds_taken(facts: CollectionFacts, record: Record, data: Mapping[str, Any]) -> None:
    day = record.on.toordinal()
    taken = frozenset(date.fromisoformat(each).toordinal() for each in data["dates"])
    facts.care_dates.append(CareDates(day, taken, bool(data.get("ahead"))))
    for plant, early in zip(data.get("plants") or (), data.get("days") or (), strict=True):
        facts.brought_over[plant] = day, date.fromisoformat(early).toordinal()


_HANDLERS = {
    "collection": _start,
    "setting": _setting,
    "place": _place,
    "place-changed": _place_changed,
    "readings": _readings,
    "forecast": _forecast,
    "place-shaded": _shaded,
    "fertiliser": _fertiliser,
    "water": _water,
    "side": _side,
    "paused": _paused,
    "resumed": _resumed,
    "away": _away,
    "away-ended": _away_ended,
    "round-moved": _round_moved,
    "rounds-taken": _rounds_taken,
}
