"""The file of one profile: its sections, and how their values become a flat profile."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any, Literal

from carecal.catalog.profile import Profile
from carecal.catalog.schema import checked_row, hints_of, unknown_key
from carecal.errors import Fault

__all__ = ["SECTIONS", "key_of", "read_profile"]

SECTIONS: Mapping[str, tuple[str, ...]] = {
    "temperature": (
        "night_min_c",
        "night_low_c",
        "night_high_c",
        "day_low_c",
        "day_high_c",
        "day_max_c",
        "urgent_below_c",
        "warm_night_c",
        "warm_night_other_c",
    ),
    "light": (
        "light_fc_low",
        "light_fc_high",
        "ppfd_low",
        "ppfd_high",
        "light_rule",
        "lamp_hours_low",
        "lamp_hours_high",
        "ppfd_harm",
        "spike_light_mol",
        "light_mol_low",
        "light_mol_high",
        "light_mol_unfit",
        "stage_ppfd_high",
    ),
    "humidity": ("rh_low", "rh_high"),
    "wetting": ("interval_factor", "dry_rule", "water_min_c", "water_ec_max"),
    "feeding": (
        "feed_ppm_n",
        "feed_days",
        "feed_days_slow",
        "feed_rule",
        "feed_ec_max",
        "feed_ph_low",
        "feed_ph_high",
    ),
    "flushing": ("flush_rule",),
    "rest": (
        "rest_rule",
        "rest_from_month",
        "rest_to_month",
        "rest_interval_factor",
        "rest_begins_sign",
        "rest_ends_sign",
        "rest_ends_by",
    ),
    "potting": ("repot_months_low", "repot_months_high", "repot_signal"),
    "flowering": (
        "flowering_rule",
        "bloom_leaves",
        "spike_day_max_c",
        "hot_c",
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
        "keiki_above_c",
        "bloom_months_low",
        "bloom_months_high",
        "spike_cut_leaves",
        "spike_one_leaves",
    ),
    "growth": ("leaf_theta_c_d", "leaf_base_c", "root_mm_d_low", "root_mm_d_high", "root_medium_min_c"),
    "inspection": ("look_for",),
    "steps": ("out_night_c", "in_night_c", "notes"),
}
_OPTIONAL = frozenset({"growth"})
_HEAD: Mapping[str, Any] = {
    "name": str,
    "latin": str,
    "describes": str,
    "depth": Literal["deep", "outline"],
    "source": str,
}
_RENAMED = {"notes": "step_notes"}
_OF_PROFILE = hints_of(Profile)


def key_of(column: str) -> str:
    """Dotted key at which a value of a profile stands in its file, as 'light.ppfd_low'."""
    for section, columns in SECTIONS.items():
        for name in columns:
            if _RENAMED.get(name, name) == column:
                return f"{section}.{name}"
    return column


def read_profile(raw: Mapping[str, Any], file: str, name: str) -> tuple[Profile | None, list[Fault]]:
    """Profile of the values of a file, or all its faults.

    Args:
        raw: The values as read.
        file: Name of the file, for the faults.
        name: Name the profile must have: that of its file.
    """
    head, faults = checked_row({key: raw[key] for key in raw if key in _HEAD}, _HEAD, file, "")
    faults += _unknown(raw, (*_HEAD, *SECTIONS), file, "")
    if head is not None and head["name"] != name:
        faults.append(Fault(file, "name", f"'{head['name']}' is not the name of the file, '{name}'"))
    values: dict[str, Any] = {}
    sources: dict[str, str] = {}
    for section, columns in SECTIONS.items():
        if section not in raw:
            values.update({_RENAMED.get(column, column): None for column in columns})
            if section not in _OPTIONAL:
                faults.append(Fault(file, section, f"missing; give [{section}] with a source"))
            continue
        read, found = _read_section(raw[section], section, file)
        faults += found
        if read is not None:
            sources.update(_sources_of(section, read))
            values.update({_RENAMED.get(column, column): read[column] for column in columns})
    if faults or head is None:
        return None, faults
    head["profile"] = head.pop("name")
    return Profile(**head, **values, sources=sources), []


def _read_section(raw: object, section: str, file: str) -> tuple[dict[str, Any] | None, list[Fault]]:
    hints = {column: _OF_PROFILE[_RENAMED.get(column, column)] for column in SECTIONS[section]}
    values, faults = checked_row(raw, {**hints, "source": str, "sources": Mapping[str, str]}, file, section)
    if values is not None:
        faults += _unknown(values["sources"], hints, file, f"{section}.sources.")
    return values, faults


def _unknown(given: Iterable[str], known: Collection[str], file: str, prefix: str) -> list[Fault]:
    return [Fault(file, f"{prefix}{key}", unknown_key(key, known)) for key in given if key not in known]


def _sources_of(section: str, read: Mapping[str, Any]) -> dict[str, str]:
    return {
        _RENAMED.get(column, column): read["sources"].get(column, read["source"])
        for column in SECTIONS[section]
        if read[column] not in (None, {})
    }
