"""Checks across rows and tables: names that must exist, sources that must be known, lows not above highs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.catalog.citations import cited_keys
from carecal.catalog.names import near
from carecal.catalog.profile_file import key_of
from carecal.catalog.rescue_checks import rescue_faults
from carecal.errors import Fault

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    Rows = Mapping[str, Mapping[str, Any]]
    Groups = Mapping[str, Mapping[Any, Any]]
    Files = Mapping[tuple[str, Any], str]

__all__ = ["cross_faults"]

_BY_MEDIUM = "by medium"
# Column of a table → the table whose names it holds.
_NAMES: Mapping[str, Mapping[str, str]] = {
    "media": {"technique": "techniques", "cautions": "cautions"},
    "stages": {"wetting_care": "cares", "technique": "techniques"},
    "aids": {"cautions": "cautions"},
    "place_kinds": {"air_winter": "air_classes", "air_summer": "air_classes"},
    "profiles": {"stage_ppfd_high": "stages", "step_notes": "steps"},
    "rot_courses": {"technique": "techniques", "bars": "steps"},
    "treatments": {"against": "pests", "cautions": "cautions"},
    "weather_limits": {"bars": "steps"},
    "rest_waters": {"profile": "profiles"},
}
# Table whose rows are named after the rows of another.
_SAME_NAMES: Mapping[str, str] = {
    "pest_cycles": "pests",
    "stage_looks": "stages",
    "askings": "states",
    "sun_shades": "aspects",
}
# Numbers that the rule of a row asks for, by table and name.
_NEEDED: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "steps": {
        "potting-on": ("day_most_c", "apart_days"),
        "new-medium-due": ("day_most_c", "apart_days"),
        "taking-the-plug-out": ("day_most_c",),
        "converting-to-a-reservoir": ("longest_mm", "tips"),
        "filling-the-reservoir": ("longest_mm", "apart_days"),
        "parting-a-keiki": ("longest_mm", "longest_early_mm", "roots", "leaves"),
        "moving-out": ("clean_days",),
        "hardening": ("weeks_after",),
        "ending-quarantine": ("clean_days", "clean_days_early", "clean_looks"),
        "emptying-the-reservoir": ("medium_night_c", "weeks_after"),
    },
    "feeding_gates": {
        "stage": ("longest_mm", "roots"),
        "medium-temperature": ("band_c",),
        "heat": ("margin_c", "band_c"),
        "after-potting": ("days", "days_long"),
        "quarantine": ("days",),
        "salts": ("ec_ms_cm",),
    },
    "states": {"settling": ("days",)},
    "techniques": {
        "drench": ("of_volume",),
        "soak": ("of_volume",),
        "pour-through": ("of_held",),
        "fill-and-drain": ("of_volume",),
        "refill": ("of_volume",),
        "surface": ("litres",),
        "a-little": ("of_volume",),
        "a-sip": ("of_volume",),
    },
}
# What the profile of Phalaenopsis must say, because others may leave it out.
_BEST_KNOWN = (
    "hot_hours",
    "spike_weeks_low",
    "spike_weeks_high",
    "spike_weeks_band",
    "bloom_early_theta_c_d",
    "bloom_early_base_c",
    "bloom_late_theta_c_d",
    "bloom_late_base_c",
    "bloom_cap_c",
    "bud_abort_c",
    "leaf_theta_c_d",
    "leaf_base_c",
    "root_mm_d_low",
    "root_mm_d_high",
)
# Columns of which the first may not lie above the second, beside all that are called low and high.
_ORDERED = (
    ("min_days", "max_days"),
    ("night_min_c", "day_max_c"),
    ("day_high_c", "day_max_c"),
    ("urgent_below_c", "night_min_c"),
    ("in_night_c", "out_night_c"),
)


def cross_faults(rows: Rows, groups: Groups, files: Files) -> list[Fault]:
    """Every fault that shows only when all files are read together.

    Args:
        rows: Rows by table and name, profiles among them.
        groups: Rows of pairs, reference intervals and feeding rhythm, by their keys.
        files: The file each row came from, by table and name or key.
    """
    return [
        *_name_faults(rows, files),
        *_needed_faults(rows, files),
        *_order_faults(rows, files),
        *_rest_faults(rows, files),
        *rescue_faults(rows, files),
        *_pair_faults(rows, groups, files),
        *_reference_faults(rows, groups, files),
        *_source_faults(rows, groups, files),
    ]


def _unknown(what: str, name: str, known: Iterable[str]) -> str:
    known = list(known)
    hint = " or ".join(near(name, known))
    return f"no row '{name}' in {what}; " + (
        f"did you mean {hint}" if hint else f"known are {', '.join(known)}"
    )


def _name_faults(rows: Rows, files: Files) -> Iterator[Fault]:
    for table, columns in _NAMES.items():
        for name, row in rows[table].items():
            for column, other in columns.items():
                value = getattr(row, column)
                for used in (value,) if isinstance(value, str) else value or ():
                    if used not in rows[other] and used != _BY_MEDIUM:
                        key = _key(table, name, column)
                        yield Fault(files[table, name], key, _unknown(other, used, rows[other]))
    for table, other in _SAME_NAMES.items():
        for name in rows[table]:
            if name not in rows[other]:
                yield Fault(files[table, name], name, _unknown(other, name, rows[other]))


def _key(table: str, name: str, column: str) -> str:
    return key_of(column) if table == "profiles" else f"{name}.{column}"


def _needed_faults(rows: Rows, files: Files) -> Iterator[Fault]:
    for table, by_name in _NEEDED.items():
        for name, columns in by_name.items():
            row = rows[table][name]
            for column in columns:
                if not getattr(row, column):
                    yield Fault(
                        files[table, name], f"{name}.{column}", "missing; its rule asks for a number above 0"
                    )
    best_known = rows["profiles"].get("phalaenopsis")
    for column in _BEST_KNOWN if best_known is not None else ():
        if getattr(best_known, column) is None:
            message = "missing; kinds that say nothing of it take it from here"
            yield Fault(files["profiles", "phalaenopsis"], key_of(column), message)
    for name, step in rows["steps"].items():
        if (step.medium_mean_c is not None or step.medium_night_c is not None) and not step.kind_night_c:
            message = "missing; give the night_min_c of the kind that the limits of the medium are for"
            yield Fault(files["steps", name], f"{name}.kind_night_c", message)


def _order_faults(rows: Rows, files: Files) -> Iterator[Fault]:
    for table, by_name in rows.items():
        for name, row in by_name.items():
            columns = row._fields
            ordered = [(low, low.replace("_low", "_high")) for low in columns if "_low" in low]
            for low, high in (*ordered, *_ORDERED):
                if low in columns and high in columns:
                    below, above = getattr(row, low), getattr(row, high)
                    if below is not None and above is not None and below > above:
                        message = f"{below:g} lies above {high}, {above:g}; at most the same is allowed"
                        yield Fault(files[table, name], _key(table, name, low), message)


def _rest_faults(rows: Rows, files: Files) -> Iterator[Fault]:
    for name, profile in rows["profiles"].items():
        if (profile.rest_from_month is None) != (profile.rest_to_month is None):
            message = "one month of the rest is missing; give both or none"
            yield Fault(files["profiles", name], "rest.rest_from_month", message)


def _pair_faults(rows: Rows, groups: Groups, files: Files) -> Iterator[Fault]:
    references = groups["reference_intervals"]
    for medium, container in groups["pairs"]:
        file = files["pairs", (medium, container)]
        if medium not in rows["media"]:
            yield Fault(file, "pairs.medium", _unknown("media", medium, rows["media"]))
        elif container not in rows["containers"]:
            yield Fault(file, "pairs.containers", _unknown("containers", container, rows["containers"]))
        elif (
            container != "bag"
            and (medium, container) not in references
            and (medium, "plastic") not in references
        ):
            message = f"no days for '{medium}' in '{container}' nor in 'plastic'; add to reference_intervals"
            yield Fault(file, "pairs.medium", message)
    paired = {medium for medium, _ in groups["pairs"]}
    for medium in rows["media"]:
        if medium not in paired:
            yield Fault(files["media", medium], medium, "no container for it; name its containers in pairs")


def _reference_faults(rows: Rows, groups: Groups, files: Files) -> Iterator[Fault]:
    for (medium, container), listed in groups["reference_intervals"].items():
        if listed[0].role == "moistening":
            continue
        file = files["reference_intervals", (medium, container)]
        if medium not in rows["media"]:
            yield Fault(file, "reference_intervals.medium", _unknown("media", medium, rows["media"]))
        if container not in rows["containers"]:
            message = _unknown("containers", container, rows["containers"])
            yield Fault(file, "reference_intervals.container", message)


def _source_faults(rows: Rows, groups: Groups, files: Files) -> Iterator[Fault]:
    known = rows["sources"]
    for file, key, text in _cited(rows, groups, files):
        for cited in cited_keys(text):
            if cited not in known:
                alike = near(cited, known)
                hint = f"did you mean {' or '.join(alike)}" if alike else "add it to sources.toml"
                yield Fault(file, key, f"no source '{cited}' in sources; {hint}")


def _cited(rows: Rows, groups: Groups, files: Files) -> Iterator[tuple[str, str, str]]:
    for table, by_name in rows.items():
        for name, row in by_name.items():
            if table != "sources":
                yield files[table, name], _key(table, name, "source"), row.source
            if table == "profiles":
                for column, text in row.sources.items():
                    yield files[table, name], f"source of {key_of(column)}", text
    source_of: Mapping[str, Callable[[Any], str]] = {
        "pairs": str,
        "reference_intervals": lambda listed: listed[0].source,
    }
    for table, by_key in groups.items():
        for key, value in by_key.items():
            yield files[table, key], f"{table}.source", source_of[table](value)
