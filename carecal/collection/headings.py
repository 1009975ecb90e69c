"""Headings of a grower's table, mapped to the columns that a file may have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.catalog.names import near
from carecal.collection.columns import simple_name
from carecal.errors import Fault

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from carecal.collection.text_files import Table

__all__ = ["columns_by_heading"]


def columns_by_heading(
    table: Table, mapping: Mapping[str, str], allowed: Collection[str], also: Mapping[str, str] | None = None
) -> tuple[dict[str, int], list[Fault]]:
    """Return where each column stands, and what is wrong with the headings.

    Args:
        table: The table.
        mapping: Headings of the file to columns, '' for one that is to be left out.
        allowed: Columns that there may be.
        also: Other plain words for columns, beside their own names.
    """
    theirs = dict(also or {}) | {simple_name(heading): ours.strip() for heading, ours in mapping.items()}
    headings = [simple_name(heading) for heading in table.headings]
    faults = [
        Fault(table.file, heading, "no such heading; the file has " + ", ".join(table.headings))
        for heading in mapping
        if simple_name(heading) not in headings
    ]
    columns: dict[str, int] = {}
    for index, (plain, heading) in enumerate(zip(headings, table.headings, strict=True)):
        name = theirs.get(plain, plain)
        if not name:
            continue
        if name not in allowed:
            hint = " or ".join(near(name, allowed)) or ", ".join(allowed)
            message = f"unknown column '{name}'; map it to {hint}, or to nothing"
            faults.append(Fault(table.file, heading or f"column {index + 1}", message))
        elif name in columns:
            faults.append(Fault(table.file, heading, f"a second column for {name}; allowed is one"))
        else:
            columns[name] = index
    return columns, faults
