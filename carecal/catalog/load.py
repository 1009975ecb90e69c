"""Reading profiles and shared tables, the grower's own files over the program's, into a checked catalog."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from carecal.catalog.cache import files_digest
from carecal.catalog.checks import cross_faults
from carecal.catalog.digest import data_files
from carecal.catalog.files import read_toml
from carecal.catalog.grouped import GROUPED, read_groups
from carecal.catalog.names import near
from carecal.catalog.profile_file import read_profile
from carecal.catalog.schema import checked_row, hints_of
from carecal.catalog.tables import ROWS, Catalog, references_of, surface_days_of
from carecal.errors import DataFault, Fault, StorageError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["OPEN_TABLES", "load_catalog"]

_ATTRIBUTES = {"sill_aspects": "aspects"}
_TABLES = {
    **{table: table for table in ROWS if table not in _ATTRIBUTES.values()},
    **_ATTRIBUTES,
}
# What a grower's file may add to; rows of other tables have a meaning in the code and can only be changed.
OPEN_TABLES = frozenset(
    {
        "media",
        "containers",
        "place_kinds",
        "techniques",
        "aids",
        "cautions",
        "pests",
        "pest_cycles",
        "rest_waters",
        "sources",
    }
)
_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_LONGEST_NAME = 40


@dataclass(slots=True)
class _Reading:
    """What was read so far: rows by table and name, the file each came from, and every fault."""

    rows: dict[str, dict[str, Any]] = field(
        default_factory=lambda: {table: {} for table in (*ROWS, "profiles")}
    )
    groups: dict[str, Any] = field(default_factory=lambda: {name: {} for name in GROUPED})
    files: dict[tuple[str, Any], str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


def load_catalog(own: Path | None = None) -> Catalog:
    """Catalog of the program's files with the grower's own over them, by name.

    Args:
        own: The collection's folder; `profiles/*.toml` and `shared/*.toml` in it add or override, row by row.

    Raises:
        DataFault: Files have faults; all faults of all files at once.
        StorageError: A file cannot be read, or the program's own are missing.
    """
    digest = _digest(own)
    reading = _Reading()
    for file, path in data_files(own):
        _read_file(reading, file.removeprefix("own "), path, is_own=file.startswith("own "))
    if not reading.faults:
        reading.faults += cross_faults(reading.rows, reading.groups, reading.files)
    if reading.faults:
        raise DataFault(reading.faults)
    return _assembled(reading, digest)


def _digest(own: Path | None) -> str:
    try:
        return files_digest(own)
    except OSError as error:
        raise StorageError(
            f"{error.filename} cannot be read: {(error.strerror or 'unknown').lower()}"
        ) from error


def _read_file(reading: _Reading, file: str, path: Path, *, is_own: bool) -> None:
    raw, faults = read_toml(file, path)
    reading.faults += faults
    if faults:
        return
    if file.startswith("profiles/"):
        _take_profile(reading, raw, file, path.stem)
    elif path.stem in GROUPED:
        rows, faults = read_groups(path.stem, raw, file)
        reading.faults += faults
        _take_groups(reading, path.stem, rows, file)
    elif path.stem in _TABLES:
        _take_rows(reading, _TABLES[path.stem], raw, file, is_closed=is_own and path.stem not in OPEN_TABLES)
    else:
        known = sorted((*_TABLES, *GROUPED))
        hint = " or ".join(near(path.stem, known)) or ", ".join(known)
        reading.faults.append(Fault(file, path.stem, f"no table of that name; known are {hint}"))


def _take_profile(reading: _Reading, raw: Mapping[str, Any], file: str, name: str) -> None:
    profile, faults = read_profile(raw, file, name)
    reading.faults += [*faults, *_name_faults(file, name)]
    reading.files["profiles", name] = file
    if profile is not None:
        reading.rows["profiles"][name] = profile


def _take_groups(reading: _Reading, table: str, rows: Mapping[Any, Any], file: str) -> None:
    reading.groups[table].update(rows)
    reading.files.update(dict.fromkeys(((table, key) for key in rows), file))


def _take_rows(reading: _Reading, table: str, raw: Mapping[str, Any], file: str, *, is_closed: bool) -> None:
    row = ROWS[table]
    hints = hints_of(row)
    first = next(iter(hints))
    del hints[first]
    for name, values in raw.items():
        if is_closed and name not in reading.rows[table]:
            known = ", ".join(reading.rows[table])
            reading.faults.append(Fault(file, name, f"no row of that name to change; known are {known}"))
        if table != "sources":
            reading.faults += _name_faults(file, name)
        checked, faults = checked_row(values, hints, file, name)
        reading.faults += faults
        reading.files[table, name] = file
        if checked is not None:
            reading.rows[table][name] = row(**{first: name}, **checked)


def _name_faults(file: str, name: str) -> list[Fault]:
    if _NAME.fullmatch(name) and len(name) <= _LONGEST_NAME:
        return []
    return [
        Fault(file, name, f"'{name}' is not a name; allowed: a-z, 0-9 and single hyphens, at most 40 letters")
    ]


def _assembled(reading: _Reading, digest: str) -> Catalog:
    references = tuple(row for rows in reading.groups["reference_intervals"].values() for row in rows)
    surface = surface_days_of(references)
    if surface is None:
        raise StorageError("shared/reference_intervals.toml has no row for moistening; install carecal again")
    return Catalog(
        **reading.rows,
        pairs=frozenset(reading.groups["pairs"]),
        references=references_of(references),
        reference_rows=references,
        surface_days=surface,
        digest=digest,
    )
