"""Tables written as groups: pairs, reference intervals and the feeding rhythm, one array of tables a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from carecal.catalog.growing import ReferenceRow
from carecal.catalog.ranges import Centimetres, PartDays
from carecal.catalog.schema import checked_row, shown
from carecal.errors import Fault

__all__ = ["GROUPED", "read_groups"]

# Columns of a group by table.
GROUPED: Mapping[str, Mapping[str, Any]] = {
    "pairs": {"medium": str, "containers": tuple[str, ...], "source": str},
    "reference_intervals": {
        "medium": str,
        "container": str,
        "size_cm": tuple[Centimetres, ...],
        "days": tuple[PartDays, ...],
        "role": Literal["base", "reservoir", "fixed", "moistening"],
        "source": str,
    },
}


def read_groups(table: str, raw: Mapping[str, Any], file: str) -> tuple[dict[Any, Any], list[Fault]]:
    """Rows of a grouped table by what tells them apart, and all faults.

    The keys are (medium, container) for pairs, whose value is the source, and for reference intervals, whose
    value is their rows; the daily light for the feeding rhythm.

    Args:
        table: Name of the table, which is the name of its array too.
        raw: The values as read.
        file: Name of the file, for the faults.
    """
    faults = [Fault(file, key, f"unknown key; known is [[{table}]]") for key in raw if key != table]
    groups = raw.get(table, [])
    if not isinstance(groups, list):
        return {}, [
            *faults,
            Fault(file, table, f"{shown(groups)} is not an array of tables; write [[{table}]]"),
        ]
    rows: dict[Any, Any] = {}
    for number, group in enumerate(groups, start=1):
        key = f"{table}[{number}]"
        values, found = checked_row(group, GROUPED[table], file, key)
        faults += found
        if values is not None:
            read, found = _READ[table](values, file, key)
            faults += found
            faults += [Fault(file, key, f"{_words(same)} appears twice") for same in read if same in rows]
            rows.update(read)
    return rows, faults


def _words(key: object) -> str:
    return " in ".join(f"'{part}'" for part in key) if isinstance(key, tuple) else f"{key}"


def _pairs(values: Mapping[str, Any], file: str, key: str) -> tuple[dict[Any, Any], list[Fault]]:
    if not values["containers"]:
        return {}, [Fault(file, f"{key}.containers", "the list is empty; name at least one container")]
    return {(values["medium"], container): values["source"] for container in values["containers"]}, []


def _references(values: Mapping[str, Any], file: str, key: str) -> tuple[dict[Any, Any], list[Fault]]:
    sizes, days = values["size_cm"], values["days"]
    if not sizes or len(sizes) != len(days):
        message = f"{len(sizes)} sizes and {len(days)} days; give as many days as sizes, at least one"
        return {}, [Fault(file, f"{key}.days", message)]
    if list(sizes) != sorted(set(sizes)) or (0 in sizes and len(sizes) > 1):
        message = f"{shown(list(sizes))} is not ascending; 0 may only stand alone, for every size"
        return {}, [Fault(file, f"{key}.size_cm", message)]
    if list(days) != sorted(days):
        return {}, [Fault(file, f"{key}.days", f"{shown(list(days))} falls; a bigger pot never dries sooner")]
    medium, container, role, source = (values[name] for name in ("medium", "container", "role", "source"))
    rows = [
        ReferenceRow(medium, container, size, dry, role, source)
        for size, dry in zip(sizes, days, strict=True)
    ]
    return {(medium, container): rows}, []


_READ = {"pairs": _pairs, "reference_intervals": _references}
