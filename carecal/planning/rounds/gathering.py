"""Tasks gathered into care days: the order to go round, what to mix, cautions once (design §3 rule 12)."""

from __future__ import annotations

from operator import attrgetter
from typing import TYPE_CHECKING

from carecal.horticulture.nutrition import grams_for_ppm
from carecal.horticulture.rounding import significant
from carecal.plan.model import Can, FeedMix, PlantView, Round, Task
from carecal.planning.stops import Stop, apart_l, caution_ranks, feeds, plain_l

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from carecal.planning.plan_context import PlanContext
    from carecal.planning.stops import Feed

__all__ = ["mix_of", "order_key", "round_of", "stop_of"]

_task_of, _minutes_of = attrgetter("task"), attrgetter("minutes")
APART = frozenset({"quarantine", "pest-watch"})


def order_key(
    task: Task, view: PlantView, context: PlanContext, wettings: Mapping[str, Task]
) -> tuple[object, ...]:
    """Return where a task stands in its round: healthy first, then by can, place, the most fragile first."""
    cares, stages = context.catalog.cares, context.catalog.stages
    joined = wettings.get(task.joined_to or "")
    care = joined.care if joined is not None else task.care
    rank = cares[care].rank if care in cares else 5
    fragile = stages[view.stage].order if view.stage is not None and view.stage in stages else 0
    strength = (joined or task).ppm_n or 0.0  # each strength is a can of its own, from weak to strong
    return (
        _stands_apart(view),
        rank,
        strength,
        view.place or "",
        fragile,
        task.plant,
        joined is not None,
        task.care,
        task.id,
    )


def stop_of(task: Task, view: PlantView, context: PlanContext, wettings: Mapping[str, Task]) -> Stop:
    """Return a task as its round sees it.

    Args:
        task: The task.
        view: Its plant.
        context: Catalog of the plan.
        wettings: Tasks of the same day by id, of which the one that it is joined to is read.
    """
    ranks, joined = context.caution_ranks, wettings.get(task.joined_to or "")
    return Stop(
        task.on.isoformat(),
        list(order_key(task, view, context, wettings)),
        task.id,
        task.litres or 0.0,
        task.minutes,
        _stands_apart(view),
        (task.ppm_n or 0.0) if task.care == "feeding" else None,
        [ranks[code] for code in task.cautions],
        joined.id if joined is not None else "",
    )


def round_of(
    on: date,
    stops: Sequence[Stop],
    context: PlanContext,
    other: tuple[Task, ...],
    by_plant: tuple[tuple[Task, ...], ...],
) -> Round:
    """Return the round of a care day; tasks keep their ids in the order to go round.

    Args:
        on: The day.
        stops: What is asked for on it, in the order to go round.
        context: Catalog and supplies of the plan.
        other: Wettings that are not as their plant's own plan asks, as the can makes them.
        by_plant: The tasks as the can makes them, a plant at a time.
    """
    mixes = tuple(mix_of(feed, context) for feed in feeds(stops))
    codes, plain = tuple(context.catalog.cautions), [stop for stop in stops if stop.ppm_n is None]
    return Round(
        on,
        tuple(map(_task_of, stops)),
        Can(plain_l(plain), mixes, apart_l(plain)),
        sum(map(_minutes_of, stops)),
        tuple(codes[rank] for rank in caution_ranks(stops)),
        other,
        by_plant,
    )


def mix_of(feed: Feed, context: PlanContext) -> FeedMix:
    """Return what is mixed for a feed of the round, by the fertiliser at hand."""
    fertiliser, supplies = context.supplies.fertiliser, context.supplies
    grams = None
    if fertiliser is not None and fertiliser.n_pct > 0:
        grams = significant(grams_for_ppm((fertiliser.n_pct, 0.0, 0.0), feed.ppm_n), 3)
    name = fertiliser.name if fertiliser is not None else ""
    ec = significant(supplies.feed_ms_cm(feed.ppm_n), 2) if fertiliser is not None else None
    return FeedMix(feed.ppm_n, grams, feed.litres, feed.tasks, name, ec, feed.is_apart)


def _stands_apart(view: PlantView) -> bool:
    """Return whether a plant shares no can: in quarantine or on pest-watch (states.csv, blocks)."""
    return bool(APART & set(view.states))
