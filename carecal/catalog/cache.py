"""The catalog as JSON and the digest of its files, so that unchanged files need no checking again.

Checking takes a tenth of a second; whoever holds the JSON of a catalog with the same digest can skip it.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

from carecal.catalog.digest import content_digest
from carecal.catalog.tables import (
    ROWS,
    Catalog,
    Profile,
    ReferenceRow,
    references_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["catalog_from_json", "catalog_to_json", "files_digest"]

_ALL_ROWS: dict[str, type[Any]] = {
    **ROWS,
    "profiles": Profile,
    "reference_rows": ReferenceRow,
}
_NAMES = {table: row._fields for table, row in _ALL_ROWS.items()}
_FORMAT = hashlib.sha256(repr(sorted(_NAMES.items())).encode()).hexdigest()[:16]


def files_digest(own: Path | None = None) -> str:
    """SHA-256 over every file and the shape of the catalog, as hexadecimal digits.

    Args:
        own: The collection's folder.

    Raises:
        OSError: A file cannot be read.
    """
    return content_digest(own, _FORMAT)


def catalog_to_json(catalog: Catalog) -> str:
    """Whole catalog as one line of JSON; `catalog_from_json` gives an equal catalog."""
    document: dict[str, Any] = {
        "format": _FORMAT,
        "digest": catalog.digest,
        "surface_days": catalog.surface_days,
        "pairs": sorted(catalog.pairs),
    }
    for table, names in _NAMES.items():
        rows = getattr(catalog, table)
        rows = rows.values() if isinstance(rows, dict) else rows
        document[table] = [[getattr(row, name) for name in names] for row in rows]
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"))


def catalog_from_json(text: str) -> Catalog:
    """Catalog written by `catalog_to_json`.

    Args:
        text: The JSON.

    Raises:
        ValueError: The text is no catalog, or was written by a version with other columns.
    """
    document = json.loads(text)
    if not isinstance(document, dict) or document.get("format") != _FORMAT:
        raise ValueError("the stored catalog was written by another version")
    references = tuple(_rows(document, "reference_rows"))
    return Catalog(
        pairs=frozenset((medium, container) for medium, container in document["pairs"]),
        references=references_of(references),
        reference_rows=references,
        surface_days=document["surface_days"],
        profiles={row.profile: row for row in _rows(document, "profiles")},
        digest=document["digest"],
        **{table: _by_name(document, table) for table in ROWS},
    )


def _rows(document: dict[str, Any], table: str) -> Iterator[Any]:
    row = _ALL_ROWS[table]
    for values in document[table]:
        yield row(*[tuple(value) if type(value) is list else value for value in values])


def _by_name(document: dict[str, Any], table: str) -> dict[str, Any]:
    first = _NAMES[table][0]
    return {getattr(row, first): row for row in _rows(document, table)}
