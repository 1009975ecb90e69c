"""The conditions of cautions.toml, and the numbers in them; what a task is, is said elsewhere."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.catalog.tables import Catalog

__all__ = ["Limit", "conditions_of", "limits_in"]

# Conditions with a number of the table's own, by what it is held against.
LIMITS = {
    "size": re.compile(r"size>=(\d+(?:\.\d+)?)"),  # of the pot [cm]
    "night": re.compile(r"medium night < (-?\d+(?:\.\d+)?)"),  # of the medium [°C]
    "found": re.compile(r"pest in the last (\d+) days"),  # since the last find [d]
}


class Limit(NamedTuple):
    """A condition with a number: as cautions.toml says it, and its number."""

    said: str
    value: float


def conditions_of(catalog: Catalog) -> tuple[tuple[str, tuple[frozenset[str], ...]], ...]:
    """Return each caution with the conditions of which one shows it, in the table's order.

    To those of cautions.toml come the potting into or out of a medium that names it, and every task of a plant that
    bears an aid that names it.
    """
    return tuple(
        (
            code,
            (
                *(frozenset(part.strip() for part in when.split("+")) for when in row.when),
                *(
                    frozenset({f"medium:{m.medium}", "potting"})
                    for m in catalog.media.values()
                    if code in m.cautions
                ),
                *(frozenset({f"aid:{a.aid}"}) for a in catalog.aids.values() if code in a.cautions),
            ),
        )
        for code, row in catalog.cautions.items()
    )


def limits_in(conditions: Iterable[tuple[str, Iterable[frozenset[str]]]]) -> dict[str, tuple[Limit, ...]]:
    """Return the numbers in conditions, by what each is held against: size, night or found."""
    parts = {part for _, alternatives in conditions for parts in alternatives for part in parts}
    return {
        what: tuple(
            Limit(part, float(match[1]))
            for part in sorted(parts)
            if (match := pattern.fullmatch(part)) is not None
        )
        for what, pattern in LIMITS.items()
    }
