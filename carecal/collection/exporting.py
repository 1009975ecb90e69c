"""A collection as it stands, written out: the start file (TOML) and the plant list (CSV); it reads nothing."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

from carecal.collection.plant_list import id_from_name, write_plant_list
from carecal.collection.start_file import START_KEYS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from carecal.collection.facts import PlaceFacts
    from carecal.collection.plants import PlantHistory
    from carecal.collection.timeline import Timeline

__all__ = ["plant_list", "start_file"]

_MONTH_KEYS = ("day_c", "night_c", "rh_pct", "air", "light_mol_m2_d", "light_source")


def plant_list(timeline: Timeline) -> str:
    """Return the living plants as a table (CSV), by plant number."""
    return write_plant_list([_plant(line, timeline) for line in timeline.living()])


def start_file(timeline: Timeline) -> str:
    """Return the collection with its places and living plants as a start file (TOML)."""
    facts = timeline.facts
    collection = {
        "name": facts.name,
        "latitude": facts.latitude,
        "longitude": facts.longitude,
        "elevation_m": facts.elevation_m,
        "timezone": facts.timezone,
    }
    tables = ["[collection]\n" + _body("collection", collection)]
    tables += ["[[place]]\n" + _body("place", _place(place)) for _, place in sorted(facts.places.items())]
    for line in timeline.living():
        values = _plant(line, timeline) | {"watered": _last_wetting(line)}
        tables.append("[[plant]]\n" + _body("plant", values))
    return "\n".join(tables)


def _plant(line: PlantHistory, timeline: Timeline) -> dict[str, object]:
    """One plant by the fields of its entry, as it stands; the same under the columns of the list."""
    state = line.latest
    mother = timeline.plants.get(state.mother) if state.mother is not None else None
    return {
        "id": line.id,
        "plant": line.id,
        "name": line.name,
        "profile": state.profile,
        "medium": state.medium,
        "container": state.container,
        "size_cm": state.size_cm,
        "place": state.place,
        "came": date.fromordinal(state.came) if state.came is not None else None,
        "potted": date.fromordinal(state.potted) if state.potted is not None else None,
        "stage": state.stage,
        "roots": state.roots,
        "longest_mm": state.longest_mm,
        "tips": state.tips,
        "leaves": state.leaves,
        "flowering": state.flowering,
        "aids": [name for name, _ in state.aids],
        "on_mother": mother.id if mother is not None and mother.retired is None else None,
        "note": line.note or None,
    }


def _last_wetting(line: PlantHistory) -> date | None:
    wet = [e.day for e in line.told if e.kind == "wet" or (e.kind == "potted" and e.watered)]
    days = wet if line.watered is None else [line.watered, *wet]
    return date.fromordinal(max(days)) if days else None


def _place(place: PlaceFacts) -> dict[str, object]:
    spec = place.specs[-1]
    values: dict[str, object] = {
        "place": place.id if id_from_name(spec.name) != place.id else None,
        "name": spec.name,
        "place_kind": spec.place_kind,
        "aspect": spec.aspect,
        "winter": _pair(spec.winter_day_c, spec.winter_night_c),
        "summer": _pair(spec.summer_day_c, spec.summer_night_c),
        "lamp_ppfd": spec.lamp_ppfd,
        "lamp_hours": spec.lamp_hours,
        "climate": None,
    }
    if spec.climate:
        values["climate"] = [
            {"month": month, **dict(zip(_MONTH_KEYS, row, strict=True))}
            for month, row in enumerate(spec.climate, 1)
        ]
    return values


def _pair(day: float | None, night: float | None) -> str | None:
    return None if day is None or night is None else f"{day:g}/{night:g}"


def _body(table: str, values: Mapping[str, object]) -> str:
    """The lines of one table, by the keys of the start file; absent values and empty lists are left out."""
    lines = [
        f"{key} = {_toml(values[field])}"
        for key, field in START_KEYS[table].items()
        if values.get(field) is not None and values[field] != []
    ]
    return "".join(line + "\n" for line in lines)


def _toml(value: object) -> str:
    """A value as TOML has it; JSON's escapes are TOML's too, but for the one sign that JSON lets through."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, (list, tuple)):
        return _toml_list(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _toml_list(values: Sequence[object]) -> str:
    if any(isinstance(value, dict) for value in values):
        return "[\n" + "".join(f"    {_toml(value)},\n" for value in values) + "]"
    return "[" + ", ".join(map(_toml, values)) + "]"
