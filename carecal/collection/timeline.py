"""The fold of a journal: collection-wide facts and one line for each plant, as they count on a day."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from carecal.collection.facts import CollectionFacts
from carecal.collection.history import recall
from carecal.collection.plant_fold import FoldRules, fold_record
from carecal.collection.plants import PlantHistory
from carecal.collection.records import effective

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from carecal.collection.records import Record
    from carecal.collection.stages import StageRules

__all__ = ["Timeline", "fold"]


@dataclass(slots=True)
class Timeline:
    """The collection as it counts on `as_of`; plants by number."""

    as_of: date
    facts: CollectionFacts = field(default_factory=CollectionFacts)
    plants: dict[int, PlantHistory] = field(default_factory=dict)

    def living(self) -> list[PlantHistory]:
        """Return the plants that have not left, by number."""
        return [line for _, line in sorted(self.plants.items()) if line.retired is None]


def fold(records: Iterable[Record], as_of: date, rules: StageRules, reservoirs: frozenset[str]) -> Timeline:
    """Fold records into the timeline of a day.

    Args:
        records: The journal, or the part of it that is collection-wide or of the plants wanted.
        as_of: The day; what is dated later does not count.
        rules: The stages in the order of recovery.
        reservoirs: Names of the containers that have a reservoir.
    """
    timeline = Timeline(as_of)
    facts, mine = timeline.facts, FoldRules(rules, reservoirs)
    early: dict[int, list[Record]] = {}
    for record in effective(records, as_of):
        facts.newest_written = max(facts.newest_written, record.written)
        if record.plant is None:
            facts.take(record)
            continue
        line = timeline.plants.get(record.plant)
        if line is None:
            if record.kind != "added":
                early.setdefault(record.plant, []).append(record)
                continue
            plant_id = record.data["id"]
            name = record.data.get("name") or plant_id.replace("-", " ").capitalize()
            line = PlantHistory(record.plant, plant_id, name, record.on.toordinal())
            timeline.plants[record.plant] = line
        fold_record(line, record, mine)
        if record.kind == "added" and record.plant in early:
            recall(line, record, early.pop(record.plant), mine)
    return timeline
