"""Rows of some plants worked out by a recipe, for a day and the days after it; it keeps nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from carecal.app.near.source import WHOLE
from carecal.collection.concerns import mothers_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from carecal.app.near.source import Source
    from carecal.collection.records import Record
    from carecal.planning.planner import Planner
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Planned", "Recipe", "Wanted", "rows_of"]


class Planned(NamedTuple):
    """A planner with the plants whose entries it has read, all of them, and these entries."""

    planner: Planner
    plants: frozenset[int]
    records: list[Record]


class Recipe(NamedTuple):
    """How rows of a kind are made.

    Attributes:
        days: For how many days at once, the first included. [d]
        until: Gives the last day planned, for a first day.
        whole: Gives the row of the collection as a whole on the planner's day.
        plant: Gives the row of a plant on the planner's day; None: nothing is to be told.
    """

    days: int
    until: Callable[[date], date]
    whole: Callable[[Planner], Any]
    plant: Callable[[Planner, PlantPlanner], Any]


class Wanted(NamedTuple):
    """What rows are asked for.

    Attributes:
        as_of: The first day.
        plants: Numbers of the plants, and that of the collection as a whole.
        changed: Plants about which something was entered since rows were kept; None: anything may differ.
    """

    as_of: date
    plants: frozenset[int]
    changed: frozenset[int] | None


def rows_of(
    collection: Source,
    recipe: Recipe,
    wanted: Wanted,
    mothers: Mapping[int, Iterable[int]],
    planned: Planned | None = None,
) -> dict[date, dict[int, dict[str, Any]]]:
    """Return by day the rows of plants: of the first day and of those after it for which they are known.

    Mothers of plants that changed are made besides those that were asked for.

    Args:
        collection: The collection.
        recipe: How they are made.
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
    needed = frozenset((plants | kin) - {WHOLE})
    if planned is None or not needed <= planned.plants:
        if planned is not None or not needed <= wanted.plants:
            records = collection.journal.records(needed)
            of_plant = mothers_of(records)
        planner = collection.planner(wanted.as_of, until=recipe.until(wanted.as_of), records=records)
        planned = Planned(planner, needed, records)
    return {
        day: {
            number: {
                "mothers": sorted(of_plant.get(number, ())),
                "row": _row(planned.planner, number, recipe),
            }
            for number in sorted(plants)
        }
        for day in _days(planned, wanted.as_of, recipe.days)
    }


def _row(planner: Planner, number: int, recipe: Recipe) -> Any:
    if number == WHOLE:
        return recipe.whole(planner)
    plant_planner = planner.plant_planners.get(number)
    return None if plant_planner is None else recipe.plant(planner, plant_planner)


def _days(planned: Planned, as_of: date, days: int) -> Iterator[date]:
    """Yield days with the planner moved to each, up to the one before an entry that is dated ahead."""
    dated = [record.on for record in planned.records]
    dated += [
        date.fromisoformat(record.data["on_day"])
        for record in planned.records
        if record.kind == "amended" and record.data.get("on_day")
    ]
    first = min((day for day in dated if day > as_of), default=date.max)
    for count in range(days):
        day = as_of + timedelta(days=count)
        if day >= first:
            return
        if count:
            planned.planner.move_to(day)
        yield day
