"""The fields of entries that name plants: ids where people read them, never-changing numbers in the journal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["map_plants"]

_ONE = ("into", "on_mother")  # Retired, PlantAdded
_MANY = ("plants",)  # Paused, Resumed, SideTaken, RoundsTaken


def map_plants(kind: str, data: Mapping[str, Any], translate: Callable[[Any], Any]) -> dict[str, Any]:
    """Return an entry's fields with each plant it names translated, those in an amendment's changes too.

    Args:
        kind: The entry's kind.
        data: Its fields as JSON values.
        translate: What turns one plant's id into its number, or back.
    """
    changed = dict(data)
    for key in _ONE:
        if changed.get(key) is not None:
            changed[key] = translate(changed[key])
    for key in _MANY:
        if changed.get(key) is not None:
            changed[key] = [translate(plant) for plant in changed[key]]
    if kind == "amended" and "changes" in changed:
        changed["changes"] = map_plants("", changed["changes"], translate)
    return changed
