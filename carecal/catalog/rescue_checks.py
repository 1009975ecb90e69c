"""Checks inside rows on the sick and the season: schedules of looks, one way for a generation, classes of light."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from carecal.errors import Fault

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    Rows = Mapping[str, Mapping[str, Any]]
    Files = Mapping[tuple[str, Any], str]

__all__ = ["rescue_faults"]

# Table → columns of days that ascend, the columns beside them, and by how many entries those are longer.
_SCHEDULES = {
    "rot_courses": (("look_until_days", "look_every_days", 0),),
    "wraps": (("look_until_days", "look_every_days", 1), ("hardening_days", "hardening_hours", 0)),
    "pest_cycles": (("points_c", "points_days", 0),),
}


def rescue_faults(rows: Rows, files: Files) -> list[Fault]:
    """Faults of rows on rot, pests, wraps and light that one column alone does not show.

    Args:
        rows: Rows by table and name.
        files: The file each row came from, by table and name.
    """
    return [
        *_schedule_faults(rows, files),
        *_cycle_faults(rows["pest_cycles"], files),
        *_class_faults(rows["light_classes"], files),
    ]


def _schedule_faults(rows: Rows, files: Files) -> Iterator[Fault]:
    for table, pairs in _SCHEDULES.items():
        for name, row in rows[table].items():
            for column, beside, more in pairs:
                days, other = getattr(row, column), getattr(row, beside)
                file = files[table, name]
                if len(other) != len(days) + more:
                    message = f"{len(other)} entries; give {len(days) + more}, as {column} has {len(days)}"
                    yield Fault(file, f"{name}.{beside}", message)
                if not _ascends(days):
                    yield Fault(file, f"{name}.{column}", f"{list(days)} does not ascend")


def _cycle_faults(cycles: Mapping[str, Any], files: Files) -> Iterator[Fault]:
    for name, row in cycles.items():
        file = files["pest_cycles", name]
        ways = (row.generation_c_d, row.points_c or None, row.generation_days, row.apart_days)
        if sum(way is not None for way in ways) != 1:
            message = "give one of generation_c_d, points_c, generation_days and apart_days"
            yield Fault(file, name, message)
        if (row.generation_c_d is None) != (row.base_c is None):
            yield Fault(file, f"{name}.base_c", "day-degrees and their base go together; give both or none")
        if len(row.points_c) == 1 or any(
            a <= b for a, b in zip(row.points_days, row.points_days[1:], strict=False)
        ):
            yield Fault(
                file, f"{name}.points_days", "give two or more points, days falling as it grows warmer"
            )
        if row.least_days > row.most_days:
            message = f"{row.least_days} lies above most_days, {row.most_days}; at most the same is allowed"
            yield Fault(file, f"{name}.least_days", message)


def _class_faults(classes: Mapping[str, Any], files: Files) -> Iterator[Fault]:
    seen: dict[float, str] = {}
    for name, row in classes.items():
        if row.from_mol in seen:
            message = f"{row.from_mol:g} is where '{seen[row.from_mol]}' begins; give another light"
            yield Fault(files["light_classes", name], f"{name}.from_mol", message)
        seen[row.from_mol] = name
    if 0 not in seen:
        file = next(
            iter(files.get(("light_classes", name), "") for name in classes), "shared/light_classes.toml"
        )
        yield Fault(file, "from_mol", "no class for the lowest light; give one with 0")


def _ascends(days: Sequence[float]) -> bool:
    return all(a < b for a, b in pairwise(days))
