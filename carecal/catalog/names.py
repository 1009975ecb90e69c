"""Near matches of a mistyped name; it knows no names itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["near"]


def near(name: str, names: Iterable[str]) -> tuple[str, ...]:
    """Names that resemble the given one, best first, at most three.

    Args:
        name: The name as typed; its case does not count.
        names: The names that exist.
    """
    from difflib import get_close_matches  # noqa: PLC0415 - needed for a mistyped name alone

    by_folded = {known.casefold(): known for known in sorted(names)}
    found = get_close_matches(name.casefold(), list(by_folded), n=3, cutoff=0.6)
    return tuple(by_folded[folded] for folded in found)
