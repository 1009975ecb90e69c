"""Rows of the coming days worked out for some plants; it keeps nothing and puts no round together."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from carecal.app.near.document import NEAR_DAYS, WHOLE
from carecal.app.near.rows import collection_row, plant_row
from carecal.collection.concerns import mothers_of
from carecal.planning.plan_context import horizon_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from carecal.app.near.source import Source
    from carecal.collection.records import Record
    from carecal.planning.planner import Planner

__all__ = ["STRIP_DAYS", "Planned", "Wanted", "rows_of"]

STRIP_DAYS = 7  # our choice, because most plants are cared for within a week [d]


class Planned(NamedTuple):
    """A planner with the plants whose entries it has read, all of them, and these entries."""

    planner: Planner
    plants: frozenset[int]
    records: list[Record]


class Wanted(NamedTuple):
    """What rows are asked for.

    Attributes:
        as_of: The first day.
        days: How many days a round shows. [d]
        plants: Numbers of the plants, and that of the collection as a whole.
        changed: Plants about which something was entered since rows were kept; None: anything may differ.
    """

    as_of: date
    days: int
    plants: frozenset[int]
    changed: frozenset[int] | None


def rows_of(
    collection: Source,
    wanted: Wanted,
    mothers: Mapping[int, Iterable[int]],
    planned: Planned | None = None,
) -> dict[date, dict[int, dict[str, Any]]]:
    """Return by day what plants give to its round: of the first day and of those after it for which it is known.

    Mothers of plants that changed are made besides those that were asked for.

    Args:
        collection: The collection.
        wanted: What is asked for.
        mothers: Mothers of all other plants.
        planned: What is planned already, used where it is all that is needed.
    """
    records = collection.journal.records(wanted.plants - {WHOLE}) if planned is None else planned.records
    of_plant = mothers_of(records)
    plants = set(wanted.plants)
    for number in wanted.changed or ():
        plants |= of_plant.get(number, set())
    kin = {mother for number in plants for mother in (of_plant.get(number) or mothers.get(number, ()))}
    kin |= {number for number, hers in mothers.items() if not plants.isdisjoint(hers)}
    needed = (plants | kin) - {WHOLE}
    if planned is None or not needed <= planned.plants:
        if not needed <= wanted.plants or planned is not None:
            records = collection.journal.records(needed)
            of_plant = mothers_of(records)
        planned = _planned(collection, wanted, frozenset(needed), records)
    return {
        day: {
            number: {"mothers": sorted(of_plant.get(number, ())), "row": _row(planned.planner, number, day, wanted)}
            for number in plants
        }
        for day in _days(planned.planner, wanted.as_of, planned.records)
    }  # fmt: skip


def _planned(collection: Source, wanted: Wanted, plants: frozenset[int], records: list[Record]) -> Planned:
    until = wanted.as_of + timedelta(days=wanted.days - 1 + NEAR_DAYS + STRIP_DAYS)
    planner = collection.planner(wanted.as_of, until=max(until, horizon_of(wanted.as_of)), records=records)
    return Planned(planner, plants, records)


def _row(planner: Planner, number: int, day: date, wanted: Wanted) -> dict[str, Any] | None:
    if number == WHOLE:
        return collection_row(planner)
    plant_planner = planner.plant_planners.get(number)
    if plant_planner is None:
        return None
    last = day + timedelta(days=wanted.days - 1)
    return plant_row(planner, plant_planner, last, last + timedelta(days=NEAR_DAYS))


def _days(planner: Planner, as_of: date, records: Iterable[Record]) -> Iterable[date]:
    """Yield days with the planner moved to each, up to the one before an entry that is dated ahead."""
    dated = [record.on for record in records if record.on > as_of]
    dated += [
        date.fromisoformat(record.data["on_day"])
        for record in records
        if record.kind == "amended" and record.data.get("on_day")
    ]
    ahead = [day for day in dated if day > as_of]
    for count in range(STRIP_DAYS):
        day = as_of + timedelta(days=count)
        if any(day >= other for other in ahead):
            return
        if count:
            planner.move_to(day)
        yield day
